//! Published and computed check values of `aggregation`, and its laws.

use proptest::prelude::*;
use season::aggregation::{
    Distribution, agresti_coull, david_moore, dispersion_index, garwood, goodness_of_fit, green, id, iwao, jeffreys,
    k_by_likelihood, k_by_moments, k_by_zeros, last_class_for, mean_crowding, mean_from_presence, mid_p, morisita,
    patchiness, poisson_or_clumped, presence_from_mean, score_difference, taylor, wilson_corrected,
};
use season::{Interval, Level, Refusal, clopper_pearson, wilson};

fn near(found: f64, wanted: f64, slack: f64) {
    assert!((found - wanted).abs() <= slack, "{found} is not {wanted}");
}

/// European red mites on 150 apple leaves: Bliss CI, Fisher RA (1953) Biometrics 9:176-200, counts as printed.
fn red_mites() -> Vec<u32> {
    [70, 38, 17, 10, 9, 3, 2, 1].into_iter().zip(0..).flat_map(|(n, mites)| std::iter::repeat_n(mites, n)).collect()
}

/// Maximum likelihood 1.02459 as published (from memory); all values computed with scipy 1.17.1.
#[test]
fn red_mites_k() {
    near(k_by_moments(&red_mites()).unwrap().k.unwrap(), 1.166_697_4, 1e-6);
    near(k_by_zeros(&red_mites()).unwrap().k.unwrap(), 0.992_306_1, 1e-6);
    let ml = k_by_likelihood(&red_mites(), Level::P95).unwrap();
    near(ml.k.unwrap(), 1.024_592_4, 1e-6);
    near(ml.standard_error.unwrap(), 0.2759, 5e-5);
    let (low, high) = (ml.low.unwrap(), ml.high.unwrap());
    assert!(low < 1.0246 && 1.0246 < high && low > 0.5 && high < 2.0, "{low} {high}");
    let of = |k| Distribution::new(172.0 / 150.0, k).unwrap().log_likelihood(&red_mites());
    near(of(ml.k), -222.437_153_6, 1e-5);
    near(of(None), -242.809_940_8, 1e-5);
    for end in [low, high] {
        near(2.0 * (of(ml.k) - of(Some(end))), 3.841_458_8, 1e-4);
    }
}

/// Computed with scipy 1.17.1.
#[test]
fn red_mites_fit() {
    let k = k_by_likelihood(&red_mites(), Level::P95).unwrap().k;
    let clumped = Distribution::new(172.0 / 150.0, k).unwrap();
    let expected = [69.4880, 37.5999, 20.1011, 10.7026, 5.6869, 3.0181, 1.6004, 0.8482];
    for (count, wanted) in expected.into_iter().zip(0..).map(|(value, count)| (count, value)) {
        near(150.0 * clumped.chance(count), wanted, 1e-4);
    }
    let five = goodness_of_fit(&red_mites(), &clumped, 2, 5).unwrap();
    near(five.chi_squared, 2.490_356, 1e-5);
    near(five.p, 0.477_037, 1e-5);
    let six = goodness_of_fit(&red_mites(), &clumped, 2, 6).unwrap();
    near(six.chi_squared, 2.510_611, 1e-5);
    near(six.p, 0.642_737, 1e-5);
    near(six.g, 2.247_054, 1e-5);
    assert_eq!((five.freedom, six.freedom), (3, 4));
    let poisson = Distribution::new(172.0 / 150.0, None).unwrap();
    let chance = goodness_of_fit(&red_mites(), &poisson, 1, 3).unwrap();
    near(chance.chi_squared, 26.645_96, 1e-4);
    assert_eq!(chance.freedom, 2);
    let test = poisson_or_clumped(&red_mites()).unwrap();
    near(test.statistic, 2.0 * (242.809_940_8 - 222.437_153_6), 1e-5);
    assert!(test.p < 1e-9);
    assert_eq!(last_class_for(150, &clumped, 3.0), 6);
}

/// Computed with scipy 1.17.1.
#[test]
fn red_mites_dispersion() {
    let index = dispersion_index(&red_mites()).unwrap();
    near(index.index, 1.982_831_3, 1e-6);
    near(index.chi_squared, 295.441_86, 1e-4);
    near(index.p_crowded, 1.02e-11, 5e-14);
    assert_eq!(index.freedom, 149);
    near(morisita(&red_mites()).unwrap().value, 1.856_385_1, 1e-6);
    near(mean_crowding(&red_mites()).unwrap().value, 2.129_497_9, 1e-6);
    near(patchiness(&red_mites()).unwrap().value, 1.857_120_3, 1e-6);
    near(david_moore(&red_mites()).unwrap().value, 0.982_831_3, 1e-6);
    near(green(&red_mites()).unwrap().value, 0.005_747_55, 1e-7);
}

/// Computed with numpy 2.4.6.
#[test]
fn presence_from_density_and_back() {
    let means = [0.05, 0.1, 0.5, 1.0, 2.0];
    let table = [
        (0.2, vec![0.043_648, 0.077_892, 0.221_629, 0.301_173, 0.380_956]),
        (0.5, vec![0.046_537, 0.087_129, 0.292_893, 0.422_650, 0.552_786]),
        (1.02, vec![0.047_641, 0.090_988, 0.334_280, 0.501_903, 0.669_505]),
    ];
    for (k, shares) in table {
        for (mean, share) in means.into_iter().zip(shares) {
            near(presence_from_mean(mean, Some(k)).unwrap(), share, 1e-6);
        }
    }
    near(mean_from_presence(80, 150, Some(1.024_592_4), Level::P95).unwrap().value, 1.131_164_6, 1e-6);
}

/// Dates of pitfalls, Holland JM, Winder L, Perry JN (1999), means and variances as
/// rounded in the `epiphy` vignette; coefficients computed from the full data, so the slack is wide.
#[test]
fn laws_of_mean_and_variance() {
    let dates = [
        (19.3016, 95.8592),
        (12.8889, 56.6487),
        (11.6825, 62.6718),
        (18.2857, 105.6912),
        (12.8730, 103.7901),
        (36.1270, 257.9836),
    ];
    let law = taylor(&dates).unwrap();
    near(law.log_a, 1.276_592_4, 2e-4);
    near(law.b, 1.171_001_8, 1e-4);
    near(law.explained, 0.838_871, 1e-4);
    let line = iwao(&dates).unwrap();
    near(line.alpha, 4.024_474_0, 2e-3);
    near(line.beta, 1.050_044_6, 1e-4);
    near(line.explained, 0.981_845, 1e-4);
}

type Of = fn(u64, u64, Level) -> Result<Interval, Refusal>;
/// Part, whole, lower and upper end.
type Row = (u64, u64, f64, f64);

/// Newcombe RG (1998) Stat. Med. 17:857-872, computed with statsmodels 0.15.0 and equal to the printed table as far as
/// it is remembered.
#[test]
fn newcombes_shares() {
    let table: [(Of, [Row; 4]); 6] = [
        (wilson, [(81, 263, 0.2553, 0.3662), (15, 148, 0.0624, 0.1605), (0, 20, 0.0, 0.1611), (29, 29, 0.8830, 1.0)]),
        (
            wilson_corrected,
            [(81, 263, 0.2535, 0.3682), (15, 148, 0.0598, 0.1644), (0, 20, 0.0, 0.2005), (29, 29, 0.8544, 1.0)],
        ),
        (
            clopper_pearson,
            [(81, 263, 0.2527, 0.3676), (15, 148, 0.0578, 0.1617), (0, 20, 0.0, 0.1684), (29, 29, 0.8806, 1.0)],
        ),
        (mid_p, [(81, 263, 0.2544, 0.3658), (15, 148, 0.0601, 0.1581), (0, 20, 0.0, 0.1391), (29, 29, 0.9019, 1.0)]),
        (
            agresti_coull,
            [(81, 263, 0.2552, 0.3663), (15, 148, 0.0614, 0.1615), (0, 20, 0.0, 0.1898), (0, 20, 0.0, 0.1898)],
        ),
        (
            jeffreys,
            [
                (81, 263, 0.2545, 0.3656),
                (15, 148, 0.0604, 0.1576),
                (81, 263, 0.2545, 0.3656),
                (15, 148, 0.0604, 0.1576),
            ],
        ),
    ];
    for (method, rows) in table {
        for (part, whole, low, high) in rows {
            let interval = method(part, whole, Level::P95).unwrap();
            near(interval.low, low, 6e-5);
            near(interval.high, high, 6e-5);
        }
    }
}

/// Garwood F (1936) Biometrika 28:437-442, computed with scipy 1.17.1.
#[test]
fn garwoods_counts() {
    let table = [
        (0, 0.0, 3.688_879),
        (1, 0.025_318, 5.571_643),
        (2, 0.242_209, 7.224_688),
        (3, 0.618_672, 8.767_273),
        (5, 1.623_486, 11.668_332),
        (10, 4.795_389, 18.390_356),
        (20, 12.216_520, 30.888_378),
    ];
    for (count, low, high) in table {
        let interval = garwood(count, Level::P95).unwrap();
        near(interval.low, low, 1e-6);
        near(interval.high, high, 1e-6);
    }
}

/// Newcombe RG (1998) Stat. Med. 17:873-890, method 10, as printed.
#[test]
fn newcombes_differences() {
    let table = [
        ((56, 70), (48, 80), 0.2000, 0.0524, 0.3339),
        ((9, 10), (3, 10), 0.6000, 0.1705, 0.8090),
        ((6, 7), (2, 7), 0.5714, 0.0582, 0.8062),
        ((5, 56), (0, 29), 0.0893, -0.0381, 0.1926),
        ((0, 10), (0, 20), 0.0, -0.1611, 0.2775),
        ((10, 10), (0, 20), 1.0, 0.6791, 1.0),
    ];
    for (first, second, value, low, high) in table {
        let found = score_difference(first, second, Level::P95).unwrap();
        let interval = found.interval.unwrap();
        near(found.value, value, 6e-5);
        near(interval.low, low, 6e-5);
        near(interval.high, high, 6e-5);
    }
}

#[test]
fn no_clumping_is_said_and_not_a_number_made_up() {
    let even = [1, 1, 1, 2, 1, 1, 0, 1];
    for clumping in
        [k_by_moments(&even).unwrap(), k_by_zeros(&even).unwrap(), k_by_likelihood(&even, Level::P95).unwrap()]
    {
        assert_eq!(clumping.k, None);
        assert!(clumping.assumed.contains(&id::ASSUMED_NO_CLUMPING_FOUND));
        assert_eq!(clumping.high, None);
    }
    near(poisson_or_clumped(&even).unwrap().p, 1.0, 0.0);
}

#[test]
fn what_carries_nothing_is_refused() {
    assert_eq!(k_by_likelihood(&[0, 0, 0], Level::P95), Err(Refusal::NotMet(id::REFUSED_ALL_ZERO)));
    assert_eq!(k_by_likelihood(&[3], Level::P95), Err(Refusal::TooFew { have: 1, need: 2 }));
    assert_eq!(k_by_zeros(&[1, 2, 9]), Err(Refusal::NotMet(id::REFUSED_NONE_EMPTY)));
    assert_eq!(mean_from_presence(5, 5, None, Level::P95), Err(Refusal::NotMet(id::REFUSED_ALL_OCCUPIED)));
    assert_eq!(presence_from_mean(1.0, Some(0.0)), Err(Refusal::NotMet(id::REFUSED_K_NOT_POSITIVE)));
    assert_eq!(presence_from_mean(f64::NAN, None), Err(Refusal::NotANumber));
    assert_eq!(taylor(&[(1.0, 2.0), (1.0, 3.0), (1.0, 4.0)]), Err(Refusal::NotMet(id::REFUSED_EQUAL_MEANS)));
    assert!(morisita(&[1, 0]).is_err() && green(&[1, 0]).is_err());
}

#[test]
fn huge_counts_neither_hang_nor_overflow() {
    let counts = [0, u32::MAX, 7, 0, 1_000_000];
    let found = k_by_likelihood(&counts, Level::P95).unwrap();
    assert!(found.k.is_some_and(|k| k > 0.0 && k < 1.0), "{found:?}");
    assert!(morisita(&counts).unwrap().value.is_finite());
}

proptest! {
    /// What defines the likelihood's k: no other does better.
    #[test]
    fn no_other_k_is_likelier(counts in prop::collection::vec(0_u32..12, 4..60), factor in 0.2_f64..5.0) {
        prop_assume!(counts.iter().any(|&count| count > 0));
        let found = k_by_likelihood(&counts, Level::P95).unwrap();
        let of = |k| Distribution::new(found.mean, k).unwrap().log_likelihood(&counts);
        let best = of(found.k);
        prop_assert!(of(None) <= best + 1e-7);
        prop_assert!(of(Some(found.k.unwrap_or(10.0) * factor)) <= best + 1e-7);
        if let (Some(k), Some(low)) = (found.k, found.low) { prop_assert!(low <= k); }
        if let (Some(k), Some(high)) = (found.k, found.high) { prop_assert!(high >= k); }
    }

    #[test]
    fn presence_and_density_undo_each_other(occupied in 0_u64..40, k in 0.05_f64..20.0) {
        let mean = mean_from_presence(occupied, 40, Some(k), Level::P95);
        if let Ok(mean) = mean {
            let back = presence_from_mean(mean.value, Some(k)).unwrap();
            prop_assert!((back - occupied as f64 / 40.0).abs() < 1e-9);
        }
    }

    #[test]
    fn chances_sum_to_one(mean in 0.0_f64..5.0, k in 0.3_f64..50.0) {
        for k in [Some(k), None] {
            let distribution = Distribution::new(mean, k).unwrap();
            let sum: f64 = (0..600).map(|count| distribution.chance(count)).sum();
            prop_assert!((sum - 1.0).abs() < 1e-8, "{}", sum);
        }
    }

    /// Order of plants does not matter, and nothing is ever not a number.
    #[test]
    fn indices_do_not_care_for_order(counts in prop::collection::vec(0_u32..9, 2..40)) {
        let mut turned = counts.clone();
        turned.reverse();
        for index in [morisita, mean_crowding, patchiness, david_moore, green] {
            match (index(&counts), index(&turned)) {
                (Ok(one), Ok(other)) => {
                    prop_assert!((one.value - other.value).abs() < 1e-9 && one.value.is_finite());
                }
                (one, other) => prop_assert_eq!(one, other),
            }
        }
    }

    #[test]
    fn every_interval_of_a_share_holds_it(whole in 1_u64..300, seed in 0_u64..300) {
        let part = seed % (whole + 1);
        let share = part as f64 / whole as f64;
        for method in [wilson_corrected, mid_p, agresti_coull, jeffreys] {
            let interval = method(part, whole, Level::P95).unwrap();
            prop_assert!(interval.low >= 0.0 && interval.high <= 1.0);
            prop_assert!(interval.low <= share + 1e-12 && share <= interval.high + 1e-12);
        }
    }
}
