//! The indexed set of entries, and which of them have effect.

use crate::chain::{Hash, Link, Seq, StreamId};
use crate::check::PhotoOf;
use crate::entry::{Act, Entry, EntryError};
use crate::ids::{CheckId, DeviceId, EggId, EntryId, PhotoId, PlantId, SiteId, VisitId};
use crate::time::HybridTime;
use std::collections::{BTreeMap, BTreeSet};

/// The order in which values compete: hybrid time, device, epoch, sequence number, hash.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub struct OrderKey {
    /// Hybrid time.
    pub hybrid: HybridTime,
    /// Stream: device, then epoch.
    pub stream: StreamId,
    /// Sequence number.
    pub seq: Seq,
    /// Hash of the entry.
    pub hash: Hash,
}

/// An entry in the set.
#[derive(Debug, Clone, PartialEq)]
pub struct Kept {
    /// Its place in the order.
    pub key: OrderKey,
    /// The entry.
    pub entry: Entry,
}

/// What putting an entry in did.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Inserted {
    /// It was not there before.
    Added,
    /// It was there already; nothing changed.
    Repeated,
}

/// Why an entry that is not void has no effect. It is kept, and a finding.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum NoEffect {
    /// Another entry, earlier in the order, has the same id.
    SameId,
    /// It takes back an entry of another device.
    NotOwn,
    /// It takes back, or reviews, an entry that is not earlier.
    NotEarlier,
    /// Its scope is not that of the entry which it takes back or reviews.
    OtherScope,
}

/// A set of entries, indexed by what they concern.
#[derive(Debug, Clone, Default)]
pub struct Fold {
    kept: Vec<Kept>,
    by_id: BTreeMap<EntryId, Vec<usize>>,
    by_subject: BTreeMap<Subject, Vec<usize>>,
    checks_of: BTreeMap<VisitId, BTreeSet<CheckId>>,
    visits_of: BTreeMap<SiteId, BTreeSet<VisitId>>,
}

/// What entries are looked up by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Subject {
    /// Acts on a plant check within the visit that their scope names: a check is never looked for across visits that
    /// are not joined.
    Check(VisitId, CheckId),
    /// Acts on a visit as a whole.
    Visit(VisitId),
    /// Acts on a site as a whole.
    Site(SiteId),
    /// Descriptions of a tagged plant.
    Plant(PlantId),
    /// Looks at a followed egg.
    Egg(EggId),
    /// Reviews and audits of a count.
    Count(EntryId),
    /// What became of a photo.
    Photo(PhotoId),
    /// Entries that take this one back.
    Takers(EntryId),
    /// Joins of sites and visits.
    Joins,
    /// This device's own acts.
    Device(DeviceId),
    /// Everything whose scope is this visit.
    Within(VisitId),
}

impl Fold {
    /// An empty set.
    pub fn new() -> Self {
        Self::default()
    }

    /// Decodes a link's bytes and puts the entry in.
    ///
    /// # Errors
    /// The bytes are no entry; the set is unchanged.
    pub fn insert(&mut self, link: &Link) -> Result<Inserted, EntryError> {
        let entry = Entry::decode(&link.bytes)?;
        Ok(self.insert_entry(link.stream, link.seq, link.hash, entry))
    }

    /// Puts a decoded entry in.
    pub fn insert_entry(&mut self, stream: StreamId, seq: Seq, hash: Hash, entry: Entry) -> Inserted {
        let key = OrderKey { hybrid: entry.hybrid, stream, seq, hash };
        let same_id = self.by_id.entry(entry.id).or_default();
        if same_id.iter().any(|&at| self.kept[at].key == key) {
            return Inserted::Repeated;
        }
        let at = self.kept.len();
        same_id.push(at);
        if let Some(visit) = entry.scope.visit() {
            self.by_subject.entry(Subject::Within(visit)).or_default().push(at);
            if let Some(site) = entry.scope.site() {
                self.visits_of.entry(site).or_default().insert(visit);
            }
            if let Some(check) = check_of(&entry.act) {
                self.checks_of.entry(visit).or_default().insert(check);
            }
        }
        if let Some(site) = entry.scope.site() {
            self.by_subject.entry(Subject::Site(site)).or_default();
        }
        for subject in subjects(&entry, stream.device) {
            self.by_subject.entry(subject).or_default().push(at);
        }
        self.kept.push(Kept { key, entry });
        Inserted::Added
    }

    /// How many entries are in the set.
    pub fn len(&self) -> usize {
        self.kept.len()
    }

    /// Whether the set is empty.
    pub fn is_empty(&self) -> bool {
        self.kept.is_empty()
    }

    /// All entries, in the order in which they were put in.
    pub fn entries(&self) -> impl Iterator<Item = &Kept> {
        self.kept.iter()
    }

    /// The entry with this id; of several the one that has effect.
    pub fn entry(&self, id: EntryId) -> Option<&Kept> {
        self.at_id(id).map(|at| &self.kept[at])
    }

    /// Whether the entry is taken back.
    pub fn is_void(&self, id: EntryId) -> bool {
        self.at_id(id).is_some_and(|at| self.void_at(at))
    }

    /// Why an entry has no effect although it is not void.
    pub fn no_effect(&self, kept: &Kept) -> Option<NoEffect> {
        if self.entry(kept.entry.id).is_some_and(|first| first.key != kept.key) {
            return Some(NoEffect::SameId);
        }
        let target = match &kept.entry.act {
            Act::TakenBack(taken) => taken.target,
            Act::Reviewed(review) => review.count,
            _ => return None,
        };
        let target = self.entry(target)?;
        let takes_back = matches!(kept.entry.act, Act::TakenBack(_));
        if takes_back && target.key.stream.device != kept.key.stream.device {
            Some(NoEffect::NotOwn)
        } else if target.key >= kept.key {
            Some(NoEffect::NotEarlier)
        } else if target.entry.scope != kept.entry.scope {
            Some(NoEffect::OtherScope)
        } else {
            None
        }
    }

    /// Every site that any entry's scope names.
    pub fn sites(&self) -> BTreeSet<SiteId> {
        self.by_subject
            .keys()
            .filter_map(|subject| match subject {
                Subject::Site(site) => Some(*site),
                _ => None,
            })
            .collect()
    }

    /// The visits of one site that any entry's scope names, joins not followed.
    pub fn visits_at(&self, site: SiteId) -> BTreeSet<VisitId> {
        self.visits_of.get(&site).cloned().unwrap_or_default()
    }

    pub(super) fn checks_in(&self, visit: VisitId) -> impl Iterator<Item = CheckId> {
        self.checks_of.get(&visit).into_iter().flatten().copied()
    }

    /// The visits within which any entry is on a check.
    pub(super) fn visits_with(&self, check: CheckId) -> impl Iterator<Item = VisitId> {
        self.checks_of.iter().filter(move |(_, checks)| checks.contains(&check)).map(|(visit, _)| *visit)
    }

    pub(super) fn site_of(&self, visit: VisitId) -> Option<SiteId> {
        self.visits_of.iter().find(|(_, visits)| visits.contains(&visit)).map(|(site, _)| *site)
    }

    /// The entries on a subject that have effect, in order.
    pub(super) fn on(&self, subject: Subject) -> Vec<&Kept> {
        let mut found: Vec<&Kept> = self
            .by_subject
            .get(&subject)
            .into_iter()
            .flatten()
            .filter(|&&at| self.has_effect(at))
            .map(|&at| &self.kept[at])
            .collect();
        found.sort_unstable_by_key(|kept| kept.key);
        found
    }

    /// Every entry on a subject, void ones too, in the order in which they were put in.
    pub(super) fn all_on(&self, subject: Subject) -> impl Iterator<Item = &Kept> {
        self.by_subject.get(&subject).into_iter().flatten().map(|&at| &self.kept[at])
    }

    /// Everything whose scope is this visit, void entries too, in the order in which it was put in.
    pub(crate) fn within(&self, visit: VisitId) -> impl DoubleEndedIterator<Item = &Kept> {
        self.by_subject.get(&Subject::Within(visit)).into_iter().flatten().map(|&at| &self.kept[at])
    }

    /// Whether several entries have this id.
    pub(super) fn has_twin(&self, id: EntryId) -> bool {
        self.by_id.get(&id).is_some_and(|same| same.len() > 1)
    }

    fn at_id(&self, id: EntryId) -> Option<usize> {
        self.by_id.get(&id)?.iter().copied().min_by_key(|&at| self.kept[at].key)
    }

    fn has_effect(&self, at: usize) -> bool {
        !self.void_at(at) && self.no_effect(&self.kept[at]).is_none()
    }

    /// An entry is void if and only if some take-back of it is not. Take-backs come later in the order than what they
    /// take back, so this ends; it walks with a stack of its own because chains of undo and redo can be long.
    fn void_at(&self, at: usize) -> bool {
        if self.takers(at).next().is_none() {
            return false;
        }
        let mut known: BTreeMap<usize, bool> = BTreeMap::new();
        let mut open = vec![at];
        while let Some(&top) = open.last() {
            let unknown: Vec<usize> = self.takers(top).filter(|taker| !known.contains_key(taker)).collect();
            if unknown.is_empty() {
                known.insert(top, self.takers(top).any(|taker| !known[&taker]));
                open.pop();
            } else {
                open.extend(unknown);
            }
        }
        known[&at]
    }

    /// The take-backs of an entry that keep to the rules, void or not.
    fn takers(&self, at: usize) -> impl Iterator<Item = usize> + '_ {
        self.by_subject
            .get(&Subject::Takers(self.kept[at].entry.id))
            .into_iter()
            .flatten()
            .copied()
            .filter(move |&taker| self.no_effect(&self.kept[taker]).is_none())
    }
}

const fn check_of(act: &Act) -> Option<CheckId> {
    match act {
        Act::PlantOpened(opened) => Some(opened.check),
        Act::Counted(counted) => Some(counted.check),
        Act::PlantDescribed(described) => Some(described.check),
        Act::PlantClosed(closed) => Some(closed.check),
        _ => None,
    }
}

fn subjects(entry: &Entry, device: DeviceId) -> Vec<Subject> {
    let whole = match (entry.scope.visit(), entry.scope.site()) {
        (Some(visit), _) => Subject::Visit(visit),
        (None, Some(site)) => Subject::Site(site),
        (None, None) => Subject::Device(device),
    };
    let at_site = entry.scope.site().map_or(Subject::Device(device), Subject::Site);
    match &entry.act {
        Act::PlantOpened(_) | Act::Counted(_) | Act::PlantDescribed(_) | Act::PlantClosed(_) => {
            let within = entry.scope.visit().zip(check_of(&entry.act));
            within.map(|(visit, check)| Subject::Check(visit, check)).into_iter().collect()
        }
        Act::Reviewed(review) => vec![Subject::Count(review.count)],
        Act::AuditRequested(audit) => vec![Subject::Count(audit.count), whole],
        Act::AuditJudged(judged) => vec![Subject::Photo(judged.photo)],
        Act::PhotoLost(lost) => vec![Subject::Photo(lost.photo)],
        Act::PhotoTaken(photo) => match &photo.of {
            PhotoOf::Count(count) => vec![Subject::Count(*count), Subject::Photo(photo.photo), whole],
            PhotoOf::Check(_) | PhotoOf::OutsideFind(_) | PhotoOf::Site => vec![Subject::Photo(photo.photo), whole],
        },
        Act::TakenBack(taken) => vec![Subject::Takers(taken.target), Subject::Device(device)],
        Act::SitesJoined(_) | Act::VisitsJoined(_) => vec![Subject::Joins],
        Act::PlantTagged(tagged) => vec![Subject::Plant(tagged.plant), at_site],
        Act::EggSeen(seen) => vec![Subject::Egg(seen.egg), at_site],
        Act::SiteDescribed(_) | Act::HostsCounted(_) | Act::ManagementNoted(_) | Act::FoundOutside(_) => vec![at_site],
        Act::VisitBegun(_)
        | Act::VisitDescribed(_)
        | Act::VisitEnded(_)
        | Act::PooledCheck(_)
        | Act::AdultsCounted(_)
        | Act::OtherNoted(_)
        | Act::WeatherNoted(_)
        | Act::ClockNoted(_)
        | Act::Matched(_)
        | Act::ChecksCompared(_)
        | Act::Noted(_)
        | Act::Erased(_)
        | Act::Newer { .. } => vec![whole],
        Act::PracticeAnswered(_) => vec![Subject::Device(device)],
    }
}
