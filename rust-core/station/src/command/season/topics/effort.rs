//! How many plants, and when to stop.

use super::ask;
use crate::command::CommandError;
use crate::command::season::answer::{Answer, part, whole};
use crate::command::season::common::{Common, option, positive, two};
use crate::command::season::draw;
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::{Columns, PlantCounts, Table};
use clap::Args;
use messages::Language;
use season::sampling::{
    Goal, Iwao, Precision, Scatter, SequentialTest, Simulation, SoFar, Taylor, advice, check_rule, green_line,
    how_many_by_iwao, how_many_by_negative_binomial, how_many_by_pilot, how_many_by_poisson, how_many_by_taylor,
    how_many_for_share, how_many_for_share_within, kuno_line, season_tells, what_effort_tells,
};
use serde_json::{Value, json};

/// How counts scatter.
#[derive(Debug, Args)]
struct ScatterOptions {
    /// k of a negative binomial.
    #[arg(long, value_name = "K", value_parser = positive)]
    k: Option<f64>,
    /// Taylor's a (with --b).
    #[arg(long, value_name = "A", value_parser = positive, requires = "b")]
    a: Option<f64>,
    /// Taylor's b (with --a).
    #[arg(long, value_name = "B", value_parser = positive, requires = "a")]
    b: Option<f64>,
    /// Iwao's alpha (with --beta).
    #[arg(long, value_name = "ALPHA", value_parser = crate::command::season::common::finite, requires = "beta", allow_hyphen_values = true)]
    alpha: Option<f64>,
    /// Iwao's beta (with --alpha).
    #[arg(long, value_name = "BETA", value_parser = positive, requires = "alpha")]
    beta: Option<f64>,
}

impl ScatterOptions {
    fn scatter(&self) -> Result<Scatter, SeasonFault> {
        match (self.k, self.taylor(), self.iwao()) {
            (Some(k), None, None) => Ok(Scatter::NegativeBinomial { k }),
            (None, Some(law), None) => Ok(Scatter::Taylor(law)),
            (None, None, Some(line)) => Ok(Scatter::Iwao(line)),
            (None, None, None) => Ok(Scatter::Poisson),
            _ => Err(SeasonFault::usage("only one of --k, --a with --b, --alpha with --beta")),
        }
    }

    fn taylor(&self) -> Option<Taylor> {
        Some(Taylor { a: self.a?, b: self.b? })
    }

    fn iwao(&self) -> Option<Iwao> {
        Some(Iwao { alpha: self.alpha?, beta: self.beta? })
    }
}

/// `leafturn season how-many`
#[derive(Debug, Args)]
pub(in crate::command::season) struct HowMany {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    scatter: ScatterOptions,
    /// Animals per plant that are expected.
    #[arg(long, value_name = "MEAN", value_parser = positive)]
    mean: Option<f64>,
    /// Share of plants with animals that is expected.
    #[arg(long, value_name = "SHARE", value_parser = positive, conflicts_with = "mean")]
    share: Option<f64>,
    /// Wanted half width of the interval, as a share of the value.
    #[arg(long, value_name = "SHARE", value_parser = positive, default_value = "0.25")]
    precision: f64,
    /// Take --precision as a standard error, not as half an interval.
    #[arg(long)]
    standard_error: bool,
    /// Wanted half width of a share as it stands, such as 0.05.
    #[arg(long, value_name = "HALF", value_parser = positive, requires = "share")]
    within: Option<f64>,
    /// Plants at the whole site.
    #[arg(long, value_name = "N")]
    plants_at_site: Option<u32>,
    /// Say what these numbers of plants can tell, such as 40,80.
    #[arg(long, value_name = "N,N", value_delimiter = ',')]
    plants: Vec<u32>,
}

ask!(HowMany, "how-many", how_many);

fn how_many(asked: &HowMany) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let precision = if asked.standard_error {
        Precision::StandardError { share: asked.precision }
    } else {
        Precision::HalfWidth { share: asked.precision, level }
    };
    let scatter = asked.scatter.scatter()?;
    let found = match (asked.common.source()?, asked.mean, asked.share) {
        (Some(source), None, None) if Table::names_of(&source)?.iter().any(|name| name == "mean") => {
            let columns = Columns { needed: &["day", "mean"], allowed: &[], beginning: None };
            let visits = Table::read(&source, columns)?
                .rows()
                .map(|row| Ok((row.number("day")?, row.number("mean")?)))
                .collect::<Result<Vec<_>, SeasonFault>>()?;
            let told = asked
                .plants
                .iter()
                .map(|&plants| season_tells(&visits, plants, scatter, level))
                .collect::<Result<Vec<_>, _>>()
                .said(language)?;
            if told.is_empty() {
                return Err(SeasonFault::usage("--plants N is needed here: plants at each visit").into());
            }
            return Ok(Answer::of(json!({ "season": told })));
        }
        (Some(source), None, None) => how_many_by_pilot(&PlantCounts::decided(&source)?.counts, precision),
        (None, Some(mean), None) => match scatter {
            Scatter::Poisson => how_many_by_poisson(mean, precision),
            Scatter::NegativeBinomial { k } => how_many_by_negative_binomial(mean, k, precision),
            Scatter::Taylor(law) => how_many_by_taylor(mean, law, precision),
            Scatter::Iwao(line) => how_many_by_iwao(mean, line, precision),
        },
        (None, None, Some(share)) => match asked.within {
            Some(within) => how_many_for_share_within(share, within, level),
            None => how_many_for_share(share, precision),
        },
        _ => return Err(SeasonFault::usage("one of --mean, --share, or a FILE of a pilot or a season").into()),
    }
    .said(language)?;
    let found = match asked.plants_at_site {
        Some(plants) => found.at_site(plants).said(language)?,
        None => found,
    };
    let mut value = whole(&found);
    if let (Some(mean), false) = (asked.mean, asked.plants.is_empty()) {
        value["efforts"] = whole(&what_effort_tells(&asked.plants, mean, scatter, level).said(language)?);
    }
    Ok(Answer::of(value))
}

/// `leafturn season stop-line`
#[derive(Debug, Args)]
pub(in crate::command::season) struct StopLine {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    scatter: ScatterOptions,
    /// Wanted standard error as a share of the mean, for the lines of Green (--a, --b) and Kuno (--alpha, --beta).
    #[arg(long, value_name = "SHARE", value_parser = positive, default_value = "0.25")]
    precision: f64,
    /// Test instead whether the mean is the lower or the higher of these two (with --k).
    #[arg(long, value_name = "LOW,HIGH", value_parser = two, requires = "k")]
    means: Option<(f64, f64)>,
    /// Chances to call a low mean high, and a high one low.
    #[arg(long, value_name = "A,B", value_parser = two, default_value = "0.1,0.1")]
    chances: (f64, f64),
    /// Numbers of plants at which the line is given.
    #[arg(long, value_name = "N,N", value_delimiter = ',', default_value = "10,25,50,100,200")]
    plants: Vec<u32>,
    /// Play the test (--means), or the advice (--at-least, with --k), through where the mean in truth is each of these.
    #[arg(long, value_name = "MEAN,MEAN", value_delimiter = ',', value_parser = positive)]
    true_means: Vec<f64>,
    /// k of what is played through, where it is another than the --k of the test.
    #[arg(long, value_name = "K", value_parser = positive, requires = "true_means")]
    true_k: Option<f64>,
    /// Advise by a goal instead: never fewer plants than this (with --at-most). Of a test: no decision before.
    #[arg(long, value_name = "N", requires = "at_most")]
    at_least: Option<u32>,
    /// Never more plants than this.
    #[arg(long, value_name = "N", requires = "at_least")]
    at_most: Option<u32>,
    /// Minutes of search so far, for the advice.
    #[arg(long, value_name = "MINUTES", value_parser = positive, default_value = "30")]
    minutes: f64,
    /// Minutes that may be spent, for the advice.
    #[arg(long, value_name = "MINUTES", value_parser = positive, default_value = "90")]
    most_minutes: f64,
    /// Plants at the whole site, for the advice.
    #[arg(long, value_name = "N")]
    plants_at_site: Option<u32>,
}

ask!(StopLine, "stop-line", stop_line);

/// Running totals of counts, from the first plant on.
fn running(counts: &[u32]) -> Vec<u64> {
    counts
        .iter()
        .scan(0_u64, |total, count| {
            *total += u64::from(*count);
            Some(*total)
        })
        .collect()
}

fn stop_line(asked: &StopLine) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let counts = match asked.common.source()? {
        Some(source) => Some(PlantCounts::decided(&source)?.counts),
        None => None,
    };
    if let Some(means) = asked.means {
        return Ok(test(asked, means, counts.as_deref(), language)?);
    }
    if let (Some(at_least), Some(at_most)) = (asked.at_least, asked.at_most) {
        let precision = Precision::HalfWidth { share: asked.precision, level: asked.common.interval };
        let goal = Goal { at_least, at_most, precision, minutes: asked.most_minutes };
        return Ok(by_goal(asked, &goal, counts.as_deref(), language)?);
    }
    if !asked.true_means.is_empty() {
        return Err(SeasonFault::usage("--true-means goes with --means, or with --at-least and --at-most").into());
    }
    let line = |units: u32| match (asked.scatter.taylor(), asked.scatter.iwao()) {
        (Some(law), _) => green_line(units, law, asked.precision).map(Some),
        (None, Some(line)) => kuno_line(units, line, asked.precision),
        (None, None) => Err(season::Refusal::Nothing),
    };
    if asked.scatter.taylor().is_none() && asked.scatter.iwao().is_none() {
        let problem = "--a with --b, --alpha with --beta, --k with --means, or --at-least with --at-most";
        return Err(SeasonFault::usage(problem).into());
    }
    asked.scatter.scatter()?;
    let lines = lines(&asked.plants, |units| line(units).said(language).map(|total| json!({ "total": total })))?;
    let mut value = json!({ "precision": asked.precision, "lines": lines });
    if let Some(counts) = &counts {
        let totals = running(counts);
        let mut reached = None;
        for (units, total) in (1_u32..).zip(&totals) {
            let needed = line(units).said(language)?;
            if reached.is_none() && units >= 2 && needed.is_some_and(|needed| *total as f64 >= needed) {
                reached = Some(units);
            }
        }
        value["counted"] = json!({ "plants": counts.len(), "total": totals.last(), "stop_at": reached });
    }
    let answer = Answer::of(value);
    Ok(answer.drawn(&asked.common, || {
        draw::stop_line(|units| line(units).ok().flatten(), &asked.plants, counts.as_deref(), language)
    })?)
}

/// Advice on the counts so far, and what plain intervals are worth where the advice is followed.
fn by_goal(asked: &StopLine, goal: &Goal, counts: Option<&[u32]>, language: Language) -> Result<Answer, SeasonFault> {
    if counts.is_none() && asked.true_means.is_empty() {
        return Err(SeasonFault::usage("a FILE of the counts so far is needed here, or --true-means"));
    }
    let mut value = json!({});
    if let Some(counts) = counts {
        let so_far = SoFar { counts, minutes: asked.minutes, units_at_site: asked.plants_at_site };
        value["plants"] = json!(counts.len());
        value["advice"] = whole(&advice(goal, &so_far, asked.common.interval).said(language)?);
    }
    if !asked.true_means.is_empty() {
        let k = option(asked.true_k.or(asked.scatter.k).as_ref(), "--k K, or --true-k,")?;
        let mut work = asked.common.work();
        let checks = asked.true_means.iter().map(|&mean| {
            let run = simulation(asked, goal.at_least, goal.at_most);
            let found = check_rule(goal, (mean, k), asked.common.interval, run, &mut |done| work.tell(done));
            json!({ "mean": mean, "check": part(&found, language) })
        });
        value["checks"] = checks.collect();
    }
    Ok(Answer::of(value))
}

const fn simulation(asked: &StopLine, at_least: u32, at_most: u32) -> Simulation {
    Simulation { runs: asked.common.resamples, seed: asked.common.seed, at_least, at_most }
}

/// A test that is played through ends undecided after so many plants, where nothing else is said.
const AT_MOST: u32 = 1_000;

fn lines(plants: &[u32], mut of: impl FnMut(u32) -> Result<Value, SeasonFault>) -> Result<Vec<Value>, SeasonFault> {
    plants
        .iter()
        .map(|&units| {
            let mut line = of(units)?;
            line["plants"] = json!(units);
            Ok(line)
        })
        .collect()
}

fn test(
    asked: &StopLine,
    means: (f64, f64),
    counts: Option<&[u32]>,
    language: Language,
) -> Result<Answer, SeasonFault> {
    let k = option(asked.scatter.k.as_ref(), "--k")?;
    let test = SequentialTest::new(k, means, asked.chances).said(language)?;
    let lines = lines(&asked.plants, |units| {
        let (low, high) = test.lines(units);
        Ok(json!({ "low": low, "high": high }))
    })?;
    let mut value = json!({ "slope": test.slope(), "lines": lines });
    if !asked.true_means.is_empty() {
        let true_k = asked.true_k.unwrap_or(k);
        let run = simulation(asked, asked.at_least.unwrap_or(1), asked.at_most.unwrap_or(AT_MOST));
        let mut work = asked.common.work();
        let operating = asked.true_means.iter().map(|&mean| {
            let found = test.operating((mean, true_k), run, &mut |done| work.tell(done));
            let mut line = part(&found, language);
            line["mean"] = json!(mean);
            line
        });
        value["operating"] = operating.collect();
    }
    if let Some(counts) = counts {
        let total: u64 = counts.iter().copied().map(u64::from).sum();
        let units = u32::try_from(counts.len()).unwrap_or(u32::MAX);
        value["counted"] = json!({
            "plants": units,
            "total": total,
            "log_likelihood_ratio": test.log_likelihood_ratio(units, total),
            "decision": test.decide(units, total),
        });
    }
    Answer::of(value).drawn(&asked.common, || draw::test_lines(&test, &asked.plants, counts, language))
}
