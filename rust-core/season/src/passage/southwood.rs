//! Southwood's graphical method.

use super::series::check_durations;
use super::{StageSeries, id, present};
use crate::{Estimate, Refusal};

/// Area ÷ duration of each stage, read as the number entering it, with the ratios to the first left to the reader.
///
/// For comparison only: it takes for true that nobody dies within a stage, so that it is a lower bound of the numbers
/// entering (see [`present`], which gives the same values their right name).
///
/// Unit: animals. Domain: a duration for each stage.
///
/// Source: Southwood TRE, Jepson WF (1962) J. Anim. Ecol. 31:481-495.
///
/// # Errors
/// [`Refusal::NotMet`] as for [`present`].
pub fn southwood(series: &StageSeries, durations: &[f64]) -> Result<Vec<Estimate>, Refusal> {
    check_durations(durations, series.stages())?;
    let found = present(series, durations)?;
    let estimate = |value: f64| {
        Estimate::plain(value, series.times().len(), id::SOUTHWOOD).assuming([
            id::ASSUMED_FOR_COMPARISON,
            id::ASSUMED_NO_DEATH_WITHIN_STAGE,
            id::ASSUMED_KNOWN_DURATIONS,
            crate::aggregation::id::ASSUMED_NO_INTERVAL,
        ])
    };
    Ok(found.per_duration.into_iter().map(estimate).collect())
}
