//! Exact interval of a Poisson mean.

use crate::numeric::gamma_quantile;
use crate::{Interval, Level, Refusal};

/// Two-sided exact interval of the mean of a Poisson count: the quantile α÷2 of the gamma distribution with shape
/// `count` (0 where the count is 0) and the quantile 1 − α÷2 of the one with shape `count` + 1.
///
/// Unit: animals in all. Domain: any count. It holds for animals that come each for itself, not in clumps.
///
/// Source: Garwood F (1936) Biometrika 28:437-442.
///
/// # Errors
/// [`Refusal::NotANumber`] for counts beyond what doubles carry.
pub fn garwood(count: u64, level: Level) -> Result<Interval, Refusal> {
    let tail = level.alpha() / 2.0;
    let low = if count == 0 { Some(0.0) } else { gamma_quantile(count as f64, tail) };
    let high = gamma_quantile(count as f64 + 1.0, 1.0 - tail);
    match (low, high) {
        (Some(low), Some(high)) => Ok(Interval::both(low, high, level)),
        _ => Err(Refusal::NotANumber),
    }
}
