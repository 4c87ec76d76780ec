//! From folded visits to what estimates are made from: the one way for phones and stations alike.

use crate::sample::{Choice, Counted, Counts, Group, VisitSample};
use std::collections::{BTreeMap, BTreeSet};
use survey::date::Date;
use survey::fold::{CheckState, SiteState, VisitState};
use survey::protocol::{Protocol, Unit};
use survey::stage::{Stage, What};
use survey::visit::PooledCheck;

/// What stays behind when a visit becomes samples, and what has to be said beside them.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Aside {
    /// The visit has no date: it gives no sample.
    NoDate,
    /// No protocol says what was looked for: the visit gives no sample.
    NoProtocol,
    /// Totals of a unit whose plants were also checked one by one: they stay behind.
    PooledAndSingle,
    /// Only totals are known, with their effort.
    Pooled,
    /// Only totals are known, and nobody wrote down how many plants they are of.
    PooledEffortUnknown,
    /// So many things are of stages that the protocol does not look for.
    OutOfScope(u64),
    /// Nothing was checked that enters.
    NothingChecked,
}

/// The samples of a visit, one for each unit of check in which whole plants were checked, or of which totals were written
/// down where no plant of that unit was checked by itself.
///
/// Checks that enter and living animals alone; an undecided thing stays where any of its stages is looked for, and an
/// unjudged larva where all five instars are. Everything else goes to `aside`. The number of plants at the site is known
/// for stems only.
pub fn visit_samples(site: &SiteState, visit: &VisitState, aside: &mut dyn FnMut(Aside)) -> Vec<VisitSample> {
    let Some(date) = visit.date() else {
        aside(Aside::NoDate);
        return Vec::new();
    };
    let Some(protocol) = &visit.protocol else {
        aside(Aside::NoProtocol);
        return Vec::new();
    };
    let mut singles: BTreeMap<Unit, Vec<&CheckState>> = BTreeMap::new();
    for check in visit.entering() {
        singles.entry(check.unit).or_default().push(check);
    }
    let mut pooled: BTreeMap<Unit, Vec<&PooledCheck>> = BTreeMap::new();
    for state in &visit.pooled {
        pooled.entry(state.check.unit).or_default().push(&state.check);
    }
    let mut samples = Vec::new();
    for unit in singles.keys().chain(pooled.keys()).copied().collect::<BTreeSet<_>>() {
        let counted = match (singles.get(&unit), pooled.get(&unit)) {
            (Some(checks), totals) => {
                if totals.is_some() {
                    aside(Aside::PooledAndSingle);
                }
                Counted::Units(checks.iter().map(|check| counts(protocol, check.tally.living_rows(), aside)).collect())
            }
            (None, Some(totals)) => pool(protocol, totals, aside),
            (None, None) => continue,
        };
        samples.push(sample(site, protocol, unit, date, counted));
    }
    if samples.is_empty() {
        aside(Aside::NothingChecked);
    }
    samples
}

fn sample(site: &SiteState, protocol: &Protocol, unit: Unit, date: Date, counted: Counted) -> VisitSample {
    let units_at_site = match unit {
        Unit::Stem => site.stems_expected,
        Unit::Clump => None,
    };
    let scope = protocol.stages.clone();
    VisitSample { date, unit: Some(unit), choice: Choice::from(protocol.choice), units_at_site, scope, counted }
}

fn pool(protocol: &Protocol, totals: &[&PooledCheck], aside: &mut dyn FnMut(Aside)) -> Counted {
    let checked = totals.iter().map(|pooled| pooled.checked).try_fold(0_u32, |sum, one| Some(sum.saturating_add(one?)));
    aside(if checked.is_some() { Aside::Pooled } else { Aside::PooledEffortUnknown });
    let rows = totals.iter().flat_map(|pooled| &pooled.totals).map(|(what, number)| (what.clone(), u64::from(*number)));
    Counted::Pooled { counts: counts(protocol, rows, aside), checked }
}

/// Counts of what the protocol looks for.
fn counts(protocol: &Protocol, rows: impl IntoIterator<Item = (What, u64)>, aside: &mut dyn FnMut(Aside)) -> Counts {
    rows.into_iter()
        .filter(|(what, number)| {
            let inside = is_looked_for(&protocol.stages, what);
            if !inside && *number > 0 {
                aside(Aside::OutOfScope(*number));
            }
            inside
        })
        .map(|(what, number)| (what, u32::try_from(number).unwrap_or(u32::MAX)))
        .collect()
}

fn is_looked_for(scope: &BTreeSet<Stage>, what: &What) -> bool {
    // What a sample has in scope is the estimates' own rule: an unjudged larva is where all five instars are.
    let probe = VisitSample {
        date: Date::from(chrono::NaiveDate::default()),
        unit: None,
        choice: Choice::NotStated,
        units_at_site: None,
        scope: scope.clone(),
        counted: Counted::Units(Vec::new()),
    };
    what.stages().into_iter().any(|stage| probe.has_in_scope(Group::Stage(stage)))
}
