//! Times season methods on data from standard input, for `season.py`, which times others on the same data.
//!
//! Input and output are JSON: the answers, so that they can be compared, and the seconds each took.

use bench::Failure;
use bench::figures::timed;
use season::Level;
use season::aggregation::k_by_likelihood;
use season::degree_days::{Celsius, Counting, Cutoff, Day, Method, Thresholds};
use season::densities::{Bootstrap, bca};
use season::passage::{ClockModel, Development, Mortality, Residence, Scatter, StageSeries, stage_clock};
use serde_json::{Value, json};
use std::ops::ControlFlow;

fn main() -> Result<(), Failure> {
    let input: Value = serde_json::from_reader(std::io::stdin().lock())?;
    println!(
        "{}",
        json!({
            "clumping": clumping(&input["sites"], &input["resamples"])?,
            "degree_days": degree_days(&input["stations"])?,
            "stage_clock": clock(&input["series"])?,
            "by_size": by_size(&input["sites"], &input["stations"])?,
        })
    );
    Ok(())
}

fn read<T: serde::de::DeserializeOwned>(value: &Value) -> Result<T, Failure> {
    Ok(serde_json::from_value(value.clone())?)
}

/// k of each site, and its interval by as many resamples.
fn clumping(sites: &Value, resamples: &Value) -> Result<Value, Failure> {
    let (sites, resamples): (Vec<Vec<u32>>, u32) = (read(sites)?, read(resamples)?);
    let k = |counts: &[&u32]| {
        let counts: Vec<u32> = counts.iter().map(|count| **count).collect();
        k_by_likelihood(&counts, Level::P95).ok().and_then(|found| found.k)
    };
    let how = Bootstrap { seed: 1, resamples };
    let (answers, took) = timed(|| {
        let mut answers = Vec::new();
        for counts in &sites {
            let whole: Vec<&u32> = counts.iter().collect();
            let mut go_on = |_| ControlFlow::Continue(());
            let drawn = bca(counts, k, how, Level::P95, &mut go_on);
            answers.push(json!({ "k": k(&whole), "interval": drawn.ok().and_then(|found| found.interval) }));
        }
        Ok::<_, Failure>(answers)
    })?;
    Ok(json!({ "seconds": took.as_secs_f64(), "answers": answers }))
}

fn days(station: &[(f64, f64)]) -> Vec<Day> {
    station.iter().filter_map(|&(min, max)| Day::new(Celsius(min), Celsius(max))).collect()
}

/// A year of degree-days by double sine for each station.
fn degree_days(stations: &Value) -> Result<Value, Failure> {
    let stations: Vec<Vec<(f64, f64)>> = read(stations)?;
    let counting = Counting::new(Method::DoubleSine, Cutoff::Horizontal, Thresholds::MONARCH)?;
    let (answers, took) = timed(|| {
        Ok::<_, Failure>(stations.iter().map(|station| counting.of_days(&days(station))).collect::<Vec<f64>>())
    })?;
    Ok(json!({ "seconds": took.as_secs_f64(), "answers": answers }))
}

/// The stage clock on a series, with all its profiles.
fn clock(input: &Value) -> Result<Value, Failure> {
    let series = StageSeries::new(read(&input["times"])?, read(&input["rows"])?)?;
    let model = ClockModel {
        effort: vec![1.0; series.times().len()],
        clock: Development::new(read(&input["days"])?, read(&input["sums"])?)?,
        widths: read(&input["widths"])?,
        detection: None,
        residence: Residence::WHOLE,
        mortality: Mortality::FirstAndRest,
        scatter: Scatter::Poisson,
    };
    let (fit, took) = timed(|| stage_clock(&series, &model, Level::P95))?;
    Ok(json!({ "seconds": took.as_secs_f64(), "log_likelihood": fit.log_likelihood, "mean_day": fit.mean_day }))
}

/// Seconds at three sizes: k of 1, 10 and 100 times the plants of the first sites; heat of 1, 10 and 100 parts of all stations.
fn by_size(sites: &Value, stations: &Value) -> Result<Value, Failure> {
    let sites: Vec<Vec<u32>> = read(sites)?;
    let stations: Vec<Vec<(f64, f64)>> = read(stations)?;
    let counting = Counting::new(Method::DoubleSine, Cutoff::Horizontal, Thresholds::MONARCH)?;
    let mut rows = Vec::new();
    for times in [1_usize, 10, 100] {
        let counts: Vec<u32> = sites.iter().flatten().copied().cycle().take(1_000 * times).collect();
        let (_, plants) = timed(|| k_by_likelihood(&counts, Level::P95))?;
        let part = stations.len() * times / 100;
        let (_, heat) = timed(|| {
            let sums = stations.iter().take(part).map(|station| counting.of_days(&days(station)));
            Ok::<f64, Failure>(sums.sum::<f64>())
        })?;
        rows.push(json!({
            "plants": counts.len(), "k_seconds": plants.as_secs_f64(), "stations": part, "heat_seconds": heat.as_secs_f64(),
        }));
    }
    Ok(json!(rows))
}
