//! Heat and the stage clock: degree-days, durations, stage dates, laying dates, next visit.

use super::ask;
use crate::command::CommandError;
use crate::command::season::answer::{Answer, whole};
use crate::command::season::common::{self, Common, finite, option};
use crate::command::season::draw;
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::{Columns, Source, Table, asked_weather};
use chrono::NaiveDateTime;
use clap::{Args, ValueEnum};
use messages::Language;
use season::clock::{
    Cohort, Normals, Rearing, Span, StageClock, Temperatures, durations, falls_below, fit_rates, laying_dates,
    next_visit, stage_dates, stage_fits,
};
use season::degree_days::{
    Celsius, Counting, Cutoff, Day, Filled, Gaps, Method, Scale, Thresholds, Weather, hourly, sum,
};
use season::{Estimate, Level};
use serde_json::{Value, json};
use std::path::PathBuf;
use survey::date::Date;
use survey::stage::Stage;

/// How heat is counted.
#[derive(Debug, Args)]
pub(super) struct HeatOptions {
    /// Lower threshold, in the unit of --unit. The monarch's is 11.5 °C.
    #[arg(long, value_name = "DEGREES", value_parser = finite, allow_hyphen_values = true)]
    lower: Option<f64>,
    /// Upper threshold, in the unit of --unit. The monarch's is 33 °C.
    #[arg(long, value_name = "DEGREES", value_parser = finite, allow_hyphen_values = true)]
    upper: Option<f64>,
    /// No upper threshold.
    #[arg(long, conflicts_with = "upper")]
    no_upper: bool,
    /// How a day's course is taken.
    #[arg(long, value_enum, default_value_t = MethodName::SingleSine)]
    method: MethodName,
    /// What heat above the upper threshold counts.
    #[arg(long, value_enum, default_value_t = CutoffName::Horizontal)]
    cutoff: CutoffName,
    /// Unit of temperatures in files and options: degrees Celsius or Fahrenheit.
    #[arg(long, value_enum)]
    unit: Option<UnitName>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum MethodName {
    SingleSine,
    DoubleSine,
    SingleTriangle,
    DoubleTriangle,
    Average,
    ClampedAverage,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum CutoffName {
    Horizontal,
    Vertical,
    Intermediate,
}

/// A unit of temperature.
#[derive(Debug, Clone, Copy, PartialEq, Eq, ValueEnum)]
pub(super) enum UnitName {
    C,
    F,
}

impl UnitName {
    pub(super) const fn scale(self) -> Scale {
        match self {
            Self::C => Scale::Celsius,
            Self::F => Scale::Fahrenheit,
        }
    }
}

impl HeatOptions {
    fn scale(&self) -> Option<Scale> {
        self.unit.map(UnitName::scale)
    }

    fn spoken(&self) -> Scale {
        self.scale().unwrap_or(Scale::Celsius)
    }

    pub(super) fn thresholds(&self) -> Result<Thresholds, SeasonFault> {
        let read = |number: f64| self.spoken().read(number);
        let lower = self.lower.map_or(Thresholds::MONARCH.lower(), read);
        let upper = match (self.upper, self.no_upper) {
            (_, true) => None,
            (Some(upper), false) => Some(read(upper)),
            (None, false) => Thresholds::MONARCH.upper(),
        };
        Ok(Thresholds::new(lower, upper)?)
    }

    fn cutoff(&self) -> Cutoff {
        match self.cutoff {
            CutoffName::Horizontal => Cutoff::Horizontal,
            CutoffName::Vertical => Cutoff::Vertical,
            CutoffName::Intermediate => Cutoff::Intermediate,
        }
    }

    pub(super) fn counting(&self) -> Result<Counting, SeasonFault> {
        let method = match self.method {
            MethodName::SingleSine => Method::SingleSine,
            MethodName::DoubleSine => Method::DoubleSine,
            MethodName::SingleTriangle => Method::SingleTriangle,
            MethodName::DoubleTriangle => Method::DoubleTriangle,
            MethodName::Average => Method::Average,
            MethodName::ClampedAverage => Method::ClampedAverage,
        };
        Ok(Counting::new(method, self.cutoff(), self.thresholds()?)?)
    }

    pub(super) fn clock(&self) -> Result<StageClock, SeasonFault> {
        Ok(StageClock::monarch().counting_by(self.counting()?))
    }

    pub(super) fn weather(&self, source: &Source, language: Language) -> Result<Weather, SeasonFault> {
        asked_weather(source, self.scale(), language)
    }
}

/// Where temperatures come from.
#[derive(Debug, Args)]
pub(super) struct WarmthOptions {
    #[command(flatten)]
    heat: HeatOptions,
    /// Take every day at this constant temperature, degrees C, instead of a weather file.
    #[arg(long, value_name = "CELSIUS", value_parser = finite, allow_hyphen_values = true)]
    at: Option<f64>,
    /// Weather of other years (date,tmin,tmax), which stands in for days that the weather does not have.
    #[arg(long, value_name = "FILE")]
    normals: Option<PathBuf>,
}

/// Days on either side of a date that a constant temperature is taken for.
const REACH: i64 = 400;

impl WarmthOptions {
    fn temperatures(&self, common: &Common, around: Date) -> Result<Temperatures, CommandError> {
        let language = common.tongue();
        let weather = match (self.at, common.source()?) {
            (Some(_), Some(_)) => return Err(SeasonFault::usage("either a weather FILE or --at, not both").into()),
            (Some(at), None) => constant(at, around)?,
            (None, Some(source)) => self.heat.weather(&source, language)?,
            (None, None) => return Err(SeasonFault::usage("a weather FILE is needed here, or --at").into()),
        };
        let normals = match &self.normals {
            Some(path) => Some(Normals::of(&self.heat.weather(&Source::open(path)?, language)?)),
            None => None,
        };
        Ok(Temperatures::new(weather, normals))
    }
}

fn constant(at: f64, around: Date) -> Result<Weather, SeasonFault> {
    let day = Day::new(Celsius(at), Celsius(at))
        .ok_or_else(|| SeasonFault::usage(format!("{at} is no temperature of the air")))?;
    let days = (-REACH..=REACH)
        .filter_map(|by| around.naive().checked_add_signed(chrono::Duration::days(by)))
        .map(|date| (Date::from(date), day));
    Ok(days.collect())
}

/// `leafturn season degree-days`
#[derive(Debug, Args)]
pub(in crate::command::season) struct DegreeDays {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    heat: HeatOptions,
}

ask!(DegreeDays, "degree-days", degree_days);

fn degree_days(asked: &DegreeDays) -> Result<Answer, CommandError> {
    let (language, scale) = (asked.common.tongue(), asked.heat.spoken());
    let source = asked.common.needed()?;
    if Table::names_of(&source)?.iter().any(|name| name == "temperature") {
        return Ok(by_hour(&source, &asked.heat, language)?);
    }
    let counting = asked.heat.counting()?;
    let weather = asked.heat.weather(&source, language)?;
    let (Some(first), Some(last)) = (weather.first(), weather.last()) else {
        return Err(source.fault_of_all("no day has both temperatures").into());
    };
    let found = sum(&Filled::over(&weather, first, last, Gaps::Interpolate), &counting).said(language)?;
    let mut so_far = 0.0;
    let days: Vec<Value> = found
        .days
        .iter()
        .map(|day| {
            so_far += day.degree_days.unwrap_or(0.0);
            let degree_days = day.degree_days.map(|heat| scale.degree_days(heat));
            json!({
                "date": day.date, "degree_days": degree_days, "sum": scale.degree_days(so_far), "known": day.known,
            })
        })
        .collect();
    let value = json!({
        "unit": scale,
        "total": scale.degree_days(found.with_interpolated()),
        "measured": in_scale(&found.measured, scale),
        "interpolated": scale.degree_days(found.interpolated),
        "interpolated_days": found.interpolated_days,
        "missing_days": found.missing_days,
        "days": days,
    });
    let answer = Answer::of(value);
    Ok(answer.drawn(&asked.common, || {
        draw::heat(&found, &asked.heat.clock().unwrap_or_else(|_| StageClock::monarch()), language)
    })?)
}

fn in_scale(estimate: &Estimate, scale: Scale) -> Value {
    whole(&Estimate { value: scale.degree_days(estimate.value), ..estimate.clone() })
}

fn by_hour(source: &Source, heat: &HeatOptions, language: Language) -> Result<Answer, SeasonFault> {
    let columns = Columns { needed: &["time", "temperature"], allowed: &[], beginning: None };
    let table = Table::read(source, columns)?;
    let mut hours: Vec<Option<Celsius>> = Vec::new();
    let mut last: Option<NaiveDateTime> = None;
    for row in table.rows() {
        let text = row.needed("time")?;
        let time = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M", "%Y-%m-%d %H:%M:%S"]
            .iter()
            .find_map(|form| NaiveDateTime::parse_from_str(text, form).ok())
            .ok_or_else(|| row.fault("time", format!("{text:?} is no time; write it as 2026-06-30T14:00")))?;
        if let Some(last) = last {
            let minutes = (time - last).num_minutes();
            if minutes <= 0 || minutes % 60 != 0 {
                return Err(row.fault("time", "the hours must be in order, one to a row"));
            }
            let missing = usize::try_from(minutes / 60 - 1).unwrap_or(usize::MAX);
            if missing > 24 * 400 {
                return Err(row.fault("time", "more than a year is missing before this hour"));
            }
            hours.extend(std::iter::repeat_n(None, missing));
        }
        last = Some(time);
        hours.push(row.number_if("temperature")?.map(|number| heat.spoken().read(number)));
    }
    let found = hourly(&hours, heat.thresholds()?, heat.cutoff()).said(language)?;
    Ok(Answer::of(json!({
        "unit": heat.spoken(),
        "total": heat.spoken().degree_days(found.known.value),
        "measured": in_scale(&found.known, heat.spoken()),
        "missing_hours": found.missing_hours,
    })))
}

/// `leafturn season durations`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Durations {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    heat: HeatOptions,
    /// Constant temperature, degrees C.
    #[arg(long, value_name = "CELSIUS", value_parser = finite, allow_hyphen_values = true)]
    at: Option<f64>,
}

ask!(Durations, "durations", stage_durations);

fn stage_durations(asked: &Durations) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    match (asked.at, asked.common.source()?) {
        (Some(at), None) => {
            let stages = durations(&asked.heat.clock()?, Celsius(at), level).said(language)?;
            Ok(Answer::of(json!({ "at": at, "stages": stages })))
        }
        (None, Some(source)) => {
            let columns = Columns { needed: &["at", "days"], allowed: &[], beginning: None };
            let reared = Table::read(&source, columns)?
                .rows()
                .map(|row| Ok(Rearing { at: Celsius(row.number("at")?), days: row.number("days")? }))
                .collect::<Result<Vec<_>, SeasonFault>>()?;
            Ok(Answer::of(whole(&fit_rates(&reared, level).said(language)?)))
        }
        (Some(_), Some(_)) | (None, None) => {
            Err(SeasonFault::usage("either --at, or a FILE of rearings (at,days)").into())
        }
    }
}

/// `leafturn season stage-dates`
#[derive(Debug, Args)]
pub(in crate::command::season) struct StageDates {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    warmth: WarmthOptions,
    /// When the egg was laid.
    #[arg(long, value_name = "DATE", value_parser = common::date)]
    laid: Option<Date>,
}

ask!(StageDates, "stage-dates", dates);

fn dates(asked: &StageDates) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let laid = option(asked.laid.as_ref(), "--laid DATE")?;
    let temperatures = asked.warmth.temperatures(&asked.common, laid)?;
    let clock = asked.warmth.heat.clock()?;
    let found = stage_dates(&clock, laid, &temperatures, asked.common.interval).said(language)?;
    let answer = Answer::of(whole(&found));
    Ok(answer.drawn(&asked.common, || draw::stage_dates(&found, &clock, &temperatures, language))?)
}

/// `leafturn season laying-dates`
#[derive(Debug, Args)]
pub(in crate::command::season) struct LayingDates {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    warmth: WarmthOptions,
    /// The stage that was seen.
    #[arg(long, value_name = "STAGE", value_parser = common::stage)]
    seen: Option<Stage>,
    /// When it was seen.
    #[arg(long, value_name = "DATE", value_parser = common::date)]
    on: Option<Date>,
    /// Say whether it fits with laying from this date on (with --laid-until).
    #[arg(long, value_name = "DATE", value_parser = common::date, requires = "laid_until")]
    laid_from: Option<Date>,
    /// Say whether it fits with laying up to this date (with --laid-from).
    #[arg(long, value_name = "DATE", value_parser = common::date, requires = "laid_from")]
    laid_until: Option<Date>,
}

ask!(LayingDates, "laying-dates", laid);

fn laid(asked: &LayingDates) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let seen = option(asked.seen.as_ref(), "--seen STAGE")?;
    let on = option(asked.on.as_ref(), "--on DATE")?;
    let temperatures = asked.warmth.temperatures(&asked.common, on)?;
    let clock = asked.warmth.heat.clock()?;
    let found = laying_dates(&clock, (seen, on), &temperatures, level).said(language)?;
    let mut value = whole(&found);
    if let (Some(from), Some(to)) = (asked.laid_from, asked.laid_until) {
        if from > to {
            return Err(SeasonFault::usage("--laid-from is after --laid-until").into());
        }
        let fit = stage_fits(&clock, (seen, on), Span { from, to }, &temperatures, level).said(language)?;
        value["verdict"] = whole(&fit.verdict);
    }
    Ok(Answer::of(value))
}

/// `leafturn season next-visit`
#[derive(Debug, Args)]
pub(in crate::command::season) struct NextVisit {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    warmth: WarmthOptions,
    /// Date of this visit.
    #[arg(long, value_name = "DATE", value_parser = common::date)]
    on: Option<Date>,
    /// Which eggs are asked about.
    #[arg(long, value_enum, default_value_t = CohortName::DayAfter)]
    cohort: CohortName,
    /// The last stage that counts as young.
    #[arg(long, value_name = "STAGE", value_parser = common::stage, default_value = "larva1")]
    young_until: Stage,
    /// Also name the first date at which the chance is below this share.
    #[arg(long, value_name = "SHARE", value_parser = finite)]
    below: Option<f64>,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum CohortName {
    /// Those laid the day after this visit.
    DayAfter,
    /// Those laid evenly from this visit to the next.
    Evenly,
}

ask!(NextVisit, "next-visit", again);

fn again(asked: &NextVisit) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let on = option(asked.on.as_ref(), "--on DATE")?;
    let temperatures = asked.warmth.temperatures(&asked.common, on)?;
    let clock = asked.warmth.heat.clock()?;
    let cohort = match asked.cohort {
        CohortName::DayAfter => Cohort::LaidTheDayAfter,
        CohortName::Evenly => Cohort::LaidEvenly,
    };
    let question = (cohort, asked.young_until);
    let visits = next_visit(&clock, on, question, &temperatures).said(language)?;
    let mut value = json!({ "visits": visits });
    if let Some(share) = asked.below {
        value["below"] = json!(share);
        value["falls_below_on"] = whole(&falls_below(&clock, on, question, &temperatures, share).said(language)?);
    }
    Ok(Answer::of(value))
}

/// The clock's degree-days from a weather, as sums over numbered days; `number` gives a date its number.
pub(super) fn development(
    weather: &Weather,
    counting: &Counting,
    number: impl Fn(Date) -> f64,
    language: Language,
) -> Result<season::passage::Development, SeasonFault> {
    let (Some(first), Some(last)) = (weather.first(), weather.last()) else {
        return Err(SeasonFault::refused(&season::Refusal::Nothing, language));
    };
    let found = sum(&Filled::over(weather, first, last, Gaps::Interpolate), counting).said(language)?;
    if found.missing_days > 0 {
        return Err(SeasonFault::Asks(messages::say(
            language,
            "season-answer.weather-has-gaps",
            &[("number", u64::try_from(found.missing_days).unwrap_or(u64::MAX).into())],
        )));
    }
    // A day's heat lies between the half days before and after its number.
    let mut sums = vec![0.0];
    for day in &found.days {
        sums.push(sums[sums.len() - 1] + day.degree_days.unwrap_or(0.0));
    }
    let start = number(first) - 0.5;
    let days = (0..sums.len()).map(|index| start + index as f64).collect();
    season::passage::Development::new(days, sums).said(language)
}

/// Heat that each of these stages takes.
pub(super) fn widths(stages: &[Stage]) -> Result<Vec<f64>, SeasonFault> {
    let clock = StageClock::monarch();
    let width = |stage: &Stage| {
        let found = clock.stages().iter().find(|own| own.stage == *stage).map(|own| own.degree_days);
        found.ok_or_else(|| SeasonFault::usage(format!("the clock has no {stage}")))
    };
    stages.iter().map(width).collect()
}

/// Days that each of these stages takes at a temperature.
pub(super) fn days_at(stages: &[Stage], at: f64, language: Language) -> Result<Vec<f64>, SeasonFault> {
    let all = durations(&StageClock::monarch(), Celsius(at), Level::P95).said(language)?;
    let days = |stage: &Stage| {
        let found = all.iter().find(|own| own.stage == *stage).map(|own| own.days.value);
        found.ok_or_else(|| SeasonFault::usage(format!("the clock has no {stage}")))
    };
    stages.iter().map(days).collect()
}
