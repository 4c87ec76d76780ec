//! Theil-Sen slope.

use super::id;
use super::mann_kendall::ties;
use crate::numeric::{all_finite, at_least, median, quantile_of};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;

/// A line by medians.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct TheilSen {
    /// Median of the slopes between all pairs.
    pub slope: Estimate,
    /// Median of the values − slope × median of the times.
    pub intercept: f64,
}

/// Slope as the median of the slopes between all pairs of points (time, value) with different times.
///
/// Interval: with σ² the variance of Kendall's S corrected for ties in both, the ends are the slopes of rank
/// (N ± z σ) ÷ 2, N being the number of slopes.
///
/// Unit: value per time. Domain: at least three points, two different times. Few points make a wide interval; with
/// fewer than about six its ends are the extreme slopes and the level is not reached.
///
/// Source: Sen PK (1968) J. Am. Stat. Assoc. 63:1379-1389; Theil H (1950) Proc. K. Ned. Akad. Wet. A 53:386-392.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`]; [`Refusal::NoVariance`] if all times are equal.
pub fn theil_sen(points: &[(f64, f64)], level: Level) -> Result<TheilSen, Refusal> {
    at_least(points.len(), 3)?;
    all_finite(points.iter().flat_map(|(time, value)| [time, value]))?;
    let mut slopes: Vec<f64> = Vec::new();
    for (index, one) in points.iter().enumerate() {
        slopes.extend(
            points[index + 1..]
                .iter()
                .filter(|other| (other.0 - one.0).abs() > 0.0)
                .map(|other| (other.1 - one.1) / (other.0 - one.0)),
        );
    }
    if slopes.is_empty() {
        return Err(Refusal::NoVariance);
    }
    slopes.sort_by(f64::total_cmp);
    let (times, values): (Vec<f64>, Vec<f64>) = points.iter().copied().unzip();
    let slope = quantile_of(&slopes, 0.5);
    let triple = |t: f64| t * (t - 1.0) * (2.0 * t + 5.0);
    let tied = |of: &[f64]| ties(of).iter().map(|&t| triple(t as f64)).sum::<f64>();
    let variance = (triple(points.len() as f64) - tied(&times) - tied(&values)) / 18.0;
    let count = slopes.len() as f64;
    let reach = quantile::normal(1.0 - level.alpha() / 2.0) * variance.max(0.0).sqrt();
    let last = count - 1.0;
    let at = |rank: f64| quantile_of(&slopes, if last > 0.0 { rank.clamp(0.0, last) / last } else { 0.0 });
    let low = ((count - reach) / 2.0).round_ties_even() - 1.0;
    let high = f64::midpoint(count, reach).round_ties_even();
    let estimate = Estimate::plain(slope, points.len(), id::THEIL_SEN)
        .with_interval(Interval::both(at(low), at(high), level))
        .assuming([id::ASSUMED_YEARS_INDEPENDENT, id::ASSUMED_CONSTANT_CHANGE])
        .sound()?;
    Ok(TheilSen { intercept: median(&values) - slope * median(&times), slope: estimate })
}
