//! Passage through the stages, survival, egg fate.

use super::ask;
use super::warmth::{HeatOptions, days_at, development, widths};
use crate::command::CommandError;
use crate::command::season::answer::{Answer, part, whole};
use crate::command::season::common::{self, Common, finite, option, positive};
use crate::command::season::draw;
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::{Columns, Numbers, Series, Source, Table, TaggedPlants};
use clap::{Args, ValueEnum};
use messages::Language;
use season::passage::{
    ClockModel, Development, Exposure, Fate, Mortality, Residence, Scatter, StageSeries, entering, kiritani_nakasuji,
    knm, knm_truncated, logistic_exposure, mayfield, mean_date, present, richards_waloff, southwood, stage_areas,
    stage_clock, tagged_area,
};
use season::years::{season_index, weekly};
use season::{Level, Point, Refusal, id};
use serde_json::{Value, json};
use std::path::PathBuf;
use survey::date::Date;

/// Where heat over the days of a series comes from.
#[derive(Debug, Args)]
struct SeriesOptions {
    #[command(flatten)]
    heat: HeatOptions,
    /// Weather of the season (date,tmin,tmax), from before the first eggs that the first visit could see.
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,
    /// Date of day 1, where the series has days without dates.
    #[arg(long, value_name = "DATE", value_parser = common::date)]
    day_one: Option<Date>,
    /// Take every day at this temperature, degrees C, instead of --weather.
    #[arg(long, value_name = "CELSIUS", value_parser = finite, allow_hyphen_values = true, conflicts_with = "weather")]
    at: Option<f64>,
    /// The counts are expected values of a model, which need not be whole.
    #[arg(long)]
    expected: bool,
}

/// Days before the first visit and after the last that a constant temperature is taken for.
const LEAD: f64 = 60.0;

impl SeriesOptions {
    fn read(&self, source: &Source) -> Result<Series, SeasonFault> {
        Series::read(source, if self.expected { Numbers::Expected } else { Numbers::Counted })
    }

    fn development(&self, series: &Series, language: Language) -> Result<Option<Development>, CommandError> {
        let counting = self.heat.counting()?;
        if let Some(at) = self.at {
            let day = season::degree_days::Day::new(season::degree_days::Celsius(at), season::degree_days::Celsius(at))
                .ok_or_else(|| SeasonFault::usage(format!("{at} is no temperature of the air")))?;
            let rate = counting.of_day(day, Some(day));
            let (first, last) = (series.days[0], series.days[series.days.len() - 1]);
            return Ok(Some(Development::constant(first - LEAD, last + LEAD, rate).said(language)?));
        }
        let Some(path) = &self.weather else { return Ok(None) };
        let first = match (&series.dates, self.day_one) {
            (Some(dates), _) => dates[0],
            (None, Some(date)) => date,
            (None, None) => {
                return Err(SeasonFault::usage("--day-one DATE is needed, for the series has no dates").into());
            }
        };
        let weather = self.heat.weather(&Source::open(path)?, language)?;
        let number = |date: Date| (date.naive() - first.naive()).num_days() as f64 + 1.0;
        Ok(Some(development(&weather, &counting, number, language)?))
    }
}

/// The series per plant where the effort is known, as counted where it is not.
fn stage_series(series: &Series, language: Language) -> Result<StageSeries, SeasonFault> {
    let rows = match &series.checked {
        Some(checked) => series
            .rows
            .iter()
            .zip(checked)
            .map(|(row, checked)| row.iter().map(|count| count / f64::from(*checked)).collect())
            .collect(),
        None => series.rows.clone(),
    };
    StageSeries::new(series.days.clone(), rows).said(language)
}

fn heading(series: &Series) -> &'static str {
    if series.checked.is_some() { id::HEADING_COUNTED.name() } else { id::HEADING_TOTALS_EFFORT_UNKNOWN.name() }
}

/// `leafturn season passage`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Passage {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    series: SeriesOptions,
    /// Daily loss of each stage, known from elsewhere, such as 0.5,0.2,0.2,0.1,0.1,0.1: gives numbers entering.
    #[arg(long, value_name = "RATES", value_delimiter = ',', value_parser = finite)]
    mortality: Vec<f64>,
}

ask!(Passage, "passage", passage);

fn passage(asked: &Passage) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let source = asked.common.needed()?;
    if Table::names_of(&source)?.iter().any(|name| name == "plant") {
        return Ok(of_tagged(asked, &source, language)?);
    }
    let series = asked.series.read(&source)?;
    let counted = stage_series(&series, language)?;
    let widths = widths(&series.stages)?;
    let by_days = stage_areas(&counted).said(language)?;
    let clock = asked.series.development(&series, language)?;
    let by_heat = match &clock {
        Some(clock) => Some(in_heat(&counted, clock, language)?),
        None => None,
    };
    let heat_areas = by_heat.as_ref().map(stage_areas).transpose().said(language)?;
    let durations = asked.series.at.map(|at| days_at(&series.stages, at, language)).transpose()?;
    let daily = present(&counted, &widths);
    let heated = by_heat.as_ref().map(|series| present(series, &widths));
    let mut stages = Vec::new();
    for (index, stage) in series.stages.iter().enumerate() {
        let mean = mean_date(&counted, index);
        let mut one = json!({
            "stage": stage,
            "total": series.rows.iter().map(|row| row[index]).sum::<f64>(),
            "area_days": by_days[index],
            "area_degree_days": heat_areas.as_ref().map(|areas| areas[index]),
            "mean_day": mean.as_ref().ok().map(|found| found.value),
            "present_per_duration_days": daily.as_ref().ok().map(|found| found.per_duration[index]),
            "present_per_duration_degree_days": heated
                .as_ref()
                .and_then(|found| found.as_ref().ok())
                .map(|found| found.per_duration[index]),
        });
        if let (Some(durations), Some(rate)) = (&durations, asked.mortality.get(index)) {
            one["entering"] = part(&entering(by_days[index], durations[index], *rate), language);
        }
        stages.push(one);
    }
    if !asked.mortality.is_empty() && (durations.is_none() || asked.mortality.len() != series.stages.len()) {
        let problem = "--mortality needs one rate for each stage, and --at for the stages' durations";
        return Err(SeasonFault::usage(problem).into());
    }
    let all: Vec<Point> =
        counted.times().iter().zip(counted.from_stage(0)).map(|(&day, value)| Point { day, value }).collect();
    let mut value = json!({
        "heading": heading(&series),
        "unit": series.unit.map(survey::protocol::Unit::name),
        "stages": stages,
        "ratio_over_days": part(&daily.map(|found| found.ratio), language),
        "season_index": part(&season_index(&all, all[0].day), language),
        "weeks": whole(&weekly(&all, all[0].day).said(language)?),
        "mean_egg_day": part(&mean_date(&counted, 0), language),
        "undecided": series
            .undecided
            .iter()
            .map(|(what, counts)| json!({ "outcomes": what, "total": counts.iter().sum::<u32>() }))
            .collect::<Vec<_>>(),
    });
    if let Some(found) = heated {
        value["ratio_over_degree_days"] = part(&found.map(|found| found.ratio), language);
    }
    Ok(Answer::of(value).drawn(&asked.common, || draw::succession(&series, language))?)
}

/// Area under the counts of tagged plants, the same ones at each visit; an empty count is a plant that was not found or
/// not checked then.
fn of_tagged(asked: &Passage, source: &Source, language: Language) -> Result<Answer, SeasonFault> {
    let visits = TaggedPlants::read(source)?;
    let mut work = asked.common.work();
    let found =
        tagged_area(&visits.days, &visits.plants, asked.common.bootstrap(), asked.common.interval, &mut |done| {
            work.tell(done)
        });
    Ok(Answer::of(json!({
        "heading": id::HEADING_COUNTED,
        "plants": visits.plants.len(),
        "visits": visits.days.len(),
        "tagged_area": found.said(language)?,
    })))
}

/// The same visits at the heat sums they fall on.
fn in_heat(series: &StageSeries, clock: &Development, language: Language) -> Result<StageSeries, SeasonFault> {
    let sums: Vec<f64> = series.times().iter().map(|&day| clock.at(day)).collect();
    series.at_times(sums).said(language)
}

/// `leafturn season survival`
#[derive(Debug, Args)]
pub(in crate::command::season) struct SurvivalOf {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    series: SeriesOptions,
    /// Share of each stage's animals that is seen, from double counts, one for each stage; without it 1, uncorrected.
    #[arg(long, value_name = "SHARES", value_delimiter = ',', value_parser = positive)]
    detection: Vec<f64>,
    /// Least and greatest share of its duration that the last stage stays on the plant.
    #[arg(long, value_name = "LOW,HIGH", value_parser = common::two, default_value = "0.7,1")]
    residence: (f64, f64),
    /// Which stages die at the same rate per day.
    #[arg(long, value_enum, default_value_t = MortalityName::EggsAndRest)]
    losses: MortalityName,
    /// How counts scatter.
    #[arg(long, value_enum, default_value_t = ScatterName::Clumped)]
    scatter: ScatterName,
    /// Days of the samples that Richards and Waloff's line is drawn through, FROM,TO; without it from the peak on.
    #[arg(long, value_name = "FROM,TO", value_parser = common::two)]
    fall: Option<(f64, f64)>,
    /// Days that each stage lasts, for Kiritani-Nakasuji and Southwood, instead of those at --at.
    #[arg(long, value_name = "DAYS", value_delimiter = ',', value_parser = positive)]
    durations: Vec<f64>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum MortalityName {
    /// All.
    Same,
    /// Eggs by themselves, larvae together.
    EggsAndRest,
    /// Each by itself; needs nearly daily visits.
    Each,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ScatterName {
    /// By chance alone.
    Poisson,
    /// More than that, by a negative binomial.
    Clumped,
}

ask!(SurvivalOf, "survival", survival);

fn survival(asked: &SurvivalOf) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let series = asked.series.read(&asked.common.needed()?)?;
    let counted = stage_series(&series, language)?;
    let totals = StageSeries::new(series.days.clone(), series.rows.clone()).said(language)?;
    let mut value = json!({ "heading": heading(&series) });
    if let Some(clock) = asked.series.development(&series, language)? {
        let (low, high) = by_clock(asked, &series, &totals, &clock, language)?;
        value["clock"] = high;
        value["clock_if_last_stage_leaves_early"] = low;
    }
    let durations = match (asked.durations.as_slice(), asked.series.at) {
        ([], Some(at)) => Some(days_at(&series.stages, at, language)?),
        ([], None) => None,
        (own, _) => Some(own.to_vec()),
    };
    let mut comparison = json!({
        "knm": part(&knm(&counted), language),
        "knm_truncated": part(&knm_truncated(&counted), language),
        "richards_waloff": part(&fall(&counted, asked.fall, level), language),
    });
    if let Some(durations) = &durations {
        let last = durations.len().min(series.stages.len()).saturating_sub(1);
        // The last stage has no next one to reach.
        let before_last = if durations.len() == series.stages.len() { &durations[..last] } else { durations };
        comparison["kiritani_nakasuji"] = part(&kiritani_nakasuji(&counted, before_last), language);
        comparison["southwood"] = part(&southwood(&counted, durations), language);
    }
    value["for_comparison_only"] = comparison;
    Ok(Answer::of(value).drawn(&asked.common, || draw::succession(&series, language))?)
}

fn by_clock(
    asked: &SurvivalOf,
    series: &Series,
    totals: &StageSeries,
    clock: &Development,
    language: Language,
) -> Result<(Value, Value), SeasonFault> {
    let (low, high) = asked.residence;
    let model = |share: f64| -> Result<ClockModel, SeasonFault> {
        Ok(ClockModel {
            effort: match &series.checked {
                Some(checked) => checked.iter().copied().map(f64::from).collect(),
                None => vec![1.0; series.days.len()],
            },
            clock: clock.clone(),
            widths: widths(&series.stages)?,
            detection: (!asked.detection.is_empty()).then(|| asked.detection.clone()),
            residence: Residence::new(share).map_err(|_| SeasonFault::usage("--residence lies between 0.5 and 1"))?,
            mortality: match asked.losses {
                MortalityName::Same => Mortality::Same,
                MortalityName::EggsAndRest => Mortality::FirstAndRest,
                MortalityName::Each => Mortality::Each,
            },
            scatter: match asked.scatter {
                ScatterName::Poisson => Scatter::Poisson,
                ScatterName::Clumped => Scatter::NegativeBinomial,
            },
        })
    };
    let fit =
        |share: f64| Ok::<_, SeasonFault>(part(&stage_clock(totals, &model(share)?, asked.common.interval), language));
    Ok((fit(low)?, fit(high)?))
}

fn fall(
    series: &StageSeries,
    span: Option<(f64, f64)>,
    level: Level,
) -> Result<season::passage::RichardsWaloff, Refusal> {
    let sums = series.from_stage(0);
    let peak = (0..sums.len()).max_by(|&one, &other| sums[one].total_cmp(&sums[other])).unwrap_or(0);
    let some = sums.iter().rposition(|sum| *sum > 0.0).unwrap_or(0);
    let (from, to) = span.unwrap_or((series.times()[peak], series.times()[some]));
    richards_waloff(series, from, to, level)
}

/// `leafturn season egg-fate`
#[derive(Debug, Args)]
pub(in crate::command::season) struct EggFate {
    #[command(flatten)]
    common: Common,
    /// Days from laying to hatching.
    #[arg(long, value_name = "DAYS", value_parser = positive)]
    days: Option<f64>,
    /// Constant temperature, degrees C, from which the clock says the days.
    #[arg(long, value_name = "CELSIUS", value_parser = finite, conflicts_with = "days")]
    at: Option<f64>,
}

ask!(EggFate, "egg-fate", egg_fate);

fn egg_fate(asked: &EggFate) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let source = asked.common.needed()?;
    let columns = Columns { needed: &["days", "fate"], allowed: &[], beginning: Some("with:") };
    let table = Table::read(&source, columns)?;
    let names: Vec<String> = table.names().filter(|name| name.starts_with("with:")).map(str::to_owned).collect();
    let mut exposures = Vec::new();
    let mut covariates = vec![Vec::new(); names.len()];
    for row in table.rows() {
        let days = row.number("days")?;
        if days <= 0.0 {
            return Err(row.fault("days", "an interval is longer than 0 days").into());
        }
        let fate = match row.needed("fate")? {
            "survived" | "hatched" => Fate::Survived,
            "died" | "gone" | "collapsed" | "dark" => Fate::Died,
            "unknown" | "leaf-lost" => Fate::Unknown,
            other => {
                let problem = format!(
                    "{other:?} is no fate; use survived or hatched, died, gone, collapsed or dark, unknown or leaf-lost"
                );
                return Err(row.fault("fate", problem).into());
            }
        };
        for (covariate, name) in covariates.iter_mut().zip(&names) {
            covariate.push(row.number(name)?);
        }
        exposures.push(Exposure { days, fate });
    }
    let period = match (asked.days, asked.at) {
        (Some(days), _) => days,
        (None, Some(at)) => days_at(&[survey::stage::Stage::Egg], at, language)?[0],
        (None, None) => option(None, "--days DAYS or --at CELSIUS")?,
    };
    Ok(Answer::of(json!({
        "period_days": period,
        "logistic_exposure": part(&logistic_exposure(&exposures, &covariates, level), language),
        "mayfield": whole(&mayfield(&exposures, period, level).said(language)?),
    })))
}
