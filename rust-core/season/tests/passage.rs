//! Published and computed check values of `passage`, and its laws. Series without a source are invented.

use proptest::prelude::*;
use season::densities::Bootstrap;
use season::passage::{
    ClockModel, Development, Exposure, Fate, Mortality, Residence, Scatter, StageSeries, Survival, entering, id,
    kiritani_nakasuji, knm, knm_truncated, logistic_exposure, mayfield, mean_date, present, residence_band,
    richards_waloff, southwood, stage_areas, stage_clock, tagged_area,
};
use season::{Level, Refusal};
use std::ops::ControlFlow;

fn near(found: f64, wanted: f64, slack: f64) {
    assert!((found - wanted).abs() <= slack, "{found} is not {wanted}");
}

fn series(times: &[f64], rows: &[&[f64]]) -> StageSeries {
    StageSeries::new(times.to_vec(), rows.iter().map(|row| row.to_vec()).collect()).unwrap()
}

/// Weekly counts of four stages, invented.
fn weekly() -> StageSeries {
    let times: Vec<f64> = (0..9).map(|week| 7.0 * f64::from(week)).collect();
    series(
        &times,
        &[
            &[0.0, 0.0, 0.0, 0.0],
            &[40.0, 0.0, 0.0, 0.0],
            &[90.0, 20.0, 0.0, 0.0],
            &[70.0, 45.0, 8.0, 0.0],
            &[30.0, 40.0, 22.0, 3.0],
            &[8.0, 20.0, 24.0, 11.0],
            &[1.0, 6.0, 14.0, 16.0],
            &[0.0, 1.0, 4.0, 12.0],
            &[0.0, 0.0, 0.0, 0.0],
        ],
    )
}

/// Formulas of Manly (1976), Kiritani & Nakasuji (1967), Southwood, Richards & Waloff; computed with numpy 2.4.6.
#[test]
fn classical_methods_on_a_weekly_series() {
    let found = knm(&weekly()).unwrap();
    let close = |found: &[f64], wanted: &[f64], slack: f64| {
        for (one, other) in found.iter().zip(wanted) {
            near(*one, *other, slack);
        }
    };
    close(&found.areas, &[3395.0, 1722.0, 798.0, 294.0], 1e-9);
    close(&found.mean_times, &[24.030_928, 30.418_699, 36.289_474, 41.166_667], 1e-6);
    close(&found.survival, &[0.507_216, 0.463_415, 0.368_421], 1e-6);
    near(found.mortality, 0.142_771, 1e-6);
    near(found.daily_survival, 0.866_953, 1e-6);
    close(&found.durations, &[4.754_603, 5.387_196, 6.993_940], 1e-5);
    close(&found.entering, &[484.706, 245.851, 113.931, 41.975], 1e-3);
    assert!(found.assumed.contains(&id::ASSUMED_FOR_COMPARISON));
    let daily: Vec<f64> =
        kiritani_nakasuji(&weekly(), &[5.0, 5.0, 7.0]).unwrap().iter().map(|each| each.value).collect();
    close(&daily, &[0.873_049, 0.857_421, 0.867_060], 1e-6);
    close(&stage_areas(&weekly()).unwrap(), &[1673.0, 924.0, 504.0, 294.0], 1e-9);
    let plain: Vec<f64> =
        southwood(&weekly(), &[10.0, 8.0, 7.0, 20.0]).unwrap().iter().map(|each| each.value).collect();
    close(&plain, &[167.3, 115.5, 72.0, 14.7], 1e-9);
    let fall = richards_waloff(&weekly(), 21.0, 49.0, Level::P95).unwrap();
    near(fall.slope, -0.070_012_9, 1e-7);
    near(fall.slope_error, 0.008_138_6, 1e-7);
    near(fall.daily_survival.value, 0.932_382, 1e-6);
    near(fall.intercept, 6.441_116, 1e-6);
}

#[test]
fn classical_methods_refuse_what_they_cannot_carry() {
    let mut rows = weekly().rows().to_vec();
    let times = weekly().times().to_vec();
    rows[8] = vec![20.0, 9.0, 3.0, 2.0];
    let ends_high = StageSeries::new(times.clone(), rows).unwrap();
    assert_eq!(knm(&ends_high), Err(Refusal::NotMet(id::REFUSED_ENDS_ABOVE_ZERO)));
    assert_eq!(kiritani_nakasuji(&ends_high, &[5.0; 3]), Err(Refusal::NotMet(id::REFUSED_ENDS_ABOVE_ZERO)));
    let uneven = weekly().at_times(vec![0.0, 7.0, 14.0, 21.0, 28.0, 35.0, 42.0, 49.0, 57.0]).unwrap();
    assert_eq!(knm(&uneven), Err(Refusal::NotMet(id::REFUSED_UNEQUAL_INTERVALS)));
    let no_last = series(&times, &[[0.0, 0.0].as_slice(); 9]);
    assert_eq!(knm(&no_last), Err(Refusal::Nothing));
    assert_eq!(richards_waloff(&weekly(), 14.0, 49.0, Level::P95), Err(Refusal::NotMet(id::REFUSED_BEFORE_PEAK)));
    assert_eq!(present(&weekly(), &[1.0, 2.0]).unwrap_err(), Refusal::NotMet(id::REFUSED_DURATIONS));
    assert_eq!(StageSeries::new(vec![1.0, 1.0], vec![vec![1.0]; 2]), Err(Refusal::SameDay { day: 1.0 }));
    assert_eq!(StageSeries::new(vec![1.0, 2.0], vec![vec![f64::NAN]; 2]), Err(Refusal::NotANumber));
}

/// Survival 0.9 a day in all stages, durations 4, 2, 2, 2, 3 days and a last stage that stays: sampled daily. Numbers
/// entering come out higher than the 900 laid by θ ÷ (1 − e^−θ). Computed the same way with numpy 2.4.6.
fn exact_simulation(until: u32) -> StageSeries {
    let ends = [4, 6, 8, 10, 13];
    let rows = (0..until)
        .map(|day| {
            let mut row = vec![0.0; 6];
            for (laid, number) in [(1, 100.0), (2, 200.0), (3, 300.0), (4, 200.0), (5, 100.0)] {
                if day >= laid {
                    let age = day - laid;
                    let stage = ends.iter().filter(|&&end| age >= end).count();
                    row[stage] += number * 0.9_f64.powi(i32::try_from(age).unwrap());
                }
            }
            row
        })
        .collect();
    StageSeries::new((0..until).map(f64::from).collect(), rows).unwrap()
}

#[test]
fn exact_simulation_is_recovered() {
    let found = knm(&exact_simulation(140)).unwrap();
    near(found.daily_survival, 0.899_998_5, 1e-6);
    for (survival, wanted) in found.survival.iter().zip([0.656_100, 0.81, 0.81, 0.81, 0.728_999]) {
        near(*survival, wanted, 2e-6);
    }
    for (duration, wanted) in found.durations.iter().zip([3.9999, 2.0, 2.0, 2.0, 3.0]) {
        near(*duration, wanted, 2e-4);
    }
    near(found.entering[0], 948.26, 0.01);
}

/// The same, cut off at day 24 with a third of the animals still there: the plain method refuses, the corrected one
/// comes near the truth.
#[test]
fn an_early_end_is_corrected() {
    let cut = exact_simulation(24);
    assert_eq!(knm(&cut), Err(Refusal::NotMet(id::REFUSED_ENDS_ABOVE_ZERO)));
    let found = knm_truncated(&cut).unwrap();
    near(found.daily_survival, 0.9, 0.003);
    near(found.survival[0], 0.6561, 0.02);
}

/// Expected counts of a stage-clock model, replicating the arithmetic of an open analysis (Grant TJ et al. 2020,
/// Ecosphere 11:e03082, code) at 21 degree-days a day; true egg survival 0.148877. KNM, which takes survival to be equal
/// in all stages, gives twice that.
fn clock_table() -> StageSeries {
    let rows: [[f64; 6]; 23] = [
        [0.0; 6],
        [50.0, 0.0, 0.0, 0.0, 0.0, 0.0],
        [126.5, 0.0, 0.0, 0.0, 0.0, 0.0],
        [267.045, 0.0, 0.0, 0.0, 0.0, 0.0],
        [634.09, 7.4439, 0.0, 0.0, 0.0, 0.0],
        [1071.18, 14.8877, 5.0618, 0.0, 0.0, 0.0],
        [1037.95, 29.7754, 14.6793, 0.0, 0.0, 0.0],
        [675.675, 74.4385, 29.3585, 4.1001, 0.0, 0.0],
        [346.45, 111.6578, 68.8407, 8.2001, 3.8541, 0.0],
        [159.18, 74.4385, 121.4836, 16.4003, 7.7081, 3.7384],
        [79.59, 29.7754, 118.9527, 41.0007, 15.4163, 11.0658],
        [27.295, 14.8877, 65.8036, 61.5011, 38.5407, 25.577],
        [7.0225, 7.4439, 28.3462, 41.0007, 57.811, 61.9383],
        [0.0, 3.7219, 14.1731, 16.4003, 38.5407, 112.3623],
        [0.0, 0.0, 7.0865, 8.2001, 15.4163, 138.9018],
        [0.0, 0.0, 2.2778, 4.1001, 7.7081, 135.5985],
        [0.0, 0.0, 0.0, 2.05, 3.8541, 105.8991],
        [0.0, 0.0, 0.0, 0.0, 1.927, 57.7731],
        [0.0, 0.0, 0.0, 0.0, 0.0, 25.579],
        [0.0, 0.0, 0.0, 0.0, 0.0, 11.8549],
        [0.0, 0.0, 0.0, 0.0, 0.0, 5.0302],
        [0.0, 0.0, 0.0, 0.0, 0.0, 1.6538],
        [0.0; 6],
    ];
    StageSeries::new((0..23).map(f64::from).collect(), rows.map(|row| row.to_vec()).to_vec()).unwrap()
}

#[test]
fn knm_is_biased_where_losses_differ_between_stages() {
    let table = clock_table();
    let totals: Vec<f64> = (0..6).map(|stage| table.stage(stage).iter().sum()).collect();
    for (found, wanted) in totals.iter().zip([4481.9775, 368.4706, 476.0640, 202.9536, 190.7764, 696.9721]) {
        near(*found, wanted, 1e-3);
    }
    let egg = knm(&table).unwrap().survival[0];
    near(egg, 0.302, 5e-4);
    assert!(egg > 2.0 * 0.148_877);
}

/// Iowa 2015, two sites: counts as published with Grant TJ et al. (2020); areas and ratios computed with numpy 2.4.6.
/// Widths in degree-days: Zalucki MP (1982).
const WIDTHS: [f64; 6] = [45.0, 32.3, 27.8, 24.5, 35.7, 66.6];

fn series_a() -> StageSeries {
    series(
        &[1.0, 10.0, 20.0, 27.0, 36.0, 41.0, 48.0],
        &[
            &[3.0, 0.0, 0.0, 1.0, 0.0, 0.0],
            &[96.0, 12.0, 13.0, 4.0, 1.0, 4.0],
            &[138.0, 8.0, 8.0, 3.0, 0.0, 2.0],
            &[137.0, 9.0, 10.0, 8.0, 3.0, 3.0],
            &[65.0, 3.0, 5.0, 1.0, 2.0, 2.0],
            &[47.0, 0.0, 1.0, 0.0, 1.0, 1.0],
            &[27.0, 1.0, 0.0, 0.0, 1.0, 0.0],
        ],
    )
}

fn series_b() -> StageSeries {
    series(
        &[1.0, 9.0, 17.0, 24.0, 31.0, 38.0, 46.0],
        &[
            &[37.0, 2.0, 4.0, 0.0, 0.0, 0.0],
            &[90.0, 15.0, 9.0, 7.0, 1.0, 1.0],
            &[135.0, 19.0, 5.0, 5.0, 3.0, 7.0],
            &[156.0, 22.0, 7.0, 3.0, 1.0, 3.0],
            &[121.0, 5.0, 2.0, 3.0, 1.0, 3.0],
            &[77.0, 1.0, 7.0, 2.0, 1.0, 1.0],
            &[11.0, 1.0, 0.0, 2.0, 3.0, 2.0],
        ],
    )
}

#[test]
fn iowa_areas_and_ratios() {
    let a = stage_areas(&series_a()).unwrap();
    for (found, wanted) in a.iter().zip([4026.0, 278.5, 312.5, 139.0, 57.0, 99.0]) {
        near(*found, wanted, 1e-9);
    }
    let b = stage_areas(&series_b()).unwrap();
    for (found, wanted) in b.iter().zip([4441.0, 471.0, 241.0, 158.5, 64.0, 118.0]) {
        near(*found, wanted, 1e-9);
    }
    near(present(&series_a(), &WIDTHS).unwrap().ratio.value, 0.016_615_0, 1e-7);
    near(present(&series_b(), &WIDTHS).unwrap().ratio.value, 0.017_953_1, 1e-7);
    assert!(present(&series_a(), &WIDTHS).unwrap().ratio.assumed.contains(&id::ASSUMED_NO_DEATH_WITHIN_STAGE));
    near(a[0] / 4.3, 936.28, 0.005);
    near(mean_date(&series_a(), 0).unwrap().value, 23.513_0, 5e-4);
}

/// The days' mean temperatures: 16 before the first survey, then day 1 to 48.
fn iowa_clock() -> Development {
    let mean = [
        21.9, 21.9, 20.8, 17.5, 18.1, 19.7, 22.2, 24.7, 17.2, 16.4, 18.9, 20.3, 23.3, 26.9, 28.3, 26.4, 24.4, 23.65,
        26.7, 26.7, 24.15, 23.6, 20.8, 20.55, 21.95, 23.6, 26.1, 24.4, 24.75, 22.5, 21.95, 21.95, 22.75, 23.6, 25.25,
        23.6, 20.85, 21.7, 21.4, 23.85, 24.45, 24.15, 22.5, 21.7, 22.2, 21.7, 24.4, 23.6, 23.6, 24.15, 19.75, 15.8,
        17.2, 20.25, 20.85, 17.5, 15.25, 15.85, 16.65, 18.05, 18.9, 18.35, 18.85, 22.8,
    ];
    let mut sum = 0.0;
    let mut sums = vec![0.0];
    for value in mean {
        sum += value - 11.5;
        sums.push(sum);
    }
    Development::new((0..=64).map(|day| f64::from(day) - 15.5).collect(), sums).unwrap()
}

/// Numbers entering, with mortality: area = ∫ entering e^(−θt) over the stage.
#[test]
fn entering_with_mortality() {
    let found = entering(100.0, 4.0, 0.3).unwrap();
    near(found.entering * (1.0 - f64::exp(-1.2)) / 0.3, 100.0, 1e-9);
    near(found.leaving, found.entering * f64::exp(-1.2), 1e-12);
    near(entering(100.0, 4.0, 0.0).unwrap().entering, 25.0, 1e-9);
    assert!(entering(f64::NAN, 4.0, 0.1).is_err() && entering(1.0, 0.0, 0.1).is_err());
    assert!(found.entering > 25.0);
}

/// Daily survivals of the published example (Grant TJ et al. 2020, Ecosphere 11:e03082, code), at 10.35 degree-days a day:
/// numbers present per unit of duration overstate survival to the last stage, numbers entering with mortality do not.
#[test]
fn present_overstates_where_eggs_die() {
    let mut number = 1.0;
    let mut plain = Vec::new();
    for (width, survival) in WIDTHS.into_iter().zip([0.53_f64, 0.68, 0.90, 0.94, 0.97, 0.96]) {
        let (days, mortality) = (width / 10.35, -survival.ln());
        let area = number * (1.0 - (-mortality * days).exp()) / mortality;
        let with = entering(area, days, mortality).unwrap();
        near(with.entering, number, 1e-12);
        plain.push(area / days);
        if plain.len() == 6 {
            near(number, 0.0111, 1e-4);
        }
        number = with.leaving;
    }
    near(plain[5] / plain[0], 0.0287, 2e-4);
}

fn model(clock: Development, visits: usize) -> ClockModel {
    ClockModel {
        effort: vec![1.0; visits],
        clock,
        widths: WIDTHS.to_vec(),
        detection: None,
        residence: Residence::WHOLE,
        mortality: Mortality::FirstAndRest,
        scatter: Scatter::Poisson,
    }
}

/// Expected counts of the model itself, every third day, are fitted back: egg hazard 0.5, later 0.15 a day.
#[test]
fn the_clock_fit_recovers_what_made_the_counts() {
    let clock = Development::constant(-25.0, 60.0, 13.0).unwrap();
    let times: Vec<f64> = (0..18).map(|visit| 3.0 * f64::from(visit)).collect();
    let truth = |laid: f64| {
        900.0 * (-0.5 * ((laid - 18.0) / 7.0_f64).powi(2)).exp() / (7.0 * (2.0 * std::f64::consts::PI).sqrt())
    };
    let ends: Vec<f64> = WIDTHS
        .iter()
        .scan(0.0, |sum, width| {
            *sum += width;
            Some(*sum)
        })
        .collect();
    let rows: Vec<Vec<f64>> = times
        .iter()
        .map(|time| {
            let mut row = [0.0; 6];
            for step in 0..(20 * 90) {
                let laid = -25.0 + 0.05 * (f64::from(step) + 0.5);
                let age = (time - laid) * 13.0;
                if age >= 0.0
                    && let Some(stage) = ends.iter().position(|end| age < *end)
                {
                    let egg = (age.min(45.0)) / 13.0;
                    let later = (age - 45.0).max(0.0) / 13.0;
                    row[stage] += 0.05 * truth(laid) * (-0.5 * egg - 0.15 * later).exp();
                }
            }
            row.iter().map(|value| value.round()).collect()
        })
        .collect();
    let counts = StageSeries::new(times, rows).unwrap();
    let found = stage_clock(&counts, &model(clock, 18), Level::P95).unwrap();
    let wanted = (-0.5 * 45.0 / 13.0 - 0.15 * (165.3 - 45.0) / 13.0_f64).exp();
    let Survival::Estimated(survival) = &found.to_last_stage else { panic!("{found:?}") };
    near(survival.value, wanted, 0.15 * wanted);
    assert!(survival.interval.unwrap().contains(wanted), "{survival:?}");
    let Survival::Estimated(egg) = &found.by_stage[0] else { panic!("{found:?}") };
    near(egg.value, (-0.5 * 45.0 / 13.0_f64).exp(), 0.03);
    near(found.mean_day, 18.0, 0.5);
    near(found.eggs, 900.0, 90.0);
}

/// On Iowa's series A the fit is finite, its expected totals match the counted ones, and residence moves the result.
#[test]
fn iowa_by_the_clock() {
    let with = ClockModel { scatter: Scatter::NegativeBinomial, ..model(iowa_clock(), 7) };
    let (short, long) =
        residence_band(&series_a(), &with, Residence::new(0.7).unwrap(), Residence::WHOLE, Level::P95).unwrap();
    for fit in [&short, &long] {
        assert!(fit.log_likelihood.is_finite() && fit.expected.iter().flatten().all(|value| value.is_finite()));
        assert_eq!(fit.by_stage.len(), 5);
        if let Survival::Estimated(found) = &fit.to_last_stage {
            assert!(found.value > 0.001 && found.value < 0.2, "{found:?}");
        }
    }
    assert!(Residence::new(0.4).is_err());
}

#[test]
fn a_flat_profile_is_not_identified() {
    // Eggs only: nothing tells of survival to the last stage.
    let times: Vec<f64> = (0..5).map(|visit| 7.0 * f64::from(visit)).collect();
    let rows = [2.0, 5.0, 6.0, 3.0, 1.0].map(|eggs| vec![eggs, 0.0, 0.0, 0.0, 0.0, 0.0]).to_vec();
    let counts = StageSeries::new(times, rows).unwrap();
    let clock = Development::constant(-25.0, 40.0, 13.0).unwrap();
    let found = stage_clock(&counts, &model(clock.clone(), 5), Level::P95).unwrap();
    assert_eq!(found.to_last_stage, Survival::NotIdentified(id::REFUSED_NOT_IDENTIFIED));
    let late = Development::constant(3.0, 40.0, 13.0).unwrap();
    assert_eq!(stage_clock(&counts, &model(late, 5), Level::P95), Err(Refusal::NotMet(id::REFUSED_CLOCK_TOO_SHORT)));
    let short = ClockModel { effort: vec![1.0; 4], ..model(clock, 5) };
    assert_eq!(stage_clock(&counts, &short, Level::P95), Err(Refusal::NotMet(id::REFUSED_DURATIONS)));
}

fn exposures(parts: &[(f64, Fate, usize)]) -> Vec<Exposure> {
    parts.iter().flat_map(|&(days, fate, times)| std::iter::repeat_n(Exposure { days, fate }, times)).collect()
}

/// By hand: 40 survived days and 4 losses over one day each: 42 exposure days, 1 − 4 ÷ 42.
#[test]
fn eggs_followed() {
    let eggs = exposures(&[(1.0, Fate::Survived, 40), (1.0, Fate::Died, 4), (2.0, Fate::Unknown, 9)]);
    let found = mayfield(&eggs, 4.0, Level::P95).unwrap();
    near(found.exposure_days, 42.0, 1e-12);
    near(found.daily.value, 1.0 - 4.0 / 42.0, 1e-12);
    near(found.daily.standard_error.unwrap(), (38.0 * 4.0 / 42.0_f64.powi(3)).sqrt(), 1e-12);
    near(found.whole.value, (1.0 - 4.0 / 42.0_f64).powi(4), 1e-12);
    assert_eq!((found.deaths, found.censored), (4, 9));
    // One-day intervals: logistic exposure is the plain share.
    let logistic = logistic_exposure(&eggs, &[], Level::P95).unwrap();
    near(logistic.daily.value, 40.0 / 44.0, 1e-7);
    assert_eq!(logistic.censored, 9);
    // Two-day intervals: the square root of the share.
    let two = exposures(&[(2.0, Fate::Survived, 30), (2.0, Fate::Died, 10)]);
    near(logistic_exposure(&two, &[], Level::P95).unwrap().daily.value, 0.75_f64.sqrt(), 1e-7);
}

#[test]
fn eggs_of_one_fate_have_a_one_sided_answer() {
    let all = exposures(&[(1.0, Fate::Survived, 30)]);
    let found = logistic_exposure(&all, &[], Level::P95).unwrap();
    near(found.daily.value, 1.0, 0.0);
    // Profile: s^30 = e^−1.92.
    near(found.daily.interval.unwrap().low, (-3.841_458_8 / 2.0 / 30.0_f64).exp(), 1e-6);
    near(mayfield(&all, 4.0, Level::P95).unwrap().daily.interval.unwrap().low, 0.05_f64.powf(1.0 / 30.0), 1e-12);
    let lost = exposures(&[(1.0, Fate::Unknown, 3)]);
    assert_eq!(mayfield(&lost, 4.0, Level::P95), Err(Refusal::Nothing));
    assert!(logistic_exposure(&[Exposure { days: 0.0, fate: Fate::Died }], &[], Level::P95).is_err());
}

#[test]
fn tagged_plants_are_resampled_whole() {
    let plants: Vec<Vec<Option<u32>>> = (0..12_u32)
        .map(|plant| vec![Some(plant % 3), Some(2 * (plant % 3)), if plant == 4 { None } else { Some(plant % 2) }])
        .collect();
    let how = Bootstrap { seed: 3, resamples: 500 };
    let mut watch = |_| ControlFlow::Continue(());
    let found = tagged_area(&[0.0, 7.0, 14.0], &plants, how, Level::P95, &mut watch).unwrap();
    near(found.value, 7.0 * (1.0 / 2.0 + 2.0 + 6.0 / 11.0 / 2.0), 1e-9);
    assert!(found.interval.unwrap().contains(found.value));
    let nobody = vec![vec![None, Some(1)], vec![None, Some(2)]];
    assert_eq!(tagged_area(&[0.0, 7.0], &nobody, how, Level::P95, &mut watch), Err(Refusal::Nothing));
}

proptest! {
    /// What is present per unit of duration scales with counts and against durations.
    #[test]
    fn present_scales(rows in prop::collection::vec(prop::collection::vec(0.0_f64..50.0, 3), 2..9), factor in 0.5_f64..4.0) {
        let times: Vec<f64> = (0..rows.len()).map(|visit| 5.0 * visit as f64).collect();
        let one = StageSeries::new(times.clone(), rows.clone()).unwrap();
        let more = rows.iter().map(|row| row.iter().map(|value| factor * value).collect()).collect();
        let other = StageSeries::new(times, more).unwrap();
        if let (Ok(one), Ok(other)) = (present(&one, &[2.0, 3.0, 4.0]), present(&other, &[2.0, 3.0, 4.0])) {
            prop_assert!((one.ratio.value - other.ratio.value).abs() < 1e-9 * (1.0 + one.ratio.value));
            prop_assert!((other.per_duration[0] - factor * one.per_duration[0]).abs() < 1e-6);
        }
    }

    /// Whatever the series: no panic, and every number given is one.
    #[test]
    fn classical_methods_never_break(rows in prop::collection::vec(prop::collection::vec(0_u8..9, 3), 3..10)) {
        let rows: Vec<Vec<f64>> = rows.into_iter().map(|row| row.into_iter().map(f64::from).collect()).collect();
        let times = (0..rows.len()).map(|visit| 7.0 * visit as f64).collect();
        let series = StageSeries::new(times, rows).unwrap();
        for found in [knm(&series), knm_truncated(&series)].into_iter().flatten() {
            prop_assert!(found.mortality.is_finite() && found.entering.iter().all(|value| value.is_finite()));
            prop_assert!(found.survival.iter().all(|share| *share >= 0.0 && *share < 1.0));
        }
        if let Ok(found) = kiritani_nakasuji(&series, &[3.0, 4.0]) {
            prop_assert!(found.iter().all(|each| (0.0..=1.0).contains(&each.value)));
        }
        if let Ok(found) = richards_waloff(&series, 14.0, 99.0, Level::P95) {
            prop_assert!(found.daily_survival.value < 1.0);
        }
    }

    #[test]
    fn logistic_exposure_lies_where_mayfield_does(survived in 20_usize..60, died in 1_usize..10) {
        let eggs = exposures(&[(1.0, Fate::Survived, survived), (1.0, Fate::Died, died)]);
        let (one, other) = (mayfield(&eggs, 4.0, Level::P95), logistic_exposure(&eggs, &[], Level::P95));
        if let (Ok(one), Ok(other)) = (one, other) {
            prop_assert!((one.daily.value - other.daily.value).abs() < 0.2);
            prop_assert!(other.daily.interval.unwrap().contains(other.daily.value));
        }
    }
}
