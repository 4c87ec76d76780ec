//! What a visit's sample carries and what it does not. All counts here are invented.

use proptest::prelude::*;
use season::densities::clumped_mean;
use season::{
    AreaOf, Choice, Counted, Counts, Group, Level, Refusal, Shown, Sides, SiteSeason, VisitSample, area_under_curve,
    composition, curve, density, id, may_be_nothing, mean_per_unit, share_undecided, totals_by_stage,
};
use survey::date::Date;
use survey::protocol::Unit;
use survey::stage::{Stage, What};

const EGG: Group = Group::Stage(Stage::Egg);

fn counts(parts: &[(&str, u32)]) -> Counts {
    parts.iter().map(|(what, number)| (what.parse::<What>().unwrap(), *number)).collect()
}

fn visit(date: &str, counted: Counted) -> VisitSample {
    VisitSample {
        date: Date::try_from(date.to_owned()).unwrap(),
        unit: Some(Unit::Stem),
        choice: Choice::ByChance,
        units_at_site: None,
        scope: Stage::EGG_TO_LARVA5.into_iter().collect(),
        counted,
    }
}

/// One stem for each number of eggs.
fn eggs(date: &str, numbers: &[u32]) -> VisitSample {
    visit(date, Counted::Units(numbers.iter().map(|&number| counts(&[("egg", number)])).collect()))
}

fn pooled(parts: &[(&str, u32)], checked: Option<u32>) -> VisitSample {
    visit("2026-06-01", Counted::Pooled { counts: counts(parts), checked })
}

#[test]
fn five_animals_make_a_mean_and_four_do_not() {
    let five = density(&eggs("2026-06-01", &[2, 1, 2, 0, 0, 0]), EGG, Level::P95).unwrap();
    assert_eq!(five.heading, id::HEADING_COUNTED);
    let Shown::Mean(mean) = five.shown else { panic!("a mean: {five:?}") };
    assert_eq!(mean.interval, clumped_mean(&[2, 1, 2, 0, 0, 0], Level::P95).unwrap().interval);
    assert_eq!(mean.method, season::densities::id::CLUMPED_MEAN);
    let four = density(&eggs("2026-06-01", &[2, 0, 2, 0, 0, 0]), EGG, Level::P95).unwrap();
    let Shown::Occupancy(share) = four.shown else { panic!("a share: {four:?}") };
    assert!((share.value - 2.0 / 6.0).abs() < 1e-12);
}

/// 1 − 0.05^(1/20), as for a single sample without a find (Hanley & Lippman-Hand 1983, JAMA 249:1743-1745).
#[test]
fn no_egg_on_twenty_stems_bounds_the_occupied_share() {
    for sample in [eggs("2026-06-01", &[0; 20]), pooled(&[], Some(20))] {
        let found = density(&sample, EGG, Level::P95).unwrap();
        let interval = found.shown.estimate().interval.unwrap();
        assert!((interval.high - 0.139_108_3).abs() < 5e-8);
        assert_eq!(interval.sides, Sides::Upper);
        assert!(matches!(found.shown, Shown::Occupancy(_)));
    }
}

#[test]
fn pooled_totals_carry_no_interval_and_say_so() {
    let many = density(&pooled(&[("egg", 12)], Some(30)), EGG, Level::P95).unwrap();
    let Shown::Mean(mean) = &many.shown else { panic!("a mean: {many:?}") };
    assert!((mean.value - 0.4).abs() < 1e-12 && mean.interval.is_none());
    assert!(mean.assumed.contains(&id::ASSUMED_POOLED_NO_VARIANCE));
    let of = |parts: &[(&str, u32)], checked| density(&pooled(parts, checked), EGG, Level::P95);
    assert_eq!(of(&[("egg", 3)], Some(30)), Err(Refusal::Pooled));
    assert_eq!(of(&[("egg", 3)], None), Err(Refusal::UnknownEffort));
    assert_eq!(of(&[], Some(0)), Err(Refusal::Nothing));
    assert!(matches!(of(&[("egg", 1)], Some(30)).unwrap().shown, Shown::Occupancy(_)));
}

#[test]
fn what_was_not_looked_for_has_no_density() {
    let sample = eggs("2026-06-01", &[1, 0]);
    assert_eq!(density(&sample, Group::Stage(Stage::Pupa), Level::P95), Err(Refusal::OutOfScope));
    assert!(density(&sample, Group::Larvae, Level::P95).is_ok());
}

#[test]
fn equal_counts_have_a_mean_without_interval() {
    let found = density(&eggs("2026-06-01", &[3, 3, 3]), EGG, Level::P95).unwrap();
    assert!((found.shown.estimate().value - 3.0).abs() < 1e-12);
    assert!(found.shown.estimate().assumed.contains(&id::ASSUMED_EQUAL_COUNTS_NO_VARIANCE));
    assert_eq!(found.shown.estimate().interval, None);
}

/// Checking more of a site's plants narrows the interval, and checking all of them leaves none.
#[test]
fn a_known_number_of_plants_narrows_the_interval() {
    let reach = |units_at_site| {
        let sample = VisitSample { units_at_site, ..eggs("2026-06-01", &[4, 1, 2, 0, 3]) };
        let found = density(&sample, EGG, Level::P95).unwrap();
        let interval = found.shown.estimate().interval.unwrap();
        assert!(interval.contains(2.0));
        interval.high - interval.low
    };
    let ends = [None, Some(500), Some(20), Some(6), Some(5)].map(reach);
    assert!(ends.windows(2).all(|pair| pair[0] > pair[1]), "{ends:?}");
    assert!((ends[2] - ends[0] * 0.75_f64.sqrt()).abs() < 1e-9 && ends[4].abs() < 1e-12);
}

#[test]
fn choice_and_site_size_are_said() {
    let base = eggs("2026-06-01", &[4, 1, 2, 0]);
    let assumed = |sample: VisitSample| density(&sample, EGG, Level::P95).unwrap().shown.estimate().assumed.clone();
    let own_choice = VisitSample { choice: Choice::ObserversChoice, ..base.clone() };
    assert!(assumed(own_choice).contains(&id::ASSUMED_OBSERVERS_CHOICE));
    let too_few = VisitSample { units_at_site: Some(3), ..base.clone() };
    assert!(assumed(too_few).contains(&id::ASSUMED_UNITS_AT_SITE_TOO_FEW));
    let all = density(&VisitSample { choice: Choice::All, ..base }, EGG, Level::P95).unwrap();
    let interval = all.shown.estimate().interval.unwrap();
    assert!((interval.high - interval.low).abs() < 1e-12);
}

#[test]
fn shares_of_doubt() {
    let sample = pooled(&[("egg", 6), ("egg+none", 3), ("egg+larva1", 1), ("larva2+larva3", 5)], None);
    let samples = [sample];
    let doubt = share_undecided(&samples, EGG, Level::P95).unwrap();
    assert!((doubt.value - 0.4).abs() < 1e-12 && doubt.n == 10);
    let nothing = may_be_nothing(&samples, EGG, Level::P95).unwrap();
    assert!((nothing.value - 0.3).abs() < 1e-12);
    let larvae = share_undecided(&samples, Group::Larvae, Level::P95).unwrap();
    assert!((larvae.value - 1.0 / 6.0).abs() < 1e-12);
    assert_eq!(share_undecided(&samples, Group::Stage(Stage::Pupa), Level::P95), Err(Refusal::OutOfScope));
    assert_eq!(share_undecided(&[pooled(&[], None)], EGG, Level::P95), Err(Refusal::Nothing));
}

#[test]
fn the_area_of_means_adds_the_variances_of_visits() {
    let (first, last) = ([0, 2, 1, 3], [1, 0, 0, 4]);
    let season = SiteSeason::new(vec![eggs("2026-06-11", &last), eggs("2026-06-01", &first)]).unwrap();
    let area = area_under_curve(&season, EGG, AreaOf::Means, Level::P95).unwrap();
    let error = |counts| mean_per_unit(counts, None, Level::P95).unwrap().standard_error.unwrap();
    // Two visits ten days apart weigh five days each.
    let expected = 5.0 * (error(&first).powi(2) + error(&last).powi(2)).sqrt();
    assert!((area.value - 5.0 * (1.5 + 1.25)).abs() < 1e-12);
    assert!((area.standard_error.unwrap() - expected).abs() < 1e-12);
    let tagged: Vec<_> =
        season.visits().iter().map(|visit| VisitSample { choice: Choice::Tagged, ..visit.clone() }).collect();
    let tagged = area_under_curve(&SiteSeason::new(tagged).unwrap(), EGG, AreaOf::Means, Level::P95).unwrap();
    assert_eq!(tagged.interval, None);
    assert!(tagged.assumed.contains(&id::ASSUMED_SAME_PLANTS_NO_INTERVAL));
}

#[test]
fn results_as_they_are_written() {
    let mut second = eggs("2026-06-08", &[]);
    second.counted = Counted::Units(vec![
        counts(&[("egg", 3), ("egg+none", 1)]),
        counts(&[]),
        counts(&[("larva1", 1)]),
        counts(&[("egg", 4), ("larva", 1)]),
    ]);
    let season = SiteSeason::new(vec![eggs("2026-06-01", &[0, 1, 0, 0]), second]).unwrap();
    insta::assert_json_snapshot!("density", density(&season.visits()[1], EGG, Level::P95).unwrap());
    insta::assert_json_snapshot!("curve", curve(&season, Level::P95).unwrap());
    insta::assert_json_snapshot!("totals", totals_by_stage(&season).unwrap());
    insta::assert_json_snapshot!("composition", composition(&season).unwrap());
}

fn units() -> impl Strategy<Value = Vec<Counts>> {
    let unit = (0_u32..4, 0_u32..3, 0_u32..2)
        .prop_map(|(egg, doubt, larva)| counts(&[("egg", egg), ("egg+none", doubt), ("larva", larva)]));
    prop::collection::vec(unit, 2..60)
}

proptest! {
    #[test]
    fn the_interval_reaches_from_the_value_to_all_undecided(units in units()) {
        let Ok(found) = density(&visit("2026-06-01", Counted::Units(units)), EGG, Level::P95) else {
            return Ok(());
        };
        let estimate = found.shown.estimate();
        prop_assert!(estimate.value.is_finite());
        if let Some(interval) = estimate.interval {
            prop_assert!(interval.contains(estimate.value));
            prop_assert!(interval.contains(found.if_all_undecided.unwrap_or(estimate.value)));
        }
    }

    #[test]
    fn plants_in_another_order_give_the_same_season(units in units()) {
        let season = |units| SiteSeason::new(vec![visit("2026-06-01", Counted::Units(units))]).unwrap();
        let mut turned = units.clone();
        turned.reverse();
        let (one, other) = (season(units), season(turned));
        prop_assert_eq!(totals_by_stage(&one), totals_by_stage(&other));
        prop_assert_eq!(composition(&one), composition(&other));
        let shares: f64 = composition(&one).unwrap()[0].shares.iter().map(|share| share.share).sum();
        prop_assert!(composition(&one).unwrap()[0].things == 0 || (shares - 1.0).abs() < 1e-12);
    }
}
