//! Threshold and heat from rearing at constant temperatures.

use super::id;
use super::refusal::ClockRefusal;
use crate::degree_days::Celsius;
use crate::{Estimate, Interval, Level, MessageId, Refusal, Sides, quantile};
use serde::Serialize;

/// How long development took at one constant temperature.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Rearing {
    /// The temperature.
    pub at: Celsius,
    /// Mean duration in days, above 0.
    pub days: f64,
}

/// Threshold and heat of a stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RateFit {
    /// Lower threshold in °C.
    pub lower_threshold: Estimate,
    /// Heat that development takes, °C × day.
    pub heat_needed: Estimate,
    /// Share of the variance of rates that the line explains, 0 to 1.
    pub r_squared: f64,
}

/// Lower threshold and heat needed from durations at constant temperatures.
///
/// The rate 1 ÷ days is regressed on temperature by least squares: rate = a + b × temperature. Threshold = −a ÷ b, heat =
/// 1 ÷ b. Standard errors: of the heat, SE(b) ÷ b²; of the threshold, mean rate ÷ b × √(s² ÷ (n × mean rate²) + (SE(b) ÷
/// b)²) with s² the residual variance. Intervals by t with n − 2 degrees of freedom. Give only temperatures at which
/// rates still rise in a straight line: hot ones bend the line and lower the threshold.
///
/// Unit: °C and °C × day. Domain: at least three rearings at two different temperatures or more, durations above 0.
///
/// Source: Campbell A, Frazer BD, Gilbert N, Gutierrez AP, Mackauer M (1974) J. Appl. Ecol. 11:431-438.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`], [`Refusal::NoVariance`] for a single temperature, and
/// [`ClockRefusal::RatesDoNotRise`].
pub fn fit_rates(rearings: &[Rearing], level: Level) -> Result<RateFit, ClockRefusal> {
    let count = rearings.len() as u64;
    if count < 3 {
        return Err(Refusal::TooFew { have: count, need: 3 }.into());
    }
    let possible = |rearing: &Rearing| (-100.0..=100.0).contains(&rearing.at.0) && (1e-6..=1e6).contains(&rearing.days);
    if !rearings.iter().all(possible) {
        return Err(Refusal::NotANumber.into());
    }
    let n = rearings.len() as f64;
    let mean = |of: &dyn Fn(&Rearing) -> f64| rearings.iter().map(of).sum::<f64>() / n;
    let (warmth, speed) = (mean(&|rearing| rearing.at.0), mean(&|rearing| 1.0 / rearing.days));
    let sum = |of: &dyn Fn(f64, f64) -> f64| -> f64 {
        rearings.iter().map(|rearing| of(rearing.at.0 - warmth, 1.0 / rearing.days - speed)).sum()
    };
    let (squares, products, rates) = (sum(&|x, _| x * x), sum(&|x, y| x * y), sum(&|_, y| y * y));
    if squares <= 1e-9 {
        return Err(Refusal::NoVariance.into());
    }
    let slope = products / squares;
    if slope <= 1e-12 {
        return Err(ClockRefusal::RatesDoNotRise);
    }
    let residual = sum(&|x, y| (y - slope * x).powi(2)) / (n - 2.0);
    let relative = (residual / squares).sqrt() / slope;
    let t = quantile::t(n - 2.0, 1.0 - level.alpha() / 2.0)?;
    let estimate = |value: f64, standard_error: f64, method: MessageId| Estimate {
        value,
        standard_error: Some(standard_error),
        interval: Some(Interval {
            low: value - t * standard_error,
            high: value + t * standard_error,
            level,
            sides: Sides::Both,
        }),
        n: count,
        method,
        assumed: vec![id::ASSUMED_STRAIGHT_RATE],
    };
    let threshold_error = speed / slope * (residual / (n * speed * speed) + relative * relative).sqrt();
    Ok(RateFit {
        lower_threshold: estimate(warmth - speed / slope, threshold_error, id::THRESHOLD_BY_RATES),
        heat_needed: estimate(1.0 / slope, relative / slope, id::HEAT_NEEDED_BY_RATES),
        r_squared: if rates > 0.0 { (slope * products / rates).clamp(0.0, 1.0) } else { 1.0 },
    })
}
