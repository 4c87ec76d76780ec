//! Mid-P interval of a share.

use crate::clopper_pearson::check;
use crate::numeric::root;
use crate::{Interval, Level, Refusal};
use statrs::function::beta::beta_reg;

/// Two-sided interval of a share that counts half the chance of the result itself: at the lower end the chance of more
/// plus half the chance of `part` is α÷2, at the upper end that of fewer plus half; 0 where part is 0, 1 where it is whole.
///
/// Unit: share, 0 to 1. Domain: whole ≥ 1, part ≤ whole. Nearer to its level than Clopper-Pearson, at times below it.
///
/// Source: Newcombe RG (1998) Stat. Med. 17:857-872, method 6.
///
/// # Errors
/// [`Refusal::Nothing`] without trials; [`Refusal::ImpossibleCounts`] if part > whole.
pub fn mid_p(part: u64, whole: u64, level: Level) -> Result<Interval, Refusal> {
    check(part, whole)?;
    let tail = level.alpha() / 2.0;
    let (x, n) = (part as f64, whole as f64);
    // Chance of at least `from`.
    let at_least = |from: f64, share: f64| {
        if from <= 0.0 {
            1.0
        } else if from > n {
            0.0
        } else {
            beta_reg(from, n - from + 1.0, share)
        }
    };
    let above = |share: f64| f64::midpoint(at_least(x, share), at_least(x + 1.0, share));
    let low = if part == 0 { Some(0.0) } else { root(0.0, 1.0, |share| above(share) - tail) };
    let high = if part == whole { Some(1.0) } else { root(0.0, 1.0, |share| above(share) - 1.0 + tail) };
    match (low, high) {
        (Some(low), Some(high)) => Ok(Interval::both(low, high, level)),
        _ => Err(Refusal::NotANumber),
    }
}
