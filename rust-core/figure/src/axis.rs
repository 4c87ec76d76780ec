//! Ticks: round numbers on value axes, and dates that do not run into each other.

use plotters::coord::ranged1d::{BoldPoints, Ranged};
use plotters::coord::types::RangedCoordf64;

/// Round values from 0 up to `top`, at most `most` of them, with the decimals it takes to tell them apart.
pub(crate) struct Ticks {
    pub(crate) values: Vec<f64>,
    pub(crate) decimals: usize,
}

/// Whether an axis may have ticks between whole numbers.
#[derive(Clone, Copy, PartialEq, Eq)]
pub(crate) enum Between {
    Decimals,
    WholeOnly,
}

pub(crate) fn ticks(top: f64, most: usize, between: Between) -> Ticks {
    let mut values = RangedCoordf64::from(0.0..top).key_points(BoldPoints(most));
    if between == Between::WholeOnly {
        values.retain(|value| value.fract() == 0.0);
    }
    let step = values.get(1).map_or(1.0, |second| second - values[0]);
    let decimals = (0..6).find(|&decimals| is_whole(step * 10_f64.powi(decimals))).unwrap_or(6);
    Ticks { values, decimals: usize::try_from(decimals).unwrap_or(0) }
}

/// Which of labels centred at these places, from left to right, can be written without touching: the first and every
/// k-th after it, k as small as may be.
pub(crate) fn fitting(middles: &[i32], widths: &[f64], gap: f64) -> Vec<usize> {
    let touches = |one: usize, other: usize| {
        f64::from(middles[other] - middles[one]) < f64::midpoint(widths[one], widths[other]) + gap
    };
    let every = |k: usize| (0..middles.len()).step_by(k).collect::<Vec<_>>();
    (1..middles.len().max(2))
        .map(every)
        .find(|kept| kept.windows(2).all(|pair| !touches(pair[0], pair[1])))
        .unwrap_or_else(|| every(middles.len().max(1)))
}

fn is_whole(number: f64) -> bool {
    (number - number.round()).abs() < 1e-9
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    proptest! {
        #[test]
        fn ticks_start_at_zero_stay_below_the_top_and_differ_as_written(top in 0.001_f64..10_000.0, most in 2_usize..6) {
            let ticks = ticks(top, most, Between::Decimals);
            prop_assert!(ticks.values.len() <= most && !ticks.values.is_empty());
            prop_assert!(ticks.values[0].abs() < 1e-12);
            prop_assert!(ticks.values.iter().all(|value| *value <= top * (1.0 + 1e-9)));
            let decimals = ticks.decimals;
            let mut texts: Vec<_> = ticks.values.iter().map(|value| format!("{value:.decimals$}")).collect();
            texts.dedup();
            prop_assert_eq!(texts.len(), ticks.values.len());
        }

        #[test]
        fn labels_that_fit_do_not_touch(steps in prop::collection::vec(1_i32..60, 1..30)) {
            let middles: Vec<i32> = steps.iter().scan(0, |x, step| { *x += step; Some(*x) }).collect();
            let widths = vec![40.0; middles.len()];
            let kept = fitting(&middles, &widths, 6.0);
            prop_assert_eq!(kept[0], 0);
            let k = if kept.len() > 1 { kept[1] } else { middles.len() };
            prop_assert!(kept.iter().enumerate().all(|(place, index)| *index == place * k));
            for pair in kept.windows(2) {
                prop_assert!(middles[pair[1]] - middles[pair[0]] >= 46);
            }
        }
    }
}
