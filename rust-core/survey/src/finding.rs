//! Findings: what looks odd. Never a refusal; each has a message id and arguments, the words come from the catalogue.

use crate::check::Extent;
use crate::fold::{CheckState, Fold, Kept, NoEffect, Standing, VisitState};
use crate::ids::{CheckId, DeviceId, EntryId, ObserverId, VisitId};
use crate::stage::What;
use crate::time::UnixMs;
use serde::{Deserialize, Serialize};
use std::collections::{BTreeMap, BTreeSet};

/// Something that looks odd.
#[derive(Debug, Clone, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(tag = "finding", rename_all = "kebab-case")]
pub enum Finding {
    /// More of one kind on one plant than [`MOST_ON_ONE_UNIT`].
    ImplausibleCount {
        /// Where.
        check: CheckId,
        /// What was counted.
        what: What,
        /// How many.
        number: u64,
    },
    /// A visit ends before it starts.
    EndsBeforeStart {
        /// Which.
        visit: VisitId,
    },
    /// One observer is in two visits at one time.
    ObserverInTwoVisits {
        /// Who, by random id.
        observer: ObserverId,
        /// The visits.
        visits: [VisitId; 2],
    },
    /// A device's wall clock moved by more than a minute against the time since boot.
    ClockJump {
        /// Whose.
        device: DeviceId,
        /// Milliseconds, forward positive.
        jumped_ms: i64,
    },
    /// A wall clock that shows a year before 2020 or after 2100.
    ClockImplausible {
        /// Whose.
        device: DeviceId,
    },
    /// The duration of a part rests on the wall clock, for the phone was restarted.
    DurationByWallClock {
        /// Which part.
        visit: VisitId,
        /// Whose.
        device: DeviceId,
    },
    /// No host species was given.
    NoSpecies {
        /// Where.
        check: CheckId,
    },
    /// Something was counted that the protocol does not look for.
    StageOutsideProtocol {
        /// Where; `None` for a pooled check.
        check: Option<CheckId>,
        /// What.
        what: What,
    },
    /// A check in another unit than the protocol gives its host.
    UnitOutsideProtocol {
        /// Where.
        check: CheckId,
    },
    /// Two devices used one plant number in a joined visit, and nobody has said what that means.
    EqualNumbers {
        /// The number.
        number: u32,
        /// The checks.
        checks: BTreeSet<CheckId>,
    },
    /// More than three empty plants of a device were looked at for less than two seconds each.
    HastyEmptyPlants {
        /// Whose.
        device: DeviceId,
        /// How many.
        number: u32,
    },
    /// A plant was said to be empty although something is counted on it.
    EmptyButCounted {
        /// Where.
        check: CheckId,
    },
    /// Something is counted on a plant that was not searched.
    CountedButRefused {
        /// Where.
        check: CheckId,
    },
    /// The visit ended with a plant check still open.
    LeftOpen {
        /// Which.
        check: CheckId,
    },
    /// The beginning of a plant check is not here.
    NotOpened {
        /// Which.
        check: CheckId,
    },
    /// Matched numbers exceed what one of the two checks counted.
    MatchedTooMany {
        /// The checks.
        checks: [CheckId; 2],
        /// What.
        what: What,
    },
    /// Several current values of one field differ.
    ConflictingValues {
        /// On which check; `None` for the visit or site itself.
        check: Option<CheckId>,
    },
    /// Several current reviews of one count differ.
    ReviewsDiffer {
        /// Where.
        check: CheckId,
        /// The count.
        count: EntryId,
    },
    /// An entry that is kept and has no effect: another has its id.
    SameId {
        /// The entry.
        entry: EntryId,
    },
    /// An entry that is kept and has no effect: it takes back another device's.
    TakesBackNotOwn {
        /// The entry.
        entry: EntryId,
    },
    /// An entry that is kept and has no effect: what it names is not earlier.
    NamesLaterEntry {
        /// The entry.
        entry: EntryId,
    },
    /// An entry that is kept and has no effect: what it names has another scope.
    NamesOtherScope {
        /// The entry.
        entry: EntryId,
    },
    /// A stream has two branches: a phone was restored or cloned, and went on.
    Fork {
        /// Whose.
        device: DeviceId,
        /// The first sequence number that stands twice.
        seq: u64,
    },
}

/// More animals of one kind than this on one stem or clump are pointed out (common practice, no source).
pub const MOST_ON_ONE_UNIT: u64 = 50;
/// More empty plants than this in [`HASTY_MS`] each are pointed out.
const HASTY_NUMBER: usize = 3;
/// Milliseconds.
const HASTY_MS: u64 = 2000;
/// A clock that moved by more than this many milliseconds is pointed out.
const JUMP_MS: i64 = 60_000;
/// 2020-01-01 and 2101-01-01, UTC.
const PLAUSIBLE: std::ops::Range<i64> = 1_577_836_800_000..4_133_980_800_000;

impl Finding {
    /// The id of its message in the catalogue.
    pub const fn message_id(&self) -> &'static str {
        match self {
            Self::ImplausibleCount { .. } => "finding.implausible-count",
            Self::EndsBeforeStart { .. } => "finding.ends-before-start",
            Self::ObserverInTwoVisits { .. } => "finding.observer-in-two-visits",
            Self::ClockJump { .. } => "finding.clock-jump",
            Self::ClockImplausible { .. } => "finding.clock-implausible",
            Self::DurationByWallClock { .. } => "finding.duration-by-wall-clock",
            Self::NoSpecies { .. } => "finding.no-species",
            Self::StageOutsideProtocol { .. } => "finding.stage-outside-protocol",
            Self::UnitOutsideProtocol { .. } => "finding.unit-outside-protocol",
            Self::EqualNumbers { .. } => "finding.equal-numbers",
            Self::HastyEmptyPlants { .. } => "finding.hasty-empty-plants",
            Self::EmptyButCounted { .. } => "finding.empty-but-counted",
            Self::CountedButRefused { .. } => "finding.counted-but-refused",
            Self::LeftOpen { .. } => "finding.left-open",
            Self::NotOpened { .. } => "finding.not-opened",
            Self::MatchedTooMany { .. } => "finding.matched-too-many",
            Self::ConflictingValues { .. } => "finding.conflicting-values",
            Self::ReviewsDiffer { .. } => "finding.reviews-differ",
            Self::SameId { .. } => "finding.same-id",
            Self::TakesBackNotOwn { .. } => "finding.takes-back-not-own",
            Self::NamesLaterEntry { .. } => "finding.names-later-entry",
            Self::NamesOtherScope { .. } => "finding.names-other-scope",
            Self::Fork { .. } => "finding.fork",
        }
    }

    /// The plant checks it is about.
    pub fn checks(&self) -> Vec<CheckId> {
        match self {
            Self::ImplausibleCount { check, .. }
            | Self::NoSpecies { check }
            | Self::UnitOutsideProtocol { check }
            | Self::EmptyButCounted { check }
            | Self::CountedButRefused { check }
            | Self::LeftOpen { check }
            | Self::NotOpened { check }
            | Self::ReviewsDiffer { check, .. } => vec![*check],
            Self::ConflictingValues { check } | Self::StageOutsideProtocol { check, .. } => {
                check.iter().copied().collect()
            }
            Self::EqualNumbers { checks, .. } => checks.iter().copied().collect(),
            Self::MatchedTooMany { checks, .. } => checks.to_vec(),
            Self::EndsBeforeStart { .. }
            | Self::ObserverInTwoVisits { .. }
            | Self::ClockJump { .. }
            | Self::ClockImplausible { .. }
            | Self::DurationByWallClock { .. }
            | Self::HastyEmptyPlants { .. }
            | Self::SameId { .. }
            | Self::TakesBackNotOwn { .. }
            | Self::NamesLaterEntry { .. }
            | Self::NamesOtherScope { .. }
            | Self::Fork { .. } => Vec::new(),
        }
    }
}

/// Pairs of visits that share an observer and overlap in time.
pub fn observers_in_two_visits<'a>(visits: impl IntoIterator<Item = &'a VisitState>) -> Vec<Finding> {
    let mut spans: BTreeMap<ObserverId, Vec<(UnixMs, UnixMs, VisitId)>> = BTreeMap::new();
    for visit in visits {
        let (Some(started), Some(ended)) = (visit.started, visit.ended) else { continue };
        for &observer in &visit.observers {
            spans.entry(observer).or_default().push((started, ended, visit.id));
        }
    }
    let mut findings = Vec::new();
    for (observer, mut spans) in spans {
        spans.sort_unstable();
        for (at, &(_, ended, visit)) in spans.iter().enumerate() {
            let overlapping = spans[at + 1..].iter().take_while(|(started, _, _)| *started < ended);
            findings.extend(
                overlapping.map(|&(_, _, other)| Finding::ObserverInTwoVisits { observer, visits: [visit, other] }),
            );
        }
    }
    findings
}

/// What looks odd about a visit's own state.
pub(crate) fn of_visit(visit: &VisitState) -> Vec<Finding> {
    let mut findings = of_visit_itself(visit);
    for check in &visit.checks {
        of_check(check, visit, &mut findings);
    }
    findings
}

/// The same without what is about one check alone.
pub(crate) fn of_visit_itself(visit: &VisitState) -> Vec<Finding> {
    let mut findings = Vec::new();
    if visit.started.zip(visit.ended).is_some_and(|(started, ended)| ended < started)
        || visit.parts.iter().any(|part| part.ended.is_some_and(|ended| ended < part.begun))
    {
        findings.push(Finding::EndsBeforeStart { visit: visit.id });
    }
    let pooled = visit.pooled.iter().flat_map(|pooled| pooled.check.totals.keys()).filter(|what| outside(visit, what));
    findings.extend(pooled.map(|what| Finding::StageOutsideProtocol { check: None, what: what.clone() }));
    let mut hasty: BTreeMap<DeviceId, usize> = BTreeMap::new();
    for check in &visit.checks {
        if check.seen_empty.is_some() && check.took_ms.is_some_and(|took| took < HASTY_MS) {
            *hasty.entry(check.device).or_default() += 1;
        }
    }
    findings.extend(hasty.into_iter().filter(|(_, number)| *number > HASTY_NUMBER).map(|(device, number)| {
        Finding::HastyEmptyPlants { device, number: u32::try_from(number).unwrap_or(u32::MAX) }
    }));
    for matched in &visit.matched {
        let seen = |id: CheckId, what: &What| {
            visit.checks.iter().find(|check| check.id == id).map_or(0, |check| check.tally.living(what))
        };
        for (what, &both) in &matched.matched.both {
            if matched.matched.checks.iter().any(|&check| u64::from(both) > seen(check, what)) {
                findings.push(Finding::MatchedTooMany { checks: matched.matched.checks, what: what.clone() });
            }
        }
    }
    findings
}

/// What looks odd about one check of a visit.
pub(crate) fn of_check(check: &CheckState, visit: &VisitState, findings: &mut Vec<Finding>) {
    let id = check.id;
    if check.standing == Standing::NotOpened {
        findings.push(Finding::NotOpened { check: id });
        return;
    }
    if check.host.is_none() {
        findings.push(Finding::NoSpecies { check: id });
    }
    if check.extent.is_none() && visit.ended.is_some() {
        findings.push(Finding::LeftOpen { check: id });
    }
    if check.seen_empty.is_some() && !check.tally.is_empty() {
        findings.push(Finding::EmptyButCounted { check: id });
    }
    if matches!(check.extent, Some(Extent::Refused(_))) && !check.tally.is_empty() {
        findings.push(Finding::CountedButRefused { check: id });
    }
    if let (Some(protocol), Some(host)) = (&visit.protocol, &check.host)
        && protocol.unit_of(host) != check.unit
    {
        findings.push(Finding::UnitOutsideProtocol { check: id });
    }
    let mut by_what: BTreeMap<What, u64> = BTreeMap::new();
    for row in check.tally.rows() {
        let sum = by_what.entry(row.what).or_default();
        *sum = sum.saturating_add(row.number);
    }
    for (what, number) in by_what {
        if outside(visit, &what) {
            findings.push(Finding::StageOutsideProtocol { check: Some(id), what: what.clone() });
        }
        if number > MOST_ON_ONE_UNIT {
            findings.push(Finding::ImplausibleCount { check: id, what, number });
        }
    }
}

fn outside(visit: &VisitState, what: &What) -> bool {
    visit.protocol.as_ref().is_some_and(|protocol| what.stages().iter().any(|stage| !protocol.stages.contains(stage)))
}

impl Fold {
    /// What looks odd about the entries of these visits: clocks, and entries without effect.
    pub(crate) fn findings_of_entries(&self, members: &BTreeSet<VisitId>) -> Vec<Finding> {
        let mut findings = Vec::new();
        let mut entries: Vec<_> = members.iter().flat_map(|&visit| self.within(visit)).collect();
        entries.sort_unstable_by_key(|kept| (kept.key.stream, kept.key.seq, kept.key.hash));
        for kept in &entries {
            self.of_entry(kept, &mut findings);
        }
        for pair in entries.windows(2) {
            let [before, after] = pair else { continue };
            of_neighbours(before, after, &mut findings);
        }
        findings
    }

    /// The same for these entries alone, which are the last of their stream.
    pub(crate) fn findings_of_last_entries(&self, members: &BTreeSet<VisitId>, last: &[EntryId]) -> Vec<Finding> {
        let mut findings = Vec::new();
        for kept in last.iter().filter_map(|&id| self.entry(id)) {
            self.of_entry(kept, &mut findings);
            let behind = |before: &&Kept| before.key.stream == kept.key.stream && before.key.seq < kept.key.seq;
            let latest = members.iter().filter_map(|&visit| self.within(visit).rev().find(behind));
            if let Some(before) = latest.max_by_key(|before| before.key.seq) {
                of_neighbours(before, kept, &mut findings);
            }
        }
        findings
    }

    fn of_entry(&self, kept: &Kept, findings: &mut Vec<Finding>) {
        let entry = kept.entry.id;
        findings.extend(self.no_effect(kept).map(|reason| match reason {
            NoEffect::SameId => Finding::SameId { entry },
            NoEffect::NotOwn => Finding::TakesBackNotOwn { entry },
            NoEffect::NotEarlier => Finding::NamesLaterEntry { entry },
            NoEffect::OtherScope => Finding::NamesOtherScope { entry },
        }));
        if !PLAUSIBLE.contains(&kept.entry.wall.0) {
            findings.push(Finding::ClockImplausible { device: kept.key.stream.device });
        }
    }
}

/// What looks odd between an entry and the next of the same stream.
fn of_neighbours(before: &Kept, after: &Kept, findings: &mut Vec<Finding>) {
    if before.key.stream != after.key.stream {
        return;
    }
    let device = before.key.stream.device;
    if before.key.seq == after.key.seq {
        findings.push(Finding::Fork { device, seq: after.key.seq.0 });
    }
    let (from, to) = (before.entry.since_boot, after.entry.since_boot);
    if from.boot != to.boot {
        return;
    }
    let passed = i64::try_from(to.ms).unwrap_or(i64::MAX).saturating_sub(i64::try_from(from.ms).unwrap_or(i64::MAX));
    let jumped_ms = after.entry.wall.0.saturating_sub(before.entry.wall.0).saturating_sub(passed);
    if jumped_ms.saturating_abs() > JUMP_MS {
        findings.push(Finding::ClockJump { device, jumped_ms });
    }
}
