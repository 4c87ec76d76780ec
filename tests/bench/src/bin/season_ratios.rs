//! Times season methods on data from standard input, for `season.py`, which times others on the same data.
//!
//! Input and output are JSON: the answers, so that they can be compared, and the seconds each took.

use bench::Failure;
use bench::figures::timed;
use season::Level;
use season::aggregation::{LikeliestK, k_by_likelihood};
use season::degree_days::{Celsius, Counting, Cutoff, Day, Method, Thresholds};
use season::densities::{Bootstrap, bootstrap_k, go_on};
use season::passage::{
    ClockModel, Development, Mortality, Residence, Scatter, StageSeries, likeliest_clock, stage_clock,
};
use serde_json::{Value, json};

/// Fits that are timed together.
const FITS: u32 = 20;

fn main() -> Result<(), Failure> {
    let input: Value = serde_json::from_reader(std::io::stdin().lock())?;
    println!(
        "{}",
        json!({
            "clumping": clumping(&input["sites"], &input["resamples"], &input["resampled"])?,
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

/// k of each site with its interval by as many resamples; and k alone of samples that were drawn elsewhere, and the profile
/// interval of each site, which take time of their own.
fn clumping(sites: &Value, resamples: &Value, elsewhere: &Value) -> Result<Value, Failure> {
    let (sites, resamples): (Vec<Vec<u32>>, u32) = (read(sites)?, read(resamples)?);
    let elsewhere: Vec<Vec<u32>> = read(elsewhere)?;
    let how = Bootstrap { seed: 1, resamples };
    let (answers, took) = timed(|| {
        let drawn = sites.iter().map(|counts| bootstrap_k(counts, how, Level::P95, &mut go_on).ok());
        Ok::<_, Failure>(drawn.collect::<Vec<_>>())
    })?;
    let mut fitter = LikeliestK::default();
    let alone: Vec<Option<f64>> =
        elsewhere.iter().map(|counts| fitter.of(counts.iter().copied()).ok().flatten()).collect();
    let (_, profiles) = timed(|| {
        let found = sites.iter().map(|counts| k_by_likelihood(counts, Level::P95).ok());
        Ok::<_, Failure>(found.collect::<Vec<_>>())
    })?;
    Ok(json!({
        "seconds": took.as_secs_f64(),
        "answers": answers,
        "resampled": alone,
        "profile_seconds": profiles.as_secs_f64(),
    }))
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

/// The stage clock on a series: the greatest likelihood alone, and with all its profiles.
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
    // Several times over, for one fit is soon done.
    let (fit, alone) =
        timed(|| (1..FITS).try_fold(likeliest_clock(&series, &model)?, |_, _| likeliest_clock(&series, &model)))?;
    let (_, whole) = timed(|| stage_clock(&series, &model, Level::P95))?;
    Ok(json!({
        "seconds": alone.as_secs_f64() / f64::from(FITS),
        "with_profiles_seconds": whole.as_secs_f64(),
        "log_likelihood": fit.log_likelihood,
        "mean_day": fit.mean_day,
        "to_last_stage": fit.to_last_stage,
    }))
}

/// Seconds at three sizes: k of 1, 10 and 100 times the plants of the first sites; k by bootstrap of 1, 10 and 100 sites;
/// heat of 1, 10 and 100 parts of all stations.
fn by_size(sites: &Value, stations: &Value) -> Result<Value, Failure> {
    let sites: Vec<Vec<u32>> = read(sites)?;
    let stations: Vec<Vec<(f64, f64)>> = read(stations)?;
    let counting = Counting::new(Method::DoubleSine, Cutoff::Horizontal, Thresholds::MONARCH)?;
    let mut rows = Vec::new();
    for times in [1_usize, 10, 100] {
        let counts: Vec<u32> = sites.iter().flatten().copied().cycle().take(1_000 * times).collect();
        let (_, plants) = timed(|| k_by_likelihood(&counts, Level::P95))?;
        let how = Bootstrap { seed: 1, resamples: 100 };
        let (_, of_sites) = timed(|| {
            let drawn = sites
                .iter()
                .cycle()
                .take(times)
                .filter_map(|counts| bootstrap_k(counts, how, Level::P95, &mut go_on).ok());
            Ok::<usize, Failure>(drawn.count())
        })?;
        let part = stations.len() * times / 100;
        let (_, heat) = timed(|| {
            let sums = stations.iter().take(part).map(|station| counting.of_days(&days(station)));
            Ok::<f64, Failure>(sums.sum::<f64>())
        })?;
        rows.push(json!({
            "plants": counts.len(), "k_seconds": plants.as_secs_f64(),
            "sites": times, "sites_seconds": of_sites.as_secs_f64(), "stations": part, "heat_seconds": heat.as_secs_f64(),
        }));
    }
    Ok(json!(rows))
}
