//! Ratio of totals by the jackknife.

use super::id;
use crate::numeric::{at_least, mean, none_negative};
use crate::{Estimate, Level, Refusal};

/// Ratio of two totals with the bias of few places taken out: pairs are (x, y).
///
/// With R the ratio of totals and Rᵢ the one without place i: value = n R − (n − 1) × mean of Rᵢ, standard error =
/// √((n − 1) ÷ n × sum of (Rᵢ − their mean)²). Interval by t with n − 1 degrees, no lower than 0.
///
/// Unit: y per x. Domain: n ≥ 3 places, x and y finite and 0 or more, x above 0 in at least two.
///
/// Source: Quenouille MH (1956) Biometrika 43:353-360; Cochran WG (1977) Sampling Techniques, section 6.17.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`]; [`Refusal::NotMet`] if only one place has an x above 0.
pub fn jackknife_ratio(pairs: &[(f64, f64)], level: Level) -> Result<Estimate, Refusal> {
    let n = pairs.len();
    at_least(n, 3)?;
    none_negative(pairs.iter().flat_map(|(x, y)| [x, y]))?;
    let (x, y) = pairs.iter().fold((0.0, 0.0), |sums, pair| (sums.0 + pair.0, sums.1 + pair.1));
    if pairs.iter().filter(|pair| pair.0 > 0.0).count() < 2 {
        return Err(Refusal::NotMet(id::REFUSED_NO_EFFORT));
    }
    let without: Vec<f64> = pairs.iter().map(|pair| (y - pair.1) / (x - pair.0)).collect();
    let size = n as f64;
    let middle = mean(&without);
    let value = size * (y / x) - (size - 1.0) * middle;
    let squares: f64 = without.iter().map(|ratio| (ratio - middle).powi(2)).sum();
    Ok(Estimate::plain(value, n, id::JACKKNIFE_RATIO)
        .sound()?
        .student((squares * (size - 1.0) / size).sqrt(), size - 1.0, level)?
        .within(0.0, f64::MAX)
        .assuming([crate::id::ASSUMED_RANDOM_UNITS]))
}
