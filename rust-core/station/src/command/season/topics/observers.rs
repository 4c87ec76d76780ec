//! Trusting observers: agreement, correction, double counts, N-mixture.

use super::ask;
use crate::command::CommandError;
use crate::command::season::answer::{Answer, part, whole};
use crate::command::season::common::Common;
use crate::command::season::draw;
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::{Source, counted, small, whole_matrix};
use clap::{Args, ValueEnum};
use messages::Language;
use season::densities::{Audited, split_undecided};
use season::observers::{
    Audit, Confusion, ConfusionFrom, Dependent, Pair, Table, Weights, ac1, chapman, cohen, confusion, correct,
    dependent, expectation_maximisation, fleiss, free_marginal, invert, lincoln_petersen, n_mixture, removal,
    rogan_gladen, two_passes, weighted_kappa,
};
use season::{Counts, Refusal};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use survey::stage::{Outcome, What};

/// `leafturn season agreement`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Agreement {
    #[command(flatten)]
    common: Common,
    /// How near misses count.
    #[arg(long, value_enum, default_value_t = WeightsName::None)]
    weights: WeightsName,
    /// The rows are things, and hold how many observers called each by which class (Fleiss).
    #[arg(long)]
    many: bool,
    /// Names of the classes, for the figure, such as egg,larva1.
    #[arg(long, value_name = "NAMES", value_delimiter = ',')]
    classes: Vec<String>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum WeightsName {
    /// Every disagreement the same.
    None,
    /// By the number of classes between.
    Linear,
    /// By the square of that.
    Quadratic,
}

ask!(Agreement, "agreement", agreement);

fn agreement(asked: &Agreement) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let source = asked.common.needed()?;
    if asked.many {
        let things = whole_matrix(&source)?;
        return Ok(Answer::of(json!({
            "fleiss": fleiss(&things, level).said(language)?,
            "free_marginal": part(&free_marginal(&things, level), language),
        })));
    }
    let rows = counted(&source)?;
    let table = Table::new(rows.clone()).said(language)?;
    let agreed: f64 = (0..table.classes()).map(|class| table.share(class, class)).sum();
    let mut value = json!({
        "things": table.total(),
        "agreed": agreed,
        "cohen": cohen(&table, level).said(language)?,
        "ac1": part(&ac1(&table, level), language),
    });
    let weights = match asked.weights {
        WeightsName::None => None,
        WeightsName::Linear => Some(Weights::Linear),
        WeightsName::Quadratic => Some(Weights::Quadratic),
    };
    if let Some(weights) = weights {
        value["weighted"] = part(&weighted_kappa(&table, &weights, level), language);
    }
    let answer = Answer::of(value);
    Ok(answer.drawn(&asked.common, || draw::confusion(&rows, &asked.classes, draw::Judged::TwoObservers, language))?)
}

/// `leafturn season correction`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Correction {
    #[command(flatten)]
    common: Common,
}

/// What a correction is asked with: one of these forms.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CorrectionOf {
    /// Counts by recorded class.
    recorded: Option<Vec<f64>>,
    /// Share of each true class (row) that is recorded as each class (column).
    matrix: Option<Vec<Vec<f64>>>,
    /// Audited animals of the observer.
    audits: Option<Vec<AuditOf>>,
    /// Audited animals of all observers.
    pooled: Option<Vec<AuditOf>>,
    /// Names of the true classes.
    classes: Option<Vec<String>>,
    /// Names of the recorded classes, where they are others.
    recorded_classes: Option<Vec<String>>,
    /// How many were recorded as the one class, of how many.
    positive: Option<u64>,
    whole: Option<u64>,
    sensitivity: Option<f64>,
    specificity: Option<f64>,
    /// Counts of a visit, decided and undecided.
    counts: Option<BTreeMap<String, u32>>,
    /// Counts of neighbouring visits.
    neighbours: Option<Vec<BTreeMap<String, u32>>>,
    /// What audited undecided things were, by set.
    undecided_audits: Option<BTreeMap<String, BTreeMap<String, u64>>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct AuditOf {
    /// The true class; null where the photo could not be judged.
    truth: Option<String>,
    recorded: String,
    #[serde(default = "one")]
    weight: f64,
}

const fn one() -> f64 {
    1.0
}

ask!(Correction, "correction", correction);

fn correction(asked: &Correction) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let source = asked.common.needed()?;
    let of: CorrectionOf = small(&source)?;
    match &of {
        CorrectionOf { counts: Some(counts), .. } => {
            let visit = [counts_of(&source, counts)?];
            let neighbours = of
                .neighbours
                .iter()
                .flatten()
                .map(|counts| counts_of(&source, counts))
                .collect::<Result<Vec<_>, _>>()?;
            let audits = audited(&source, of.undecided_audits.as_ref())?;
            let found = split_undecided(&visit, &neighbours, &audits, level).said(language)?;
            Ok(Answer::of(whole(&found)))
        }
        CorrectionOf { positive: Some(recorded), whole, sensitivity: Some(hit), specificity: Some(pass), .. } => {
            let whole = whole.ok_or_else(|| source.fault_of_all("whole is missing"))?;
            let found = rogan_gladen(*recorded, whole, *hit, *pass, level).said(language)?;
            Ok(Answer::of(json!({ "share": found })))
        }
        CorrectionOf { recorded: Some(recorded), matrix: Some(matrix), .. } => {
            Ok(by_matrix(asked, &of, recorded, matrix)?)
        }
        CorrectionOf { recorded: Some(recorded), audits: Some(_), classes: Some(_), .. } => {
            Ok(by_audits(asked, &source, &of, recorded)?)
        }
        _ => {
            let problem = "recorded with matrix, or recorded with classes and audits, or positive with whole, \
                           sensitivity and specificity, or counts";
            Err(source.fault_of_all(format!("wanted: {problem}")).into())
        }
    }
}

fn by_matrix(
    asked: &Correction,
    of: &CorrectionOf,
    recorded: &[f64],
    matrix: &[Vec<f64>],
) -> Result<Answer, SeasonFault> {
    let language = asked.common.tongue();
    let (counts, settled) = expectation_maximisation(recorded, matrix).said(language)?;
    let inverted = invert(recorded, matrix);
    let names = of.classes.clone().unwrap_or_default();
    let classes: Vec<Value> = counts
        .iter()
        .enumerate()
        .map(|(index, count)| {
            json!({
                "class": names.get(index),
                "recorded": recorded.get(index),
                "corrected": count,
                "by_inversion": inverted.as_ref().ok().map(|found| found.classes[index]),
            })
        })
        .collect();
    let value = json!({
        "method": season::observers::id::CORRECTED_BY_EM,
        "settled": settled,
        "classes": classes,
        "warning": inverted.as_ref().ok().and_then(|found| found.warning),
        "assumed": [season::observers::id::ASSUMED_FALSE_RECORDS_ONLY, season::observers::id::ASSUMED_KNOWN_ERRORS],
    });
    let rows = matrix.to_vec();
    Answer::of(value).drawn(&asked.common, || draw::confusion(&rows, &names, draw::Judged::Shares, language))
}

fn by_audits(asked: &Correction, source: &Source, of: &CorrectionOf, recorded: &[f64]) -> Result<Answer, SeasonFault> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let classes = of.classes.clone().unwrap_or_default();
    let columns = of.recorded_classes.clone().unwrap_or_else(|| classes.clone());
    if columns.len() != recorded.len() {
        return Err(source.fault_of_all(format!("{} recorded classes, but {} counts", columns.len(), recorded.len())));
    }
    let counts: Vec<u64> = recorded
        .iter()
        .map(|&count| {
            let fine = count >= 0.0 && count.fract() == 0.0 && count < 1e15;
            #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole and in range")]
            let whole = count as u64;
            if fine { Ok(whole) } else { Err(source.fault_of_all(format!("{count} is no count"))) }
        })
        .collect::<Result<_, _>>()?;
    let index = |names: &[String], name: &str| {
        let found = names.iter().position(|own| own == name);
        found.ok_or_else(|| source.fault_of_all(format!("{name:?} is none of the classes {}", names.join(", "))))
    };
    let audits = |given: Option<&Vec<AuditOf>>| {
        given
            .into_iter()
            .flatten()
            .map(|audit| {
                let truth = audit.truth.as_deref().map(|name| index(&classes, name)).transpose()?;
                Ok(Audit { truth, recorded: index(&columns, &audit.recorded)?, weight: audit.weight })
            })
            .collect::<Result<Vec<_>, SeasonFault>>()
    };
    let (own, pooled) = (audits(of.audits.as_ref())?, audits(of.pooled.as_ref())?);
    let matrix: Confusion = confusion(&own, &pooled, classes.len(), &counts).said(language)?;
    let mut work = asked.common.work();
    let found =
        correct(&counts, &matrix, asked.common.bootstrap(), level, &mut |done| work.tell(done)).said(language)?;
    let by_class: Vec<Value> = classes
        .iter()
        .zip(&found.classes)
        .map(|(class, corrected)| json!({ "class": class, "corrected": corrected }))
        .collect();
    let value = json!({
        "classes": by_class,
        "settled": found.settled,
        "measured_coverage": found.measured_coverage,
        "matrix": matrix.rows,
        "judged": matrix.judged,
        "not_judged": matrix.not_judged,
        "audits_of": match matrix.from { ConfusionFrom::Own => "own", ConfusionFrom::Pooled => "pooled" },
    });
    Answer::of(value).drawn(&asked.common, || draw::confusion(&matrix.rows, &classes, draw::Judged::Shares, language))
}

fn counts_of(source: &Source, counts: &BTreeMap<String, u32>) -> Result<Counts, SeasonFault> {
    counts
        .iter()
        .map(|(name, count)| {
            let what = name.strip_prefix("undecided:").unwrap_or(name);
            let what = what.parse::<What>().map_err(|error| source.fault_of_all(format!("{name:?}: {error}")))?;
            Ok((what, *count))
        })
        .collect()
}

fn audited(
    source: &Source,
    audits: Option<&BTreeMap<String, BTreeMap<String, u64>>>,
) -> Result<Vec<Audited>, SeasonFault> {
    audits
        .into_iter()
        .flatten()
        .map(|(name, judged)| {
            let set = match name.strip_prefix("undecided:").unwrap_or(name).parse::<What>() {
                Ok(What::Undecided(set)) => set,
                Ok(What::Stage(_)) | Err(_) => {
                    return Err(source.fault_of_all(format!("{name:?} is no set of outcomes such as egg+none")));
                }
            };
            let judged = judged
                .iter()
                .map(|(outcome, count)| {
                    let found = outcome.parse::<Outcome>();
                    found.map(|found| (found, *count)).map_err(|error| source.fault_of_all(error))
                })
                .collect::<Result<_, _>>()?;
            Ok(Audited { set, judged })
        })
        .collect()
}

/// `leafturn season double-count`
#[derive(Debug, Args)]
pub(in crate::command::season) struct DoubleCount {
    #[command(flatten)]
    common: Common,
}

/// One of the designs.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct DoubleCountOf {
    first: Option<u64>,
    second: Option<u64>,
    both: Option<u64>,
    first_as_first: Option<u64>,
    second_as_second: Option<u64>,
    second_as_first: Option<u64>,
    first_as_second: Option<u64>,
    passes: Option<(u64, u64)>,
    sites: Option<Vec<Vec<u32>>>,
}

ask!(DoubleCount, "double-count", double_count);

fn double_count(asked: &DoubleCount) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let source = asked.common.needed()?;
    let of: DoubleCountOf = small(&source)?;
    let value = match of {
        DoubleCountOf { first: Some(first), second: Some(second), both, .. } => {
            let pair = Pair { first, second, both };
            json!({
                "chapman": chapman(pair, level).said(language)?,
                "lincoln_petersen": part(&lincoln_petersen(pair), language),
            })
        }
        DoubleCountOf {
            first_as_first: Some(first_as_first),
            second_as_second: Some(second_as_second),
            second_as_first: Some(second_as_first),
            first_as_second: Some(first_as_second),
            ..
        } => {
            let counts = Dependent { first_as_first, second_as_second, second_as_first, first_as_second };
            json!({ "dependent": dependent(counts, level).said(language)? })
        }
        DoubleCountOf { passes: Some((first, second)), .. } => {
            json!({ "two_passes": two_passes(first, second, level).said(language)? })
        }
        DoubleCountOf { sites: Some(sites), .. } => json!({ "removal": removal(&sites, level).said(language)? }),
        _ => {
            let problem = "first and second, with both where animals were matched; or first_as_first, \
                           second_as_second, second_as_first and first_as_second; or passes; or sites";
            return Err(source.fault_of_all(format!("wanted: {problem}")).into());
        }
    };
    Ok(Answer::of(value))
}

/// `leafturn season n-mixture`
#[derive(Debug, Args)]
pub(in crate::command::season) struct NMixture {
    #[command(flatten)]
    common: Common,
    /// Greatest number per site that the sum goes to; without it three times the greatest count, at least 30.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..=2000))]
    most: Option<u32>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Repeated {
    counts: Vec<Vec<u32>>,
    #[serde(default)]
    site_covariates: Vec<Vec<f64>>,
    #[serde(default)]
    visit_covariates: Vec<Vec<Vec<f64>>>,
}

ask!(NMixture, "n-mixture", mixture);

fn mixture(asked: &NMixture) -> Result<Answer, CommandError> {
    let language: Language = asked.common.tongue();
    let source = asked.common.needed()?;
    let of = if source.text().trim_start().starts_with('{') {
        small(&source)?
    } else {
        Repeated { counts: whole_matrix(&source)?, site_covariates: Vec::new(), visit_covariates: Vec::new() }
    };
    let greatest = of.counts.iter().flatten().copied().max().unwrap_or(0);
    let most = asked.most.unwrap_or(greatest.saturating_mul(3).max(30));
    if most > 2_000 {
        return Err(SeasonFault::refused(&Refusal::NotANumber, language).into());
    }
    let level = asked.common.interval;
    let found = n_mixture(&of.counts, &of.site_covariates, &of.visit_covariates, most, level).said(language)?;
    Ok(Answer::of(whole(&found)))
}
