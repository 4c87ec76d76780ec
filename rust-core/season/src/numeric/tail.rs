//! Tails of distributions.

use crate::Refusal;
use statrs::distribution::{ChiSquared, ContinuousCDF, Normal};
use statrs::function::gamma::{gamma_lr, gamma_ur};

use super::root;

/// Chance that chi-squared with `freedom` degrees is above the value.
pub(crate) fn chi_squared_above(value: f64, freedom: f64) -> f64 {
    if value <= 0.0 || freedom <= 0.0 { 1.0 } else { gamma_ur(freedom / 2.0, value / 2.0) }
}

/// Value of chi-squared with `freedom` degrees below which the share lies.
pub(crate) fn chi_squared(freedom: f64, share: f64) -> Result<f64, Refusal> {
    Ok(ChiSquared::new(freedom).map_err(|_| Refusal::NotANumber)?.inverse_cdf(share))
}

/// Chance that a standard normal is above the value.
pub(crate) fn normal_above(value: f64) -> f64 {
    Normal::standard().sf(value)
}

/// Chance that a standard normal is further from 0 than the value, on either side.
pub(crate) fn normal_two_sided(value: f64) -> f64 {
    (2.0 * normal_above(value.abs())).min(1.0)
}

/// Value of the gamma distribution with scale 1 and this shape above 0 below which the share lies.
pub(crate) fn gamma_quantile(shape: f64, below: f64) -> Option<f64> {
    let mut high = shape + 10.0 * shape.sqrt() + 20.0;
    while gamma_lr(shape, high) < below {
        high *= 2.0;
        if high > 1e12 {
            return None;
        }
    }
    root(0.0, high, |value| if value <= 0.0 { -below } else { gamma_lr(shape, value) - below })
}
