//! Ratio of totals.

use super::id;
use crate::numeric::{at_least, none_negative};
use crate::{Estimate, Level, Refusal};

/// Ratio of two totals over places, such as eggs (y) to stems (x): pairs are (x, y).
///
/// R = sum of y ÷ sum of x. Standard error = √(sum of (y − R x)² ÷ ((n − 1) n)) ÷ mean x × √(1 − n ÷ N), N being the
/// places there are, where known. Interval by t with n − 1 degrees, no lower than 0.
///
/// Unit: y per x. Domain: n ≥ 2 places drawn by chance, x and y finite and 0 or more, N ≥ n. The ratio is slightly biased
/// for few places. It is how clumps are turned into stems, and totals of plots into a density.
///
/// Source: Cochran WG (1977) Sampling Techniques, 3rd ed., Wiley, chapter 6.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`], [`Refusal::ImpossibleCounts`]; [`Refusal::NotMet`] if all x are 0;
/// [`Refusal::NoVariance`] if y ÷ x is the same everywhere and not all places were visited.
pub fn ratio(pairs: &[(f64, f64)], places: Option<u64>, level: Level) -> Result<Estimate, Refusal> {
    let n = pairs.len();
    at_least(n, 2)?;
    none_negative(pairs.iter().flat_map(|(x, y)| [x, y]))?;
    let left = left_over(n, places)?;
    let (x, y) = pairs.iter().fold((0.0, 0.0), |sums, pair| (sums.0 + pair.0, sums.1 + pair.1));
    if x <= 0.0 {
        return Err(Refusal::NotMet(id::REFUSED_NO_EFFORT));
    }
    let value = y / x;
    let size = n as f64;
    let squares: f64 = pairs.iter().map(|(x, y)| (y - value * x).powi(2)).sum();
    if squares <= 0.0 && left > 0.0 {
        return Err(Refusal::NoVariance);
    }
    let error = (squares / ((size - 1.0) * size) * left).sqrt() / (x / size);
    Estimate::plain(value, n, id::RATIO)
        .student(error, size - 1.0, level)?
        .within(0.0, f64::MAX)
        .assuming([crate::id::ASSUMED_RANDOM_UNITS, of_whole(n, places)])
        .sound()
}

/// 1 − n ÷ N.
pub(super) fn left_over(n: usize, whole: Option<u64>) -> Result<f64, Refusal> {
    match whole {
        Some(whole) if whole < n as u64 => Err(Refusal::ImpossibleCounts { part: n as u64, whole }),
        Some(whole) => Ok(1.0 - n as f64 / whole as f64),
        None => Ok(1.0),
    }
}

/// What is assumed of the number of units there are.
pub(super) fn of_whole(n: usize, whole: Option<u64>) -> crate::MessageId {
    match whole {
        Some(whole) if whole == n as u64 => crate::id::ASSUMED_EVERY_UNIT_CHECKED,
        Some(_) => crate::id::ASSUMED_UNITS_AT_SITE,
        None => crate::id::ASSUMED_MANY_UNITS,
    }
}
