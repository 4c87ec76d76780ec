//! Degree-days by the mean of a day held within the thresholds.

use super::day::Day;
use super::thresholds::Thresholds;

/// Degree-days of one day by the clamped average: lowest and highest temperature are first moved into the thresholds.
///
/// Both temperatures are raised to the lower threshold where below it, and lowered to the upper one where above it;
/// degree-days = their mean − lower threshold. The cutoff is horizontal by construction.
///
/// Unit: °C × day. Domain: every valid day.
///
/// Source: method 2 of `McMaster` GS, Wilhelm WW (1997) Agric. For. Meteorol. 87:291-300.
pub fn clamped_average(day: Day, thresholds: Thresholds) -> f64 {
    let lower = thresholds.lower().0;
    let held = |degrees: f64| {
        let raised = degrees.max(lower);
        thresholds.upper().map_or(raised, |upper| raised.min(upper.0))
    };
    f64::midpoint(held(day.min()), held(day.max())) - lower
}
