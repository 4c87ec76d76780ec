//! Bounds where nothing was found.

use super::id;
use crate::numeric::at_least;
use crate::{Estimate, Interval, Level, Refusal};

/// A k of the negative binomial from other checks of the same kind.
#[derive(Debug, Clone, PartialEq)]
pub struct PooledK {
    /// k, above 0.
    pub k: f64,
    /// Checks it rests on.
    pub checks: u64,
}

/// A pooled k needs as many checks.
pub const FEWEST_CHECKS_FOR_K: u64 = 200;

/// Mean per unit where no animal was found on `units` units: 0, with the upper bound k · (α^(−1 ÷ (n k)) − 1), the mean
/// at which finding nothing has chance α.
///
/// Unit: animals per unit. Domain: units ≥ 1, k from at least [`FEWEST_CHECKS_FOR_K`] checks of the same kind. Without
/// such a k only the share of occupied units is bounded, by [`crate::occupancy`].
///
/// Source: zero class of the negative binomial; Hanley JA, Lippman-Hand A (1983) JAMA 249:1743-1745 for the idea.
///
/// # Errors
/// [`Refusal::TooFew`] without units; [`Refusal::NotMet`] for a k from too few checks or not above 0;
/// [`Refusal::NotANumber`] where the bound is beyond all numbers.
pub fn none_found(units: u64, pooled: &PooledK, level: Level) -> Result<Estimate, Refusal> {
    at_least(usize::try_from(units).unwrap_or(usize::MAX), 1)?;
    if pooled.checks < FEWEST_CHECKS_FOR_K {
        return Err(Refusal::NotMet(id::REFUSED_K_FROM_TOO_FEW));
    }
    if !(pooled.k > 0.0 && pooled.k.is_finite()) {
        return Err(Refusal::NotMet(crate::aggregation::id::REFUSED_K_NOT_POSITIVE));
    }
    let high = pooled.k * (-level.alpha().ln() / (units as f64 * pooled.k)).exp_m1();
    crate::numeric::finite(high)?;
    Ok(Estimate::plain(0.0, usize::try_from(units).unwrap_or(usize::MAX), id::NONE_FOUND)
        .with_interval(Interval::up_to(high, level))
        .assuming([id::ASSUMED_POOLED_K, crate::id::ASSUMED_RANDOM_UNITS]))
}
