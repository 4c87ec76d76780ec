//! Richards and Waloff's first method.

use super::{StageSeries, id};
use crate::numeric::{at_least, weighted_line};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;

/// Daily survival from the decline of all stages together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RichardsWaloff {
    /// e^slope: survival per unit of time.
    pub daily_survival: Estimate,
    /// Slope of ln total on time.
    pub slope: f64,
    /// Its standard error.
    pub slope_error: f64,
    /// ln total at time 0.
    pub intercept: f64,
    /// Samples used.
    pub samples: u64,
}

/// Daily survival from a straight line through ln(total of all stages) over the samples from `from` to `to`, after
/// laying has ended.
///
/// For comparison only. It takes for true that all stages die at one rate, that the last stage stays countable, and that
/// no animal is added in the window. Tested: the window starts no earlier than the greatest total, and the line falls.
///
/// Unit: per unit of time. Domain: at least three samples with animals in the window. Interval by t with samples − 2
/// degrees on the slope.
///
/// Source: Richards OW, Waloff N (1954) Anti-Locust Bull. 17:1-182.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`]; [`Refusal::NotMet`] where a tested condition fails.
pub fn richards_waloff(series: &StageSeries, from: f64, to: f64, level: Level) -> Result<RichardsWaloff, Refusal> {
    crate::numeric::all_finite([&from, &to])?;
    let totals = series.from_stage(0);
    let greatest = totals.iter().copied().fold(0.0, f64::max);
    let peak =
        series.times().iter().zip(&totals).find(|(_, total)| **total >= greatest).map_or(from, |(time, _)| *time);
    if from < peak {
        return Err(Refusal::NotMet(id::REFUSED_BEFORE_PEAK));
    }
    let points: Vec<(f64, f64)> = series
        .times()
        .iter()
        .zip(&totals)
        .filter(|(time, total)| **time >= from && **time <= to && **total > 0.0)
        .map(|(time, total)| (*time, total.ln()))
        .collect();
    at_least(points.len(), 3)?;
    let line = weighted_line(&points, &vec![1.0; points.len()]).ok_or(Refusal::NoVariance)?;
    if line.slope >= 0.0 {
        return Err(Refusal::NotMet(id::REFUSED_NO_DECLINE));
    }
    let reach = quantile::t(points.len() as f64 - 2.0, 1.0 - level.alpha() / 2.0)? * line.slope_error;
    let daily_survival = Estimate::plain(line.slope.exp(), points.len(), id::RICHARDS_WALOFF)
        .with_error(line.slope.exp() * line.slope_error)
        .with_interval(Interval::both((line.slope - reach).exp(), (line.slope + reach).exp().min(1.0), level))
        .assuming([
            id::ASSUMED_FOR_COMPARISON,
            id::ASSUMED_EQUAL_SURVIVAL,
            id::ASSUMED_LAST_STAGE_STAYS,
            id::ASSUMED_RECRUITMENT_ENDED,
        ]);
    Ok(RichardsWaloff {
        daily_survival,
        slope: line.slope,
        slope_error: line.slope_error,
        intercept: line.intercept,
        samples: points.len() as u64,
    })
}
