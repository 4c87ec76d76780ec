//! A site's seasons from the visits that are on this phone, by the way that the station goes too.

use chrono::Datelike;
use season::{SiteSeason, VisitSample, visit_samples};
use std::collections::BTreeMap;
use survey::fold::{SiteState, VisitState};
use survey::protocol::Unit;

/// The seasons of a site by year and unit; a visit without a date, a protocol or anything checked is in none.
pub(super) fn seasons(site: &SiteState, visits: &[VisitState]) -> BTreeMap<(i32, Unit), SiteSeason> {
    let mut samples: BTreeMap<(i32, Unit), Vec<VisitSample>> = BTreeMap::new();
    for visit in visits {
        // What stays behind stands on the visit's own page.
        for sample in visit_samples(site, visit, &mut |_| {}) {
            let Some(unit) = sample.unit else { continue };
            samples.entry((sample.date.naive().year(), unit)).or_default().push(sample);
        }
    }
    let made = samples.into_iter();
    // What a season refuses was taken out above.
    made.filter_map(|(key, samples)| Some((key, SiteSeason::new(samples).ok()?))).collect()
}
