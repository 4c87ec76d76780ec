//! Mean of the ratios of single places.

use super::id;
use crate::numeric::{at_least, mean, none_negative, variance};
use crate::{Estimate, Level, Refusal};

/// Mean over places of y ÷ x: pairs are (x, y).
///
/// It answers another question than the ratio of totals: what a place is like on average, however many plants it has,
/// not what a plant is like. Standard error = √(variance ÷ n); interval by t with n − 1 degrees, no lower than 0.
///
/// Unit: y per x. Domain: n ≥ 2 places, x above 0, y 0 or more.
///
/// Source: Cochran WG (1977) Sampling Techniques, section 6.11.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`]; [`Refusal::NotMet`] if an x is 0.
pub fn mean_of_ratios(pairs: &[(f64, f64)], level: Level) -> Result<Estimate, Refusal> {
    at_least(pairs.len(), 2)?;
    none_negative(pairs.iter().flat_map(|(x, y)| [x, y]))?;
    if pairs.iter().any(|pair| pair.0 <= 0.0) {
        return Err(Refusal::NotMet(id::REFUSED_NO_EFFORT));
    }
    let ratios: Vec<f64> = pairs.iter().map(|(x, y)| y / x).collect();
    let size = ratios.len() as f64;
    Ok(Estimate::plain(mean(&ratios), ratios.len(), id::MEAN_OF_RATIOS)
        .sound()?
        .student((variance(&ratios) / size).sqrt(), size - 1.0, level)?
        .within(0.0, f64::MAX)
        .assuming([crate::id::ASSUMED_RANDOM_UNITS]))
}
