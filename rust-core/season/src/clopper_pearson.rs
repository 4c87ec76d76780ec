//! Clopper-Pearson interval of a share.

use crate::estimate::{Interval, Level, Sides};
use crate::{Refusal, quantile};

/// Two-sided exact interval of a share of which `part` of `whole` independent trials came true.
///
/// Lower end: the quantile α÷2 of the beta distribution with shapes part and whole − part + 1, or 0 where part is 0.
/// Upper end: the quantile 1 − α÷2 of the one with shapes part + 1 and whole − part, or 1 where part is whole.
///
/// Unit: share, 0 to 1. Domain: whole ≥ 1, part ≤ whole. Never misses more often than stated, mostly less.
///
/// Source: Clopper CJ, Pearson ES (1934) Biometrika 26:404-413.
///
/// # Errors
/// [`Refusal::Nothing`] without trials; [`Refusal::ImpossibleCounts`] if part > whole.
pub fn clopper_pearson(part: u64, whole: u64, level: Level) -> Result<Interval, Refusal> {
    check(part, whole)?;
    let tail = level.alpha() / 2.0;
    let (yes, no) = (part as f64, (whole - part) as f64);
    let low = if part == 0 { 0.0 } else { quantile::beta(yes, no + 1.0, tail)? };
    let high = if part == whole { 1.0 } else { quantile::beta(yes + 1.0, no, 1.0 - tail)? };
    Ok(Interval { low, high, level, sides: Sides::Both })
}

/// Refuses what is no share.
pub(crate) fn check(part: u64, whole: u64) -> Result<(), Refusal> {
    if whole == 0 {
        return Err(Refusal::Nothing);
    }
    if part > whole { Err(Refusal::ImpossibleCounts { part, whole }) } else { Ok(()) }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// The four examples of Newcombe RG (1998) Statistics in Medicine 17:857-872, limits computed with scipy 1.17.1
    /// and equal to the printed table as far as it is remembered.
    #[test]
    fn newcombes_examples() {
        let table = [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (29, 29, 0.8806, 1.0)];
        for (part, whole, low, high) in table {
            let interval = clopper_pearson(part, whole, Level::P95).unwrap();
            assert!((interval.low - low).abs() < 5e-5 && (interval.high - high).abs() < 5e-5, "{interval:?}");
        }
    }

    /// At the ends the definition has a closed form: 1 − (α÷2)^(1÷n).
    #[test]
    fn the_ends_have_a_closed_form() {
        for (whole, high) in [(20, 0.168_433_5), (100, 0.036_216_7)] {
            assert!((clopper_pearson(0, whole, Level::P95).unwrap().high - high).abs() < 5e-8);
            assert!((clopper_pearson(whole, whole, Level::P95).unwrap().low - (1.0 - high)).abs() < 5e-8);
        }
    }

    #[test]
    fn no_share_no_interval() {
        assert_eq!(clopper_pearson(0, 0, Level::P95), Err(Refusal::Nothing));
        assert_eq!(clopper_pearson(3, 2, Level::P95), Err(Refusal::ImpossibleCounts { part: 3, whole: 2 }));
    }

    proptest! {
        /// What defines the interval: at each end the chance of a result at least so far off is α÷2.
        #[test]
        fn each_tail_holds_half_of_what_is_left(whole in 1_u64..400, seed in 0_u64..400) {
            let part = seed % (whole + 1);
            let interval = clopper_pearson(part, whole, Level::P95).unwrap();
            if part > 0 {
                let at_least = statrs::function::beta::beta_reg(part as f64, (whole - part + 1) as f64, interval.low);
                prop_assert!((at_least - 0.025).abs() < 1e-9);
            }
            if part < whole {
                let more = statrs::function::beta::beta_reg((part + 1) as f64, (whole - part) as f64, interval.high);
                prop_assert!((1.0 - more - 0.025).abs() < 1e-9);
            }
            prop_assert!(interval.contains(part as f64 / whole as f64));
        }
    }
}
