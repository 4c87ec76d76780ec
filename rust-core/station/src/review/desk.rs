//! Writing the station's own stream.

use super::own::{Mark, Marker, settle};
use super::{Actor, Instead, MOST_INSTEAD, ReviewAct, ReviewError};
use crate::edge::random::NoRandom;
use crate::intake;
use crate::judge::{Which, fold_site};
use crate::store::Store;
use crate::store::journal::{Appended, Kept, Offerer, Push};
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::check::{ReviewReason, Reviewed};
use survey::entry::{Act, Entry, Erased, Scope, TakenBack};
use survey::fold::{self, Fold};
use survey::ids::{CheckId, EntryId, RandomOctets, SiteId};
use survey::recorder::{Deed, Recorder};
use survey::time::{HybridTime, MERGE_LIMIT_MS, Now};
use survey::visit::{ChecksCompared, Comparison};

/// How often an act is tried again where another process of the station wrote at the same moment.
const TRIES: usize = 5;

/// Writes what coordinators do. Several processes of one station may each have one.
pub struct Desk {
    stream: StreamId,
    marker: Box<dyn Marker>,
}

/// When an act is done, and the chance in it.
#[derive(Debug, Clone, Copy)]
pub struct Moment {
    /// The time.
    pub now: Now,
    /// Random octets for the entry's id.
    pub random: RandomOctets,
}

/// What is to be written, and the latest of what it names: it must come later in the order than that.
struct Planned {
    deed: Deed,
    behind: Option<HybridTime>,
}

impl Desk {
    /// Goes on in the station's stream, or begins a fresh epoch where the mark outside the database says that this is
    /// not the database that it was.
    ///
    /// # Errors
    /// The store, the mark or the random source cannot.
    pub fn open(
        store: &dyn Store,
        marker: Box<dyn Marker>,
        draw: &mut dyn FnMut() -> Result<RandomOctets, NoRandom>,
    ) -> Result<Self, ReviewError> {
        Ok(Self { stream: settle(store, marker.as_ref(), draw)?, marker })
    }

    /// The station's stream.
    pub const fn stream(&self) -> StreamId {
        self.stream
    }

    /// Does an act on what stands under a site's id, and gives its entry. The site's verdicts are due afterwards.
    ///
    /// # Errors
    /// See [`ReviewError`]; nothing has happened then.
    pub fn act(
        &self,
        store: &dyn Store,
        who: Actor<'_>,
        site: SiteId,
        act: &ReviewAct,
        moment: &Moment,
    ) -> Result<EntryId, ReviewError> {
        if !who.may(act.role(), site) {
            return Err(ReviewError::NotAllowed);
        }
        for _ in 0..TRIES {
            let fold = fold_site(store, site, Which::All)?;
            let planned = self.plan(store, &fold, site, who, act)?;
            if let Some(entry) = self.append(store, planned, moment)? {
                return Ok(entry);
            }
        }
        Err(crate::store::StoreError::Busy.into())
    }

    fn plan(
        &self,
        store: &dyn Store,
        fold: &Fold,
        site: SiteId,
        who: Actor<'_>,
        act: &ReviewAct,
    ) -> Result<Planned, ReviewError> {
        match act {
            ReviewAct::Count { count, instead, reason } => review(fold, site, who, *count, instead, *reason),
            ReviewAct::Compare { checks, verdict } => compare(fold, site, checks, *verdict),
            ReviewAct::TakeBack { entry } => self.take_back(fold, site, *entry),
            ReviewAct::Erase { blob } => erase(store, fold, site, *blob),
        }
    }

    fn take_back(&self, fold: &Fold, site: SiteId, target: EntryId) -> Result<Planned, ReviewError> {
        let kept = fold.entry(target).filter(|kept| kept.entry.scope.site() == Some(site));
        let kept = kept.ok_or(ReviewError::NotHere)?;
        if kept.key.stream.device != self.stream.device {
            return Err(ReviewError::NotOwn);
        }
        match kept.entry.act {
            Act::Reviewed(_) | Act::ChecksCompared(_) => {}
            _ => return Err(ReviewError::NotHere),
        }
        if fold.is_void(target) {
            return Err(ReviewError::NothingToDo);
        }
        let act = Act::TakenBack(TakenBack { target });
        Ok(Planned {
            deed: Deed { scope: kept.entry.scope, replaces: Vec::new(), act },
            behind: Some(kept.entry.hybrid),
        })
    }

    /// Appends the entry; `None` where another process was faster.
    fn append(&self, store: &dyn Store, planned: Planned, moment: &Moment) -> Result<Option<EntryId>, ReviewError> {
        let head = store.held(self.stream, &[])?.head;
        let last = self.last_hybrid(store, head, moment.now)?;
        let mut recorder = Recorder::after(self.stream, head, last.max(planned.behind));
        let (entry, link) = recorder.record(planned.deed, moment.now, moment.random)?;
        let end = link.head();
        let push = Push {
            stream: self.stream,
            after: head,
            items: vec![intake::whole(link)],
            by: Offerer::Station,
            received: moment.now.wall,
        };
        match store.append(&push)? {
            Appended::Held { .. } => {
                // A mark that stays behind is harmless: only one that is ahead says that the database is an older one.
                if let Err(error) = self.marker.write(&Mark { stream: self.stream, seq: end.seq }) {
                    tracing::warn!(%error, "the mark of the station's stream was not written");
                }
                Ok(Some(entry.id))
            }
            Appended::Gap(_) | Appended::NotYours => Ok(None),
        }
    }

    /// The hybrid time of the last own entry, unless it stands more than a day ahead: that came from a phone's wrong
    /// clock and must not win over everything for ever.
    fn last_hybrid(&self, store: &dyn Store, head: Head, now: Now) -> Result<Option<HybridTime>, ReviewError> {
        let Some(before) = head.seq.0.checked_sub(1) else { return Ok(None) };
        let after = Head { seq: Seq(before), hash: Hash([0xFF; 32]) };
        let hybrid = match store.kept(self.stream, after, 1)?.first() {
            Some(Kept::Entry(link)) => Entry::decode(&link.bytes).ok().map(|entry| entry.hybrid),
            Some(Kept::Hole { .. }) | None => None,
        };
        Ok(hybrid.filter(|hybrid| hybrid.0.saturating_sub(now.wall.0) <= MERGE_LIMIT_MS))
    }
}

impl std::fmt::Debug for Desk {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Desk").field("stream", &self.stream).finish_non_exhaustive()
    }
}

fn review(
    fold: &Fold,
    site: SiteId,
    who: Actor<'_>,
    count: EntryId,
    instead: &Instead,
    reason: ReviewReason,
) -> Result<Planned, ReviewError> {
    let count = fold.count(count).filter(|count| count.scope.site() == Some(site)).ok_or(ReviewError::NotHere)?;
    let instead = match instead {
        Instead::AsCounted => BTreeMap::from([(count.what.clone(), count.number)]),
        Instead::Nothing => BTreeMap::new(),
        Instead::Split(numbers) => checked(numbers)?,
    };
    let mut replaces = Vec::new();
    if let Some(review) = &count.review {
        if review.instead == instead && review.reason == reason && !review.differs {
            return Err(ReviewError::NothingToDo);
        }
        replaces.push(review.entry);
        replaces.extend(&review.also);
    }
    let seen = replaces.iter().filter_map(|&entry| fold.entry(entry)).map(|kept| kept.entry.hybrid);
    let behind = seen.chain([count.hybrid]).max();
    let act = Act::Reviewed(Reviewed { count: count.entry, instead, reason, by: who.id() });
    Ok(Planned { deed: Deed { scope: count.scope, replaces, act }, behind })
}

fn checked(numbers: &BTreeMap<survey::stage::What, u32>) -> Result<BTreeMap<survey::stage::What, u32>, ReviewError> {
    let sum = numbers.values().try_fold(0_u32, |sum, &number| sum.checked_add(number));
    let fits = sum.is_some_and(|sum| sum <= MOST_INSTEAD) && numbers.values().all(|&number| number > 0);
    if fits && !numbers.is_empty() { Ok(numbers.clone()) } else { Err(ReviewError::Numbers) }
}

fn compare(fold: &Fold, site: SiteId, checks: &BTreeSet<CheckId>, verdict: Comparison) -> Result<Planned, ReviewError> {
    let states: Vec<fold::CheckState> = checks.iter().filter_map(|&check| fold.check(check)).collect();
    let visit = states.first().map(|check| check.visit).filter(|_| states.len() == checks.len() && checks.len() > 1);
    let visit = visit.ok_or(ReviewError::NotHere)?;
    let group = fold.visit_group(visit);
    if states.iter().any(|check| !group.contains(&check.visit)) || !fold.visits_at(site).contains(&visit) {
        return Err(ReviewError::NotHere);
    }
    let compared: Vec<_> = fold
        .entries()
        .filter(|kept| kept.entry.scope.visit().is_some_and(|own| group.contains(&own)))
        .filter(|kept| !fold.is_void(kept.entry.id))
        .filter_map(|kept| match &kept.entry.act {
            Act::ChecksCompared(compared) if compared.checks.is_superset(checks) => Some((kept.key, compared.verdict)),
            _ => None,
        })
        .collect();
    let last = compared.iter().max_by_key(|(key, _)| *key);
    if last.is_some_and(|(_, said)| *said == verdict) {
        return Err(ReviewError::NothingToDo);
    }
    let act = Act::ChecksCompared(ChecksCompared { checks: checks.clone(), verdict });
    let scope = Scope::Visit(site, visit);
    Ok(Planned { deed: Deed { scope, replaces: Vec::new(), act }, behind: last.map(|(key, _)| key.hybrid) })
}

fn erase(store: &dyn Store, fold: &Fold, site: SiteId, blob: Hash) -> Result<Planned, ReviewError> {
    let names = |act: &Act| match act {
        Act::Noted(note) => note.text == blob,
        Act::PhotoTaken(photo) => photo.hash == blob,
        _ => false,
    };
    let kept = fold.entries().find(|kept| names(&kept.entry.act)).ok_or(ReviewError::NotHere)?;
    let gone = |kept: &&fold::Kept| matches!(&kept.entry.act, Act::Erased(erased) if erased.blob == blob);
    // Another phone's word erases nothing at the station, so that it says so is no reason to do nothing.
    let text_is_here = matches!(store.text_at(site, blob)?, Some(crate::store::blobs::TextRow::Text { .. }));
    let photo_is_here = store
        .photos(site)?
        .iter()
        .any(|photo| photo.hash == blob && photo.state != crate::store::blobs::PhotoState::Erased);
    if fold.entries().any(|kept| gone(&kept)) && !text_is_here && !photo_is_here {
        return Err(ReviewError::NothingToDo);
    }
    let act = Act::Erased(Erased { blob });
    Ok(Planned { deed: Deed { scope: kept.entry.scope, replaces: Vec::new(), act }, behind: Some(kept.entry.hybrid) })
}
