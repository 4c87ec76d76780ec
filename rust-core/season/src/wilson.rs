//! Wilson's score interval of a share.

use crate::clopper_pearson::check;
use crate::estimate::{Interval, Level, Sides};
use crate::{Refusal, quantile};

/// Two-sided score interval of a share of which `part` of `whole` independent trials came true.
///
/// With p = part ÷ whole, n = whole and z the normal quantile 1 − α÷2, the ends are
/// (2np + z² ± z√(z² + 4np(1 − p))) ÷ (2(n + z²)).
///
/// Unit: share, 0 to 1. Domain: whole ≥ 1, part ≤ whole.
///
/// Source: Wilson EB (1927) J. Am. Stat. Assoc. 22:209-212.
///
/// # Errors
/// [`Refusal::Nothing`] without trials; [`Refusal::ImpossibleCounts`] if part > whole.
pub fn wilson(part: u64, whole: u64, level: Level) -> Result<Interval, Refusal> {
    check(part, whole)?;
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let (yes, n) = (part as f64, whole as f64);
    let middle = 2.0 * yes + z * z;
    let reach = z * (z * z + 4.0 * yes * (1.0 - yes / n)).sqrt();
    let below = 2.0 * (n + z * z);
    let low = if part == 0 { 0.0 } else { (middle - reach) / below };
    let high = if part == whole { 1.0 } else { (middle + reach) / below };
    Ok(Interval { low, high, level, sides: Sides::Both })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The four examples of Newcombe RG (1998) Statistics in Medicine 17:857-872, limits computed with
    /// statsmodels 0.15.0 and equal to the printed table as far as it is remembered.
    #[test]
    fn newcombes_examples() {
        let table = [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (29, 29, 0.8830, 1.0)];
        for (part, whole, low, high) in table {
            let interval = wilson(part, whole, Level::P95).unwrap();
            assert!((interval.low - low).abs() < 5e-5 && (interval.high - high).abs() < 5e-5, "{interval:?}");
        }
    }

    proptest! {
        /// What defines the ends: the observed share lies z standard errors away, the error taken at the end itself.
        #[test]
        fn ends_solve_the_score_equation(whole in 1_u64..5000, seed in 0_u64..5000) {
            let part = seed % (whole + 1);
            let share = part as f64 / whole as f64;
            let interval = wilson(part, whole, Level::P95).unwrap();
            prop_assert!(interval.contains(share));
            for end in [interval.low, interval.high] {
                if end > 0.0 && end < 1.0 {
                    let error = (end * (1.0 - end) / whole as f64).sqrt();
                    prop_assert!(((share - end).abs() / error - 1.959_963_984_540_054).abs() < 1e-6);
                }
            }
        }
    }
}
