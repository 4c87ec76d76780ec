//! Verdicts: folds a site's entries and says of each what looks odd, or why it has no effect.

use crate::store::journal::{Fed, Standing};
use crate::store::judgements::{EntryRuling, Judged};
use crate::store::{Store, StoreError};
use std::collections::{BTreeMap, BTreeSet};
use std::sync::{Mutex, PoisonError};
use survey::chain::Hash;
use survey::entry::Act;
use survey::finding::{Finding, observers_in_two_visits};
use survey::fold::{Fold, Kept, NoEffect, OrderKey, VisitState};
use survey::ids::{CheckId, DeviceId, SiteId};
use survey::time::UnixMs;
use sync::wire::verdict::Ruling;

/// Version of the fold and of the rules by which findings become rulings; another version judges every site again.
pub const RULES_VERSION: u32 = 1;

/// The reason in the verdict on an entry that this version cannot read.
pub const NOT_DECODABLE: &str = "not-decodable";

/// Items read from a feed at once.
const PAGE: usize = 1000;

/// One at a time: two judges would fold the same.
static JUDGING: Mutex<()> = Mutex::new(());

/// Which entries of a site are folded.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Which {
    /// All, for showing and judging.
    All,
    /// Those of streams that may enter estimates.
    Verified,
}

/// A site folded and ruled on.
#[derive(Debug)]
pub struct Opinion {
    /// How far, and what the state came to.
    pub judged: Judged,
    /// Rulings other than `Accepted`, in the order of (device, epoch, seq, hash).
    pub rulings: Vec<EntryRuling>,
}

/// Folds the entries of a site's feed. Entries whose bytes this version cannot read are never fed.
///
/// # Errors
/// Where the store cannot, or a fed entry does not decode, which means damage.
pub fn fold_site(store: &dyn Store, site: SiteId, which: Which) -> Result<Fold, StoreError> {
    fold_upto(store, site, which).map(|(fold, _)| fold)
}

/// Gives verdicts on every site whose feed has grown since it was judged, and says how many were added.
///
/// # Errors
/// Where the store cannot.
pub fn bring_up_to_date(store: &dyn Store, now: UnixMs) -> Result<usize, StoreError> {
    let _one_at_a_time = JUDGING.lock().unwrap_or_else(PoisonError::into_inner);
    let mut added = 0;
    for site in store.sites()? {
        let judged = store.judged(site.site)?;
        if judged.is_some_and(|judged| judged.upto >= site.end.number && judged.fold_version == RULES_VERSION) {
            continue;
        }
        let opinion = opinion(store, site.site)?;
        added += store.judge(site.site, opinion.judged, &opinion.rulings, now)?;
    }
    Ok(added)
}

/// What a site's entries come to, from nothing.
///
/// # Errors
/// Where the store cannot.
pub fn opinion(store: &dyn Store, site: SiteId) -> Result<Opinion, StoreError> {
    let (fold, upto) = fold_upto(store, site, Which::All)?;
    let visits: Vec<_> = fold.visits(site).into_iter().filter_map(|visit| fold.visit(visit)).collect();
    let summary = serde_json::to_vec(&(fold.site(site), &visits))
        .map_err(|error| StoreError::Damaged { reason: format!("the state of site {site}: {error}") })?;
    let judged = Judged { upto, fold_version: RULES_VERSION, summary: Hash::plain(&summary) };
    Ok(Opinion { judged, rulings: rulings(&fold, &visits) })
}

fn fold_upto(store: &dyn Store, site: SiteId, which: Which) -> Result<(Fold, u64), StoreError> {
    let (mut fold, mut upto) = (Fold::new(), 0);
    loop {
        let page = store.feed_from(site, upto, PAGE)?;
        let Some(last) = page.last() else {
            return Ok((fold, upto));
        };
        upto = last.number;
        for item in &page {
            put(&mut fold, item, which)?;
        }
    }
}

fn put(fold: &mut Fold, item: &Fed, which: Which) -> Result<(), StoreError> {
    match (which, item.standing) {
        (Which::Verified, Standing::Unverified) => Ok(()),
        (Which::All, _) | (Which::Verified, Standing::Verified) => match fold.insert(&item.link) {
            Ok(_) => Ok(()),
            Err(error) => {
                let stream = item.link.stream;
                let place = format!("entry {} of stream {}/{}", item.link.seq, stream.device, stream.epoch);
                Err(StoreError::Damaged { reason: format!("{place} was fed and does not decode: {error}") })
            }
        },
    }
}

fn rulings(fold: &Fold, visits: &[VisitState]) -> Vec<EntryRuling> {
    let mut refused = BTreeMap::new();
    for kept in fold.entries() {
        if let Some(why) = fold.no_effect(kept) {
            refused.insert(place(kept), reason(why, kept).message_id());
        }
    }
    let about = About::new(fold);
    let mut remarks: BTreeMap<Place, BTreeSet<&'static str>> = BTreeMap::new();
    let everywhere = observers_in_two_visits(visits);
    for visit in visits {
        let overlapping = everywhere.iter().filter(|finding| match finding {
            Finding::ObserverInTwoVisits { visits, .. } => visits.contains(&visit.id),
            _ => false,
        });
        for finding in visit.findings.iter().chain(overlapping) {
            for at in about.places(finding, visit) {
                remarks.entry(at).or_default().insert(finding.message_id());
            }
        }
    }
    let mut rulings: BTreeMap<Place, Ruling> = remarks
        .into_iter()
        .map(|(at, messages)| (at, Ruling::Findings { messages: messages.into_iter().map(String::from).collect() }))
        .collect();
    // What has no effect is said first: it outweighs what looks odd.
    rulings.extend(refused.into_iter().map(|(at, reason)| (at, Ruling::Refused { reason: reason.into() })));
    rulings
        .into_iter()
        .map(|((stream, seq, hash), ruling)| EntryRuling { stream, at: survey::chain::Head { seq, hash }, ruling })
        .collect()
}

type Place = (survey::chain::StreamId, survey::chain::Seq, Hash);

fn place(kept: &Kept) -> Place {
    let OrderKey { stream, seq, hash, .. } = kept.key;
    (stream, seq, hash)
}

fn reason(why: NoEffect, kept: &Kept) -> Finding {
    let entry = kept.entry.id;
    match why {
        NoEffect::SameId => Finding::SameId { entry },
        NoEffect::NotOwn => Finding::TakesBackNotOwn { entry },
        NoEffect::NotEarlier => Finding::NamesLaterEntry { entry },
        NoEffect::OtherScope => Finding::NamesOtherScope { entry },
    }
}

/// Which entries speak for a check or a visit.
struct About<'f> {
    opened: BTreeMap<CheckId, Vec<&'f Kept>>,
    on_check: BTreeMap<CheckId, Vec<&'f Kept>>,
    begun: Vec<&'f Kept>,
    pooled: Vec<&'f Kept>,
}

impl<'f> About<'f> {
    fn new(fold: &'f Fold) -> Self {
        let mut about =
            Self { opened: BTreeMap::new(), on_check: BTreeMap::new(), begun: Vec::new(), pooled: Vec::new() };
        for kept in fold.entries() {
            match &kept.entry.act {
                Act::PlantOpened(opened) => about.opened.entry(opened.check).or_default().push(kept),
                Act::Counted(counted) => about.on_check.entry(counted.check).or_default().push(kept),
                Act::PlantClosed(closed) => about.on_check.entry(closed.check).or_default().push(kept),
                Act::PlantDescribed(described) => about.on_check.entry(described.check).or_default().push(kept),
                Act::VisitBegun(_) => about.begun.push(kept),
                Act::PooledCheck(_) => about.pooled.push(kept),
                _ => {}
            }
        }
        about
    }

    /// The entries that a finding in a visit is said of: the beginnings of the checks it names, or of the visit's parts.
    fn places(&self, finding: &Finding, visit: &VisitState) -> Vec<Place> {
        let checks = finding.checks();
        if !checks.is_empty() {
            return checks.iter().flat_map(|check| self.of_check(*check)).collect();
        }
        match finding {
            Finding::SameId { .. }
            | Finding::TakesBackNotOwn { .. }
            | Finding::NamesLaterEntry { .. }
            | Finding::NamesOtherScope { .. } => Vec::new(),
            Finding::StageOutsideProtocol { .. } => within(&self.pooled, visit, None),
            Finding::ClockJump { device, .. }
            | Finding::ClockImplausible { device }
            | Finding::DurationByWallClock { device, .. }
            | Finding::HastyEmptyPlants { device, .. }
            | Finding::Fork { device, .. } => within(&self.begun, visit, Some(*device)),
            _ => within(&self.begun, visit, None),
        }
    }

    fn of_check(&self, check: CheckId) -> Vec<Place> {
        if let Some(opened) = self.opened.get(&check) {
            return opened.iter().map(|kept| place(kept)).collect();
        }
        let first = self.on_check.get(&check).and_then(|on| on.iter().min_by_key(|kept| kept.key));
        first.map(|kept| place(kept)).into_iter().collect()
    }
}

fn within(entries: &[&Kept], visit: &VisitState, device: Option<DeviceId>) -> Vec<Place> {
    entries
        .iter()
        .filter(|kept| kept.entry.scope.visit().is_some_and(|own| visit.members.contains(&own)))
        .filter(|kept| device.is_none_or(|device| kept.key.stream.device == device))
        .map(|kept| place(kept))
        .collect()
}
