//! Whatever numbers go in, what comes out is a finite number or a refusal.

use proptest::prelude::*;
use season::Level;
use season::clock::{Rearing, StageClock, StageHeat, durations, fit_rates};
use season::degree_days::{Celsius, Counting, Cutoff, Day, Method, Thresholds, hourly, rate};
use season::sampling::{
    Goal, Iwao, Precision, Scatter, SequentialTest, SoFar, Taylor, advice, belts, clusters, green_line,
    how_many_by_iwao, how_many_by_negative_binomial, how_many_by_poisson, how_many_by_taylor, how_many_for_share,
    how_many_for_share_within, kuno_line, season_tells, what_effort_tells,
};
use season::sky::{direct, equation_of_time, heat_index};
use serde_json::Value;
use survey::place::{Area, Pin};
use survey::stage::Stage;

/// Numbers of all kinds: ordinary ones, tiny and huge ones, zeros, infinities and what is no number.
fn any_number() -> impl Strategy<Value = f64> {
    prop_oneof![
        4 => -50.0..50.0_f64,
        2 => 0.0..1.0_f64,
        1 => any::<f64>(),
        1 => prop::sample::select(vec![0.0, -0.0, 1e-300, 1e300, f64::MIN_POSITIVE, f64::EPSILON, f64::NAN, f64::INFINITY, f64::NEG_INFINITY]),
    ]
}

/// JSON writes what is no finite number as null, which only fields that may be absent are allowed to be.
fn finite<T: serde::Serialize, E>(result: Result<T, E>) -> bool {
    const MAY_BE_ABSENT: [&str; 3] = ["standard_error", "interval", "degree_days"];
    fn sound(value: &Value) -> bool {
        match value {
            Value::Null => false,
            Value::Array(values) => values.iter().all(sound),
            Value::Object(fields) => fields
                .iter()
                .all(|(name, value)| (value.is_null() && MAY_BE_ABSENT.contains(&name.as_str())) || sound(value)),
            Value::Bool(_) | Value::Number(_) | Value::String(_) => true,
        }
    }
    result.map_or(true, |result| sound(&serde_json::to_value(result).unwrap()))
}

fn patch() -> Area {
    let pin = |lat, lon| Pin::new(lat, lon).unwrap();
    Area::new(vec![pin(45.0, -93.0), pin(45.0, -92.999), pin(45.001, -92.999)], Vec::new()).unwrap()
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(2_000))]

    #[test]
    fn days(min in any_number(), max in any_number(), next in any_number(), lower in any_number(), upper in prop::option::of(any_number())) {
        let Ok(thresholds) = Thresholds::new(Celsius(lower), upper.map(Celsius)) else { return Ok(()) };
        for cutoff in [Cutoff::Horizontal, Cutoff::Vertical, Cutoff::Intermediate] {
            prop_assert!(finite(hourly(&[Some(Celsius(min)), None, Some(Celsius(max))], thresholds, cutoff)));
            let Some(day) = Day::new(Celsius(min), Celsius(max)) else { continue };
            prop_assert!(rate(Celsius(max), thresholds, cutoff).is_finite());
            for counting in Method::ALL.into_iter().filter_map(|method| Counting::new(method, cutoff, thresholds).ok()) {
                let warmer = day.warmer(next);
                prop_assert!(counting.of_day(day, Day::new(Celsius(next), Celsius(next))).is_finite());
                prop_assert!(counting.of_days(&[day, warmer, day]).is_finite());
            }
        }
    }

    #[test]
    fn clocks(at in any_number(), heat in any_number(), variation in prop::option::of(any_number()), rows in prop::collection::vec((any_number(), any_number()), 0..6)) {
        let clock = StageClock::new(Counting::MONARCH, vec![StageHeat { stage: Stage::Egg, degree_days: heat, variation }]);
        if let Ok(clock) = clock {
            prop_assert!(finite(durations(&clock, Celsius(at), Level::P95)));
        }
        let rearings: Vec<_> = rows.into_iter().map(|(at, days)| Rearing { at: Celsius(at), days }).collect();
        prop_assert!(finite(fit_rates(&rearings, Level::P95)));
    }

    #[test]
    fn sizes(mean in any_number(), one in any_number(), two in any_number(), share in any_number(), units in any::<u32>()) {
        let precisions = [Precision::HalfWidth { share, level: Level::P95 }, Precision::StandardError { share }];
        let (law, line) = (Taylor { a: one, b: two }, Iwao { alpha: one, beta: two });
        for precision in precisions {
            for needed in [
                how_many_by_poisson(mean, precision),
                how_many_by_negative_binomial(mean, one, precision),
                how_many_by_taylor(mean, law, precision),
                how_many_by_iwao(mean, line, precision),
                how_many_for_share(one, precision),
                how_many_for_share_within(one, two, Level::P95),
            ] {
                let at_site = needed.clone().and_then(|needed| needed.at_site(units));
                prop_assert!(finite(needed) && finite(at_site));
            }
            let goal = Goal { at_least: 2, at_most: units, precision, minutes: one };
            for units_at_site in [None, Some(units)] {
                let so_far = SoFar { counts: &[0, 3, 1, 0, 2], minutes: two, units_at_site };
                prop_assert!(finite(advice(&goal, &so_far, Level::P95)));
            }
        }
        for scatter in [Scatter::Poisson, Scatter::NegativeBinomial { k: one }, Scatter::Taylor(law), Scatter::Iwao(line)] {
            prop_assert!(finite(what_effort_tells(&[units, 1, 40], mean, scatter, Level::P95)));
            prop_assert!(finite(season_tells(&[(0.0, mean), (one.abs(), two)], units, scatter, Level::P95)));
        }
        prop_assert!(finite(green_line(units, law, share)));
        prop_assert!(kuno_line(units, line, share).map_or(true, |total| total.is_none_or(f64::is_finite)));
        if let Ok(test) = SequentialTest::new(share, (one, two), (mean, mean)) {
            let (low, high) = test.lines(units);
            prop_assert!(low.is_finite() && high.is_finite() && low < high && test.slope().is_finite());
        }
    }

    #[test]
    fn places(one in any_number(), two in any_number(), lat in -90.0..=90.0_f64, lon in -180.0..=180.0_f64) {
        prop_assert!(finite(heat_index(Celsius(one), two)));
        prop_assert!(finite(direct(Pin::new(lat, lon).unwrap(), one, two)));
        prop_assert!(!one.is_finite() || one.abs() > 1e7 || equation_of_time(one).is_finite());
        prop_assert!(finite(belts(&patch(), 3, one, two, 1)));
        prop_assert!(finite(clusters(&patch(), one, 2, 1)));
    }
}
