//! Area-weighted mean date.

use super::{StageSeries, id};
use crate::{Estimate, Refusal};

/// Mean date of a stage's presence, each visit weighted by its share of the area: sum of time × number × half the time
/// between its neighbours ÷ area.
///
/// Unit: that of the series' times. Domain: at least one animal. No interval of its own; the last animals present when
/// the series starts or ends pull it inward.
///
/// Source: Manly BFJ (1990) Stage-Structured Populations, Chapman & Hall, chapter 4.
///
/// # Errors
/// [`Refusal::NotMet`] for a stage without animals or a stage that the series lacks.
pub fn mean_date(series: &StageSeries, stage: usize) -> Result<Estimate, Refusal> {
    if stage >= series.stages() {
        return Err(Refusal::NotMet(id::REFUSED_SERIES_SHAPE));
    }
    let (times, counts) = (series.times(), series.stage(stage));
    let last = times.len() - 1;
    let weight = |visit: usize| (times[(visit + 1).min(last)] - times[visit.saturating_sub(1)]) / 2.0 * counts[visit];
    let area: f64 = (0..=last).map(weight).sum();
    if area <= 0.0 {
        return Err(Refusal::NotMet(id::REFUSED_STAGE_EMPTY));
    }
    let value = (0..=last).map(|visit| weight(visit) * times[visit]).sum::<f64>() / area;
    Estimate::plain(value, times.len(), id::MEAN_DATE)
        .assuming([crate::id::ASSUMED_STRAIGHT_BETWEEN_VISITS, crate::aggregation::id::ASSUMED_NO_INTERVAL])
        .sound()
}
