//! Published and computed check values of `years`, and its laws. Numbers without a source are invented.

use proptest::prelude::*;
use season::passage::Development;
use season::years::{
    Cut, Laying, LivingMean, Mowing, MowingVisit, SiteYear, TrendModel, Wording, id, log_linear, mann_kendall, mowing,
    season_index, site_years, theil_sen, weekly, wording,
};
use season::{Interval, Level, Point, Refusal, Sides};

fn near(found: f64, wanted: f64, slack: f64) {
    assert!((found - wanted).abs() <= slack, "{found} is not {wanted}");
}

const RISING: [f64; 10] = [10.0, 15.0, 14.0, 20.0, 18.0, 22.0, 21.0, 25.0, 30.0, 27.0];
const TIED: [f64; 10] = [5.0, 5.0, 3.0, 4.0, 2.0, 2.0, 1.0, 3.0, 1.0, 0.0];

fn by_year(values: &[f64]) -> Vec<(f64, f64)> {
    values.iter().zip(0..).map(|(value, year)| (f64::from(year), *value)).collect()
}

/// Invented, computed with pymannkendall 1.4.3 and scipy 1.17.1 (normal p given there is not what is shown here: ten
/// values have the exact one).
#[test]
fn mann_kendall_and_theil_sen() {
    let found = mann_kendall(&RISING).unwrap();
    assert_eq!((found.s, found.exact), (37, true));
    near(found.variance, 125.0, 1e-9);
    near(found.z, 3.219_938, 1e-6);
    near(found.tau, 0.822_222_2, 1e-7);
    let line = theil_sen(&by_year(&RISING), Level::P95).unwrap();
    near(line.slope.value, 2.0, 1e-12);
    near(line.intercept, 11.5, 1e-12);
    near(line.slope.interval.unwrap().low, 1.25, 1e-12);
    near(line.slope.interval.unwrap().high, 2.5, 1e-12);
    let tied = mann_kendall(&TIED).unwrap();
    assert_eq!(tied.s, -33);
    near(tied.variance, 121.0, 1e-9);
    near(tied.z, -2.909_091, 1e-6);
    let line = theil_sen(&by_year(&TIED), Level::P95).unwrap();
    near(line.slope.value, -0.5, 1e-12);
    near(line.intercept, 4.75, 1e-12);
}

/// Counted by hand: of the 24 orders of four values two have all pairs one way.
#[test]
fn four_years_cannot_show_anything() {
    let found = mann_kendall(&[1.0, 2.0, 3.0, 4.0]).unwrap();
    near(found.p, 2.0 / 24.0, 1e-12);
    // Of the 12 orders of 1, 1, 2, 3 one rises throughout and one falls: |S| = 5.
    near(mann_kendall(&[1.0, 1.0, 2.0, 3.0]).unwrap().p, 2.0 / 12.0, 1e-12);
    assert_eq!(mann_kendall(&[2.0, 2.0, 2.0]), Err(Refusal::NoVariance));
}

/// "discoveries": numbers of great inventions per year 1860-1959 (The World Almanac 1975, 315-318, as shipped with R).
const DISCOVERIES: [f64; 100] = [
    5.0, 3.0, 0.0, 2.0, 0.0, 3.0, 2.0, 3.0, 6.0, 1.0, 2.0, 1.0, 2.0, 1.0, 3.0, 3.0, 3.0, 5.0, 2.0, 4.0, 4.0, 0.0, 2.0,
    3.0, 7.0, 12.0, 3.0, 10.0, 9.0, 2.0, 3.0, 7.0, 7.0, 2.0, 3.0, 3.0, 6.0, 2.0, 4.0, 3.0, 5.0, 2.0, 2.0, 4.0, 0.0,
    4.0, 2.0, 5.0, 2.0, 3.0, 3.0, 6.0, 5.0, 8.0, 3.0, 6.0, 6.0, 0.0, 5.0, 2.0, 2.0, 2.0, 6.0, 3.0, 4.0, 4.0, 2.0, 2.0,
    4.0, 7.0, 5.0, 3.0, 3.0, 0.0, 2.0, 2.0, 2.0, 1.0, 3.0, 4.0, 2.0, 2.0, 1.0, 1.0, 1.0, 2.0, 1.0, 4.0, 4.0, 3.0, 2.0,
    1.0, 4.0, 1.0, 1.0, 1.0, 0.0, 0.0, 2.0, 0.0,
];

/// Computed with statsmodels 0.15.0 and pymannkendall 1.4.3.
#[test]
fn discoveries_fall() {
    near(DISCOVERIES.iter().sum(), 310.0, 0.0);
    let kendall = mann_kendall(&DISCOVERIES).unwrap();
    assert_eq!((kendall.s, kendall.exact), (-747, false));
    near(kendall.variance, 109_143.0, 1e-6);
    near(kendall.z, -2.258_088, 1e-6);
    near(theil_sen(&by_year(&DISCOVERIES), Level::P95).unwrap().slope.value, -0.011_363_6, 1e-7);
    let (years, _): (Vec<f64>, Vec<f64>) = by_year(&DISCOVERIES).into_iter().unzip();
    let of = |model| log_linear(&years, &DISCOVERIES, &[1.0; 100], model, Level::P95).unwrap();
    let poisson = of(TrendModel::Poisson);
    near(poisson.intercept, 1.384_791_24, 1e-7);
    near(poisson.slope, -0.005_360_22, 1e-8);
    near(poisson.intercept_error, 0.105_818_7, 1e-6);
    near(poisson.slope_error, 0.001_981_7, 1e-7);
    near(poisson.deviance, 157.315_826, 1e-5);
    near(poisson.pearson, 151.058_437, 1e-5);
    near(poisson.log_likelihood, -213.161_271, 1e-5);
    near(poisson.per_cent.value, -0.534_59, 1e-5);
    near(poisson.per_cent.interval.unwrap().low, -0.920_18, 2e-5);
    near(poisson.per_cent.interval.unwrap().high, -0.147_50, 2e-5);
    near(of(TrendModel::QuasiPoisson).slope_error, 0.002_460_4, 1e-7);
    let clumped = of(TrendModel::NegativeBinomial);
    near(clumped.intercept, 1.407_086_27, 1e-5);
    near(clumped.slope, -0.005_831_97, 1e-7);
    near(clumped.alpha.unwrap(), 0.160_904_92, 1e-5);
    near(clumped.intercept_error, 0.137_044_91, 1e-5);
    near(clumped.slope_error, 0.002_535_83, 1e-6);
    near(clumped.log_likelihood, -208.169_886, 1e-5);
    assert_eq!(clumped.wording, Wording::ValuesOnly(id::WORDING_ONE_SITE));
}

#[test]
fn no_word_for_few_years_or_one_site() {
    let fall = Interval { low: -9.0, high: -2.0, level: Level::P95, sides: Sides::Both };
    let rise = Interval { low: 2.0, high: 9.0, ..fall };
    let unsure = Interval { low: -2.0, high: 9.0, ..fall };
    assert_eq!(wording(7, 30, Some(&fall)), Wording::ValuesOnly(id::WORDING_TOO_FEW_YEARS));
    assert_eq!(wording(20, 1, Some(&fall)), Wording::ValuesOnly(id::WORDING_ONE_SITE));
    assert_eq!(wording(8, 2, Some(&fall)), Wording::Word(id::WORDING_FALLING));
    assert_eq!(wording(8, 2, Some(&rise)), Wording::Word(id::WORDING_RISING));
    assert_eq!(wording(8, 2, Some(&unsure)), Wording::Word(id::WORDING_NO_DIRECTION));
    assert_eq!(wording(8, 2, None), Wording::Word(id::WORDING_NO_DIRECTION));
}

fn point(day: f64, value: f64) -> Point {
    Point { day, value }
}

#[test]
fn missing_weeks_are_filled_inside_the_season_only() {
    let weeks = weekly(&[point(8.0, 2.0), point(10.0, 4.0), point(30.0, 9.0)], 0.0).unwrap();
    let found: Vec<(u32, f64, u32)> = weeks.iter().map(|week| (week.week, week.value, week.visits)).collect();
    assert_eq!(found, [(1, 3.0, 2), (2, 5.0, 0), (3, 7.0, 0), (4, 9.0, 1)]);
    let index = season_index(&[point(8.0, 2.0), point(10.0, 4.0), point(30.0, 9.0)], 0.0).unwrap();
    near(index.interpolated, 0.5, 1e-12);
    near(index.index.value, 7.0 * (3.0 / 2.0 + 5.0 + 7.0 + 9.0 / 2.0), 1e-9);
    assert!(index.index.assumed.contains(&id::ASSUMED_WEEKS_INTERPOLATED));
    assert_eq!(weekly(&[point(-1.0, 2.0)], 0.0), Err(Refusal::NotANumber));
}

/// Every site halves each year, whatever its level: the indices are 1, 1/2, 1/4, and the change −50 %.
#[test]
fn site_and_year_effects_see_through_the_sites() {
    let rows: Vec<SiteYear> = (0..4_u32)
        .flat_map(|site| {
            (0..3_u32).filter(move |year| !(site == 3 && *year == 2)).map(move |year| SiteYear {
                site,
                year: 2020 + i32::try_from(year).unwrap(),
                animals: (40 * (site + 1)) >> year,
                effort: 50,
            })
        })
        .collect();
    let found = site_years(&rows, Level::P95).unwrap();
    for (year, wanted) in found.years.iter().zip([1.0, 0.5, 0.25]) {
        near(year.index.value, wanted, 1e-9);
        assert!(year.index.assumed.contains(&id::ASSUMED_SITE_SELECTION));
    }
    near(found.per_cent.value, -50.0, 1e-6);
    assert_eq!(found.wording, Wording::ValuesOnly(id::WORDING_TOO_FEW_YEARS));
    let twice = [rows[0], rows[0]];
    assert_eq!(site_years(&twice, Level::P95), Err(Refusal::NotMet(id::REFUSED_SAME_YEAR)));
}

/// Widths in degree-days as in Zalucki MP (1982) J. Aust. Entomol. Soc. 21:241-246.
const WIDTHS: [f64; 6] = [45.0, 32.3, 27.8, 24.5, 35.7, 66.6];

fn state(visits: Vec<MowingVisit>, laying: Laying) -> Mowing {
    let clock = Development::constant(0.0, 80.0, 13.5).unwrap();
    Mowing { today: 20.0, visits, clock, widths: WIDTHS.to_vec(), mortality: None, laying }
}

fn visit(day: f64, values: [f64; 6]) -> MowingVisit {
    MowingVisit { day, stages: values.map(|value| LivingMean { value, error: value / 4.0 }).to_vec() }
}

fn cut(day: f64) -> Cut {
    Cut { day, share: 1.0 }
}

/// 231.9 degree-days at 13.5 a day: after 17.2 days all have left.
#[test]
fn waiting_lets_them_leave() {
    let state = state(vec![visit(18.0, [90.0, 9.0, 4.0, 3.0, 2.0, 5.0])], Laying::Nothing);
    let ranked = mowing(&state, &[cut(20.0), cut(27.0), cut(38.0)], Level::P95).unwrap();
    assert_eq!(ranked.iter().map(|each| each.day).collect::<Vec<_>>(), [38.0, 27.0, 20.0]);
    near(ranked[0].expected.value, 0.0, 1e-9);
    near(ranked[0].left_by_then, 1.0, 1e-9);
    assert!(ranked[2].left_by_then < 1e-9);
    // On day 20 those within 27 degree-days of pupating on day 18 have left: 27 ÷ 66.6 of the last stage.
    near(ranked[2].expected.value, 113.0 - 5.0 * 27.0 / 66.6, 0.1);
    assert!(ranked[2].expected.interval.unwrap().contains(ranked[2].expected.value));
    assert!(ranked[2].expected.assumed.contains(&id::ASSUMED_BEFORE_LOSSES));
}

/// With steady laying and no loss the numbers stand still.
#[test]
fn steady_laying_holds_the_numbers() {
    let rates = WIDTHS.map(|width| 2.0 * width / 13.5);
    let state = state(vec![visit(13.0, rates), visit(19.0, rates)], Laying::GoesOn);
    let ranked = mowing(&state, &[cut(20.0), cut(30.0), cut(60.0)], Level::P95).unwrap();
    let total: f64 = rates.iter().sum();
    for each in &ranked {
        near(each.expected.value, total, 0.02 * total);
    }
    let half = mowing(&state, &[Cut { day: 20.0, share: 0.5 }], Level::P95).unwrap();
    near(half[0].expected.value, total / 2.0, 0.01 * total);
}

#[test]
fn no_ranking_without_a_recent_visit() {
    let old = state(vec![visit(11.9, [1.0; 6])], Laying::Nothing);
    assert_eq!(mowing(&old, &[cut(21.0)], Level::P95), Err(Refusal::NotMet(id::REFUSED_NO_RECENT_VISIT)));
    let none = state(Vec::new(), Laying::Nothing);
    assert_eq!(mowing(&none, &[cut(21.0)], Level::P95), Err(Refusal::NotMet(id::REFUSED_NO_RECENT_VISIT)));
    let fresh = state(vec![visit(19.0, [1.0; 6])], Laying::Nothing);
    for day in [19.0, 81.0] {
        assert_eq!(mowing(&fresh, &[cut(day)], Level::P95), Err(Refusal::NotMet(id::REFUSED_CUT_OUT_OF_RANGE)));
    }
}

#[test]
fn no_message_praises_a_day() {
    assert!(id::ALL.iter().all(|message| !message.name().contains("safe")));
}

proptest! {
    /// Turning time around turns every sign; adding a constant changes nothing.
    #[test]
    fn trends_turn_with_time(values in prop::collection::vec(-9.0_f64..9.0, 3..25), up in -5.0_f64..5.0) {
        if let Ok(found) = mann_kendall(&values) {
            let turned: Vec<f64> = values.iter().rev().copied().collect();
            let back = mann_kendall(&turned).unwrap();
            prop_assert_eq!(found.s, -back.s);
            prop_assert!((found.p - back.p).abs() < 1e-9 && (0.0..=1.0 + 1e-12).contains(&found.p));
            let slope = theil_sen(&by_year(&values), Level::P95).unwrap().slope;
            let shifted: Vec<f64> = values.iter().map(|value| value + up).collect();
            let other = theil_sen(&by_year(&shifted), Level::P95).unwrap().slope;
            prop_assert!((slope.value - other.value).abs() < 1e-9);
            if let Some(interval) = slope.interval { prop_assert!(interval.contains(slope.value)); }
        }
    }

    #[test]
    fn the_exact_p_nears_the_normal_one(values in prop::collection::vec(0_u8..30, 9..=10)) {
        let values: Vec<f64> = values.into_iter().map(f64::from).collect();
        if let Ok(found) = mann_kendall(&values) {
            let normal = 2.0 * (1.0 - normal_below(found.z.abs()));
            prop_assert!((found.p - normal.min(1.0)).abs() < 0.08, "{} {}", found.p, normal);
        }
    }

    #[test]
    fn a_later_cut_never_meets_more_without_laying(values in prop::collection::vec(0.0_f64..50.0, 6), gap in 0.1_f64..20.0) {
        let stages = values.iter().map(|&value| LivingMean { value, error: 0.0 }).collect();
        let state = state(vec![MowingVisit { day: 17.0, stages }], Laying::Nothing);
        let of = |day| mowing(&state, &[cut(day)], Level::P95).unwrap()[0].expected.value;
        prop_assert!(of(21.0 + gap) <= of(21.0) + 1e-9);
    }

    #[test]
    fn site_years_never_break(cells in prop::collection::vec((0_u32..4, 0_i32..6, 0_u32..9, 1_u32..9), 1..20)) {
        let rows: Vec<SiteYear> =
            cells.into_iter().map(|(site, year, animals, effort)| SiteYear { site, year, animals, effort }).collect();
        if let Ok(found) = site_years(&rows, Level::P95) {
            prop_assert!(found.per_cent.value.is_finite());
            prop_assert!(found.years.iter().all(|year| year.index.value.is_finite()));
        }
    }
}

/// Standard normal distribution function by its error function series, independent of the crate.
fn normal_below(z: f64) -> f64 {
    let (mut term, mut sum) = (z, z);
    for step in 1..200 {
        term *= -z * z / 2.0 / f64::from(step);
        sum += term / f64::from(2 * step + 1);
    }
    0.5 + sum / (2.0 * std::f64::consts::PI).sqrt()
}
