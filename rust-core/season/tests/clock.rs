//! The stage clock against published rearings, and its laws.

use proptest::prelude::*;
use season::clock::{
    Basis, ClockRefusal, Cohort, Normals, Reached, Rearing, Span, StageClock, StageHeat, Temperatures, Verdict,
    durations, falls_below, fit_rates, laying_dates, next_visit, stage_dates, stage_fits,
};
use season::degree_days::{Celsius, Counting, Day, Scale, Weather};
use season::{Level, Refusal};
use survey::date::Date;
use survey::stage::Stage;

fn date(text: &str) -> Date {
    text.to_owned().try_into().unwrap()
}

fn later(from: Date, days: u64) -> Date {
    from.naive().checked_add_days(chrono::Days::new(days)).unwrap().into()
}

fn close(value: f64, expected: f64, tolerance: f64) {
    assert!((value - expected).abs() <= tolerance, "{value} is not {expected}");
}

fn constant(from: &str, days: u64, at: f64) -> Temperatures {
    let day = Day::new(Celsius(at), Celsius(at)).unwrap();
    Temperatures::new((0..days).map(|after| (later(date(from), after), day)).collect(), None)
}

/// Computed with `numpy` from the published totals: heat ÷ (temperature − 11.5 °C).
#[test]
fn durations_at_constant_temperatures() {
    let table = [
        (18.0, [6.923, 4.969, 4.277, 3.769, 5.492, 10.246], 35.677),
        (20.0, [5.294, 3.800, 3.271, 2.882, 4.200, 7.835], 27.282),
        (25.0, [3.333, 2.393, 2.059, 1.815, 2.644, 4.933], 17.178),
        (30.0, [2.432, 1.746, 1.503, 1.324, 1.930, 3.600], 12.535),
    ];
    for (at, days, total) in table {
        let all = durations(&StageClock::monarch(), Celsius(at), Level::P95).unwrap();
        for (duration, expected) in all.iter().zip(days) {
            close(duration.days.value, expected, 1e-3);
            assert!(duration.days.interval.unwrap().contains(duration.days.value));
        }
        close(all[5].days_since_laying.value, total, 1e-3);
        assert_eq!(all[6].stage, Stage::Pupa);
        assert_eq!((all[6].days.interval, all[6].days_since_laying.interval), (None, None));
    }
}

/// The trade's rules of thumb, common practice without a source: eggs 3-8 days, larvae 9-16 days in all, first to fourth
/// instar 1-3 days each, fifth 3-5 days. They hold together only near 24.8 to 26.5 °C (computed with this clock).
#[test]
fn rules_of_thumb_hold_at_25_and_26_degrees() {
    for at in [25.0, 26.0] {
        let days: Vec<f64> = durations(&StageClock::monarch(), Celsius(at), Level::P95)
            .unwrap()
            .iter()
            .map(|duration| duration.days.value)
            .collect();
        assert!((3.0..=8.0).contains(&days[0]), "{days:?}");
        assert!(days[1..5].iter().all(|days| (1.0..=3.0).contains(days)), "{days:?}");
        assert!((3.0..=5.0).contains(&days[5]), "{days:?}");
        assert!((9.0..=16.0).contains(&days[1..6].iter().sum::<f64>()), "{days:?}");
    }
}

#[test]
fn where_nothing_develops_there_is_no_duration() {
    let at = |degrees| durations(&StageClock::monarch(), Celsius(degrees), Level::P95);
    assert_eq!(at(11.5), Err(ClockRefusal::NoDevelopment { at: 11.5 }));
    assert_eq!(at(f64::NAN), Err(ClockRefusal::Data(Refusal::NotANumber)));
    // Above the upper threshold it goes no faster than at it.
    close(at(40.0).unwrap()[0].days.value, at(33.0).unwrap()[0].days.value, 0.0);
}

/// Means of uninfected controls computed from the data of Ragonese IG, Sarkar, Hall RJ, Altizer S (2019, data
/// `mtemp_comp_Nov1_2021.csv` of the repository `MonarchOE_Temperature_Infection2019`): pupation, adult, pupal days.
const CONTROLS: [(f64, [f64; 3]); 4] = [
    (18.0, [18.461_538, 38.636_364, 20.272_727]),
    (22.0, [11.730_769, 25.769_231, 14.038_462]),
    (26.0, [8.0, 16.0, 8.038_462]),
    (30.0, [7.153_846, 13.692_308, 6.538_462]),
];

/// Thresholds and heat computed with `numpy` by least squares on the rates of those means.
#[test]
fn threshold_and_heat_from_rearing() {
    for (index, lower, heat) in [(1, 11.876, 242.21), (0, 10.373, 134.86), (2, 13.069, 109.89)] {
        let rearings: Vec<_> =
            CONTROLS.iter().map(|(at, days)| Rearing { at: Celsius(*at), days: days[index] }).collect();
        let fit = fit_rates(&rearings, Level::P95).unwrap();
        close(fit.lower_threshold.value, lower, 1e-3);
        close(fit.heat_needed.value, heat, 1e-2);
        assert!(
            fit.lower_threshold.interval.unwrap().contains(lower) && fit.heat_needed.interval.unwrap().contains(heat)
        );
        if index == 1 {
            close(fit.r_squared, 0.978, 1e-3);
        }
    }
}

#[test]
fn rearing_that_carries_no_threshold_is_refused() {
    let of = |rows: &[(f64, f64)]| {
        fit_rates(&rows.iter().map(|&(at, days)| Rearing { at: Celsius(at), days }).collect::<Vec<_>>(), Level::P95)
    };
    assert_eq!(of(&[]), Err(Refusal::TooFew { have: 0, need: 3 }.into()));
    assert_eq!(of(&[(20.0, 5.0), (20.0, 6.0), (20.0, 5.5)]), Err(Refusal::NoVariance.into()));
    assert_eq!(of(&[(20.0, 5.0), (25.0, 5.0), (30.0, 5.0)]), Err(ClockRefusal::RatesDoNotRise));
    assert_eq!(of(&[(20.0, 5.0), (25.0, 6.0), (30.0, 7.0)]), Err(ClockRefusal::RatesDoNotRise));
    for bad in [0.0, -1.0, f64::NAN, f64::INFINITY] {
        assert_eq!(of(&[(20.0, 5.0), (25.0, 4.0), (30.0, bad)]), Err(Refusal::NotANumber.into()));
    }
}

/// Heat measured in that experiment (larvae from near the start of the third instar, pupae) lies within about 10 % of
/// the clock's 126.8 and 120 °C × day; one pupal mean at 22 °C and the larvae at 34 °C do not. Computed from the means.
#[test]
fn an_independent_rearing_agrees_with_the_clock() {
    let clock = StageClock::monarch();
    let larval = clock.end_of(Stage::Larva5).unwrap() - clock.end_of(Stage::Larva2).unwrap();
    close(larval, 126.8, 1e-9);
    for ((at, days), (larvae, pupae)) in
        CONTROLS.iter().zip([(120.0, 131.8), (123.2, 147.4), (116.0, 116.6), (132.3, 121.0)])
    {
        close(days[0] * (at - 11.5), larvae, 0.05);
        close(days[2] * (at - 11.5), pupae, 0.05);
        assert!((larvae / larval - 1.0).abs() < 0.1);
    }
    // 34 °C is counted as 33: 6.555556 days to pupation and 6.0625 as a pupa.
    let hot = Counting::MONARCH.of_day(Day::new(Celsius(34.0), Celsius(34.0)).unwrap(), None);
    close(6.555_556 * hot, 141.0, 0.1);
    close(6.0625 * hot, 130.3, 0.1);
}

/// Third instar to pupa at 12.6 °C by night and 30 °C by day: 12.5 days, at 17.3 and 32.5 °C: 10.3 days (Lemoine NP,
/// Capdevielle JN, Parker JD 2015 `PeerJ` 3:e1293, as reported by the Smithsonian; citation from memory). The clock gives
/// 12.94 and 9.46 days, computed with a single sine in `numpy`.
#[test]
fn another_independent_rearing_agrees_with_the_clock() {
    for ((min, max), heat, seen) in [((12.6, 30.0), 9.80, 12.5), ((17.3, 32.5), 13.40, 10.3)] {
        let per_day = Counting::MONARCH.of_day(Day::new(Celsius(min), Celsius(max)).unwrap(), None);
        close(per_day, heat, 0.01);
        assert!((126.8 / per_day / seen - 1.0).abs() < 0.1);
    }
}

/// Lowest and highest temperatures of Seattle from 2015-06-01 on: `seattle_weather` of `vega_datasets` 0.9.0 of `PyPI`, of
/// the US National Oceanic and Atmospheric Administration.
const SEATTLE_JUNE_2015: [(f64, f64); 32] = [
    (11.7, 16.1),
    (12.8, 17.8),
    (11.7, 20.0),
    (11.7, 22.8),
    (12.8, 26.7),
    (13.3, 29.4),
    (15.6, 31.1),
    (14.4, 30.6),
    (14.4, 28.9),
    (11.1, 25.6),
    (11.1, 24.4),
    (11.7, 20.0),
    (9.4, 23.9),
    (11.7, 27.8),
    (16.1, 30.0),
    (11.1, 22.8),
    (11.1, 25.0),
    (13.9, 24.4),
    (13.3, 23.9),
    (12.8, 25.0),
    (13.9, 25.6),
    (12.8, 25.0),
    (11.7, 26.1),
    (16.1, 25.6),
    (15.6, 30.6),
    (17.8, 31.7),
    (17.2, 33.3),
    (18.3, 28.3),
    (17.2, 28.9),
    (15.0, 30.6),
    (17.2, 32.2),
    (17.8, 33.9),
];

fn seattle() -> Weather {
    let days =
        SEATTLE_JUNE_2015.iter().zip(0..).map(|((min, max), after)| (later(date("2015-06-01"), after), *min, *max));
    Weather::read(days, Scale::Celsius).unwrap()
}

/// Dates and sums computed with `numpy`: the laying day counts.
#[test]
fn an_egg_of_june_in_seattle() {
    let temperatures = Temperatures::new(seattle(), None);
    let dates = stage_dates(&StageClock::monarch(), date("2015-06-01"), &temperatures, Level::P95).unwrap();
    let expected = [
        ("2015-06-07", 46.25),
        ("2015-06-11", 80.56),
        ("2015-06-15", 110.20),
        ("2015-06-18", 129.91),
        ("2015-06-23", 167.46),
        ("2015-06-29", 238.75),
    ];
    for (end, (on, heat)) in dates.ends.iter().zip(expected) {
        let Reached::On { date: reached, degree_days, basis } = end.typical else { panic!("{end:?}") };
        assert_eq!((reached, basis), (date(on), Basis::Measured));
        close(degree_days, heat, 0.005);
    }
    // The weather ends before the pupa does.
    assert!(matches!(dates.ends[6].typical, Reached::NotBy { date: last, .. } if last == date("2015-07-02")));
}

#[test]
fn early_late_cool_and_warm_lie_on_their_sides() {
    let temperatures = Temperatures::new(seattle(), Some(Normals::of(&seattle())));
    let dates = stage_dates(&StageClock::monarch(), date("2015-06-01"), &temperatures, Level::P95).unwrap();
    let on = |reached| match reached {
        Reached::On { date, .. } => date,
        Reached::NotBy { .. } => date("9999-12-31"),
    };
    for end in &dates.ends[..5] {
        assert!(on(end.early) <= on(end.typical) && on(end.typical) <= on(end.late), "{end:?}");
        assert!(on(end.if_warmer) < on(end.if_cooler), "{end:?}");
    }
}

#[test]
fn normals_go_on_where_weather_ends_and_are_marked() {
    let from = date("2025-06-01");
    let day = |degrees| Day::new(Celsius(degrees), Celsius(degrees)).unwrap();
    let years: Weather = (0..90).map(|after| (later(date("2024-05-20"), after), day(21.5))).collect();
    let weather: Weather = (0..5).map(|after| (later(from, after), day(21.5))).collect();
    let with = |normals| {
        let temperatures = Temperatures::new(weather.clone(), normals);
        stage_dates(&StageClock::monarch(), from, &temperatures, Level::P95).unwrap()
    };
    let forecast = with(Some(Normals::of(&years)));
    let ends: Vec<_> = forecast.ends.iter().map(|end| end.typical).collect();
    assert_eq!(ends[0], Reached::On { date: date("2025-06-05"), degree_days: 50.0, basis: Basis::Measured });
    assert_eq!(ends[1], Reached::On { date: date("2025-06-08"), degree_days: 80.0, basis: Basis::Normal });
    assert!(forecast.assumed.contains(&season::clock::id::ASSUMED_NORMAL_DAYS));
    let without = with(None);
    assert_eq!(without.ends[1].typical, Reached::NotBy { date: date("2025-06-05"), degree_days: 50.0 });
    assert!(!without.assumed.contains(&season::clock::id::ASSUMED_NORMAL_DAYS));
}

#[test]
fn normals_are_means_of_days_near_and_know_leap_days() {
    let day = |degrees| Day::new(Celsius(degrees), Celsius(degrees + 10.0)).unwrap();
    let years: Weather = ["2022", "2023"]
        .iter()
        .zip([10.0, 14.0])
        .flat_map(|(year, degrees)| {
            (0..40).map(move |after| (later(date(&format!("{year}-02-10")), after), day(degrees)))
        })
        .collect();
    let normals = Normals::of(&years);
    let middle = normals.on(date("2026-03-01")).unwrap();
    close(middle.min(), 12.0, 1e-12);
    close(middle.max(), 22.0, 1e-12);
    assert_eq!(normals.on(date("2028-02-29")), normals.on(date("2028-02-28")));
    assert_eq!(normals.on(date("2026-07-01")), None);
}

#[test]
fn short_gaps_are_drawn_across_and_long_ones_end_the_count() {
    let day = Day::new(Celsius(21.5), Celsius(21.5)).unwrap();
    let with_gap = |length: u64| {
        let known = (0..40_u64).filter(|after| !(2..2 + length).contains(after));
        let weather: Weather = known.map(|after| (later(date("2025-06-01"), after), day)).collect();
        let temperatures = Temperatures::new(weather, None);
        stage_dates(&StageClock::monarch(), date("2025-06-01"), &temperatures, Level::P95).unwrap().ends[0].typical
    };
    assert_eq!(with_gap(3), Reached::On { date: date("2025-06-05"), degree_days: 50.0, basis: Basis::Interpolated });
    assert_eq!(with_gap(4), Reached::NotBy { date: date("2025-06-02"), degree_days: 20.0 });
}

#[test]
fn a_winter_is_never_over() {
    let cold = constant("2025-10-01", 900, 5.0);
    let dates = stage_dates(&StageClock::monarch(), date("2025-10-01"), &cold, Level::P95).unwrap();
    assert_eq!(dates.ends[0].typical, Reached::NotBy { date: date("2026-11-05"), degree_days: 0.0 });
    let laid = laying_dates(&StageClock::monarch(), (Stage::Egg, date("2027-03-01")), &cold, Level::P95).unwrap();
    assert!(laid.open_before && laid.typical.is_some());
    assert_eq!(
        stage_dates(&StageClock::monarch(), date("2025-09-30"), &cold, Level::P95),
        Err(ClockRefusal::NoWeather)
    );
}

/// At 21.5 °C every day holds 10 °C × day: an egg needs 4.5 days, so on 20 June it is one laid on 16 June or later.
#[test]
fn laying_dates_of_what_is_seen_today() {
    let temperatures = constant("2025-05-01", 90, 21.5);
    let laid =
        |stage| laying_dates(&StageClock::monarch(), (stage, date("2025-06-20")), &temperatures, Level::P95).unwrap();
    let span = |from, to| Some(Span { from: date(from), to: date(to) });
    assert_eq!(laid(Stage::Egg).typical, span("2025-06-16", "2025-06-20"));
    assert_eq!(laid(Stage::Larva1).typical, span("2025-06-13", "2025-06-16"));
    assert_eq!(laid(Stage::Larva5).typical, span("2025-05-28", "2025-06-04"));
    assert_eq!(laid(Stage::Larva).typical, span("2025-05-28", "2025-06-16"));
    assert!(!laid(Stage::Larva5).open_before);
    let adultless = StageClock::new(Counting::MONARCH, StageClock::monarch().stages()[..2].to_vec()).unwrap();
    assert_eq!(
        laying_dates(&adultless, (Stage::Larva5, date("2025-06-20")), &temperatures, Level::P95),
        Err(ClockRefusal::NotInClock(Stage::Larva5))
    );
}

#[test]
fn a_stage_that_does_not_fit_its_date_is_a_finding() {
    let temperatures = constant("2025-05-01", 90, 21.5);
    let fit = |stage, from, to| {
        let possible = Span { from: date(from), to: date(to) };
        let clock = StageClock::monarch();
        stage_fits(&clock, (stage, date("2025-06-20")), possible, &temperatures, Level::P95).unwrap().verdict
    };
    assert_eq!(fit(Stage::Larva2, "2025-06-01", "2025-06-20"), Verdict::Fits);
    assert!(matches!(fit(Stage::Larva5, "2025-06-15", "2025-06-20"), Verdict::TooOld { days } if days > 5));
    assert!(matches!(fit(Stage::Egg, "2025-06-01", "2025-06-05"), Verdict::TooYoung { days } if days > 5));
    let short = constant("2025-06-18", 10, 21.5);
    let possible = Span { from: date("2025-05-01"), to: date("2025-05-10") };
    let clock = StageClock::monarch();
    let unknown = stage_fits(&clock, (Stage::Larva5, date("2025-06-20")), possible, &short, Level::P95).unwrap();
    assert_eq!(unknown.verdict, Verdict::NotKnown);
}

/// Computed by hand: of eggs laid evenly over seven days, those still eggs are egg duration ÷ 7, 0.48 at 25 °C and 0.35 at
/// 30 °C; those still egg or first instar at 25 °C 77.3 ÷ 13.5 ÷ 7 = 0.82. The spread moves these by less than 0.01.
#[test]
fn chance_to_see_a_cohort_young() {
    let at = |degrees, question| {
        next_visit(&StageClock::monarch(), date("2025-06-20"), question, &constant("2025-06-01", 60, degrees)).unwrap()
    };
    let eggs = (Cohort::LaidEvenly, Stage::Egg);
    close(at(25.0, eggs)[2].chance.value, 0.476, 0.01);
    close(at(30.0, eggs)[2].chance.value, 0.347, 0.01);
    close(at(25.0, (Cohort::LaidEvenly, Stage::Larva1))[2].chance.value, 0.818, 0.01);
    let next_day = at(25.0, (Cohort::LaidTheDayAfter, Stage::Larva1));
    assert_eq!(next_day.iter().map(|visit| visit.days).collect::<Vec<_>>(), [3, 5, 7, 10]);
    assert!(next_day[0].chance.value > 0.999 && next_day[3].chance.value < 1e-3, "{next_day:?}");
    assert!(
        next_day.iter().all(|visit| visit.if_warmer <= visit.chance.value && visit.chance.value <= visit.if_cooler)
    );
    let below = falls_below(
        &StageClock::monarch(),
        date("2025-06-20"),
        (Cohort::LaidTheDayAfter, Stage::Larva1),
        &constant("2025-06-01", 60, 25.0),
        0.5,
    );
    assert_eq!(below, Ok(Some(date("2025-06-27"))));
}

#[test]
fn lists_that_make_no_clock_are_refused() {
    let heat = |stage, degree_days| StageHeat { stage, degree_days, variation: None };
    for stages in [
        vec![],
        vec![heat(Stage::Larva1, 30.0), heat(Stage::Egg, 40.0)],
        vec![heat(Stage::Egg, 40.0), heat(Stage::Egg, 40.0)],
        vec![heat(Stage::Larva, 40.0)],
        vec![heat(Stage::Egg, 0.0)],
        vec![heat(Stage::Egg, f64::NAN)],
        vec![StageHeat { variation: Some(-0.1), ..heat(Stage::Egg, 40.0) }],
    ] {
        assert_eq!(StageClock::new(Counting::MONARCH, stages), Err(ClockRefusal::NoClock));
    }
}

prop_compose! {
    fn a_season()(days in prop::collection::vec((8.0..20.0_f64, 0.0..18.0_f64), 120)) -> Temperatures {
        let weather = days.into_iter().zip(0..).map(|((min, width), after)| {
            (later(date("2024-02-15"), after), Day::new(Celsius(min), Celsius(min + width)).unwrap())
        });
        Temperatures::new(weather.collect(), None)
    }
}

proptest! {
    /// Forwards and backwards agree: an egg is in a stage on a day just if that day's laying dates hold its laying date.
    #[test]
    fn backwards_undoes_forwards(temperatures in a_season(), laid in 0..30_u64, seen in 0..60_u64) {
        let clock = StageClock::monarch();
        let (laid, seen) = (later(date("2024-02-15"), laid), later(date("2024-02-15"), laid + seen));
        let ends = stage_dates(&clock, laid, &temperatures, Level::P95).unwrap().ends;
        let mut start = laid;
        for end in ends {
            let Reached::On { date: over, .. } = end.typical else { break };
            let in_stage = start <= seen && seen <= over;
            let back = laying_dates(&clock, (end.stage, seen), &temperatures, Level::P95).unwrap();
            if in_stage {
                let span = back.typical.unwrap();
                prop_assert!(span.from <= laid && laid <= span.to, "{:?} {span:?} {laid}", end.stage);
            }
            let (typical, spread) = (back.typical, back.with_spread);
            prop_assert!(typical.is_none_or(|inner| spread.is_some_and(|outer| outer.from <= inner.from && inner.to <= outer.to)));
            start = over;
        }
    }

    #[test]
    fn warmth_never_delays(temperatures in a_season(), laid in 0..30_u64) {
        let ends = stage_dates(&StageClock::monarch(), later(date("2024-02-15"), laid), &temperatures, Level::P95).unwrap().ends;
        for end in ends {
            if let (Reached::On { date: warm, .. }, Reached::On { date: typical, .. }) = (end.if_warmer, end.typical) {
                prop_assert!(warm <= typical);
            }
        }
    }

    /// Without scatter the line gives back the threshold and the heat it was made from.
    #[test]
    fn the_fit_returns_what_made_the_data(lower in 0.0..15.0_f64, heat in 20.0..400.0_f64) {
        let rearings: Vec<_> = [18.0, 22.0, 26.0, 30.0]
            .map(|at| Rearing { at: Celsius(at), days: heat / (at - lower) })
            .to_vec();
        let fit = fit_rates(&rearings, Level::P95).unwrap();
        prop_assert!((fit.lower_threshold.value - lower).abs() < 1e-6 && (fit.heat_needed.value - heat).abs() < 1e-6);
    }

    #[test]
    fn chances_are_chances_and_fall_with_time(temperatures in a_season(), visit in 0..60_u64) {
        for cohort in [Cohort::LaidTheDayAfter, Cohort::LaidEvenly] {
            let visits = next_visit(&StageClock::monarch(), later(date("2024-02-15"), visit), (cohort, Stage::Larva1), &temperatures).unwrap();
            prop_assert!(visits.iter().all(|visit| (0.0..=1.0).contains(&visit.chance.value)));
            prop_assert!(visits.windows(2).all(|pair| pair[1].chance.value <= pair[0].chance.value + 1e-9));
        }
    }
}
