//! The review of a visit: plant by plant, totals, and what looks odd.

use super::message::Message;
use super::visit::{PlantRow, row};
use super::{Completeness, completeness};
use crate::error::{Error, Why};
use crate::state::group::Group;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use survey::finding::Finding;
use survey::fold::Standing;
use survey::ids::{CheckId, SiteId, VisitId};
use survey::protocol::Unit;
use survey::stage::What;
use survey::visit::PooledCheck;

/// A visit for looking over.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReviewView {
    /// The name of the group of joined visits.
    pub visit: VisitId,
    /// The site.
    pub site: SiteId,
    /// What the table has columns for: every stage in scope, then whatever else was counted.
    pub columns: Vec<What>,
    /// One row for each plant.
    pub plants: Vec<ReviewRow>,
    /// Totals over checks that enter estimates, each unit by itself.
    pub totals: Vec<ReviewTotal>,
    /// Totals of plants that were not kept apart.
    pub pooled: Vec<PooledCheck>,
    /// What looks odd.
    pub findings: Vec<Message>,
    /// Where each finding can be looked into, in their order.
    pub leads: Vec<FindingLead>,
    /// Entries that only a newer version understands.
    pub from_newer_version: u32,
    /// Whether all is folded.
    pub completeness: Completeness,
}

/// Where a finding can be looked into.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum FindingLead {
    /// With one plant.
    Plant(CheckId),
    /// Where two looks at one plant are matched.
    TwoLooks,
    /// With what is said of the visit as a whole.
    Visit,
    /// Nowhere on a phone.
    Nowhere,
}

/// A plant in the table.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReviewRow {
    /// The plant.
    pub plant: PlantRow,
    /// Findings about it, by their place in the list.
    pub findings: Vec<usize>,
}

/// Totals of one unit: counted, with no correction for what was overlooked.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ReviewTotal {
    /// The unit.
    pub unit: Unit,
    /// Whole checks that enter.
    pub checked: u64,
    /// Whole checks on which something living was counted.
    pub occupied: u64,
    /// Living animals; a stage in scope that was not seen is 0.
    pub living: BTreeMap<What, u64>,
}

pub(crate) fn view(group: &Group, visit: VisitId) -> Result<ReviewView, Error> {
    let state = group.state.as_ref().ok_or_else(|| Error::refused(Why::NotHere, visit))?;
    let scope: BTreeSet<What> =
        state.protocol.iter().flat_map(|protocol| &protocol.stages).map(|&stage| What::Stage(stage)).collect();
    let counted: BTreeSet<What> =
        state.checks.iter().flat_map(|check| check.tally.rows().map(|row| row.what)).collect();
    let number_of = |id| group.check(id).map(|check| check.number);
    let units: BTreeSet<Unit> = state.entering().map(|check| check.unit).collect();
    let totals = units.into_iter().map(|unit| {
        let entering =
            || state.entering().filter(move |check| check.unit == unit && check.standing == Standing::Enters);
        let mut living: BTreeMap<What, u64> = scope.iter().map(|what| (what.clone(), 0)).collect();
        for (what, number) in entering().flat_map(|check| check.tally.living_rows()) {
            let sum = living.entry(what).or_default();
            *sum = sum.saturating_add(number);
        }
        ReviewTotal {
            unit,
            checked: entering().count() as u64,
            occupied: entering().filter(|check| !check.tally.living_rows().is_empty()).count() as u64,
            living,
        }
    });
    Ok(ReviewView {
        visit: state.id,
        site: state.site,
        totals: totals.collect(),
        plants: state
            .checks
            .iter()
            .map(|check| ReviewRow {
                plant: row(check),
                findings: (0..state.findings.len())
                    .filter(|&at| state.findings[at].checks().contains(&check.id))
                    .collect(),
            })
            .collect(),
        pooled: state.pooled.iter().map(|pooled| pooled.check.clone()).collect(),
        findings: state.findings.iter().map(|finding| Message::finding(finding, number_of)).collect(),
        leads: state.findings.iter().map(lead).collect(),
        from_newer_version: state.from_newer_version,
        completeness: completeness(group),
        columns: scope.iter().chain(counted.difference(&scope)).cloned().collect(),
    })
}

fn lead(finding: &Finding) -> FindingLead {
    match finding {
        Finding::ImplausibleCount { check, .. }
        | Finding::NoSpecies { check }
        | Finding::UnitOutsideProtocol { check }
        | Finding::EmptyButCounted { check }
        | Finding::CountedButRefused { check }
        | Finding::LeftOpen { check }
        | Finding::NotOpened { check }
        | Finding::ReviewsDiffer { check, .. } => FindingLead::Plant(*check),
        Finding::ConflictingValues { check } | Finding::StageOutsideProtocol { check, .. } => {
            check.map_or(FindingLead::Visit, FindingLead::Plant)
        }
        Finding::EqualNumbers { .. } | Finding::MatchedTooMany { .. } => FindingLead::TwoLooks,
        Finding::EndsBeforeStart { .. }
        | Finding::ObserverInTwoVisits { .. }
        | Finding::DurationByWallClock { .. }
        | Finding::HastyEmptyPlants { .. }
        // Its minutes can be said there.
        | Finding::ClockJump { .. } => FindingLead::Visit,
        Finding::ClockImplausible { .. }
        | Finding::SameId { .. }
        | Finding::TakesBackNotOwn { .. }
        | Finding::NamesLaterEntry { .. }
        | Finding::NamesOtherScope { .. }
        | Finding::Fork { .. } => FindingLead::Nowhere,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use survey::stage::Stage;

    /// Each finding leads to where something can be done about it.
    #[test]
    fn findings_lead_to_their_place() {
        let ids: Vec<CheckId> = ["019a2b3c-0000-7000-8000-000000000001", "019a2b3c-0000-7000-8000-000000000002"]
            .iter()
            .map(|id| id.parse().expect("an id"))
            .collect();
        let (one, other) = (ids[0], ids[1]);
        let what = What::Stage(Stage::Egg);
        let table = [
            (Finding::NoSpecies { check: other }, FindingLead::Plant(other)),
            (Finding::LeftOpen { check: one }, FindingLead::Plant(one)),
            (Finding::ConflictingValues { check: Some(one) }, FindingLead::Plant(one)),
            (Finding::ConflictingValues { check: None }, FindingLead::Visit),
            (Finding::StageOutsideProtocol { check: None, what: what.clone() }, FindingLead::Visit),
            (Finding::EqualNumbers { number: 3, checks: [one, other].into() }, FindingLead::TwoLooks),
            (Finding::MatchedTooMany { checks: [one, other], what }, FindingLead::TwoLooks),
        ];
        for (finding, wanted) in table {
            assert_eq!(lead(&finding), wanted, "{finding:?}");
        }
    }
}
