//! Aggregation, densities, passage, observers and years. `None` where the topic is of another part.

use season::aggregation::{
    Distribution, agresti_coull, dispersion_index, garwood, iwao, jeffreys, k_by_likelihood, mid_p, poisson_or_clumped,
    score_difference, taylor, wilson_corrected,
};
use season::densities::{
    Bootstrap, bootstrap_mean, bootstrap_ratio, clumped_mean, cluster_mean, design_effect, go_on, ratio,
};
use season::observers::{Table, Weights, ac1, expectation_maximisation, fleiss, invert, n_mixture, weighted_kappa};
use season::passage::{
    ClockModel, Development, Exposure, Fate, Mortality, Residence, Scatter, StageSeries, knm, logistic_exposure,
    stage_areas, stage_clock,
};
use season::years::{SiteYear, TrendModel, log_linear, mann_kendall, site_years, theil_sen};
use season::{Interval, Level, Refusal, clopper_pearson, wilson};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::{Value, json};

type Answer = Result<Value, String>;
type Method = fn(u64, u64, Level) -> Result<Interval, Refusal>;

pub(crate) fn answer(topic: &str, input: &Value) -> Option<Answer> {
    let answered = match topic {
        "k" => k(input),
        "shares" => shares(input),
        "garwood" => read(input, "count").and_then(|count| said(garwood(count, Level::P95))),
        "difference" => difference(input),
        "dispersion" => counts(input).and_then(|counts| said(dispersion_index(&counts))),
        "taylor" => read::<Vec<(f64, f64)>>(input, "samples").and_then(|samples| said(taylor(&samples))),
        "iwao" => read::<Vec<(f64, f64)>>(input, "samples").and_then(|samples| said(iwao(&samples))),
        "ratio" => read::<Vec<(f64, f64)>>(input, "pairs").and_then(|pairs| said(ratio(&pairs, None, Level::P95))),
        "clusters" => clusters(input),
        "bootstrap-mean" => bootstrapped_mean(input),
        "bootstrap-ratio" => bootstrapped_ratio(input),
        "clumped-mean" => counts(input).and_then(|counts| said(clumped_mean(&counts, Level::P95))),
        "kappa" => kappa(input),
        "fleiss" => read::<Vec<Vec<u32>>>(input, "things").and_then(|things| said(fleiss(&things, Level::P95))),
        "ac1" => table(input).and_then(|table| said(ac1(&table, Level::P95))),
        "correction" => correction(input),
        "n-mixture" => mixture(input),
        "areas" => series(input).and_then(|series| said(stage_areas(&series))),
        "knm" => series(input).and_then(|series| said(knm(&series))),
        "logistic-exposure" => exposure(input),
        "stage-clock" => clock(input),
        "mann-kendall" => read::<Vec<f64>>(input, "values").and_then(|values| said(mann_kendall(&values))),
        "theil-sen" => read::<Vec<(f64, f64)>>(input, "points").and_then(|points| said(theil_sen(&points, Level::P95))),
        "log-linear" => line(input),
        "site-years" => sites(input),
        _ => return None,
    };
    Some(answered)
}

fn read<T: DeserializeOwned>(input: &Value, name: &str) -> Result<T, String> {
    let value = input.get(name).cloned().unwrap_or(Value::Null);
    serde_json::from_value(value).map_err(|error| format!("{name}: {error}"))
}

fn said<T: Serialize>(result: Result<T, Refusal>) -> Answer {
    let value = result.map_err(|refusal| refusal.to_string())?;
    serde_json::to_value(value).map_err(|error| error.to_string())
}

fn counts(input: &Value) -> Result<Vec<u32>, String> {
    read(input, "counts")
}

fn bootstrap(input: &Value) -> Result<Bootstrap, String> {
    Ok(Bootstrap { seed: read(input, "seed")?, resamples: read(input, "resamples")? })
}

fn k(input: &Value) -> Answer {
    let counts = counts(input)?;
    let found = k_by_likelihood(&counts, Level::P95).map_err(|refusal| refusal.to_string())?;
    let likely = |k| Distribution::new(found.mean, k).map(|d| d.log_likelihood(&counts)).map_err(|e| e.to_string());
    let test = poisson_or_clumped(&counts).map_err(|refusal| refusal.to_string())?;
    Ok(json!({ "found": found, "log_likelihood": likely(found.k)?, "p": test.p }))
}

fn shares(input: &Value) -> Answer {
    let (part, whole) = (read(input, "part")?, read(input, "whole")?);
    let methods: [(&str, Method); 6] = [
        ("wilson", wilson),
        ("wilson-corrected", wilson_corrected),
        ("clopper-pearson", clopper_pearson),
        ("mid-p", mid_p),
        ("agresti-coull", agresti_coull),
        ("jeffreys", jeffreys),
    ];
    methods
        .into_iter()
        .map(|(name, method)| Ok((name.to_owned(), said(method(part, whole, Level::P95))?)))
        .collect::<Result<serde_json::Map<_, _>, String>>()
        .map(Value::Object)
}

fn difference(input: &Value) -> Answer {
    said(score_difference(read(input, "first")?, read(input, "second")?, Level::P95))
}

fn clusters(input: &Value) -> Answer {
    let clusters: Vec<Vec<u32>> = read(input, "clusters")?;
    let mean = said(cluster_mean(&clusters, None, Level::P95))?;
    Ok(json!({ "mean": mean, "design_effect": said(design_effect(&clusters))? }))
}

fn bootstrapped_mean(input: &Value) -> Answer {
    said(bootstrap_mean(&counts(input)?, bootstrap(input)?, Level::P95, &mut go_on))
}

fn bootstrapped_ratio(input: &Value) -> Answer {
    let pairs: Vec<(f64, f64)> = read(input, "pairs")?;
    said(bootstrap_ratio(&pairs, bootstrap(input)?, Level::P95, &mut go_on))
}

fn table(input: &Value) -> Result<Table, String> {
    Table::new(read(input, "table")?).map_err(|refusal| refusal.to_string())
}

fn kappa(input: &Value) -> Answer {
    let weights = match read::<String>(input, "weights")?.as_str() {
        "none" => Weights::None,
        "linear" => Weights::Linear,
        "quadratic" => Weights::Quadratic,
        other => return Err(format!("no weights {other:?}")),
    };
    said(weighted_kappa(&table(input)?, &weights, Level::P95))
}

fn correction(input: &Value) -> Answer {
    let (recorded, matrix): (Vec<f64>, Vec<Vec<f64>>) = (read(input, "recorded")?, read(input, "matrix")?);
    let (em, settled) = expectation_maximisation(&recorded, &matrix).map_err(|refusal| refusal.to_string())?;
    Ok(json!({ "em": em, "settled": settled, "inversion": said(invert(&recorded, &matrix))? }))
}

fn mixture(input: &Value) -> Answer {
    let counts: Vec<Vec<u32>> = read(input, "counts")?;
    let site: Vec<Vec<f64>> = read(input, "site")?;
    let visit: Vec<Vec<Vec<f64>>> = read(input, "visit")?;
    said(n_mixture(&counts, &site, &visit, read(input, "most")?, Level::P95))
}

fn series(input: &Value) -> Result<StageSeries, String> {
    StageSeries::new(read(input, "times")?, read(input, "rows")?).map_err(|refusal| refusal.to_string())
}

fn clock(input: &Value) -> Answer {
    let series = series(input)?;
    let clock = Development::new(read(input, "days")?, read(input, "sums")?).map_err(|refusal| refusal.to_string())?;
    let scatter = match read::<String>(input, "scatter")?.as_str() {
        "poisson" => Scatter::Poisson,
        _ => Scatter::NegativeBinomial,
    };
    let model = ClockModel {
        effort: vec![1.0; series.times().len()],
        clock,
        widths: read(input, "widths")?,
        detection: None,
        residence: Residence::WHOLE,
        mortality: Mortality::FirstAndRest,
        scatter,
    };
    said(stage_clock(&series, &model, Level::P95))
}

fn exposure(input: &Value) -> Answer {
    let exposures: Vec<Exposure> = read::<Vec<(f64, String)>>(input, "exposures")?
        .into_iter()
        .map(|(days, fate)| {
            let fate = match fate.as_str() {
                "survived" => Fate::Survived,
                "died" => Fate::Died,
                _ => Fate::Unknown,
            };
            Exposure { days, fate }
        })
        .collect();
    let covariates: Vec<Vec<f64>> = read(input, "covariates")?;
    said(logistic_exposure(&exposures, &covariates, Level::P95))
}

fn line(input: &Value) -> Answer {
    let (years, counts): (Vec<f64>, Vec<f64>) = (read(input, "years")?, read(input, "counts")?);
    let efforts: Vec<f64> = read(input, "efforts")?;
    let model = match read::<String>(input, "model")?.as_str() {
        "poisson" => TrendModel::Poisson,
        "quasi" => TrendModel::QuasiPoisson,
        "negative-binomial" => TrendModel::NegativeBinomial,
        other => return Err(format!("no model {other:?}")),
    };
    said(log_linear(&years, &counts, &efforts, model, Level::P95))
}

fn sites(input: &Value) -> Answer {
    let rows: Vec<SiteYear> = read::<Vec<(u32, i32, u32, u32)>>(input, "rows")?
        .into_iter()
        .map(|(site, year, animals, effort)| SiteYear { site, year, animals, effort })
        .collect();
    said(site_years(&rows, Level::P95))
}
