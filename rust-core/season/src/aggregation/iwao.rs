//! Iwao's regression of mean crowding on mean.

use super::id;
use crate::Refusal;
use crate::numeric::{at_least, none_negative, weighted_line};
use serde::Serialize;

/// mean crowding = alpha + beta × mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Crowding {
    /// Crowding of a mean near 0: above 0 where animals come in groups.
    pub alpha: f64,
    /// Standard error of alpha.
    pub alpha_error: f64,
    /// Growth of crowding with the mean: 1 by chance alone.
    pub beta: f64,
    /// Standard error of beta.
    pub beta_error: f64,
    /// Share of the scatter that the line explains.
    pub explained: f64,
    /// Samples used.
    pub n: u64,
    /// Samples left out because nothing was found.
    pub left_out: u64,
}

/// Iwao's regression by least squares of mean crowding (mean + variance ÷ mean − 1) on mean over several samples.
///
/// Each sample is (mean, variance), the variance with n − 1; samples with mean 0 are left out and counted. Unit:
/// animals. Domain: at least three usable samples with different means.
///
/// Source: Iwao S (1968) Res. Popul. Ecol. 10:1-20.
///
/// # Errors
/// [`Refusal::NotANumber`], [`Refusal::TooFew`]; [`Refusal::NotMet`] if all means are equal.
pub fn iwao(samples: &[(f64, f64)]) -> Result<Crowding, Refusal> {
    none_negative(samples.iter().flat_map(|(mean, variance)| [mean, variance]))?;
    let points: Vec<(f64, f64)> = samples
        .iter()
        .filter(|(mean, _)| *mean > 0.0)
        .map(|(mean, variance)| (*mean, mean + variance / mean - 1.0))
        .collect();
    at_least(points.len(), 3)?;
    let line = weighted_line(&points, &vec![1.0; points.len()]).ok_or(Refusal::NotMet(id::REFUSED_EQUAL_MEANS))?;
    Ok(Crowding {
        alpha: line.intercept,
        alpha_error: line.intercept_error,
        beta: line.slope,
        beta_error: line.slope_error,
        explained: line.explained,
        n: points.len() as u64,
        left_out: (samples.len() - points.len()) as u64,
    })
}
