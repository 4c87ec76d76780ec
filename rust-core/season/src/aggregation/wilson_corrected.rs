//! Wilson's interval with continuity correction.

use crate::clopper_pearson::check;
use crate::{Interval, Level, Refusal, quantile};

/// Two-sided score interval of a share with continuity correction.
///
/// With p = part ÷ whole, n = whole, z the normal quantile: (2np + z² ∓ 1 ∓ z√(z² ∓ 2 − 1÷n + 4p(n(1 − p) ± 1))) ÷
/// (2(n + z²)), upper signs for the lower end; 0 where part is 0, 1 where part is whole.
///
/// Unit: share, 0 to 1. Domain: whole ≥ 1, part ≤ whole.
///
/// Source: Newcombe RG (1998) Stat. Med. 17:857-872, method 4.
///
/// # Errors
/// [`Refusal::Nothing`] without trials; [`Refusal::ImpossibleCounts`] if part > whole.
pub fn wilson_corrected(part: u64, whole: u64, level: Level) -> Result<Interval, Refusal> {
    check(part, whole)?;
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let (n, p) = (whole as f64, part as f64 / whole as f64);
    let end = |sign: f64| {
        let under = z * z - 1.0 / n - sign * 2.0 + 4.0 * p * (n * (1.0 - p) + sign);
        (2.0 * n * p + z * z - sign * (1.0 + z * under.max(0.0).sqrt())) / (2.0 * (n + z * z))
    };
    let low = if part == 0 { 0.0 } else { end(1.0).max(0.0) };
    let high = if part == whole { 1.0 } else { end(-1.0).min(1.0) };
    Ok(Interval::both(low, high, level))
}
