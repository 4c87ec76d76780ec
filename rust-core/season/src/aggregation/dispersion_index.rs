//! Index of dispersion.

use super::MeanAndVariance;
use crate::Refusal;
use crate::numeric::chi_squared_above;
use serde::Serialize;

/// Variance ÷ mean, and its test against chance.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DispersionTest {
    /// Variance ÷ mean: 1 by chance alone, above 1 where animals crowd.
    pub index: f64,
    /// (n − 1) × index.
    pub chi_squared: f64,
    /// n − 1.
    pub freedom: u64,
    /// Chance of so large an index by chance alone.
    pub p_crowded: f64,
    /// Chance of so small an index by chance alone.
    pub p_even: f64,
}

/// Index of dispersion, variance ÷ mean, with (n − 1) × index as chi-squared with n − 1 degrees.
///
/// Unit: none. Domain: at least two counts, not all zero; the tails are sound for means above about 1.
///
/// Source: Fisher RA, Thornton HG, Mackenzie WA (1922) Ann. Appl. Biol. 9:325-359.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn dispersion_index(counts: &[u32]) -> Result<DispersionTest, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    let index = moments.variance / moments.mean;
    let freedom = moments.n - 1;
    let chi_squared = index * freedom as f64;
    let p_crowded = chi_squared_above(chi_squared, freedom as f64);
    Ok(DispersionTest { index, chi_squared, freedom, p_crowded, p_even: 1.0 - p_crowded })
}
