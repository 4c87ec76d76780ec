//! Areas under the curves of all stages.

use super::StageSeries;
use crate::{Point, Refusal, trapezoid};

/// Area under each stage's curve by [`trapezoid`], in the series' own times.
///
/// Unit: animals × days (or × degree-days). It is no number of animals that passed through. Stages need not fall
/// monotonically.
///
/// Source: Southwood TRE, Henderson PA (2000) Ecological Methods, 3rd ed., chapter 10.
///
/// # Errors
/// Those of [`trapezoid`].
pub fn stage_areas(series: &StageSeries) -> Result<Vec<f64>, Refusal> {
    (0..series.stages())
        .map(|stage| {
            let points: Vec<Point> =
                series.times().iter().zip(series.stage(stage)).map(|(&day, value)| Point { day, value }).collect();
            trapezoid(&points)
        })
        .collect()
}
