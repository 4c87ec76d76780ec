//! Taylor's power law.

use super::id;
use crate::Refusal;
use crate::numeric::{at_least, none_negative, weighted_line};
use serde::Serialize;

/// variance = a × mean^b.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct PowerLaw {
    /// Natural logarithm of a.
    pub log_a: f64,
    /// Standard error of ln a.
    pub log_a_error: f64,
    /// b: 1 by chance alone, towards 2 the more animals crowd.
    pub b: f64,
    /// Standard error of b.
    pub b_error: f64,
    /// Share of the scatter of ln variance that the line explains.
    pub explained: f64,
    /// Samples used.
    pub n: u64,
    /// Samples left out because their mean or variance was 0.
    pub left_out: u64,
}

/// Taylor's power law by least squares of ln variance on ln mean over several samples.
///
/// Each sample is (mean, variance), the variance with n − 1. Samples with mean or variance 0 have no logarithm; they
/// are left out and counted, which favours larger variances where animals are rare. Unit: none. Domain: at least three
/// usable samples with different means.
///
/// Source: Taylor LR (1961) Nature 189:732-735.
///
/// # Errors
/// [`Refusal::NotANumber`], [`Refusal::TooFew`]; [`Refusal::NotMet`] if all means are equal.
pub fn taylor(samples: &[(f64, f64)]) -> Result<PowerLaw, Refusal> {
    none_negative(samples.iter().flat_map(|(mean, variance)| [mean, variance]))?;
    let points: Vec<(f64, f64)> = samples
        .iter()
        .filter(|(mean, variance)| *mean > 0.0 && *variance > 0.0)
        .map(|(mean, variance)| (mean.ln(), variance.ln()))
        .collect();
    at_least(points.len(), 3)?;
    let line = weighted_line(&points, &vec![1.0; points.len()]).ok_or(Refusal::NotMet(id::REFUSED_EQUAL_MEANS))?;
    Ok(PowerLaw {
        log_a: line.intercept,
        log_a_error: line.intercept_error,
        b: line.slope,
        b_error: line.slope_error,
        explained: line.explained,
        n: points.len() as u64,
        left_out: (samples.len() - points.len()) as u64,
    })
}
