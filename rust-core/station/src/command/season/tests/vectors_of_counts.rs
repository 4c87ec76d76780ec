//! Check values of counts, through the command.

use super::{near, value};

/// Lines of a file of counts, from how many plants hold 0, 1, 2, … animals.
fn counts(units: &[usize]) -> String {
    let lines = units.iter().enumerate().flat_map(|(count, &units)| std::iter::repeat_n(format!("{count}\n"), units));
    std::iter::once("count\n".to_owned()).chain(lines).collect()
}

/// European red mites on 150 apple leaves: Bliss CI, Fisher RA (1953) Biometrics 9:176-200; k by likelihood as published
/// (1.02459, from memory), all else computed with scipy 1.17.1.
#[test]
fn red_mites() {
    let file = counts(&[70, 38, 17, 10, 9, 3, 2, 1]);
    let found = value("density", "FILE", &file);
    near(&found, "by_t.value", 1.146_666_7, 1e-6);
    near(&found, "by_t.standard_error", 0.123_116_4, 1e-6);
    near(&found, "by_t.interval.low", 0.903_387, 1e-6);
    near(&found, "by_t.interval.high", 1.389_946, 1e-6);
    near(&found, "per_plant.standard_error", 0.127_278_0, 1e-6);
    for (plants, error, low, high) in
        [(500, 0.103_006_6, 0.943_124, 1.350_209), (1000, 0.113_507_7, 0.922_374, 1.370_959)]
    {
        let found = value("density", &format!("FILE --plants-at-site {plants}"), &file);
        near(&found, "by_t.standard_error", error, 1e-6);
        near(&found, "by_t.interval.low", low, 1e-6);
        near(&found, "by_t.interval.high", high, 1e-6);
    }
    let found = value("aggregation", "FILE --last-class 5", &file);
    for (path, wanted, slack) in [
        ("k.k", 1.024_592_4, 1e-5),
        ("k.standard_error", 0.275_9, 1e-3),
        ("log_likelihood", -222.437_153_6, 1e-5),
        ("poisson_or_clumped.log_likelihood_poisson", -242.809_940_8, 1e-5),
        ("k_by_moments.k", 1.166_697_4, 1e-5),
        ("k_by_zeros.k", 0.992_306_1, 1e-5),
        ("fit.chi_squared", 2.490_356, 1e-5),
        ("fit.p", 0.477_037, 1e-5),
        ("dispersion.index", 1.982_831_3, 1e-6),
        ("dispersion.chi_squared", 295.441_86, 1e-4),
        ("morisita.value", 1.856_385_1, 1e-6),
        ("mean_crowding.value", 2.129_497_9, 1e-6),
        ("patchiness.value", 1.857_120_3, 1e-6),
        ("david_moore.value", 0.982_831_3, 1e-6),
        ("green.value", 0.005_747_55, 1e-7),
    ] {
        near(&found, path, wanted, slack);
    }
    let found = value("aggregation", "FILE --last-class 6", &file);
    near(&found, "fit.chi_squared", 2.510_611, 1e-5);
    near(&found, "fit.p", 0.642_737, 1e-5);
    near(&found, "fit.g", 2.247_054, 1e-5);
    let found = value("aggregation", "FILE --last-class 3", &file);
    near(&found, "fit_of_poisson.chi_squared", 26.645_96, 1e-4);
    near(&value("presence", "FILE --k 1.0245924", &file), "mean.value", 1.131_164_6, 1e-6);
}

/// Holland JM, Winder L, Perry JN (1999), arthropods in six samples of pitfalls: means and variances as printed in the
/// vignette of the R package `epiphy`; lines computed with scipy from rounded inputs.
#[test]
fn taylor_and_iwao() {
    let file = "mean,variance\n19.3016,95.8592\n12.8889,56.6487\n11.6825,62.6718\n18.2857,105.6912\n12.8730,103.7901\n36.1270,257.9836\n";
    let found = value("aggregation", "FILE", file);
    near(&found, "taylor.log_a", 1.276_592_4, 1e-4);
    near(&found, "taylor.b", 1.171_001_8, 1e-4);
    near(&found, "taylor.explained", 0.838_871, 1e-4);
    near(&found, "iwao.alpha", 4.024_474_0, 1e-3);
    near(&found, "iwao.beta", 1.050_044_6, 1e-4);
    near(&found, "iwao.explained", 0.981_845, 1e-4);
}

/// Share of occupied plants under a negative binomial, by hand: 1 − (1 + m/k)^−k.
#[test]
fn presence_from_means() {
    let table = [
        (0.2, [0.043_648, 0.077_892, 0.221_629, 0.301_173, 0.380_956]),
        (0.5, [0.046_537, 0.087_129, 0.292_893, 0.422_650, 0.552_786]),
    ];
    for (k, shares) in table {
        for (mean, share) in [0.05, 0.1, 0.5, 1.0, 2.0].iter().zip(shares) {
            near(&value("presence", &format!("--mean {mean} --k {k}"), ""), "share", share, 1e-6);
        }
    }
}

/// Newcombe RG (1998) Stat. Med. 17:857-872, table as remembered and computed; Clopper & Pearson (1934).
#[test]
fn intervals_of_shares() {
    let names = ["wilson", "wilson_corrected", "clopper_pearson", "mid_p", "agresti_coull", "jeffreys"];
    let table = [
        (
            81,
            263,
            [
                (0.2553, 0.3662),
                (0.2535, 0.3682),
                (0.2527, 0.3676),
                (0.2544, 0.3658),
                (0.2552, 0.3663),
                (0.2545, 0.3656),
            ],
        ),
        (
            15,
            148,
            [
                (0.0624, 0.1605),
                (0.0598, 0.1644),
                (0.0578, 0.1617),
                (0.0601, 0.1581),
                (0.0614, 0.1615),
                (0.0604, 0.1576),
            ],
        ),
    ];
    for (part, whole, wanted) in table {
        let found = value("presence", &format!("--occupied {part} --checked {whole}"), "");
        for (name, (low, high)) in names.iter().zip(wanted) {
            near(&found, &format!("{name}.low"), low, 5e-5);
            near(&found, &format!("{name}.high"), high, 5e-5);
        }
    }
    let none = value("presence", "--occupied 0 --checked 20", "");
    near(&none, "wilson.high", 0.1611, 5e-5);
    near(&none, "wilson_corrected.high", 0.2005, 5e-5);
    near(&none, "mid_p.high", 0.1391, 5e-5);
    let all = value("presence", "--occupied 29 --checked 29", "");
    near(&all, "wilson.low", 0.8830, 5e-5);
    near(&all, "mid_p.low", 0.9019, 5e-5);
}

/// Newcombe RG (1998) Stat. Med. 17:873-890, method 10, as printed.
#[test]
fn differences_of_shares() {
    for (one, other, wanted) in [
        ((56, 70), "48,80", [0.2, 0.0524, 0.3339]),
        ((9, 10), "3,10", [0.6, 0.1705, 0.8090]),
        ((6, 7), "2,7", [0.5714, 0.0582, 0.8062]),
        ((5, 56), "0,29", [0.0893, -0.0381, 0.1926]),
        ((0, 10), "0,20", [0.0, -0.1611, 0.2775]),
        ((10, 10), "0,20", [1.0, 0.6791, 1.0]),
    ] {
        let found = value("presence", &format!("--occupied {} --checked {} --minus {other}", one.0, one.1), "");
        for (path, wanted) in ["value", "interval.low", "interval.high"].iter().zip(wanted) {
            near(&found, &format!("difference.{path}"), wanted, 5e-5);
        }
    }
}

/// Garwood F (1936) Biometrika 28:437-442; zero counts as by Hanley JA, Lippman-Hand A (1983) JAMA 249:1743-1745, and the
/// zero class of a negative binomial.
#[test]
fn nothing_found_and_exact_numbers() {
    for (count, low, high) in
        [(0, 0.0, 3.688_879), (1, 0.025_318, 5.571_643), (5, 1.623_486, 11.668_332), (20, 12.216_520, 30.888_378)]
    {
        let found = value("presence", &format!("--occupied {count} --checked 300"), "");
        near(&found, "number_by_chance.low", low, 1e-6);
        near(&found, "number_by_chance.high", high, 1e-6);
    }
    for (plants, bound) in [(10, 0.258_865_6), (20, 0.139_108_3), (50, 0.058_155_1), (100, 0.029_513_0)] {
        near(&value("presence", &format!("--occupied 0 --checked {plants}"), ""), "share.interval.high", bound, 1e-7);
    }
    for (plants, k, bound) in [(50, 1.02, 0.061_709_3), (100, 0.5, 0.030_873_0), (100, 0.2, 0.032_317_3)] {
        let file = counts(&[plants]);
        let found = value("density", &format!("FILE --k {k} --k-checks 400"), &file);
        near(&found, "per_plant_at_most.interval.high", bound, 1e-7);
    }
}

/// Cochran WG (1977) Sampling Techniques, chapter 6; the numbers are invented, the results computed with scipy. The exact
/// bootstrap, all 6,435 samples weighted: 0.25 to 0.39655 by percentiles; ours is the corrected one.
#[test]
fn ratio_of_totals() {
    let file = "size,count\n10,3\n12,5\n8,1\n20,9\n15,4\n9,2\n14,6\n12,3\n";
    let found = value("density", "FILE", file);
    near(&found, "per_size.value", 0.33, 1e-9);
    near(&found, "per_size.standard_error", 0.040_413_0, 1e-6);
    near(&found, "per_size.interval.low", 0.234_438_4, 1e-6);
    near(&found, "per_size.interval.high", 0.425_561_6, 1e-6);
    near(&found, "per_size_by_jackknife.value", 0.333_465_3, 1e-6);
    near(&found, "per_size_by_jackknife.standard_error", 0.041_640_4, 1e-6);
    near(&found, "mean_of_ratios.value", 0.307_390_9, 1e-6);
    near(&value("density", "FILE --plants-at-site 40", file), "per_size.standard_error", 0.036_146_5, 1e-6);
}

/// Karandinos MG (1976) Bull. Entomol. Soc. Am. 22:417-421; computed by hand with z = 1.96.
#[test]
fn how_many_plants() {
    for (options, wanted, slack) in [
        ("--mean 1 --precision 0.2", 96.04, 0.01),
        ("--mean 1 --k 0.5 --precision 0.2", 288.12, 0.02),
        ("--mean 1 --a 1.5 --b 1.3 --precision 0.2", 144.06, 0.01),
        ("--share 0.3 --precision 0.2", 224.093_3, 0.02),
        ("--share 0.3 --within 0.05", 322.694_4, 0.02),
        ("--mean 1.1466667 --k 1.0245924 --precision 0.25 --standard-error", 29.569_45, 1e-4),
        ("--mean 1.1466667 --k 1.0245924 --precision 0.10 --standard-error", 184.809_09, 1e-3),
    ] {
        near(&value("how-many", options, ""), "exact", wanted, slack);
    }
    // At 0.1 egg a stem and k 0.5, a quarter of the mean either way takes 738 stems; at 0.4, 277. Computed.
    near(&value("how-many", "--mean 0.1 --k 0.5", ""), "units", 738.0, 0.0);
    near(&value("how-many", "--mean 0.4 --k 0.5", ""), "units", 277.0, 0.0);
}

/// Green RH (1970) Res. Popul. Ecol. 12:249-251; Kuno E (1969) Res. Popul. Ecol. 11:127-136; Wald A (1947) with Waters WE
/// (1955) For. Sci. 1:68-79; formulas computed by hand.
#[test]
fn stop_lines() {
    let green = value("stop-line", "--a 1.5 --b 1.3 --precision 0.25", "");
    let kuno = value("stop-line", "--alpha 0.5 --beta 1.4 --precision 0.25", "");
    let wanted = [
        (34.926_81, 66.666_67),
        (23.583_77, 32.258_06),
        (17.522_67, 27.522_94),
        (13.019_30, 25.641_03),
        (9.673_30, 24.793_39),
    ];
    for (index, (by_green, by_kuno)) in wanted.into_iter().enumerate() {
        near(&green, &format!("lines.{index}.total"), by_green, 1e-4);
        near(&kuno, &format!("lines.{index}.total"), by_kuno, 1e-4);
    }
    let test = value("stop-line", "--k 1.02 --means 0.5,1 --plants 1,10", "");
    near(&test, "slope", 0.709_646_0, 1e-6);
    near(&test, "lines.1.high", 10.0 * 0.709_646_0 + 5.375_341_4, 1e-5);
    near(&test, "lines.1.low", 10.0 * 0.709_646_0 - 5.375_341_4, 1e-5);
}
