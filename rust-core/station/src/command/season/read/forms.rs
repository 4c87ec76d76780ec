//! Weather, stage series, plant counts, years.

use super::source::Source;
use super::table::{Columns, Row, Table};
use crate::command::season::fault::SeasonFault;
use messages::Language;
use season::Counts;
use season::degree_days::{Scale, Weather, WeatherError, looks_like_fahrenheit};
use survey::date::Date;
use survey::protocol::Unit;
use survey::stage::{Stage, What};

/// `date,tmin,tmax`. A day without both numbers is a gap, as is a date without a row.
fn weather(source: &Source, scale: Scale) -> Result<Weather, SeasonFault> {
    let columns = Columns { needed: &["date", "tmin", "tmax"], allowed: &[], beginning: None };
    let table = Table::read(source, columns)?;
    let known: Vec<Row<'_>> =
        table.rows().filter(|row| row.text("tmin").is_some() || row.text("tmax").is_some()).collect();
    let days = known
        .iter()
        .map(|row| Ok((row.date("date")?, row.number("tmin")?, row.number("tmax")?)))
        .collect::<Result<Vec<_>, SeasonFault>>()?;
    Weather::read(days, scale).map_err(|error| {
        let (row, name, problem) = match &error {
            WeatherError::MinAboveMax { row, min, max, .. } => {
                (*row, "tmin", format!("the lowest temperature {min} is above the highest {max}"))
            }
            WeatherError::NotATemperature { row, value, .. } => {
                let first = known[row - 1].text("tmin").and_then(|text| text.parse::<f64>().ok());
                let name = if first == Some(*value) { "tmin" } else { "tmax" };
                (*row, name, format!("{value} is no temperature of the air"))
            }
            WeatherError::DuplicateDate { row, date } => (*row, "date", format!("{date} stands there twice")),
            WeatherError::OutOfOrder { row, date, after } => {
                (*row, "date", format!("{date} comes after {after}; the days must be in order"))
            }
        };
        known[row - 1].fault(name, problem)
    })
}

/// The same; without a stated scale the numbers are taken as degrees Celsius, and where they look like Fahrenheit the
/// person is asked.
pub(in crate::command::season) fn asked_weather(
    source: &Source,
    scale: Option<Scale>,
    language: Language,
) -> Result<Weather, SeasonFault> {
    let weather = weather(source, scale.unwrap_or(Scale::Celsius))?;
    match looks_like_fahrenheit(&weather) {
        Some(question) if scale.is_none() => Err(SeasonFault::asks(&question, language)),
        Some(_) | None => Ok(weather),
    }
}

/// Counts by stage at each visit.
#[derive(Debug)]
pub(in crate::command::season) struct Series {
    /// Days, the first visit being day 1 where the file has dates.
    pub(in crate::command::season) days: Vec<f64>,
    /// Dates, where the file has them.
    pub(in crate::command::season) dates: Option<Vec<Date>>,
    /// The stages that have a column.
    pub(in crate::command::season) stages: Vec<Stage>,
    /// Counts by visit and stage.
    pub(in crate::command::season) rows: Vec<Vec<f64>>,
    /// Units checked at each visit; `None`: effort unknown.
    pub(in crate::command::season) checked: Option<Vec<u32>>,
    /// Their unit.
    pub(in crate::command::season) unit: Option<Unit>,
    /// Undecided things by column, each with a number per visit.
    pub(in crate::command::season) undecided: Vec<(What, Vec<u32>)>,
}

/// Whether counts must be whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::command::season) enum Numbers {
    /// As a person counts.
    Counted,
    /// Expected values of a model.
    Expected,
}

const UNDECIDED: &str = "undecided:";
const STAGES: [Stage; 7] =
    [Stage::Egg, Stage::Larva1, Stage::Larva2, Stage::Larva3, Stage::Larva4, Stage::Larva5, Stage::Pupa];

impl Series {
    /// `day` or `date`, then `egg,larva1,…`, maybe `checked,unit,undecided:egg+none,…`.
    pub(in crate::command::season) fn read(source: &Source, numbers: Numbers) -> Result<Self, SeasonFault> {
        let allowed =
            ["day", "date", "larva1", "larva2", "larva3", "larva4", "larva5", "pupa", "checked", "unit"].as_slice();
        let table = Table::read(source, Columns { needed: &["egg"], allowed, beginning: Some(UNDECIDED) })?;
        let (days, dates) = times(&table)?;
        let stages: Vec<Stage> = STAGES.into_iter().filter(|stage| table.has(stage.name())).collect();
        let number = |row: &Row<'_>, stage: &Stage| match numbers {
            Numbers::Counted => row.count(stage.name()).map(f64::from),
            Numbers::Expected => match row.number(stage.name())? {
                below if below < 0.0 => Err(row.fault(stage.name(), format!("{below} is below 0"))),
                fine => Ok(fine),
            },
        };
        let rows = table
            .rows()
            .map(|row| stages.iter().map(|stage| number(&row, stage)).collect())
            .collect::<Result<Vec<_>, SeasonFault>>()?;
        let checked = table.has("checked").then(|| {
            let of = |row: Row<'_>| match row.count("checked")? {
                0 => Err(row.fault("checked", "nothing was checked; leave such a visit out")),
                some => Ok(some),
            };
            table.rows().map(of).collect::<Result<Vec<_>, SeasonFault>>()
        });
        let undecided = undecided(&table)?;
        Ok(Self { days, dates, stages, rows, checked: checked.transpose()?, unit: unit(&table)?, undecided })
    }
}

/// The columns `undecided:…`: what each is undecided between, with a number per row.
fn undecided(table: &Table<'_>) -> Result<Vec<(What, Vec<u32>)>, SeasonFault> {
    let source = table.source();
    table
        .names()
        .filter(|name| name.starts_with(UNDECIDED))
        .map(|name| {
            let what = name[UNDECIDED.len()..]
                .parse::<What>()
                .map_err(|problem| source.fault_of_all(format!("the column {name:?}: {problem}")))?;
            if !matches!(what, What::Undecided(_)) {
                return Err(source.fault_of_all(format!("the column {name:?} is no set of two or more outcomes")));
            }
            let counts = table.rows().map(|row| row.count(name)).collect::<Result<Vec<_>, _>>()?;
            Ok((what, counts))
        })
        .collect()
}

fn times(table: &Table<'_>) -> Result<(Vec<f64>, Option<Vec<Date>>), SeasonFault> {
    let (days, dates) = match (table.has("day"), table.has("date")) {
        (true, false) => (table.rows().map(|row| row.number("day")).collect::<Result<Vec<_>, _>>()?, None),
        (false, true) => {
            let dates = table.rows().map(|row| row.date("date")).collect::<Result<Vec<_>, _>>()?;
            let first = dates[0].naive();
            let days = dates.iter().map(|date| (date.naive() - first).num_days() as f64 + 1.0).collect();
            (days, Some(dates))
        }
        (true, true) => return Err(table.source().fault_of_all("either a column day or a column date, not both")),
        (false, false) => return Err(table.source().fault_of_all("a column day or date is missing")),
    };
    let name = if dates.is_some() { "date" } else { "day" };
    for (row, pair) in table.rows().skip(1).zip(days.windows(2)) {
        if (pair[1] - pair[0]).abs() < f64::EPSILON {
            return Err(row.fault(name, "this day stands there twice"));
        }
        if pair[0] > pair[1] {
            return Err(row.fault(name, "this day comes after a later one; the visits must be in order"));
        }
    }
    Ok((days, dates))
}

fn unit(table: &Table<'_>) -> Result<Option<Unit>, SeasonFault> {
    let mut found = None;
    for row in table.rows() {
        let unit = match row.text("unit") {
            None => None,
            Some("stem") => Some(Unit::Stem),
            Some("clump") => Some(Unit::Clump),
            Some(other) => return Err(row.fault("unit", format!("{other:?} is neither stem nor clump"))),
        };
        if found.is_some() && unit.is_some() && found != unit {
            return Err(row.fault("unit", "stems and clumps are never put together in one series"));
        }
        found = found.or(unit);
    }
    Ok(found)
}

/// Plants one by one.
#[derive(Debug)]
pub(in crate::command::season) struct PlantCounts {
    /// Animals on each plant.
    pub(in crate::command::season) counts: Vec<u32>,
    /// The cluster each belongs to.
    pub(in crate::command::season) clusters: Option<Vec<String>>,
    /// Its size, such as stems of a clump.
    pub(in crate::command::season) sizes: Option<Vec<f64>>,
    /// Its stratum.
    pub(in crate::command::season) strata: Option<Vec<String>>,
    /// Undecided things by column, each with a number per plant.
    pub(in crate::command::season) undecided: Vec<(What, Vec<u32>)>,
}

impl PlantCounts {
    /// `count`, maybe `cluster`, `size`, `stratum`, `undecided:egg+none`, ….
    pub(in crate::command::season) fn read(source: &Source) -> Result<Self, SeasonFault> {
        let allowed = ["cluster", "size", "stratum"].as_slice();
        let columns = Columns { needed: &["count"], allowed, beginning: Some(UNDECIDED) };
        let table = Table::read(source, columns)?;
        let texts = |name: &str| {
            let of = |row: Row<'_>| row.needed(name).map(str::to_owned);
            table.has(name).then(|| table.rows().map(of).collect::<Result<Vec<_>, _>>()).transpose()
        };
        let size = |row: Row<'_>| match row.number("size")? {
            below if below < 0.0 => Err(row.fault("size", "a size is 0 or more")),
            fine => Ok(fine),
        };
        Ok(Self {
            counts: table.rows().map(|row| row.count("count")).collect::<Result<_, _>>()?,
            clusters: texts("cluster")?,
            sizes: table.has("size").then(|| table.rows().map(size).collect::<Result<_, _>>()).transpose()?,
            strata: texts("stratum")?,
            undecided: undecided(&table)?,
        })
    }

    /// The same for questions that cannot carry doubt: columns of undecided things are refused, not passed over.
    pub(in crate::command::season) fn decided(source: &Source) -> Result<Self, SeasonFault> {
        let plants = Self::read(source)?;
        match plants.undecided.first() {
            None => Ok(plants),
            Some((what, _)) => Err(source.fault_of_all(format!(
                "this question takes decided counts alone; the column undecided:{what} goes with density and presence"
            ))),
        }
    }

    /// The stage that `count` is of: the one that is named, else the only one that something is undecided about.
    pub(in crate::command::season) fn stage(&self, named: Option<Stage>) -> Result<Stage, SeasonFault> {
        let stages: std::collections::BTreeSet<Stage> =
            self.undecided.iter().flat_map(|(what, _)| what.stages()).collect();
        match (named, stages.len(), stages.first()) {
            (Some(stage), _, _) => Ok(stage),
            (None, 1, Some(stage)) => Ok(*stage),
            (None, _, _) => Err(SeasonFault::usage("--stage STAGE is needed: what the column count is of")),
        }
    }

    /// Plant by plant what was counted, `count` being of this stage.
    pub(in crate::command::season) fn things(&self, stage: Stage) -> Vec<Counts> {
        let of = |(plant, &count): (usize, &u32)| {
            let undecided = self.undecided.iter().map(|(what, counts)| (what.clone(), counts[plant]));
            std::iter::once((What::Stage(stage), count)).chain(undecided).collect()
        };
        self.counts.iter().enumerate().map(of).collect()
    }

    /// Counts put together by the names beside them, in order of the names.
    pub(in crate::command::season) fn by(&self, names: &[String]) -> Vec<(String, Vec<u32>)> {
        let mut groups: std::collections::BTreeMap<&String, Vec<u32>> = std::collections::BTreeMap::new();
        for (name, count) in names.iter().zip(&self.counts) {
            groups.entry(name).or_default().push(*count);
        }
        groups.into_iter().map(|(name, counts)| (name.clone(), counts)).collect()
    }
}

/// Belts or plots of a host count: `square_metres,stems`.
pub(in crate::command::season) fn belts(source: &Source) -> Result<Vec<season::densities::Belt>, SeasonFault> {
    let columns = Columns { needed: &["square_metres", "stems"], allowed: &[], beginning: None };
    Table::read(source, columns)?
        .rows()
        .map(|row| {
            let square_metres = row.number("square_metres")?;
            if square_metres <= 0.0 {
                return Err(row.fault("square_metres", "a belt is larger than 0"));
            }
            Ok(season::densities::Belt { square_metres, stems: row.count("stems")? })
        })
        .collect()
}

/// A value of a year.
#[derive(Debug, Clone)]
pub(in crate::command::season) struct Year {
    /// The year.
    pub(in crate::command::season) year: i32,
    /// Its value.
    pub(in crate::command::season) value: f64,
    /// What was checked for it.
    pub(in crate::command::season) effort: Option<f64>,
    /// The site.
    pub(in crate::command::season) site: Option<String>,
}

/// `year,value`, maybe `effort` and `site`.
pub(in crate::command::season) fn years(source: &Source) -> Result<Vec<Year>, SeasonFault> {
    let columns = Columns { needed: &["year", "value"], allowed: &["effort", "site"], beginning: None };
    Table::read(source, columns)?
        .rows()
        .map(|row| {
            let year = row.needed("year")?;
            let year = year.parse().map_err(|_| row.fault("year", format!("{year:?} is no year")))?;
            let effort = row.number_if("effort")?;
            if effort.is_some_and(|effort| effort <= 0.0) {
                return Err(row.fault("effort", "an effort is above 0"));
            }
            let site = row.text("site").map(str::to_owned);
            Ok(Year { year, value: row.number("value")?, effort, site })
        })
        .collect()
}
