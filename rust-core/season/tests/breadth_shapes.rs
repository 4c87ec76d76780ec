//! The written form of every result of aggregation, densities, observers, passage and years. Inputs are invented.

use season::densities::{
    Bootstrap, Contrast, CoverageOf, Period, Row, Side, compare, coverage_of, go_on, split_undecided,
};
use season::observers::{Audit, Pair, Table, chapman, cohen, confusion, correct, invert, n_mixture, removal};
use season::passage::{
    ClockModel, Development, Exposure, Fate, Mortality, Residence, Scatter, StageSeries, entering, knm,
    logistic_exposure, mayfield, present, richards_waloff, stage_clock,
};
use season::years::{
    Cut, Laying, LivingMean, Mowing, MowingVisit, SiteYear, TrendModel, log_linear, mann_kendall, mowing, season_index,
    site_years, theil_sen, weekly,
};
use season::{Counts, Level, Point, aggregation};
use serde::Serialize;
use serde_json::Value;
use std::ops::ControlFlow;
use survey::stage::What;

/// With numbers of five digits, so that the last bits of one machine do not matter on another.
fn shape(value: impl Serialize) -> Value {
    rounded(serde_json::to_value(value).unwrap())
}

fn rounded(value: Value) -> Value {
    match value {
        Value::Number(number) if number.is_f64() => {
            let text = format!("{:.4e}", number.as_f64().unwrap());
            Value::from(text.parse::<f64>().unwrap())
        }
        Value::Array(values) => values.into_iter().map(rounded).collect(),
        Value::Object(fields) => fields.into_iter().map(|(name, value)| (name, rounded(value))).collect(),
        other => other,
    }
}

const HOW: Bootstrap = Bootstrap { seed: 2, resamples: 300 };
const COUNTS: [u32; 12] = [0, 0, 1, 0, 3, 0, 0, 7, 1, 0, 2, 0];

#[test]
fn aggregation_shapes() {
    let k = aggregation::k_by_likelihood(&COUNTS, Level::P95).unwrap();
    let distribution = aggregation::Distribution::new(k.mean, None).unwrap();
    insta::assert_json_snapshot!("clumping", shape(&k));
    insta::assert_json_snapshot!("fit", shape(aggregation::goodness_of_fit(&COUNTS, &distribution, 1, 3).unwrap()));
    insta::assert_json_snapshot!("poisson-or-clumped", shape(aggregation::poisson_or_clumped(&COUNTS).unwrap()));
    insta::assert_json_snapshot!("dispersion", shape(aggregation::dispersion_index(&COUNTS).unwrap()));
    insta::assert_json_snapshot!("moments", shape(aggregation::MeanAndVariance::of(&COUNTS).unwrap()));
    let samples = [(1.0, 2.0), (2.0, 5.0), (4.0, 11.0), (0.0, 0.0)];
    insta::assert_json_snapshot!("taylor", shape(aggregation::taylor(&samples).unwrap()));
    insta::assert_json_snapshot!("iwao", shape(aggregation::iwao(&samples).unwrap()));
}

#[test]
fn density_shapes() {
    let rows: Vec<Row> = (0..4)
        .flat_map(|site| {
            [(Side::Reference, 3 + site), (Side::Compared, 9 - site)].map(|(of, animals)| Row {
                animals,
                effort: 20,
                site,
                week: 0,
                side: of,
                period: Period::Before,
            })
        })
        .collect();
    let found = compare(&rows, Contrast::Sides, HOW, Level::P95, &mut |_| ControlFlow::Continue(())).unwrap();
    insta::assert_json_snapshot!("comparison", shape(found));
    insta::assert_json_snapshot!("coverage", shape(coverage_of(CoverageOf::ClumpedMean, 20, None, 0.5)));
    let parts = [("egg", 4_u32), ("egg+none", 3), ("larva", 2), ("larva2", 1)];
    let counts: Counts = parts.iter().map(|(what, number)| (what.parse::<What>().unwrap(), *number)).collect();
    insta::assert_json_snapshot!("split", shape(split_undecided(&[counts], &[], &[], Level::P95).unwrap()));
}

#[test]
fn observer_shapes() {
    let table = Table::new(vec![vec![20.0, 5.0], vec![10.0, 15.0]]).unwrap();
    insta::assert_json_snapshot!("kappa", shape(cohen(&table, Level::P95).unwrap()));
    let audits: Vec<Audit> = (0..80)
        .map(|place| Audit {
            truth: Some(place % 2),
            recorded: usize::from(place % 20 == 1 || place % 2 == 0),
            weight: 1.0,
        })
        .map(|audit| Audit { recorded: 1 - audit.recorded, ..audit })
        .collect();
    let matrix = confusion(&audits, &[], 2, &[30, 12]).unwrap();
    insta::assert_json_snapshot!("confusion", shape(&matrix));
    insta::assert_json_snapshot!("corrected", shape(correct(&[30, 12], &matrix, HOW, Level::P95, &mut go_on).unwrap()));
    insta::assert_json_snapshot!("inverted", shape(invert(&[30.0, 12.0], &matrix.rows).unwrap()));
    let pair = Pair { first: 9, second: 8, both: Some(6) };
    insta::assert_json_snapshot!("double-count", shape(chapman(pair, Level::P95).unwrap()));
    let sites = [vec![9, 4, 1], vec![5, 2, 1]];
    insta::assert_json_snapshot!("removal", shape(removal(&sites, Level::P95).unwrap()));
    let counts = [[8, 7, 7], [6, 7, 5], [8, 8, 7], [4, 5, 5]].map(|row| row.to_vec());
    insta::assert_json_snapshot!("n-mixture", shape(n_mixture(&counts, &[], &[], 40, Level::P95).unwrap()));
}

#[test]
fn passage_shapes() {
    let rows =
        [[0, 0], [9, 0], [30, 4], [20, 12], [6, 9], [1, 4], [0, 0]].map(|row| row.map(f64::from).to_vec()).to_vec();
    let series = StageSeries::new((0..7).map(|visit| 4.0 * f64::from(visit)).collect(), rows).unwrap();
    insta::assert_json_snapshot!("present", shape(present(&series, &[4.0, 12.0]).unwrap()));
    insta::assert_json_snapshot!("entering", shape(entering(100.0, 4.0, 0.3).unwrap()));
    insta::assert_json_snapshot!("knm", shape(knm(&series).unwrap()));
    insta::assert_json_snapshot!("richards-waloff", shape(richards_waloff(&series, 8.0, 24.0, Level::P95).unwrap()));
    let eggs: Vec<Exposure> = (0..30)
        .map(|egg| Exposure { days: 1.0, fate: if egg % 6 == 0 { Fate::Died } else { Fate::Survived } })
        .collect();
    insta::assert_json_snapshot!("mayfield", shape(mayfield(&eggs, 4.0, Level::P95).unwrap()));
    insta::assert_json_snapshot!("logistic-exposure", shape(logistic_exposure(&eggs, &[], Level::P95).unwrap()));
    let model = ClockModel {
        effort: vec![1.0; 7],
        clock: Development::constant(-12.0, 30.0, 13.0).unwrap(),
        widths: vec![45.0, 120.0],
        detection: Some(vec![1.0, 0.9]),
        residence: Residence::WHOLE,
        mortality: Mortality::Same,
        scatter: Scatter::Poisson,
    };
    let fit = stage_clock(&series, &model, Level::P95).unwrap();
    insta::assert_json_snapshot!("stage-clock-survival", shape((&fit.to_last_stage, &fit.by_stage, fit.k)));
    let names: Vec<String> = shape(&fit).as_object().unwrap().keys().cloned().collect();
    insta::assert_json_snapshot!("stage-clock-fields", names);
}

#[test]
fn year_shapes() {
    let values = [5.0, 4.0, 6.0, 3.0, 3.0, 2.0];
    insta::assert_json_snapshot!("mann-kendall", shape(mann_kendall(&values).unwrap()));
    let points: Vec<(f64, f64)> = values.iter().zip(0..).map(|(value, year)| (f64::from(year), *value)).collect();
    insta::assert_json_snapshot!("theil-sen", shape(theil_sen(&points, Level::P95).unwrap()));
    let years: Vec<f64> = points.iter().map(|point| point.0).collect();
    let line = log_linear(&years, &values, &[1.0; 6], TrendModel::QuasiPoisson, Level::P95).unwrap();
    insta::assert_json_snapshot!("log-linear", shape(line));
    let rows: Vec<SiteYear> = (0..4_u32)
        .flat_map(|site| (0..3).map(move |year| SiteYear { site, year: 2020 + year, animals: 9 + site, effort: 20 }))
        .map(|row| SiteYear { animals: row.animals + u32::from(row.year == 2021), ..row })
        .collect();
    insta::assert_json_snapshot!("site-years", shape(site_years(&rows, Level::P95).unwrap()));
    let visits = [(3.0, 2.0), (10.0, 4.0), (25.0, 1.0)].map(|(day, value)| Point { day, value });
    insta::assert_json_snapshot!("weekly", shape(weekly(&visits, 0.0).unwrap()));
    insta::assert_json_snapshot!("season-index", shape(season_index(&visits, 0.0).unwrap()));
    let stages = [90.0, 9.0, 4.0, 3.0, 2.0, 5.0].map(|value| LivingMean { value, error: value / 3.0 }).to_vec();
    let state = Mowing {
        today: 20.0,
        visits: vec![MowingVisit { day: 18.0, stages }],
        clock: Development::constant(0.0, 60.0, 13.5).unwrap(),
        widths: vec![45.0, 32.3, 27.8, 24.5, 35.7, 66.6],
        mortality: None,
        laying: Laying::GoesOn,
    };
    let cuts = [Cut { day: 20.0, share: 1.0 }, Cut { day: 30.0, share: 0.5 }];
    insta::assert_json_snapshot!("mowing", shape(mowing(&state, &cuts, Level::P95).unwrap()));
}
