//! Quantiles of the distributions that intervals need.

use crate::Refusal;
use statrs::distribution::{Beta, ContinuousCDF, Normal, StudentsT};
use statrs::function::beta::beta_reg;

/// Steps of bisection: enough to halve 1 down to the spacing of doubles.
const STEPS: u32 = 60;

/// Value of Student's t with `freedom` degrees that is exceeded with chance 1 − `share`.
pub(crate) fn t(freedom: f64, share: f64) -> Result<f64, Refusal> {
    let t = StudentsT::new(0.0, 1.0, freedom).map_err(|_| Refusal::NotANumber)?;
    Ok(t.inverse_cdf(share))
}

/// Value of the standard normal that is exceeded with chance 1 − `share`.
pub(crate) fn normal(share: f64) -> f64 {
    Normal::standard().inverse_cdf(share)
}

/// Value of the beta distribution, both shapes above 0, below which the share lies.
///
/// The library's inverse gives up early for some shapes, so bisection on its distribution function finishes the work.
pub(crate) fn beta(a: f64, b: f64, share: f64) -> Result<f64, Refusal> {
    let first = Beta::new(a, b).map_err(|_| Refusal::NotANumber)?.inverse_cdf(share);
    let near = |value: f64| (beta_reg(a, b, value) - share).abs() < 1e-14;
    if first > 0.0 && first < 1.0 && near(first) {
        return Ok(first);
    }
    let (low, high) = (0..STEPS).fold((0.0, 1.0), |(low, high), _| {
        let middle = f64::midpoint(low, high);
        if beta_reg(a, b, middle) < share { (middle, high) } else { (low, middle) }
    });
    Ok(f64::midpoint(low, high))
}
