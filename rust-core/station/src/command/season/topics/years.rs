//! Comparisons, years, mowing.

use super::ask;
use super::warmth::{HeatOptions, development, widths};
use crate::command::CommandError;
use crate::command::season::answer::{Answer, part, whole};
use crate::command::season::common::{Common, finite};
use crate::command::season::draw;
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::{Columns, Source, Table, Year, small, years};
use chrono::Datelike as _;
use clap::Args;
use messages::Language;
use season::clock::AIR_AND_LEAF_DIFFER;
use season::degree_days::{Celsius, Day, Weather};
use season::densities::{Contrast, Period, Row, Side, compare};
use season::years::{
    Cut, Laying, LivingMean, Mowing, MowingVisit, SiteYear, TrendModel, log_linear, mann_kendall, mowing, site_years,
    theil_sen, wording,
};
use serde::Deserialize;
use serde_json::{Value, json};
use std::collections::BTreeMap;
use std::path::PathBuf;
use survey::date::Date;
use survey::stage::Stage;

/// `leafturn season compare`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Compare {
    #[command(flatten)]
    common: Common,
    /// The side that is compared with; without it the first in the file.
    #[arg(long, value_name = "NAME")]
    reference: Option<String>,
}

ask!(Compare, "compare", comparison);

fn comparison(asked: &Compare) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let source = asked.common.needed()?;
    let columns = Columns {
        needed: &["count", "checked", "side"],
        allowed: &["site", "week", "date", "period"],
        beginning: None,
    };
    let table = Table::read(&source, columns)?;
    let mut names: Vec<String> = Vec::new();
    let mut places: Vec<String> = Vec::new();
    let mut rows = Vec::new();
    for row in table.rows() {
        let which = numbered(&mut names, row.needed("side")?);
        if which > 1 {
            return Err(row.fault("side", "a third side; two are compared").into());
        }
        let place = row.text("site").map_or(Ok(0), |name| Ok::<u32, SeasonFault>(numbered(&mut places, name)))?;
        let week = match (row.count_if("week")?, row.text("date")) {
            (Some(week), _) => week,
            (None, Some(_)) => row.date("date")?.naive().iso_week().week(),
            (None, None) => 0,
        };
        let effort = row.count("checked")?;
        if effort == 0 {
            return Err(row.fault("checked", "nothing was checked; leave such a visit out").into());
        }
        let period = match row.text("period") {
            None | Some("before") => Period::Before,
            Some("after") => Period::After,
            Some(other) => {
                return Err(row.fault("period", format!("{other:?} is neither before nor after")).into());
            }
        };
        let side = if which == 0 { Side::Reference } else { Side::Compared };
        rows.push(Row { animals: row.count("count")?, effort, site: place, week, side, period });
    }
    if let Some(reference) = &asked.reference {
        match names.iter().position(|name| name == reference) {
            Some(0) => {}
            Some(_) => {
                names.reverse();
                for row in &mut rows {
                    row.side = if row.side == Side::Reference { Side::Compared } else { Side::Reference };
                }
            }
            None => return Err(SeasonFault::usage(format!("no side is named {reference:?}")).into()),
        }
    }
    let contrast = if table.has("period") { Contrast::BeforeAfterControlImpact } else { Contrast::Sides };
    let mut work = asked.common.work();
    let mut watch = |done| work.tell(done);
    let found = compare(&rows, contrast, asked.common.bootstrap(), asked.common.interval, &mut watch).said(language)?;
    let mut value = whole(&found);
    value["reference"] = json!(names.first());
    value["compared"] = json!(names.get(1));
    Ok(Answer::of(value))
}

fn numbered(names: &mut Vec<String>, name: &str) -> u32 {
    let index = names.iter().position(|own| own == name).unwrap_or_else(|| {
        names.push(name.to_owned());
        names.len() - 1
    });
    u32::try_from(index).unwrap_or(u32::MAX)
}

/// `leafturn season trend`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Trend {
    #[command(flatten)]
    common: Common,
}

ask!(Trend, "trend", trend);

fn trend(asked: &Trend) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let source = asked.common.needed()?;
    let rows = years(&source)?;
    if rows.iter().any(|row| row.site.is_some()) {
        return Ok(of_sites(asked, &source, &rows)?);
    }
    Ok(of_one(asked, &rows, language)?)
}

fn of_one(asked: &Trend, rows: &[Year], language: Language) -> Result<Answer, SeasonFault> {
    let level = asked.common.interval;
    let mut rows = rows.to_vec();
    rows.sort_by_key(|row| row.year);
    if let Some(pair) = rows.windows(2).find(|pair| pair[0].year == pair[1].year) {
        let words = messages::say(language, season::years::id::REFUSED_SAME_YEAR.name(), &[]);
        let words = format!("{words} ({})", pair[0].year);
        return Err(SeasonFault::Refused { reason: season::years::id::REFUSED_SAME_YEAR, words });
    }
    let densities: Vec<f64> = rows.iter().map(|row| row.value / row.effort.unwrap_or(1.0)).collect();
    let points: Vec<(f64, f64)> =
        rows.iter().zip(&densities).map(|(row, value)| (f64::from(row.year), *value)).collect();
    let (first, counts): (i32, Vec<f64>) = (rows[0].year, rows.iter().map(|row| row.value).collect());
    // Years from the first on, so that the intercept is that of a year that there was.
    let times: Vec<f64> = rows.iter().map(|row| f64::from(row.year - first)).collect();
    let efforts: Vec<f64> = rows.iter().map(|row| row.effort.unwrap_or(1.0)).collect();
    let line = |model| part(&log_linear(&times, &counts, &efforts, model, level), language);
    let slopes = theil_sen(&points, level);
    let said = wording(rows.len() as u64, 1, slopes.as_ref().ok().and_then(|found| found.slope.interval.as_ref()));
    let value = json!({
        "years": rows.len(),
        "wording": said,
        "theil_sen": part(&slopes, language),
        "mann_kendall": part(&mann_kendall(&densities), language),
        "poisson": line(TrendModel::Poisson),
        "quasi_poisson": line(TrendModel::QuasiPoisson),
        "negative_binomial": line(TrendModel::NegativeBinomial),
    });
    Answer::of(value).drawn(&asked.common, || {
        draw::trend(&points, slopes.as_ref().ok().map(|found| (found.intercept, found.slope.value)), said, language)
    })
}

fn of_sites(asked: &Trend, source: &Source, rows: &[Year]) -> Result<Answer, SeasonFault> {
    let language = asked.common.tongue();
    let mut sites = Vec::new();
    let rows = rows
        .iter()
        .map(|row| {
            let site = row.site.as_deref().ok_or_else(|| source.fault_of_all("a row has no site, and others have"))?;
            Ok(SiteYear {
                site: numbered(&mut sites, site),
                year: row.year,
                animals: whole_number(source, row.value)?,
                effort: row.effort.map_or(Ok(1), |effort| whole_number(source, effort))?,
            })
        })
        .collect::<Result<Vec<_>, SeasonFault>>()?;
    let found = site_years(&rows, asked.common.interval).said(language)?;
    let mut value = whole(&found);
    value["sites"] = json!(sites.len());
    Answer::of(value).drawn(&asked.common, || draw::year_indices(&found, language))
}

fn whole_number(source: &Source, number: f64) -> Result<u32, SeasonFault> {
    if number >= 0.0 && number.fract() == 0.0 && number <= f64::from(u32::MAX) {
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "whole and in range")]
        return Ok(number as u32);
    }
    Err(source.fault_of_all(format!("{number} is no count; sites and years are compared by counts and plants checked")))
}

/// `leafturn season mow`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Mow {
    #[command(flatten)]
    common: Common,
    #[command(flatten)]
    heat: HeatOptions,
    /// Weather from the first visit used to the last cut (date,tmin,tmax): measured, then forecast or usual.
    #[arg(long, value_name = "FILE")]
    weather: Option<PathBuf>,
    /// Take every day at this temperature, degrees C, instead of --weather.
    #[arg(long, value_name = "CELSIUS", value_parser = finite, conflicts_with = "weather")]
    at: Option<f64>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct MowingOf {
    today: Date,
    visits: Vec<VisitOf>,
    cuts: Vec<CutOf>,
    #[serde(default)]
    laying: LayingOf,
    /// Daily loss by stage.
    mortality: Option<BTreeMap<Stage, f64>>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct VisitOf {
    date: Date,
    /// Living animals per hectare by stage.
    per_hectare: BTreeMap<Stage, MeanOf>,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct MeanOf {
    value: f64,
    #[serde(default)]
    standard_error: f64,
}

#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct CutOf {
    date: Date,
    #[serde(default = "whole_patch")]
    share: f64,
}

const fn whole_patch() -> f64 {
    1.0
}

#[derive(Debug, Default, Clone, Copy, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum LayingOf {
    #[default]
    None,
    AsInLastTwoWeeks,
}

ask!(Mow, "mow", mow);

/// Days before the first visit that a constant temperature is taken for.
const LEAD: i64 = 1;

fn mow(asked: &Mow) -> Result<Answer, CommandError> {
    let (language, level) = (asked.common.tongue(), asked.common.interval);
    let source = asked.common.needed()?;
    let of: MowingOf = small(&source)?;
    let (Some(first), Some(last)) =
        (of.visits.iter().map(|visit| visit.date).min(), of.cuts.iter().map(|cut| cut.date).max())
    else {
        return Err(source.fault_of_all("at least one visit and one cut are needed").into());
    };
    let weather = match (&asked.weather, asked.at) {
        (Some(path), _) => asked.heat.weather(&Source::open(path)?, language)?,
        (None, Some(at)) => constant(at, first, last)?,
        (None, None) => return Err(SeasonFault::usage("--weather FILE or --at CELSIUS is needed here").into()),
    };
    let number = |date: Date| (date.naive() - first.naive()).num_days() as f64;
    let stages = Stage::EGG_TO_LARVA5;
    let visits: Vec<MowingVisit> = of
        .visits
        .iter()
        .map(|visit| MowingVisit {
            day: number(visit.date),
            stages: stages
                .iter()
                .map(|stage| match visit.per_hectare.get(stage) {
                    Some(mean) => LivingMean { value: mean.value, error: mean.standard_error },
                    None => LivingMean { value: 0.0, error: 0.0 },
                })
                .collect(),
        })
        .collect();
    let mortality = of
        .mortality
        .as_ref()
        .map(|rates| stages.iter().map(|stage| rates.get(stage).copied().unwrap_or(0.0)).collect::<Vec<_>>());
    let counting = asked.heat.counting()?;
    let cuts: Vec<Cut> = of.cuts.iter().map(|cut| Cut { day: number(cut.date), share: cut.share }).collect();
    let ranked = |by: f64| -> Result<_, SeasonFault> {
        let state = Mowing {
            today: number(of.today),
            visits: visits.clone(),
            clock: development(&weather.warmer(by), &counting, number, language)?,
            widths: widths(&stages)?,
            mortality: mortality.clone(),
            laying: match of.laying {
                LayingOf::None => Laying::Nothing,
                LayingOf::AsInLastTwoWeeks => Laying::GoesOn,
            },
        };
        mowing(&state, &cuts, level).said(language)
    };
    let (cooler, warmer) = (ranked(-AIR_AND_LEAF_DIFFER)?, ranked(AIR_AND_LEAF_DIFFER)?);
    let other = |all: &[season::years::RankedCut], day: f64, share: f64| {
        let same = |one: f64, other: f64| (one - other).abs() < 1e-9;
        all.iter().find(|cut| same(cut.day, day) && same(cut.share, share)).map(|cut| cut.expected.value)
    };
    let rows: Vec<Value> = ranked(0.0)?
        .iter()
        .map(|cut| {
            #[expect(clippy::cast_possible_truncation, reason = "days between dates are whole and few")]
            let date = first.naive() + chrono::Duration::days(cut.day as i64);
            json!({
                "date": Date::from(date),
                "share": cut.share,
                "expected": cut.expected,
                "if_cooler": other(&cooler, cut.day, cut.share),
                "if_warmer": other(&warmer, cut.day, cut.share),
                "left_by_then": cut.left_by_then,
            })
        })
        .collect();
    Ok(Answer::of(json!({ "ranked": rows })))
}

fn constant(at: f64, first: Date, last: Date) -> Result<Weather, SeasonFault> {
    let day = Day::new(Celsius(at), Celsius(at))
        .ok_or_else(|| SeasonFault::usage(format!("{at} is no temperature of the air")))?;
    let days = (last.naive() - first.naive()).num_days();
    let from = |by: i64| Date::from(first.naive() + chrono::Duration::days(by));
    Ok((-LEAD..=days.clamp(0, 4_000) + LEAD).map(|by| (from(by), day)).collect())
}
