//! From folded visits to what estimates are made from: whole checks that enter, living animals of stages in scope, each
//! unit by itself.

use chrono::Datelike;
use season::{Choice, Counted, Counts, SiteSeason, VisitSample};
use std::collections::BTreeMap;
use survey::date::Date;
use survey::fold::{SiteState, VisitState};
use survey::protocol::{Protocol, Unit};
use survey::stage::What;

/// The seasons of a site by year and unit; a visit without a date, a protocol or a whole check is in none.
pub(super) fn seasons(site: &SiteState, visits: &[VisitState]) -> BTreeMap<(i32, Unit), SiteSeason> {
    let mut samples: BTreeMap<(i32, Unit), Vec<VisitSample>> = BTreeMap::new();
    for visit in visits {
        let Some(date) = visit.date() else { continue };
        for unit in [Unit::Stem, Unit::Clump] {
            let year = date.naive().year();
            samples.entry((year, unit)).or_default().extend(sample(site, visit, date, unit));
        }
    }
    let made = samples.into_iter().filter(|(_, samples)| !samples.is_empty());
    // What a season refuses was taken out above.
    made.filter_map(|(key, samples)| Some((key, SiteSeason::new(samples).ok()?))).collect()
}

/// The sample of a visit in one unit.
pub(super) fn sample(site: &SiteState, visit: &VisitState, date: Date, unit: Unit) -> Option<VisitSample> {
    let protocol = visit.protocol.as_ref()?;
    let own = visit.entering().filter(|check| check.unit == unit);
    let units: Vec<Counts> = own.map(|check| counts(protocol, check.tally.living_rows())).collect();
    if units.is_empty() {
        return None;
    }
    Some(VisitSample {
        date,
        unit: Some(unit),
        choice: Choice::from(protocol.choice),
        units_at_site: site.stems_expected.filter(|_| unit == Unit::Stem),
        scope: protocol.stages.clone(),
        counted: Counted::Units(units),
    })
}

fn counts(protocol: &Protocol, rows: BTreeMap<What, u64>) -> Counts {
    let looked_for = |what: &What| what.stages().iter().any(|stage| protocol.stages.contains(stage));
    let in_scope = rows.into_iter().filter(|(what, _)| looked_for(what));
    in_scope.map(|(what, number)| (what, u32::try_from(number).unwrap_or(u32::MAX))).collect()
}
