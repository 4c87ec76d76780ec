//! Area under the curve of tagged plants.

use super::id;
use crate::densities::{Bootstrap, Watch, bca};
use crate::{Estimate, Level, Point, Refusal, trapezoid};

/// Area under the mean per plant of tagged plants over a season, with an interval that resamples plants, not visits: the
/// same plants are seen each time, so visits are not independent.
///
/// `plants` holds one list per plant over the visits; `None` where it was not found or not checked, which is not empty.
/// The mean of a visit is over the plants checked then. Interval by [`bca`] over plants.
///
/// Unit: animal-days per plant. Domain: at least two plants and two visits, each visit with a plant checked. It is about
/// the tagged plants.
///
/// Source: trapezoids Southwood TRE, Henderson PA (2000) Ecological Methods, chapter 10; bootstrap Efron B (1987).
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
    let found = bca(plants, area, how, level, watch)?;
    Ok(Estimate { method: id::TAGGED_AREA, ..found }.within(0.0, f64::MAX).assuming([
        crate::id::ASSUMED_TAGGED_STAND_FOR_SITE,
        crate::id::ASSUMED_STRAIGHT_BETWEEN_VISITS,
        crate::id::ASSUMED_ALL_SEEN,
    ]))
}
