//! Jeffreys interval of a share.

use crate::clopper_pearson::check;
use crate::{Interval, Level, Refusal, quantile};

/// Two-sided interval of a share from Jeffreys' prior: quantiles α÷2 and 1 − α÷2 of the beta distribution with shapes
/// part + ½ and whole − part + ½; 0 where part is 0, 1 where part is whole.
///
/// Unit: share, 0 to 1. Domain: whole ≥ 1, part ≤ whole.
///
/// Source: Brown LD, Cai TT, `DasGupta` A (2001) Stat. Sci. 16:101-133.
///
/// # Errors
/// [`Refusal::Nothing`] without trials; [`Refusal::ImpossibleCounts`] if part > whole.
pub fn jeffreys(part: u64, whole: u64, level: Level) -> Result<Interval, Refusal> {
    check(part, whole)?;
    let (yes, no) = (part as f64 + 0.5, (whole - part) as f64 + 0.5);
    let tail = level.alpha() / 2.0;
    let low = if part == 0 { 0.0 } else { quantile::beta(yes, no, tail)? };
    let high = if part == whole { 1.0 } else { quantile::beta(yes, no, 1.0 - tail)? };
    Ok(Interval::both(low, high, level))
}
