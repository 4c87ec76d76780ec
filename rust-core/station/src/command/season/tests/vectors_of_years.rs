//! Check values of series and years, through the command.

use super::{ask, near, number, value};

const SERIES_A: &str = "day,egg,larva1,larva2,larva3,larva4,larva5\n1,3,0,0,1,0,0\n10,96,12,13,4,1,4\n20,138,8,8,3,0,2\n27,137,9,10,8,3,3\n36,65,3,5,1,2,2\n41,47,0,1,0,1,1\n48,27,1,0,0,1,0\n";
const SERIES_B: &str = "day,egg,larva1,larva2,larva3,larva4,larva5\n1,37,2,4,0,0,0\n9,90,15,9,7,1,1\n17,135,19,5,5,3,7\n24,156,22,7,3,1,3\n31,121,5,2,3,1,3\n38,77,1,7,2,1,1\n46,11,1,0,2,3,2\n";
/// Daily means in °C of Iowa, 16 days before day 1 and the 48 days of series A.
const IOWA: [f64; 64] = [
    21.9, 21.9, 20.8, 17.5, 18.1, 19.7, 22.2, 24.7, 17.2, 16.4, 18.9, 20.3, 23.3, 26.9, 28.3, 26.4, 24.4, 23.65, 26.7,
    26.7, 24.15, 23.6, 20.8, 20.55, 21.95, 23.6, 26.1, 24.4, 24.75, 22.5, 21.95, 21.95, 22.75, 23.6, 25.25, 23.6,
    20.85, 21.7, 21.4, 23.85, 24.45, 24.15, 22.5, 21.7, 22.2, 21.7, 24.4, 23.6, 23.6, 24.15, 19.75, 15.8, 17.2, 20.25,
    20.85, 17.5, 15.25, 15.85, 16.65, 18.05, 18.9, 18.35, 18.85, 22.8,
];

/// Iowa 2015, counts and temperatures as in the public repository github.com/tgrant7/arthropod-survival-estimation (Grant
/// TJ et al. 2020, Ecosphere 11:e03082); totals, areas and ratios computed with numpy.
#[test]
fn iowa() {
    let areas_a = [4026.0, 278.5, 312.5, 139.0, 57.0, 99.0];
    let areas_b = [4441.0, 471.0, 241.0, 158.5, 64.0, 118.0];
    for (file, areas, totals, ratio) in [
        (SERIES_A, areas_a, [513.0, 33.0, 37.0, 17.0, 8.0, 12.0], 0.016_615_0),
        (SERIES_B, areas_b, [627.0, 65.0, 34.0, 22.0, 10.0, 17.0], 0.017_953_1),
    ] {
        let found = value("passage", "FILE", file);
        assert_eq!(found["heading"], "heading.sample-totals-effort-unknown");
        for stage in 0..6 {
            near(&found, &format!("stages.{stage}.area_days"), areas[stage], 1e-9);
            near(&found, &format!("stages.{stage}.total"), totals[stage], 1e-9);
        }
        near(&found, "ratio_over_days.value", ratio, 1e-7);
    }
    near(&value("passage", "FILE", SERIES_A), "mean_egg_day.value", 23.513_0, 1e-3);
}

/// The same with its temperatures: areas over heat, and the stage clock, whose egg-to-last-instar survival is compared with
/// nothing but its own bounds (the published one rests on another clock).
#[test]
fn iowa_with_weather() {
    let first = chrono::NaiveDate::from_ymd_opt(2015, 6, 15).unwrap();
    let weather: String = std::iter::once("date,tmin,tmax\n".to_owned())
        .chain(IOWA.iter().zip(0..).map(|(mean, day)| {
            let date = first + chrono::Duration::days(day);
            format!("{date},{mean},{mean}\n")
        }))
        .collect();
    let options = "FILE --weather FILE2 --day-one 2015-07-01";
    let passage = ask("passage", options, &[SERIES_A, &weather]).unwrap();
    let (days, heat) =
        (number(passage.value(), "ratio_over_days.value"), number(passage.value(), "ratio_over_degree_days.value"));
    assert!(heat > 0.0 && (heat - days).abs() > 1e-5 && (heat / days - 1.0).abs() < 0.5, "{days} {heat}");
    let survival = ask("survival", options, &[SERIES_A, &weather]).unwrap();
    let clock = &survival.value()["clock"];
    assert!(number(clock, "log_likelihood").is_finite() && number(clock, "mean_day") > 0.0, "{clock}");
    if clock["to_last_stage"].get("estimated").is_some() {
        let found = number(clock, "to_last_stage.estimated.value");
        assert!((0.001..0.2).contains(&found), "{found}");
    }
}

/// Weekly counts of four stages, invented; formulas of Manly BFJ (1976) Res. Popul. Ecol. 17:191-199, Kiritani K, Nakasuji F
/// (1967), Southwood, Richards OW, Waloff N (1954); computed with numpy.
#[test]
fn classical_methods() {
    let file = "day,egg,larva1,larva2,larva3\n0,0,0,0,0\n7,40,0,0,0\n14,90,20,0,0\n21,70,45,8,0\n28,30,40,22,3\n35,8,20,24,11\n42,1,6,14,16\n49,0,1,4,12\n56,0,0,0,0\n";
    let found = value("survival", "FILE --durations 5,5,7 --fall 21,49", file);
    let knm = &found["for_comparison_only"]["knm"];
    for (index, wanted) in [3395.0, 1722.0, 798.0, 294.0].into_iter().enumerate() {
        near(knm, &format!("areas.{index}"), wanted, 1e-9);
    }
    for (index, wanted) in [0.507_216, 0.463_415, 0.368_421].into_iter().enumerate() {
        near(knm, &format!("survival.{index}"), wanted, 1e-6);
    }
    near(knm, "mortality", 0.142_771, 1e-6);
    near(knm, "daily_survival", 0.866_953, 1e-6);
    near(knm, "entering.0", 484.706, 1e-3);
    let others = &found["for_comparison_only"];
    for (index, wanted) in [0.873_049, 0.857_421, 0.867_060].into_iter().enumerate() {
        near(others, &format!("kiritani_nakasuji.{index}.value"), wanted, 1e-6);
    }
    near(others, "richards_waloff.slope", -0.070_012_9, 1e-7);
    near(others, "richards_waloff.daily_survival.value", 0.932_382, 1e-6);
    let found = value("survival", "FILE --durations 10,8,7,20", file);
    for (index, wanted) in [167.3, 115.5, 72.0, 14.7].into_iter().enumerate() {
        near(&found["for_comparison_only"], &format!("southwood.{index}.value"), wanted, 1e-9);
    }
}

/// Expected counts of a stage-clock model at 21 degree-days a day (arithmetic of the same repository; computed): true
/// survival of eggs 0.148877, and KNM, which takes survival to be equal in all stages, says twice that.
#[test]
fn knm_is_biased_where_eggs_die_fast() {
    let rows = "0,0,0,0,0,0,0\n1,50,0,0,0,0,0\n2,126.5,0,0,0,0,0\n3,267.045,0,0,0,0,0\n4,634.09,7.4439,0,0,0,0\n5,1071.18,14.8877,5.0618,0,0,0\n6,1037.95,29.7754,14.6793,0,0,0\n7,675.675,74.4385,29.3585,4.1001,0,0\n8,346.45,111.6578,68.8407,8.2001,3.8541,0\n9,159.18,74.4385,121.4836,16.4003,7.7081,3.7384\n10,79.59,29.7754,118.9527,41.0007,15.4163,11.0658\n11,27.295,14.8877,65.8036,61.5011,38.5407,25.577\n12,7.0225,7.4439,28.3462,41.0007,57.811,61.9383\n13,0,3.7219,14.1731,16.4003,38.5407,112.3623\n14,0,0,7.0865,8.2001,15.4163,138.9018\n15,0,0,2.2778,4.1001,7.7081,135.5985\n16,0,0,0,2.05,3.8541,105.8991\n17,0,0,0,0,1.927,57.7731\n18,0,0,0,0,0,25.579\n19,0,0,0,0,0,11.8549\n20,0,0,0,0,0,5.0302\n21,0,0,0,0,0,1.6538\n22,0,0,0,0,0,0\n";
    let file = format!("day,egg,larva1,larva2,larva3,larva4,larva5\n{rows}");
    let found = value("survival", "FILE --expected", &file);
    near(&found["for_comparison_only"], "knm.survival.0", 0.302, 0.001);
    assert_eq!(ask("survival", "FILE", &[&file]).unwrap_err().exit_code(), 1);
}

/// Mann HB (1945), Sen PK (1968), made-up series computed with scipy; the exact p of ten years is below the normal one.
#[test]
fn trends() {
    let years = |values: &[i32]| -> String {
        std::iter::once("year,value\n".to_owned())
            .chain(values.iter().zip(2001..).map(|(value, year)| format!("{year},{value}\n")))
            .collect()
    };
    let found = value("trend", "FILE", &years(&[10, 15, 14, 20, 18, 22, 21, 25, 30, 27]));
    near(&found, "mann_kendall.s", 37.0, 0.0);
    near(&found, "mann_kendall.variance", 125.0, 1e-9);
    near(&found, "mann_kendall.z", 3.219_938, 1e-6);
    near(&found, "mann_kendall.tau", 0.822_222_2, 1e-6);
    near(&found, "theil_sen.slope.value", 2.0, 1e-9);
    near(&found, "theil_sen.slope.interval.low", 1.25, 1e-9);
    near(&found, "theil_sen.slope.interval.high", 2.5, 1e-9);
    assert!(found["mann_kendall"]["exact"].as_bool().unwrap());
    assert!(found["wording"].get("values-only").is_some(), "one site is never called a trend");
    let ties = value("trend", "FILE", &years(&[5, 5, 3, 4, 2, 2, 1, 3, 1, 0]));
    near(&ties, "mann_kendall.s", -33.0, 0.0);
    near(&ties, "mann_kendall.variance", 121.0, 1e-9);
    near(&ties, "mann_kendall.z", -2.909_091, 1e-6);
    near(&ties, "theil_sen.slope.value", -0.5, 1e-9);
}

/// Great inventions and discoveries by year, 1860 to 1959 (R, `datasets::discoveries`; World Almanac 1975); computed with
/// statsmodels 0.15.0 and scipy.
#[test]
fn discoveries() {
    let values = [
        5, 3, 0, 2, 0, 3, 2, 3, 6, 1, 2, 1, 2, 1, 3, 3, 3, 5, 2, 4, 4, 0, 2, 3, 7, 12, 3, 10, 9, 2, 3, 7, 7, 2, 3, 3,
        6, 2, 4, 3, 5, 2, 2, 4, 0, 4, 2, 5, 2, 3, 3, 6, 5, 8, 3, 6, 6, 0, 5, 2, 2, 2, 6, 3, 4, 4, 2, 2, 4, 7, 5, 3, 3,
        0, 2, 2, 2, 1, 3, 4, 2, 2, 1, 1, 1, 2, 1, 4, 4, 3, 2, 1, 4, 1, 1, 1, 0, 0, 2, 0,
    ];
    assert_eq!(values.iter().sum::<i32>(), 310);
    let file: String = std::iter::once("year,value\n".to_owned())
        .chain(values.iter().zip(1860..).map(|(value, year)| format!("{year},{value}\n")))
        .collect();
    let found = value("trend", "FILE", &file);
    for (path, wanted, slack) in [
        ("mann_kendall.s", -747.0, 0.0),
        ("mann_kendall.variance", 109_143.0, 0.5),
        ("mann_kendall.z", -2.258_088, 1e-5),
        ("theil_sen.slope.value", -0.011_363_6, 1e-6),
        ("poisson.intercept", 1.384_791_24, 1e-6),
        ("poisson.slope", -0.005_360_22, 1e-7),
        ("poisson.intercept_error", 0.105_818_7, 1e-5),
        ("poisson.slope_error", 0.001_981_7, 1e-6),
        ("poisson.deviance", 157.315_826, 1e-4),
        ("poisson.pearson", 151.058_437, 1e-4),
        ("poisson.log_likelihood", -213.161_271, 1e-4),
        ("poisson.per_cent.value", -0.534_59, 1e-4),
        ("poisson.per_cent.interval.low", -0.920_18, 1e-4),
        ("poisson.per_cent.interval.high", -0.147_50, 1e-4),
        ("quasi_poisson.slope_error", 0.002_460_4, 1e-6),
        ("negative_binomial.slope", -0.005_831_97, 1e-6),
        ("negative_binomial.intercept", 1.407_086_27, 1e-5),
        ("negative_binomial.alpha", 0.160_904_92, 1e-5),
        ("negative_binomial.log_likelihood", -208.169_886, 1e-4),
    ] {
        near(&found, path, wanted, slack);
    }
}

/// By hand: 40 days survived and 4 losses over one day each, 9 eggs of unknown fate.
#[test]
fn eggs_followed() {
    let lines = |text: &str, times: usize| std::iter::repeat_n(format!("{text}\n"), times).collect::<String>();
    let file = format!("days,fate\n{}{}{}", lines("1,survived", 40), lines("1,died", 4), lines("2,unknown", 9));
    let found = value("egg-fate", "FILE --days 4", &file);
    near(&found, "mayfield.exposure_days", 42.0, 1e-12);
    near(&found, "mayfield.daily.value", 1.0 - 4.0 / 42.0, 1e-12);
    near(&found, "mayfield.whole.value", (1.0 - 4.0 / 42.0_f64).powi(4), 1e-12);
    near(&found, "logistic_exposure.daily.value", 40.0 / 44.0, 1e-7);
}
