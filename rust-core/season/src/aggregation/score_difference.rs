//! Difference of two shares.

use super::id;
use crate::{Estimate, Interval, Level, Refusal, wilson};

/// Difference of two independent shares, first − second, with the interval built from their Wilson intervals.
///
/// With shares p, q and Wilson ends (l, u), (m, v): lower end p − q − √((p − l)² + (v − q)²), upper end
/// p − q + √((u − p)² + (q − m)²).
///
/// Unit: share, −1 to 1. Domain: each whole ≥ 1, part ≤ whole; pairs are (part, whole).
///
/// Source: Newcombe RG (1998) Stat. Med. 17:873-890, method 10.
///
/// # Errors
/// [`Refusal::Nothing`] without trials; [`Refusal::ImpossibleCounts`] if part > whole.
pub fn score_difference(first: (u64, u64), second: (u64, u64), level: Level) -> Result<Estimate, Refusal> {
    let (one, other) = (wilson(first.0, first.1, level)?, wilson(second.0, second.1, level)?);
    let (p, q) = (first.0 as f64 / first.1 as f64, second.0 as f64 / second.1 as f64);
    let low = p - q - (p - one.low).hypot(other.high - q);
    let high = p - q + (one.high - p).hypot(q - other.low);
    let n = usize::try_from(first.1.saturating_add(second.1)).unwrap_or(usize::MAX);
    Ok(Estimate::plain(p - q, n, id::SCORE_DIFFERENCE)
        .with_interval(Interval::both(low, high, level))
        .within(-1.0, 1.0)
        .assuming([crate::id::ASSUMED_THINGS_INDEPENDENT]))
}
