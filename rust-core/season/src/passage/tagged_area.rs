//! Area under the curve of tagged plants.

use super::id;
use crate::densities::{Bootstrap, Watch, bca};
use crate::numeric::normal_above;
use crate::{Estimate, Interval, Level, Point, Refusal, quantile, trapezoid};

/// Area under the mean per plant of tagged plants over a season, with an interval that resamples plants, not visits: the
/// same plants are seen each time, so visits are not independent.
///
/// `plants` holds one list per plant over the visits; `None` where it was not found or not checked, which is not empty.
/// The mean of a visit is over the plants checked then. Interval by [`bca`] over plants, its tails widened for few plants to
/// Φ(−√(n ÷ (n − 1)) × t quantile with n − 1 degrees).
///
/// Unit: animal-days per plant. Domain: at least two plants and two visits, each visit with a plant checked. It is about
/// the tagged plants.
///
/// Source: trapezoids Southwood TRE, Henderson PA (2000) Ecological Methods, chapter 10; bootstrap Efron B (1987)
/// J. Am. Stat. Assoc. 82:171-185; widening Hesterberg TC (2015) Am. Stat. 69:371-386.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::SameDay`], [`Refusal::NoVariance`]; [`Refusal::NotMet`] for lists of another length
/// or a visit without any plant.
pub fn tagged_area(
    days: &[f64],
    plants: &[Vec<Option<u32>>],
    how: Bootstrap,
    level: Level,
    watch: Watch<'_>,
) -> Result<Estimate, Refusal> {
    if plants.iter().any(|plant| plant.len() != days.len()) {
        return Err(Refusal::NotMet(id::REFUSED_SERIES_SHAPE));
    }
    let points = |plants: &[&Vec<Option<u32>>]| -> Option<Vec<Point>> {
        days.iter()
            .enumerate()
            .map(|(visit, &day)| {
                let checked: Vec<u32> = plants.iter().filter_map(|plant| plant[visit]).collect();
                let sum: f64 = checked.iter().map(|&count| f64::from(count)).sum();
                (!checked.is_empty()).then(|| Point { day, value: sum / checked.len() as f64 })
            })
            .collect()
    };
    let all: Vec<&Vec<Option<u32>>> = plants.iter().collect();
    trapezoid(&points(&all).ok_or(Refusal::Nothing)?)?;
    let area = |plants: &[&Vec<Option<u32>>]| trapezoid(&points(plants)?).ok();
    let n = plants.len() as f64;
    crate::numeric::at_least(plants.len(), 2)?;
    let reach = (n / (n - 1.0)).sqrt() * quantile::t(n - 1.0, 1.0 - level.alpha() / 2.0)?;
    let wide = Level::new(1.0 - 2.0 * normal_above(reach))?;
    let found = bca(plants, area, how, wide, watch)?;
    let interval = found.interval.map(|interval| Interval { level, ..interval });
    Ok(Estimate { method: id::TAGGED_AREA, interval, ..found }.within(0.0, f64::MAX).assuming([
        crate::id::ASSUMED_TAGGED_STAND_FOR_SITE,
        crate::id::ASSUMED_STRAIGHT_BETWEEN_VISITS,
        crate::id::ASSUMED_ALL_SEEN,
    ]))
}
