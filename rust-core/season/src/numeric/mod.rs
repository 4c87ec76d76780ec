//! Numerical tools that several methods share. Optimisers of the registries read a clock or the system's randomness,
//! which this crate must not, so the simplex search stands here.

mod build;
mod dice;
mod glm;
mod linear;
mod root;
mod scoring;
mod search;
mod tail;

pub(crate) use dice::Dice;
pub(crate) use glm::{Family, Glm, alpha_by_likelihood, glm};
pub(crate) use linear::{covariance_at, invert, solve, weighted_line};
pub(crate) use root::root;
pub(crate) use scoring::{Shape, descend};
pub(crate) use search::{least, least_along};
pub(crate) use tail::{chi_squared, chi_squared_above, gamma_quantile, normal_above, normal_two_sided};

use crate::Refusal;

/// Refuses lists that hold anything but finite numbers.
pub(crate) fn all_finite<'a>(values: impl IntoIterator<Item = &'a f64>) -> Result<(), Refusal> {
    if values.into_iter().all(|value| value.is_finite()) { Ok(()) } else { Err(Refusal::NotANumber) }
}

/// Refuses lists that hold anything but finite numbers of 0 or more.
pub(crate) fn none_negative<'a>(values: impl IntoIterator<Item = &'a f64>) -> Result<(), Refusal> {
    if values.into_iter().all(|value| value.is_finite() && *value >= 0.0) { Ok(()) } else { Err(Refusal::NotANumber) }
}

/// Refuses a result that is no finite number, which only values beyond the range of doubles can cause.
pub(crate) fn finite(value: f64) -> Result<f64, Refusal> {
    if value.is_finite() { Ok(value) } else { Err(Refusal::NotANumber) }
}

/// Refuses lists of fewer than this many.
pub(crate) fn at_least(have: usize, need: usize) -> Result<(), Refusal> {
    if have >= need { Ok(()) } else { Err(Refusal::TooFew { have: have as u64, need: need as u64 }) }
}

/// Arithmetic mean; 0 for an empty list.
pub(crate) fn mean(values: &[f64]) -> f64 {
    if values.is_empty() { 0.0 } else { values.iter().sum::<f64>() / values.len() as f64 }
}

/// Squared distances from the mean ÷ (n − 1); 0 below two values.
pub(crate) fn variance(values: &[f64]) -> f64 {
    if values.len() < 2 {
        return 0.0;
    }
    let middle = mean(values);
    values.iter().map(|value| (value - middle).powi(2)).sum::<f64>() / (values.len() as f64 - 1.0)
}

/// Value below which the share lies, by linear interpolation between order statistics; the list must be sorted.
pub(crate) fn quantile_of(sorted: &[f64], share: f64) -> f64 {
    let Some(last) = sorted.len().checked_sub(1) else { return 0.0 };
    let place = share.clamp(0.0, 1.0) * last as f64;
    let below = place.floor();
    #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "between 0 and the list's length")]
    let index = below as usize;
    let next = (index + 1).min(last);
    sorted[index] + (sorted[next] - sorted[index]) * (place - below)
}

/// Median of a list in any order; 0 for an empty one.
pub(crate) fn median(values: &[f64]) -> f64 {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    quantile_of(&sorted, 0.5)
}
