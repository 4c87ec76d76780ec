//! Change on tagged plants.

use super::id;
use crate::numeric::{at_least, mean, variance};
use crate::{Estimate, Level, Refusal};

/// Mean change per tagged plant from one visit to another: pairs are (before, after) of the same plant.
///
/// Value = mean of after − before, standard error √(variance of the differences ÷ n), interval by t with n − 1 degrees.
/// Plants not found at either visit belong in neither list: not found is not empty.
///
/// Unit: animals per plant. Domain: at least two plants with different changes. It is about the tagged plants.
///
/// Source: Student (1908) Biometrika 6:1-25.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NoVariance`] if all changes are equal.
pub fn paired_change(pairs: &[(u32, u32)], level: Level) -> Result<Estimate, Refusal> {
    at_least(pairs.len(), 2)?;
    let changes: Vec<f64> = pairs.iter().map(|&(before, after)| f64::from(after) - f64::from(before)).collect();
    let scatter = variance(&changes);
    if scatter <= 0.0 {
        return Err(Refusal::NoVariance);
    }
    let n = changes.len() as f64;
    Ok(Estimate::plain(mean(&changes), changes.len(), id::PAIRED_CHANGE)
        .student((scatter / n).sqrt(), n - 1.0, level)?
        .assuming([crate::id::ASSUMED_TAGGED_STAND_FOR_SITE]))
}
