//! Published and computed check values of `densities`, and its laws. Counts without a source are invented.

use proptest::prelude::*;
use season::densities::{
    Audited, Belt, Bootstrap, Contrast, CoverageOf, Period, PooledK, Row, Side, Stratum, bootstrap_k, bootstrap_mean,
    bootstrap_ratio, clumped_mean, cluster_mean, compare, coverage_of, design_effect, go_on, hosts_per_hectare, id,
    jackknife_ratio, mean_of_ratios, mean_with_undecided, none_found, paired_change, per_hectare, ratio,
    split_undecided, stratified_mean,
};
use season::{Counts, Group, Level, Refusal, mean_per_unit};
use std::ops::ControlFlow;
use survey::stage::{Outcome, Stage, Undecided, What};

const HOW: Bootstrap = Bootstrap { seed: 20, resamples: 2000 };

fn near(found: f64, wanted: f64, slack: f64) {
    assert!((found - wanted).abs() <= slack, "{found} is not {wanted}");
}

/// Invented plots (stems, eggs); values computed with numpy 2.4.6 by the formulas of Cochran (1977) chapter 6.
const PLOTS: [(f64, f64); 8] =
    [(10.0, 3.0), (12.0, 5.0), (8.0, 1.0), (20.0, 9.0), (15.0, 4.0), (9.0, 2.0), (14.0, 6.0), (12.0, 3.0)];

#[test]
fn ratio_of_eight_plots() {
    let found = ratio(&PLOTS, None, Level::P95).unwrap();
    near(found.value, 0.33, 1e-12);
    near(found.standard_error.unwrap(), 0.040_413_0, 1e-7);
    near(found.interval.unwrap().low, 0.234_438_4, 1e-7);
    near(found.interval.unwrap().high, 0.425_561_6, 1e-7);
    near(ratio(&PLOTS, Some(40), Level::P95).unwrap().standard_error.unwrap(), 0.036_146_5, 1e-7);
    let jackknife = jackknife_ratio(&PLOTS, Level::P95).unwrap();
    near(jackknife.value, 0.333_465_3, 1e-7);
    near(jackknife.standard_error.unwrap(), 0.041_640_4, 1e-7);
    near(mean_of_ratios(&PLOTS, Level::P95).unwrap().value, 0.307_390_9, 1e-7);
}

/// All 6,435 multisets of the eight plots with their weights give mean 0.3270794, standard deviation 0.0380656, 2.5 %
/// 0.25, 97.5 % 0.3965517 (computed, no randomness). The correction shifts the ends for bias and skewness, so only the standard
/// deviation must agree closely.
#[test]
fn bootstrap_of_eight_plots() {
    let found = bootstrap_ratio(&PLOTS, Bootstrap { seed: 4, resamples: 20_000 }, Level::P95, &mut go_on).unwrap();
    near(found.standard_error.unwrap(), 0.038_065_6, 0.001);
    let interval = found.interval.unwrap();
    assert!((0.24..0.29).contains(&interval.low) && (0.38..0.43).contains(&interval.high), "{interval:?}");
    assert_eq!(
        found,
        bootstrap_ratio(&PLOTS, Bootstrap { seed: 4, resamples: 20_000 }, Level::P95, &mut go_on).unwrap()
    );
}

#[test]
fn clusters_count_for_less_than_single_plants() {
    let clusters = vec![vec![4, 3, 5], vec![0, 0, 1], vec![0, 0], vec![2, 3, 2, 3]];
    let found = cluster_mean(&clusters, None, Level::P95).unwrap();
    near(found.value, 23.0 / 12.0, 1e-12);
    assert!(found.assumed.contains(&id::ASSUMED_RANDOM_CLUSTERS));
    assert!(design_effect(&clusters).unwrap().value > 2.0);
}

/// By hand: means 2 and 0.5, weights 0.25 and 0.75, variances 2/3 and 1/3.
#[test]
fn strata_by_hand() {
    let strata = [Stratum { counts: vec![1, 2, 2, 3], units: 40 }, Stratum { counts: vec![0, 1, 0, 1], units: 120 }];
    let found = stratified_mean(&strata, Level::P95).unwrap();
    near(found.value, 0.25 * 2.0 + 0.75 * 0.5, 1e-12);
    let variance = 0.0625 * (2.0 / 3.0) / 4.0 * 0.9 + 0.5625 * (1.0 / 3.0) / 4.0 * (1.0 - 4.0 / 120.0);
    near(found.standard_error.unwrap(), f64::sqrt(variance), 1e-12);
}

/// Goodman LA (1960): H²v(d) + d²v(H) − v(d)v(H).
#[test]
fn a_hectare_carries_both_doubts() {
    let belts = [Belt { square_metres: 100.0, stems: 30 }, Belt { square_metres: 100.0, stems: 50 }];
    let hosts = hosts_per_hectare(&belts, Level::P95).unwrap();
    near(hosts.value, 4000.0, 1e-9);
    near(hosts.standard_error.unwrap(), 1000.0, 1e-9);
    let stem = mean_per_unit(&[0, 1, 0, 1, 0, 0, 2, 0], None, Level::P95).unwrap();
    let found = per_hectare(&hosts, Some(&stem), Level::P95).unwrap();
    let (d, e) = (stem.value, stem.standard_error.unwrap());
    near(found.value, 4000.0 * d, 1e-9);
    let variance = (4000.0 * e).powi(2) + (d * 1000.0).powi(2) - (e * 1000.0).powi(2);
    near(found.standard_error.unwrap(), variance.sqrt(), 1e-6);
    assert!(found.interval.unwrap().low > 0.0);
}

#[test]
fn all_mown_is_zero_per_hectare_and_no_value_per_stem() {
    let belts = [Belt { square_metres: 100.0, stems: 0 }, Belt { square_metres: 80.0, stems: 0 }];
    let hosts = hosts_per_hectare(&belts, Level::P95).unwrap();
    let found = per_hectare(&hosts, None, Level::P95).unwrap();
    assert_eq!((found.value, found.interval), (0.0, None));
    assert!(found.assumed.contains(&id::ASSUMED_NO_HOSTS));
    let some =
        hosts_per_hectare(&[Belt { square_metres: 9.0, stems: 1 }, Belt { square_metres: 9.0, stems: 0 }], Level::P95);
    assert_eq!(per_hectare(&some.unwrap(), None, Level::P95), Err(Refusal::NotMet(id::REFUSED_NO_DENSITY)));
}

#[test]
fn the_observers_choice_stays_out_of_hectares() {
    let belts = [Belt { square_metres: 100.0, stems: 3 }, Belt { square_metres: 80.0, stems: 9 }];
    let hosts = hosts_per_hectare(&belts, Level::P95).unwrap();
    let mut stem = mean_per_unit(&[0, 1, 2], None, Level::P95).unwrap();
    stem.assumed.push(season::id::ASSUMED_OBSERVERS_CHOICE);
    assert_eq!(per_hectare(&hosts, Some(&stem), Level::P95), Err(Refusal::NotMet(id::REFUSED_OBSERVERS_CHOICE)));
}

/// k (0.05^(−1 ÷ (n k)) − 1), computed with numpy 2.4.6.
#[test]
fn no_egg_bounds_the_mean_only_with_a_pooled_k() {
    for (n, k, high) in [(50, 1.02, 0.061_709_3), (100, 0.5, 0.030_873_0), (100, 0.2, 0.032_317_3)] {
        let found = none_found(n, &PooledK { k, checks: 200 }, Level::P95).unwrap();
        near(found.interval.unwrap().high, high, 1e-7);
        assert_eq!(found.interval.unwrap().sides, season::Sides::Upper);
    }
    let few = PooledK { k: 0.5, checks: 199 };
    assert_eq!(none_found(50, &few, Level::P95), Err(Refusal::NotMet(id::REFUSED_K_FROM_TOO_FEW)));
}

#[test]
fn below_five_animals_there_is_no_mean() {
    let few = [0, 1, 0, 3, 0, 0];
    let refused = Refusal::TooFew { have: 4, need: 5 };
    assert_eq!(clumped_mean(&few, Level::P95).unwrap_err(), refused);
    assert_eq!(bootstrap_mean(&few, HOW, Level::P95, &mut go_on).unwrap_err(), refused);
    assert_eq!(cluster_mean(&[vec![0, 1], vec![3, 0]], None, Level::P95).unwrap_err(), refused);
    let strata = [Stratum { counts: few.to_vec(), units: 90 }];
    assert_eq!(stratified_mean(&strata, Level::P95).unwrap_err(), refused);
}

#[test]
fn paired_changes() {
    let found = paired_change(&[(0, 1), (2, 2), (1, 3), (0, 1)], Level::P95).unwrap();
    near(found.value, 1.0, 1e-12);
    near(found.standard_error.unwrap(), (2.0_f64 / 3.0 / 4.0).sqrt(), 1e-12);
    assert_eq!(paired_change(&[(0, 1), (1, 2)], Level::P95), Err(Refusal::NoVariance));
}

#[test]
fn a_bootstrap_can_be_watched_and_stopped() {
    let counts = [0, 1, 2, 5, 0, 0];
    let mut told = Vec::new();
    let mut watch = |done| {
        told.push(done);
        if done >= 300 { ControlFlow::Break(()) } else { ControlFlow::Continue(()) }
    };
    let mean = |of: &[&u32]| Some(of.iter().map(|&&count| f64::from(count)).sum::<f64>() / of.len() as f64);
    let stopped = season::densities::bca(&counts, mean, HOW, Level::P95, &mut watch);
    assert_eq!(stopped, Err(Refusal::NotMet(id::REFUSED_STOPPED)));
    assert_eq!(told, [100, 200, 300]);
    let stopped = bootstrap_k(&counts, HOW, Level::P95, &mut |_| ControlFlow::Break(()));
    assert_eq!(stopped, Err(Refusal::NotMet(id::REFUSED_STOPPED)));
}

/// The value is the likelihood's; the interval holds it, and where the profile finds no upper end neither does this.
#[test]
fn k_by_resampling() {
    let mites: Vec<u32> = [70, 38, 17, 10, 9, 3, 2, 1]
        .into_iter()
        .zip(0..)
        .flat_map(|(leaves, mites)| std::iter::repeat_n(mites, leaves))
        .collect();
    let found = bootstrap_k(&mites, HOW, Level::P95, &mut go_on).unwrap();
    let likely = season::aggregation::k_by_likelihood(&mites, Level::P95).unwrap();
    near(found.k.unwrap(), likely.k.unwrap(), 1e-12);
    // Both methods are large-sample ones: on 150 leaves their ends lie near each other.
    near(found.low.unwrap(), likely.low.unwrap(), 0.2);
    near(found.high.unwrap(), likely.high.unwrap(), 0.8);
    let chance = bootstrap_k(&[0, 1, 2, 1, 0, 1, 1, 3, 0, 1, 2, 1], HOW, Level::P95, &mut go_on).unwrap();
    assert_eq!((chance.k, chance.high), (None, None));
    let even = bootstrap_k(&[1, 1, 1, 1], HOW, Level::P95, &mut go_on);
    assert_eq!(even, Err(Refusal::NoVariance));
}

/// The interval reaches from the lower end without the undecided things to the greater of the upper ends without and with
/// all of them: here the former, for the doubtful plants make the counts more even.
#[test]
fn undecided_things_widen_a_mean() {
    let undecided = "egg+none".parse::<What>().unwrap();
    let certain = [3, 0, 2, 0, 1, 4, 0, 0, 2, 1];
    let unit = |(index, &count): (usize, &u32)| {
        let doubt = u32::from(index % 3 == 0);
        Counts::from_iter([(What::Stage(Stage::Egg), count), (undecided.clone(), doubt)])
    };
    let units: Vec<Counts> = certain.iter().enumerate().map(unit).collect();
    let all: Vec<u32> = certain.iter().enumerate().map(|(index, count)| count + u32::from(index % 3 == 0)).collect();
    let (low, high) = (clumped_mean(&certain, Level::P95).unwrap(), clumped_mean(&all, Level::P95).unwrap());
    let found = mean_with_undecided(&units, Group::Stage(Stage::Egg), Level::P95).unwrap();
    near(found.value, 1.3, 1e-12);
    near(found.interval.unwrap().low, low.interval.unwrap().low, 1e-12);
    let upper = high.interval.unwrap().high.max(low.interval.unwrap().high);
    near(found.interval.unwrap().high, upper, 1e-12);
    assert!(upper > 1.3 + 0.4);
    assert!(found.assumed.contains(&season::id::ASSUMED_INTERVAL_SPANS_UNDECIDED));
    let few: Vec<Counts> = units[1..3].to_vec();
    assert!(matches!(mean_with_undecided(&few, Group::Larvae, Level::P95), Err(Refusal::NotMet(_))));
}

/// Red mites: Bliss & Fisher (1953); error of the mean under the negative binomial 0.1272780 computed with scipy.
#[test]
fn clumped_mean_of_red_mites() {
    let counts: Vec<u32> =
        [70, 38, 17, 10, 9, 3, 2, 1].into_iter().zip(0..).flat_map(|(n, m)| std::iter::repeat_n(m, n)).collect();
    let found = clumped_mean(&counts, Level::P95).unwrap();
    near(found.value, 172.0 / 150.0, 1e-12);
    near(found.standard_error.unwrap(), 0.127_278_0, 1e-6);
    let interval = found.interval.unwrap();
    assert!(interval.low > 0.9 && interval.high < 1.45 && interval.high - found.value > found.value - interval.low);
}

fn counts(parts: &[(&str, u32)]) -> Counts {
    parts.iter().map(|(what, number)| (what.parse::<What>().unwrap(), *number)).collect()
}

/// By hand: 9 second and 3 third instars decided, so 4 undecided between them go 3 to 1.
#[test]
fn undecided_are_split_like_the_decided() {
    let visit = [counts(&[("larva2", 9), ("larva3", 3), ("larva2+larva3", 4)])];
    let split = split_undecided(&visit, &[], &[], Level::P95).unwrap();
    let of = |stage| split.outcomes.iter().find(|each| each.outcome == Outcome::Stage(stage)).unwrap();
    near(of(Stage::Larva2).expected, 12.0, 1e-6);
    near(of(Stage::Larva3).expected, 4.0, 1e-6);
    assert_eq!((of(Stage::Larva3).low, of(Stage::Larva3).high), (3.0, 7.0));
    near(of(Stage::Larva3).chance_of_none, 0.0, 0.0);
}

#[test]
fn egg_or_not_spans_both_extremes_until_audited() {
    let visit = [counts(&[("egg+none", 10)])];
    let split = split_undecided(&visit, &[], &[], Level::P95).unwrap();
    let egg = split.outcomes.iter().find(|each| each.outcome == Outcome::Stage(Stage::Egg)).unwrap();
    assert_eq!((egg.low, egg.high, egg.decided), (0.0, 10.0, 0));
    assert!(egg.chance_of_none > 0.0 && egg.chance_of_none < 1.0);
    let judged = [(Outcome::Stage(Stage::Egg), 20), (Outcome::NotThis, 20)].into_iter().collect();
    let audit = Audited { set: Undecided::egg_or_not(), judged };
    let audited = split_undecided(&visit, &[], &[audit], Level::P95).unwrap();
    let egg = audited.outcomes.iter().find(|each| each.outcome == Outcome::Stage(Stage::Egg)).unwrap();
    near(egg.expected, 5.0, 1e-9);
    assert!(egg.low > 3.0 && egg.high < 7.0, "{egg:?}");
    let few =
        Audited { set: Undecided::egg_or_not(), judged: [(Outcome::Stage(Stage::Egg), 29)].into_iter().collect() };
    let refused = split_undecided(&visit, &[], &[few], Level::P95).unwrap();
    assert!(refused.assumed.contains(&season::observers::id::REFUSED_AUDITS_TOO_FEW));
    assert_eq!(split_undecided(&[], &[], &[], Level::P95), Err(Refusal::Nothing));
}

fn row(animals: u32, effort: u32, site: u32, week: u32, of: Side, period: Period) -> Row {
    Row { animals, effort, site, week, side: of, period }
}

/// With effort alike and no other difference the ratio is that of the totals.
#[test]
fn two_years_at_four_sites() {
    let rows: Vec<Row> = (0..4)
        .flat_map(|site| {
            (0..3).flat_map(move |week| {
                let base = (site + 1) * (week + 2);
                [
                    row(base, 20, site, week, Side::Reference, Period::Before),
                    row(2 * base, 20, site, week, Side::Compared, Period::Before),
                ]
            })
        })
        .collect();
    let found = compare(&rows, Contrast::Sides, HOW, Level::P95, &mut |_| ControlFlow::Continue(())).unwrap();
    near(found.ratio.value, 2.0, 1e-6);
    assert!(found.ratio.assumed.contains(&id::ASSUMED_SITE_TERMS));
    assert!(found.ratio.assumed.contains(&id::ASSUMED_WEEK_TERMS));
    assert_eq!(found.clusters, 4);
}

/// Mown and unmown sites: the contrast lies between sites, so that site terms would swallow it.
#[test]
fn a_contrast_between_sites_has_no_site_terms() {
    let rows: Vec<Row> = (0..6)
        .flat_map(|site| {
            let side = if site < 3 { Side::Reference } else { Side::Compared };
            (0..3).map(move |week| row(2 + site % 3 + week, 10 + 5 * (site / 3), site, week, side, Period::Before))
        })
        .collect();
    let found = compare(&rows, Contrast::Sides, HOW, Level::P95, &mut |_| ControlFlow::Continue(())).unwrap();
    assert!(found.ratio.assumed.contains(&id::ASSUMED_NO_SITE_TERMS));
    near(found.ratio.value, 10.0 / 15.0, 0.05);
    assert!(found.ratio.interval.unwrap().contains(found.ratio.value));
}

/// Totals 10, 20 (control) and 10, 5 (changed), effort alike: ratio (5 ÷ 10) ÷ (20 ÷ 10) = 0.25.
#[test]
fn before_after_control_impact() {
    let cells = [
        (10, Side::Reference, Period::Before),
        (20, Side::Reference, Period::After),
        (10, Side::Compared, Period::Before),
        (5, Side::Compared, Period::After),
    ];
    let rows: Vec<Row> = (0..3)
        .flat_map(|pair| {
            cells.map(|(animals, side, period)| {
                row(animals, 30, 2 * pair + u32::from(side == Side::Compared), 0, side, period)
            })
        })
        .collect();
    let found = compare(&rows, Contrast::BeforeAfterControlImpact, HOW, Level::P95, &mut |_| ControlFlow::Continue(()))
        .unwrap();
    near(found.ratio.value, 0.25, 1e-6);
}

#[test]
fn one_site_is_said_to_be_about_itself_and_an_empty_side_is_refused() {
    let rows: Vec<Row> = (0..6)
        .map(|week| {
            let side = if week < 3 { Side::Reference } else { Side::Compared };
            row(3 + week, 20, 0, week, side, Period::Before)
        })
        .collect();
    let found = compare(&rows, Contrast::Sides, HOW, Level::P95, &mut |_| ControlFlow::Continue(())).unwrap();
    assert!(found.ratio.assumed.contains(&id::ASSUMED_ABOUT_ONE_SITE));
    assert!(found.ratio.assumed.contains(&id::ASSUMED_NO_WEEK_TERMS));
    let empty: Vec<Row> =
        rows.iter().map(|r| if r.side == Side::Compared { Row { animals: 0, ..*r } } else { *r }).collect();
    let refused = compare(&empty, Contrast::Sides, HOW, Level::P95, &mut |_| ControlFlow::Continue(()));
    assert_eq!(refused, Err(Refusal::NotMet(id::REFUSED_SIDE_WITHOUT_ANIMALS)));
}

#[test]
fn the_nearest_measured_coverage_is_found() {
    for method in [CoverageOf::MeanPerUnit, CoverageOf::BootstrapBca, CoverageOf::ClumpedMean] {
        let line = coverage_of(method, 22, Some(0.25), 0.9).unwrap();
        assert_eq!((line.units, line.k), (20, Some(0.2)));
        assert!(line.held > 0.5 && line.held <= 1.0);
        assert_eq!(coverage_of(method, 22, None, f64::NAN), None);
    }
}

proptest! {
    /// A plant of each cluster alone: clusters are then plants, and the mean is the plain one.
    #[test]
    fn clusters_of_one_are_plants(counts in prop::collection::vec(0_u32..9, 3..30)) {
        let clusters: Vec<Vec<u32>> = counts.iter().map(|&count| vec![count]).collect();
        match (cluster_mean(&clusters, None, Level::P95), mean_per_unit(&counts, None, Level::P95)) {
            (Ok(one), Ok(other)) => {
                prop_assert!((one.value - other.value).abs() < 1e-12);
                prop_assert!((one.standard_error.unwrap() - other.standard_error.unwrap()).abs() < 1e-9);
            }
            (Ok(_), Err(other)) => prop_assert!(false, "{other}"),
            (Err(refusal), _) => {
                let few = counts.iter().sum::<u32>() < 5;
                prop_assert!(few || refusal == Refusal::NoVariance, "{refusal}");
            }
        }
    }

    /// Twice the area for the same stems halves the density; the interval goes along.
    #[test]
    fn scaling_x_scales_the_ratio(pairs in prop::collection::vec((0.5_f64..9.0, 0.0_f64..9.0), 2..20)) {
        let doubled: Vec<(f64, f64)> = pairs.iter().map(|(x, y)| (2.0 * x, *y)).collect();
        if let (Ok(one), Ok(half)) = (ratio(&pairs, None, Level::P95), ratio(&doubled, None, Level::P95)) {
            prop_assert!((one.value - 2.0 * half.value).abs() < 1e-9);
            prop_assert!((one.standard_error.unwrap() - 2.0 * half.standard_error.unwrap()).abs() < 1e-9);
        }
    }

    #[test]
    fn bootstrap_ends_are_means_that_can_be(counts in prop::collection::vec(0_u32..9, 3..25), seed in 0_u64..50) {
        if let Ok(found) = bootstrap_mean(&counts, Bootstrap { seed, resamples: 200 }, Level::P95, &mut go_on) {
            let (least, most) = (counts.iter().min().unwrap(), counts.iter().max().unwrap());
            let interval = found.interval.unwrap();
            prop_assert!(interval.low >= f64::from(*least) && interval.high <= f64::from(*most));
            prop_assert!(interval.low <= interval.high);
        }
    }

    #[test]
    fn clumped_interval_holds_the_mean(counts in prop::collection::vec(0_u32..9, 3..25)) {
        if let Ok(found) = clumped_mean(&counts, Level::P95) {
            prop_assert!(found.value.is_finite() && found.standard_error.unwrap().is_finite());
            if let Some(interval) = found.interval {
                prop_assert!(interval.low >= 0.0 && interval.contains(found.value));
            }
        }
    }

    /// Nothing is lost or made in splitting, and the expected number lies between its ends.
    #[test]
    fn splitting_keeps_the_number_of_things(
        eggs in 0_u32..20, doubt in 0_u32..20, second in 0_u32..9, either in 0_u32..9, larvae in 0_u32..9,
    ) {
        let visit = [counts(&[
            ("egg", eggs), ("egg+none", doubt), ("larva2", second), ("larva2+larva3", either), ("larva", larvae),
        ])];
        if let Ok(split) = split_undecided(&visit, &[], &[], Level::P95) {
            let expected: f64 = split.outcomes.iter().map(|each| each.expected).sum();
            prop_assert!((expected - f64::from(eggs + doubt + second + either + larvae)).abs() < 1e-6);
            for each in &split.outcomes {
                prop_assert!(each.low <= each.expected + 1e-9 && each.expected <= each.high + 1e-9);
                prop_assert!((0.0..=1.0).contains(&each.chance_of_none));
            }
        }
    }

    /// No order of rows and no mixture of small counts makes a panic or something that is no number.
    #[test]
    fn comparing_never_breaks(
        cells in prop::collection::vec((0_u32..6, 1_u32..9, 0_u32..3, 0_u32..3, any::<bool>(), any::<bool>()), 1..14),
    ) {
        let rows: Vec<Row> = cells
            .into_iter()
            .map(|(animals, effort, site, week, compared, after)| {
                let side = if compared { Side::Compared } else { Side::Reference };
                row(animals, effort, site, week, side, if after { Period::After } else { Period::Before })
            })
            .collect();
        for contrast in [Contrast::Sides, Contrast::BeforeAfterControlImpact] {
            let how = Bootstrap { seed: 1, resamples: 100 };
            if let Ok(found) = compare(&rows, contrast, how, Level::P95, &mut |_| ControlFlow::Continue(())) {
                prop_assert!(found.ratio.value.is_finite() && found.ratio.value > 0.0);
                if let Some(interval) = found.ratio.interval {
                    prop_assert!(interval.low.is_finite() && interval.high.is_finite());
                }
            }
        }
    }
}
