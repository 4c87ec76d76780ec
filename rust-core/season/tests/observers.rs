//! Published and computed check values of `observers`, and its laws. Tables without a source are invented.

use proptest::prelude::*;
use season::densities::{Bootstrap, go_on};
use season::observers::{
    Audit, ConfusionFrom, Dependent, Pair, Table, Weights, ac1, chapman, cohen, confusion, correct, dependent,
    expectation_maximisation, fleiss, free_marginal, id, invert, lincoln_petersen, n_mixture, removal, rogan_gladen,
    two_passes, weighted_kappa,
};
use season::{Level, Refusal};

const HOW: Bootstrap = Bootstrap { seed: 8, resamples: 1000 };

fn near(found: f64, wanted: f64, slack: f64) {
    assert!((found - wanted).abs() <= slack, "{found} is not {wanted}");
}

fn table(rows: &[&[f64]]) -> Table {
    Table::new(rows.iter().map(|row| row.to_vec()).collect()).unwrap()
}

/// Computed with statsmodels 0.15.0; the third row's values are the SAS output in its test file.
#[test]
fn cohens_kappa() {
    let found = cohen(&table(&[&[20.0, 5.0], &[10.0, 15.0]]), Level::P95).unwrap();
    near(found.kappa.value, 0.4, 1e-7);
    near(found.kappa.standard_error.unwrap(), 0.126_996_1, 1e-7);
    near(found.kappa.interval.unwrap().low, 0.151_092_3, 1e-7);
    near(found.kappa.interval.unwrap().high, 0.648_907_7, 1e-7);
    near(found.error_by_chance, 0.138_564_1, 1e-7);
    near(found.z, 2.886_751_3, 1e-7);
    let value = |rows: &[&[f64]]| cohen(&table(rows), Level::P95).unwrap().kappa.value;
    near(value(&[&[45.0, 15.0], &[25.0, 15.0]]), 0.130_434_8, 1e-7);
    near(value(&[&[25.0, 35.0], &[5.0, 35.0]]), 0.259_259_3, 1e-7);
    let sas = table(&[&[0.0, 4.0, 1.0], &[0.0, 8.0, 0.0], &[0.0, 1.0, 5.0]]);
    let plain = cohen(&sas, Level::P95).unwrap();
    near(plain.kappa.value, 0.4842, 5e-5);
    near(plain.kappa.standard_error.unwrap(), 0.1380, 5e-5);
    near(plain.error_by_chance, 0.1484, 5e-5);
    near(plain.z, 3.2626, 5e-5);
    let linear = weighted_kappa(&sas, &Weights::Linear, Level::P95).unwrap();
    near(linear.kappa.value, 0.4701, 5e-5);
    near(linear.kappa.standard_error.unwrap(), 0.1457, 5e-5);
    near(linear.error_by_chance, 0.1426, 5e-5);
    near(linear.z, 3.2971, 5e-5);
}

/// Fleiss JL, Cohen J, Everitt BS (1969) Psychol. Bull. 72:323-327, table and results from memory, values computed.
#[test]
fn weighted_kappa_of_1969() {
    let counts = table(&[&[106.0, 10.0, 4.0], &[22.0, 28.0, 10.0], &[2.0, 12.0, 6.0]]);
    let plain = cohen(&counts, Level::P95).unwrap();
    near(plain.kappa.value, 0.428_571_4, 1e-7);
    near(plain.kappa.standard_error.unwrap(), 0.053_711_0, 1e-7);
    near(plain.error_by_chance, 0.055_512_5, 1e-7);
    let weights = vec![vec![1.0, 0.0, 0.4444], vec![0.0, 1.0, 0.6667], vec![0.4444, 0.6667, 1.0]];
    near(weighted_kappa(&counts, &Weights::Given(weights), Level::P95).unwrap().kappa.value, 0.507_070_0, 2e-6);
}

/// Landis JR, Koch GG (1977) Biometrics 33:159-174, New Orleans patients; computed with statsmodels 0.15.0.
#[test]
fn patients_of_new_orleans() {
    let counts =
        table(&[&[5.0, 3.0, 0.0, 0.0], &[3.0, 11.0, 4.0, 0.0], &[2.0, 13.0, 3.0, 4.0], &[1.0, 2.0, 4.0, 14.0]]);
    let of = |weights| weighted_kappa(&counts, &weights, Level::P95).unwrap().kappa;
    near(of(Weights::None).value, 0.296_516_6, 1e-7);
    near(of(Weights::None).standard_error.unwrap(), 0.078_503_9, 1e-7);
    near(of(Weights::Linear).value, 0.477_272_7, 1e-7);
    near(of(Weights::Quadratic).value, 0.625_581_4, 1e-7);
}

/// Instars of 267 tobacco hornworms told by mass (`Stat2Data`, Caterpillars; cuts halfway between mean logarithms), true by
/// recorded; computed with statsmodels 0.15.0.
#[test]
fn instars_by_mass() {
    let counts = table(&[
        &[44.0, 7.0, 0.0, 0.0, 0.0],
        &[5.0, 34.0, 2.0, 0.0, 0.0],
        &[0.0, 8.0, 37.0, 0.0, 0.0],
        &[0.0, 0.0, 12.0, 52.0, 0.0],
        &[0.0, 0.0, 0.0, 2.0, 64.0],
    ]);
    let wanted = [(Weights::None, 0.830_792_5), (Weights::Linear, 0.917_279_1), (Weights::Quadratic, 0.967_687_1)];
    for (weights, kappa) in wanted {
        near(weighted_kappa(&counts, &weights, Level::P95).unwrap().kappa.value, kappa, 1e-7);
    }
    near((0..5).map(|class| counts.share(class, class)).sum(), 0.865_168_5, 1e-7);
}

/// First: 10 things, 14 observers, kappa 0.210 as printed in textbooks; the small ones from the statsmodels test file.
#[test]
fn kappa_of_many() {
    let things: Vec<Vec<u32>> = [
        [0, 0, 0, 0, 14],
        [0, 2, 6, 4, 2],
        [0, 0, 3, 5, 6],
        [0, 3, 9, 2, 0],
        [2, 2, 8, 1, 1],
        [7, 7, 0, 0, 0],
        [3, 2, 6, 3, 0],
        [2, 5, 3, 2, 2],
        [6, 5, 2, 1, 0],
        [0, 2, 2, 3, 7],
    ]
    .map(|row| row.to_vec())
    .to_vec();
    near(fleiss(&things, Level::P95).unwrap().kappa.value, 0.210, 5e-4);
    let two = vec![vec![7, 1], vec![3, 5]];
    near(fleiss(&two, Level::P95).unwrap().kappa.value, 0.161_905, 1e-6);
    near(free_marginal(&two, Level::P95).unwrap().value, 0.214_286, 1e-6);
    let three = vec![vec![6, 1, 0], vec![0, 7, 0]];
    near(fleiss(&three, Level::P95).unwrap().kappa.value, 0.708_333, 1e-6);
    near(free_marginal(&three, Level::P95).unwrap().value, 0.785_714, 1e-6);
    near(ac1(&table(&[&[20.0, 5.0], &[10.0, 15.0]]), Level::P95).unwrap().value, 0.405_940_6, 1e-7);
}

/// Fleiss JL (1971) Psychol. Bull. 76:378-382: 30 patients, 6 raters; the table as stored with statsmodels; kappa
/// 0.4302445 and z 17.65183 as R's irr prints them.
#[test]
fn diagnoses_of_1971() {
    let things: Vec<Vec<u32>> = [
        [0, 0, 0, 6, 0],
        [0, 3, 0, 0, 3],
        [0, 1, 4, 0, 1],
        [0, 0, 0, 0, 6],
        [0, 3, 0, 3, 0],
        [2, 0, 4, 0, 0],
        [0, 0, 4, 0, 2],
        [2, 0, 3, 1, 0],
        [2, 0, 0, 4, 0],
        [0, 0, 0, 0, 6],
        [1, 0, 0, 5, 0],
        [1, 1, 0, 4, 0],
        [0, 3, 3, 0, 0],
        [1, 0, 0, 5, 0],
        [0, 2, 0, 3, 1],
        [0, 0, 5, 0, 1],
        [3, 0, 0, 1, 2],
        [5, 1, 0, 0, 0],
        [0, 2, 0, 4, 0],
        [1, 0, 2, 0, 3],
        [0, 0, 0, 0, 6],
        [0, 1, 0, 5, 0],
        [0, 2, 0, 1, 3],
        [2, 0, 0, 4, 0],
        [1, 0, 0, 4, 1],
        [0, 5, 0, 1, 0],
        [4, 0, 0, 0, 2],
        [0, 2, 0, 4, 0],
        [1, 0, 5, 0, 0],
        [0, 0, 0, 0, 6],
    ]
    .map(|row| row.to_vec())
    .to_vec();
    let found = fleiss(&things, Level::P95).unwrap();
    near(found.kappa.value, 0.430_244_5, 1e-6);
    near(found.z, 17.651_83, 1e-4);
}

/// Rogan WJ, Gladen B (1978); computed.
#[test]
fn an_imperfect_judgement() {
    let found = rogan_gladen(60, 200, 0.9, 0.8, Level::P95).unwrap();
    near(found.value, 0.142_857_1, 1e-7);
    near(found.standard_error.unwrap(), 0.046_291_0, 1e-7);
    let cut = rogan_gladen(20, 200, 0.9, 0.85, Level::P95).unwrap();
    near(cut.value, 0.0, 0.0);
    assert!(cut.assumed.contains(&id::ASSUMED_CUT_TO_POSSIBLE));
    let worthless = rogan_gladen(20, 200, 0.5, 0.5, Level::P95);
    assert_eq!(worthless, Err(Refusal::NotMet(id::REFUSED_TEST_WORTHLESS)));
}

/// Each row: previous stage, own, next.
fn matrix() -> Vec<Vec<f64>> {
    vec![
        vec![0.96, 0.04, 0.0, 0.0, 0.0, 0.0],
        vec![0.02, 0.88, 0.10, 0.0, 0.0, 0.0],
        vec![0.0, 0.06, 0.82, 0.12, 0.0, 0.0],
        vec![0.0, 0.0, 0.08, 0.80, 0.12, 0.0],
        vec![0.0, 0.0, 0.0, 0.09, 0.85, 0.06],
        vec![0.0, 0.0, 0.0, 0.0, 0.05, 0.95],
    ]
}

/// Invented counts, computed with numpy 2.4.6: inversion and maximum likelihood agree inside what is possible, and only
/// the latter stays there.
#[test]
fn correction_of_stage_counts() {
    let recorded = [120.0, 60.0, 40.0, 30.0, 25.0, 25.0];
    let wanted = [123.751_623_3, 59.922_083_3, 38.641_696_7, 29.020_006_0, 23.855_462_2, 24.809_128_7];
    let (em, settled) = expectation_maximisation(&recorded, &matrix()).unwrap();
    let inverted = invert(&recorded, &matrix()).unwrap();
    assert!(settled && inverted.warning.is_none());
    for class in 0..6 {
        near(em[class], wanted[class], 1e-6);
        near(inverted.classes[class], wanted[class], 1e-6);
    }
    let rare = [100.0, 5.0, 2.0, 1.0, 30.0, 2.0];
    let (em, _) = expectation_maximisation(&rare, &matrix()).unwrap();
    let inverted = invert(&rare, &matrix()).unwrap();
    let wanted = [104.098_332, 0.872_830, 2.107_563, 0.0, 32.884_805, 0.036_470];
    let below = [104.150_69, 0.766_69, 2.654_81, -3.170_17, 35.750_65, -0.152_68];
    assert_eq!(inverted.warning, Some(id::WARNED_BELOW_ZERO));
    for class in 0..6 {
        near(em[class], wanted[class], 1e-5);
        near(inverted.classes[class], below[class], 1e-5);
    }
}

fn audits(per_class: usize) -> Vec<Audit> {
    let mut audits = Vec::new();
    for (truth, row) in matrix().iter().enumerate() {
        for (recorded, share) in row.iter().enumerate() {
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "small positive numbers")]
            let times = (share * per_class as f64).round() as usize;
            audits.extend((0..times).map(|_| Audit { truth: Some(truth), recorded, weight: 1.0 }));
        }
    }
    audits.push(Audit { truth: None, recorded: 0, weight: 1.0 });
    audits
}

#[test]
fn audits_make_a_matrix_or_are_pooled_or_refused() {
    let recorded = [100, 5, 2, 1, 30, 2];
    let own = confusion(&audits(50), &[], 6, &recorded).unwrap();
    assert_eq!((own.from, own.not_judged), (ConfusionFrom::Own, 1));
    near(own.rows[0][0], 0.96, 0.02);
    let pooled = confusion(&audits(10), &audits(50), 6, &recorded).unwrap();
    assert_eq!(pooled.from, ConfusionFrom::Pooled);
    assert!(pooled.assumed.contains(&id::ASSUMED_AUDITS_POOLED));
    let refused = confusion(&audits(10), &audits(20), 6, &recorded);
    assert_eq!(refused, Err(Refusal::NotMet(id::REFUSED_AUDITS_TOO_FEW)));
    // Only classes that were recorded need audits.
    let eggs: Vec<Audit> = (0..30).map(|_| Audit { truth: Some(0), recorded: 0, weight: 2.0 }).collect();
    assert!(confusion(&eggs, &[], 6, &[12, 0, 0, 0, 0, 0]).is_ok());
}

#[test]
fn a_zero_after_correction_has_an_upper_end() {
    let recorded = [100, 5, 2, 1, 30, 2];
    let matrix = confusion(&audits(50), &[], 6, &recorded).unwrap();
    let stopped = correct(&recorded, &matrix, HOW, Level::P95, &mut |_| std::ops::ControlFlow::Break(()));
    assert_eq!(stopped, Err(Refusal::NotMet(season::densities::id::REFUSED_STOPPED)));
    let found = correct(&recorded, &matrix, HOW, Level::P95, &mut go_on).unwrap();
    let third = &found.classes[3];
    assert!(third.value < 0.5 && third.interval.unwrap().high > 1.0, "{third:?}");
    near(found.classes.iter().map(|class| class.value).sum(), 140.0, 1e-6);
    for class in &found.classes {
        assert!(class.interval.unwrap().contains(class.value));
    }
}

/// Chapman (1951), computed; (93, 103, 20) are the inputs of the FSA package's tests. The interval
/// 55.223346 to 61.658786, computed, is taken out to whole animals.
#[test]
fn double_counts() {
    let table = [
        (200, 150, 30, 1000.0, 978.064_516_1, 141.894_284_7),
        (93, 103, 20, 478.95, 464.523_809_5, 78.135_867_4),
        (50, 45, 40, 56.25, 56.219_512_2, 1.288_963_2),
    ];
    for (first, second, both, simple, animals, error) in table {
        let pair = Pair { first, second, both: Some(both) };
        near(lincoln_petersen(pair).unwrap().value, simple, 1e-9);
        let found = chapman(pair, Level::P95).unwrap();
        near(found.animals.value, animals, 1e-6);
        near(found.animals.standard_error.unwrap(), error, 1e-6);
        assert!(found.animals.assumed.contains(&id::ASSUMED_OF_WHAT_COULD_BE_SEEN));
    }
    let last = chapman(Pair { first: 50, second: 45, both: Some(40) }, Level::P95).unwrap();
    near(last.first.unwrap(), 0.8889, 5e-5);
    near(last.second.unwrap(), 0.8, 5e-5);
    near(last.either.unwrap(), 0.9778, 5e-5);
    near(last.animals.interval.unwrap().low, 55.223_346_f64.floor(), 0.0);
    near(last.animals.interval.unwrap().high, 61.658_786_f64.ceil(), 0.0);
}

#[test]
fn without_matched_numbers_there_is_no_double_count() {
    let pair = Pair { first: 9, second: 8, both: None };
    assert_eq!(chapman(pair, Level::P95), Err(Refusal::NotMet(id::REFUSED_NOT_MATCHED)));
    assert_eq!(lincoln_petersen(pair), Err(Refusal::NotMet(id::REFUSED_NOT_MATCHED)));
    let impossible = Pair { both: Some(9), ..pair };
    assert_eq!(chapman(impossible, Level::P95), Err(Refusal::ImpossibleCounts { part: 9, whole: 8 }));
    let all_seen = chapman(Pair { first: 8, second: 8, both: Some(8) }, Level::P95).unwrap();
    assert!(all_seen.animals.interval.unwrap().high > 8.0);
}

/// Nichols JD et al. (2000) Auk 117:393-408, formulas checked by algebra; the second row is field data of a herd count.
#[test]
fn observers_in_turn() {
    let counts = Dependent { first_as_first: 60, second_as_second: 10, second_as_first: 55, first_as_second: 12 };
    let found = dependent(counts, Level::P95).unwrap();
    near(found.first.unwrap(), 0.825_974_0, 1e-7);
    near(found.second.unwrap(), 0.791_044_8, 1e-7);
    near(found.either.unwrap(), 0.963_636_4, 1e-7);
    near(found.animals.value, 142.169_811_3, 1e-6);
    assert!(found.animals.interval.unwrap().low >= 137.0);
    let herd = Dependent { first_as_first: 41, second_as_second: 0, second_as_first: 58, first_as_second: 3 };
    let found = dependent(herd, Level::P95).unwrap();
    near(found.first.unwrap(), 1.0, 1e-12);
    near(found.second.unwrap(), 0.950_819_7, 1e-7);
    near(found.animals.value, 102.0, 1e-9);
    let turned = Dependent { first_as_first: 3, second_as_second: 9, second_as_first: 3, first_as_second: 9 };
    assert_eq!(dependent(turned, Level::P95), Err(Refusal::NotMet(id::REFUSED_NO_DECLINE)));
}

/// Zippin (1956), computed; several sites: unmarked's test of its multinomial-Poisson model, whose search stopped 3e-5
/// short of the greatest likelihood (a tighter search with scipy 1.17.1 gives 1.5258022 and -0.2328843).
#[test]
fn removals() {
    let found = two_passes(120, 40, Level::P95).unwrap();
    near(found.animals.value, 180.0, 1e-9);
    near(found.animals.standard_error.unwrap(), 9.486_833_0, 1e-6);
    near(found.first.unwrap(), 0.666_666_7, 1e-7);
    assert_eq!(two_passes(40, 40, Level::P95), Err(Refusal::NotMet(id::REFUSED_NO_DECLINE)));
    let sites = [[5, 3, 2], [3, 3, 1], [2, 0, 0], [0, 0, 0], [0, 0, 0]].map(|row| row.to_vec());
    let found = removal(&sites, Level::P95).unwrap();
    near(found.per_site.value.ln(), 1.525_802_2, 1e-7);
    near(found.per_site.value.ln(), 1.525_774_3, 1e-4);
    near((found.detection.value / (1.0 - found.detection.value)).ln(), -0.232_809_2, 1e-4);
    assert!(found.per_site.interval.is_some());
}

/// Royle JA (2004); counts and covariates of unmarked's test of its N-mixture model with its coefficients; the model
/// without covariates computed independently.
#[test]
fn numbers_from_repeated_counts() {
    let counts = [[8, 7, 7, 8], [6, 7, 7, 5], [8, 8, 7, 8], [4, 5, 5, 5], [4, 4, 3, 3]].map(|row| row.to_vec());
    let site = vec![vec![0.0, 2.0, 3.0, 4.0, 1.0]];
    let visit: Vec<Vec<f64>> =
        (0..5).map(|row| (0..4).map(|column| -1.0 + 2.0 * f64::from(4 * row + column) / 19.0).collect()).collect();
    let found = n_mixture(&counts, &site, &[visit], 30, Level::P95).unwrap();
    near(found.abundance[0], 1.919_841_84, 2e-5);
    near(found.abundance[1], -0.029_873_93, 2e-5);
    near(found.detection_coefficients[0], 2.494_218_75, 2e-5);
    near(found.detection_coefficients[1], -0.233_504_48, 2e-5);
    let plain = n_mixture(&counts, &[], &[], 30, Level::P95).unwrap();
    near(plain.per_site.value, 6.429_674, 1e-4);
    near(plain.detection.value, 0.925_397, 1e-5);
    near(plain.log_likelihood, -27.123_518, 1e-5);
    assert!(plain.per_site.assumed.contains(&id::ASSUMED_N_MIXTURE_WARNING));
}

#[test]
fn an_n_mixture_that_tells_nothing_is_refused() {
    let scattered = [[0, 4], [3, 0], [0, 2], [5, 0]].map(|row| row.to_vec());
    assert_eq!(n_mixture(&scattered, &[], &[], 40, Level::P95), Err(Refusal::NotMet(id::REFUSED_NOT_IDENTIFIED)));
    let nothing = vec![vec![0, 0], vec![0, 0]];
    assert_eq!(n_mixture(&nothing, &[], &[], 40, Level::P95), Err(Refusal::Nothing));
}

#[test]
fn what_is_no_table_is_refused() {
    assert_eq!(Table::new(vec![vec![1.0]]), Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE)));
    assert_eq!(Table::new(vec![vec![1.0, 2.0], vec![3.0]]), Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE)));
    assert_eq!(Table::new(vec![vec![1.0, f64::NAN], vec![3.0, 1.0]]), Err(Refusal::NotANumber));
    assert_eq!(Table::new(vec![vec![0.0; 2], vec![0.0; 2]]), Err(Refusal::Nothing));
    let one = table(&[&[9.0, 0.0], &[0.0, 0.0]]);
    assert_eq!(cohen(&one, Level::P95), Err(Refusal::NotMet(id::REFUSED_ONE_CLASS)));
    assert_eq!(
        expectation_maximisation(&[1.0, 2.0], &[vec![0.5, 0.4], vec![0.5, 0.5]]),
        Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE))
    );
    assert_eq!(fleiss(&[vec![3, 1], vec![2, 1]], Level::P95), Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE)));
}

proptest! {
    /// Who is first does not matter, and full agreement is 1.
    #[test]
    fn kappa_does_not_care_who_is_first(cells in prop::collection::vec(0_u32..20, 9)) {
        let rows: Vec<Vec<f64>> = cells.chunks(3).map(|row| row.iter().map(|&c| f64::from(c)).collect()).collect();
        let turned: Vec<Vec<f64>> = (0..3).map(|j| rows.iter().map(|row| row[j]).collect()).collect();
        for weights in [Weights::None, Weights::Linear, Weights::Quadratic] {
            let of = |rows: &Vec<Vec<f64>>| Table::new(rows.clone()).and_then(|t| weighted_kappa(&t, &weights, Level::P95));
            match (of(&rows), of(&turned)) {
                (Ok(one), Ok(other)) => {
                    prop_assert!((one.kappa.value - other.kappa.value).abs() < 1e-9);
                    prop_assert!((-1.0 - 1e-9..=1.0 + 1e-9).contains(&one.kappa.value));
                    prop_assert!(one.z.is_finite() && (0.0..=1.0).contains(&one.p));
                }
                (one, other) => prop_assert_eq!(one.is_err(), other.is_err()),
            }
        }
    }

    /// Recorded rightly, corrected counts are the recorded ones; whatever the matrix, the total stays and none is below 0.
    #[test]
    fn correction_keeps_the_total(recorded in prop::collection::vec(0.0_f64..90.0, 3), slip in 0.0_f64..0.3) {
        prop_assume!(recorded.iter().sum::<f64>() > 0.0);
        let own = 1.0 - slip;
        let matrix = vec![
            vec![own, slip, 0.0], vec![slip / 2.0, own, slip / 2.0], vec![0.0, slip, own],
        ];
        let (found, _) = expectation_maximisation(&recorded, &matrix).unwrap();
        prop_assert!(found.iter().all(|value| *value >= 0.0));
        prop_assert!((found.iter().sum::<f64>() - recorded.iter().sum::<f64>()).abs() < 1e-6);
        if slip == 0.0 {
            for (one, other) in found.iter().zip(&recorded) { prop_assert!((one - other).abs() < 1e-9); }
        }
    }

    /// At least what was seen; the fewer seen by both, the more there are.
    #[test]
    fn double_counts_are_lower_bounded(first in 0_u64..40, second in 0_u64..40, seed in 0_u64..40) {
        let both = seed % (first.min(second) + 1);
        if let Ok(found) = chapman(Pair { first, second, both: Some(both) }, Level::P95) {
            let seen = (first + second - both) as f64;
            prop_assert!(found.animals.value >= seen - 1e-9);
            if let Some(interval) = found.animals.interval {
                prop_assert!(interval.low >= seen - 1e-9 && interval.contains(found.animals.value));
            }
        }
    }
}
