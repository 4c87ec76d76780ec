//! From findings and missing effects to what is said of single entries.

use crate::store::judgements::EntryRuling;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::Hash;
use survey::entry::Act;
use survey::finding::{Finding, observers_in_two_visits};
use survey::fold::{Fold, Kept, NoEffect, OrderKey, VisitState};
use survey::ids::{CheckId, DeviceId};
use sync::wire::verdict::Ruling;

/// What is said of the entries of a site, given the states of its visits: only what is not simply accepted.
pub(super) fn rulings(fold: &Fold, visits: &[&VisitState]) -> Vec<EntryRuling> {
    let mut refused = BTreeMap::new();
    for kept in fold.entries() {
        if let Some(why) = fold.no_effect(kept) {
            refused.insert(place(kept), reason(why, kept).message_id());
        }
    }
    let about = About::new(fold);
    let mut remarks: BTreeMap<Place, BTreeSet<&'static str>> = BTreeMap::new();
    let everywhere = observers_in_two_visits(visits.iter().copied());
    for &visit in visits {
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
