//! Mean numbers present per unit of stage duration.

use super::series::check_durations;
use super::{StageSeries, id, stage_areas};
use crate::{Estimate, Refusal};
use serde::Serialize;

/// Numbers present, set against how long each stage lasts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Present {
    /// For each stage: area ÷ duration.
    pub per_duration: Vec<f64>,
    /// Last stage ÷ first.
    pub ratio: Estimate,
}

/// Mean numbers present per unit of stage duration (area ÷ duration), and the ratio of the last stage's to the first's.
///
/// This is *not* the number passing through: it would be so only if nobody died within the stage. Where losses within
/// the first stage are heavy the ratio overstates survival; area ÷ duration of eggs is a lower bound of eggs laid.
/// Durations in degree-days belong with a series over degree-days ([`StageSeries::at_times`]); over days, with widths in
/// degree-days, the result holds only for a constant temperature, and both are to be shown and named.
///
/// Unit: animals. Domain: a duration for each stage, the first stage not empty. No interval of its own.
///
/// Source: Southwood TRE, Jepson WF (1962) J. Anim. Ecol. 31:481-495.
///
/// # Errors
/// [`Refusal::NotMet`] for durations of another number or not above 0, or an empty first stage.
pub fn present(series: &StageSeries, durations: &[f64]) -> Result<Present, Refusal> {
    check_durations(durations, series.stages())?;
    let per_duration: Vec<f64> =
        stage_areas(series)?.iter().zip(durations).map(|(area, duration)| area / duration).collect();
    let (first, last) = (per_duration[0], per_duration[per_duration.len() - 1]);
    if first <= 0.0 {
        return Err(Refusal::NotMet(id::REFUSED_STAGE_EMPTY));
    }
    let ratio = Estimate::plain(last / first, series.times().len(), id::PRESENT_RATIO)
        .assuming([
            id::ASSUMED_NO_DEATH_WITHIN_STAGE,
            id::ASSUMED_KNOWN_DURATIONS,
            crate::id::ASSUMED_ALL_SEEN,
            crate::aggregation::id::ASSUMED_NO_INTERVAL,
        ])
        .sound()?;
    Ok(Present { per_duration, ratio })
}
