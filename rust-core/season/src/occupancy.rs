//! Share of occupied units.

use crate::clopper_pearson::{check, clopper_pearson};
use crate::estimate::{Estimate, Interval, Level, Sides};
use crate::{Refusal, id};

/// Share of units that hold at least one animal, with a Clopper-Pearson interval.
///
/// Value = occupied ÷ checked. Where none is occupied the interval is one-sided and ends at 1 − α^(1 ÷ checked),
/// the share at which a sample without any find has chance α.
///
/// Unit: share, 0 to 1. Domain: checked ≥ 1, occupied ≤ checked; units independent and the site large beside the
/// sample, otherwise the interval is wider than it need be.
///
/// Sources: Clopper CJ, Pearson ES (1934) Biometrika 26:404-413; for no find Hanley JA, Lippman-Hand A (1983)
/// JAMA 249:1743-1745.
///
/// # Errors
/// [`Refusal::Nothing`] without units; [`Refusal::ImpossibleCounts`] if occupied > checked.
pub fn occupancy(occupied: u64, checked: u64, level: Level) -> Result<Estimate, Refusal> {
    check(occupied, checked)?;
    let interval = if occupied == 0 { no_find(checked, level) } else { clopper_pearson(occupied, checked, level)? };
    Ok(Estimate {
        value: occupied as f64 / checked as f64,
        standard_error: None,
        interval: Some(interval),
        n: checked,
        method: id::OCCUPANCY,
        assumed: vec![id::ASSUMED_MANY_UNITS],
    })
}

fn no_find(checked: u64, level: Level) -> Interval {
    let high = 1.0 - level.alpha().powf(1.0 / checked as f64);
    Interval { low: 0.0, high, level, sides: Sides::Upper }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// 1 − 0.05^(1 ÷ n), computed with numpy 2.4.6; near 3 ÷ n as Hanley & Lippman-Hand (1983) say.
    #[test]
    fn no_find_in_n_units() {
        let table = [
            (10, 0.258_865_6),
            (20, 0.139_108_3),
            (30, 0.095_033_9),
            (50, 0.058_155_1),
            (100, 0.029_513_0),
            (300, 0.009_936_1),
            (1000, 0.002_991_2),
        ];
        for (checked, bound) in table {
            let interval = occupancy(0, checked, Level::P95).unwrap().interval.unwrap();
            assert!((interval.high - bound).abs() < 5e-8, "{checked}: {interval:?}");
            assert_eq!((interval.low, interval.sides), (0.0, Sides::Upper));
        }
    }

    proptest! {
        #[test]
        fn bounds_rise_with_every_occupied_unit(checked in 2_u64..300, seed in 0_u64..300) {
            let occupied = seed % checked;
            let fewer = occupancy(occupied, checked, Level::P95).unwrap();
            let more = occupancy(occupied + 1, checked, Level::P95).unwrap();
            let (fewer, more) = (fewer.interval.unwrap(), more.interval.unwrap());
            prop_assert!(fewer.low < more.low && fewer.high < more.high);
        }

        #[test]
        fn a_bound_without_finds_shrinks_with_effort(checked in 1_u64..100_000) {
            let bound = |checked| occupancy(0, checked, Level::P95).unwrap().interval.unwrap().high;
            prop_assert!(bound(checked) > bound(checked + 1));
            prop_assert!(bound(checked) < 3.0 / checked as f64);
        }
    }
}
