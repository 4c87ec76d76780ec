//! The state of a visit after a few entries more, without going through all of it again.

use super::index::{Fold, Kept, Subject};
use super::state::{Standing, VisitState};
use super::visit::{comparisons, settle_equal_numbers};
use crate::entry::Act;
use crate::finding::{self, Finding};
use crate::ids::{CheckId, EntryId};
use std::collections::BTreeSet;

impl Fold {
    /// The state of a visit, given its state before these entries were put in last. They are of one stream, in its
    /// order, behind all others of that stream; the result is that of [`Fold::visit`].
    ///
    /// Acts on plants, and their taking back, cost what those plants cost; for any other the whole visit is folded.
    pub fn visit_after(&self, before: &VisitState, fresh: &[EntryId]) -> Option<VisitState> {
        let mut touched = BTreeSet::new();
        for &id in fresh {
            if self.has_twin(id) || !self.touches(id, &mut touched) {
                return self.visit(before.id);
            }
        }
        let whole: Vec<&Kept> = before.members.iter().flat_map(|&member| self.on(Subject::Visit(member))).collect();
        let mut state = before.clone();
        state.audits = self.audits(&whole);
        state.findings.retain(|finding| stays(finding, &touched));
        state.checks.retain(|check| !touched.contains(&check.id));
        for check in &mut state.checks {
            // Both follow from a comparison with other checks, which is made again below.
            if matches!(check.standing, Standing::Disputed | Standing::SecondLook) {
                check.standing = Standing::Enters;
            }
        }
        for &id in &touched {
            let Some((check, odd)) = self.check_and_findings(id, &before.members) else { continue };
            state.checks.push(check);
            state.findings.extend(odd);
        }
        state.checks.sort_unstable_by_key(|check| (check.number, check.device, check.id));
        settle_equal_numbers(&mut state.checks, &comparisons(&whole), &mut state.findings);
        let mut findings = std::mem::take(&mut state.findings);
        for check in state.checks.iter().filter(|check| touched.contains(&check.id)) {
            finding::of_check(check, &state, &mut findings);
        }
        findings.extend(finding::of_visit_itself(&state));
        findings.extend(self.findings_of_last_entries(&state.members, fresh));
        findings.sort_unstable();
        findings.dedup();
        Some(VisitState { findings, ..state })
    }

    /// Adds the check that an act is about, through whatever takes it back; `false` for acts that are about more.
    fn touches(&self, id: EntryId, touched: &mut BTreeSet<CheckId>) -> bool {
        let mut at = id;
        // A chain of take-backs ends where it is in order; the bound is for one that is not.
        for _ in 0..=self.len() {
            match self.entry(at).map(|kept| &kept.entry.act) {
                Some(Act::TakenBack(taken)) => at = taken.target,
                Some(Act::PlantOpened(opened)) => return insert(touched, opened.check),
                Some(Act::Counted(counted)) => return insert(touched, counted.check),
                Some(Act::PlantDescribed(described)) => return insert(touched, described.check),
                Some(Act::PlantClosed(closed)) => return insert(touched, closed.check),
                Some(Act::AuditRequested(_)) => return true,
                _ => return false,
            }
        }
        false
    }
}

fn insert(touched: &mut BTreeSet<CheckId>, check: CheckId) -> bool {
    touched.insert(check);
    true
}

/// Whether a finding of the state before is still one, where only these checks were touched. What is about the visit
/// as a whole is looked for again.
fn stays(finding: &Finding, touched: &BTreeSet<CheckId>) -> bool {
    match finding {
        Finding::ImplausibleCount { check, .. }
        | Finding::NoSpecies { check }
        | Finding::UnitOutsideProtocol { check }
        | Finding::EmptyButCounted { check }
        | Finding::CountedButRefused { check }
        | Finding::LeftOpen { check }
        | Finding::NotOpened { check }
        | Finding::ReviewsDiffer { check, .. } => !touched.contains(check),
        Finding::ConflictingValues { check } => check.is_none_or(|check| !touched.contains(&check)),
        Finding::StageOutsideProtocol { check, .. } => check.is_some_and(|check| !touched.contains(&check)),
        Finding::EndsBeforeStart { .. }
        | Finding::EqualNumbers { .. }
        | Finding::HastyEmptyPlants { .. }
        | Finding::MatchedTooMany { .. } => false,
        Finding::ObserverInTwoVisits { .. }
        | Finding::ClockJump { .. }
        | Finding::ClockImplausible { .. }
        | Finding::DurationByWallClock { .. }
        | Finding::SameId { .. }
        | Finding::TakesBackNotOwn { .. }
        | Finding::NamesLaterEntry { .. }
        | Finding::NamesOtherScope { .. }
        | Finding::Fork { .. } => true,
    }
}
