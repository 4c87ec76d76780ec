//! Agresti-Coull interval of a share.

use crate::clopper_pearson::check;
use crate::{Interval, Level, Refusal, quantile};

/// Two-sided interval of a share: with z the normal quantile, z² trials are added, half of them successes, and the
/// plain normal interval is taken and cut to 0 and 1.
///
/// Unit: share, 0 to 1. Domain: whole ≥ 1, part ≤ whole.
///
/// Source: Agresti A, Coull BA (1998) Am. Stat. 52:119-126.
///
/// # Errors
/// [`Refusal::Nothing`] without trials; [`Refusal::ImpossibleCounts`] if part > whole.
pub fn agresti_coull(part: u64, whole: u64, level: Level) -> Result<Interval, Refusal> {
    check(part, whole)?;
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let trials = whole as f64 + z * z;
    let share = (part as f64 + z * z / 2.0) / trials;
    let reach = z * (share * (1.0 - share) / trials).sqrt();
    Ok(Interval::both((share - reach).max(0.0), (share + reach).min(1.0), level))
}
