//! Which plants: every k-th stem, points, clusters, belts, a short walk.

use super::ask;
use crate::command::CommandError;
use crate::command::season::answer::{Answer, whole};
use crate::command::season::common::{Common, finite, option, positive};
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::{Columns, Source, Table, shapes};
use clap::{Args, ValueEnum};
use season::sampling::{
    Allocation, EveryKth, MOST_FOR_SHORTEST, Stratum, allocate, belts, clusters, points_in, short_walk, shortest_walk,
};
use serde_json::json;
use survey::place::Pin;

/// `leafturn season choose`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Choose {
    #[command(flatten)]
    common: Common,
    /// Stems expected at the site.
    #[arg(long, value_name = "N")]
    plants_at_site: Option<u32>,
    /// Plants wanted.
    #[arg(long, value_name = "N")]
    plants: Option<u32>,
    /// People who share the walk: each takes every so-many-th of the picks.
    #[arg(long, value_name = "N", default_value_t = 1, value_parser = clap::value_parser!(u32).range(1..=100))]
    people: u32,
    /// How strata (a FILE with stratum,units,deviation) share the plants.
    #[arg(long, value_enum, default_value_t = ByName::Size)]
    by: ByName,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum ByName {
    /// In proportion to their plants.
    Size,
    /// In proportion to plants times scatter, which is the most precise.
    Scatter,
}

ask!(Choose, "choose", choose);

fn choose(asked: &Choose) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let plants = option(asked.plants.as_ref(), "--plants N")?;
    if let Some(source) = asked.common.source()? {
        return Ok(shared_out(&source, plants, asked)?);
    }
    let stems = option(asked.plants_at_site.as_ref(), "--plants-at-site N")?;
    let plan = EveryKth::plan(stems, plants, asked.common.seed).said(language)?;
    let people = usize::try_from(asked.people).unwrap_or(1);
    let picks: Vec<Vec<u32>> =
        (0..people).map(|person| plan.picks_of(stems, person, people).map(|stem| stem + 1).collect()).collect();
    let all: usize = picks.iter().map(Vec::len).sum();
    let people: Vec<_> = (1..).zip(picks).map(|(person, stems)| json!({ "person": person, "stems": stems })).collect();
    Ok(Answer::of(json!({
        "k": plan.k(), "first": plan.start() + 1, "skip": plan.skip(), "plants": all, "people": people,
    })))
}

fn shared_out(source: &Source, plants: u32, asked: &Choose) -> Result<Answer, SeasonFault> {
    let columns = Columns { needed: &["stratum", "units"], allowed: &["deviation"], beginning: None };
    let table = Table::read(source, columns)?;
    let by = match asked.by {
        ByName::Size => Allocation::BySize,
        ByName::Scatter if table.has("deviation") => Allocation::ByScatter,
        ByName::Scatter => return Err(source.fault_of_all("--by scatter needs a column deviation")),
    };
    let mut names = Vec::new();
    let mut strata = Vec::new();
    for row in table.rows() {
        names.push(row.needed("stratum")?.to_owned());
        let deviation = row.number_if("deviation")?.unwrap_or(1.0);
        strata.push(Stratum { units: row.count("units")?, deviation });
    }
    let shares = allocate(&strata, plants, by).said(asked.common.tongue())?;
    let strata: Vec<_> =
        names.iter().zip(shares).map(|(stratum, plants)| json!({ "stratum": stratum, "plants": plants })).collect();
    Ok(Answer::of(json!({ "plants": plants, "strata": strata })))
}

/// `leafturn season points`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Points {
    #[command(flatten)]
    common: Common,
    /// How many points, clusters or belts.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u16).range(1..=10_000))]
    count: Option<u16>,
    /// Clusters: all stems within so many metres of each point.
    #[arg(long, value_name = "METRES", value_parser = positive)]
    radius: Option<f64>,
    /// Belts of this width across the patch, for the host count.
    #[arg(long, value_name = "METRES", value_parser = positive, conflicts_with = "radius")]
    width: Option<f64>,
    /// Direction of belts, degrees from north.
    #[arg(long, value_name = "DEGREES", value_parser = finite, default_value = "0", allow_hyphen_values = true)]
    direction: f64,
}

ask!(Points, "points", points);

fn points(asked: &Points) -> Result<Answer, CommandError> {
    let (language, seed) = (asked.common.tongue(), asked.common.seed);
    let source = asked.common.needed()?;
    let shapes = shapes(&source)?;
    let area = shapes.area(&source)?;
    let count = option(asked.count.as_ref(), "--count N")?;
    let drawn = match (asked.radius, asked.width) {
        (Some(radius), _) => json!({ "clusters": clusters(area, radius, count.into(), seed).said(language)? }),
        (None, Some(width)) => {
            json!({ "belts": belts(area, count, width, asked.direction, seed).said(language)? })
        }
        (None, None) => json!({ "points": points_in(area, count.into(), seed).said(language)? }),
    };
    let mut value = drawn;
    value["square_metres"] = json!(area.square_metres());
    Ok(Answer::of(value))
}

/// `leafturn season walk`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Walk {
    #[command(flatten)]
    common: Common,
    /// The point to start from, counted from 1; without it any may be first.
    #[arg(long, value_name = "N", value_parser = clap::value_parser!(u32).range(1..))]
    start: Option<u32>,
}

ask!(Walk, "walk", walk);

fn walk(asked: &Walk) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let source = asked.common.needed()?;
    let pins = pins(&source)?;
    let start = asked.start.map(|start| usize::try_from(start - 1).unwrap_or(usize::MAX));
    if start.is_some_and(|start| start >= pins.len()) {
        return Err(SeasonFault::usage("--start names no point of the file").into());
    }
    let short = short_walk(&pins, start).said(language)?;
    let order: Vec<_> = short
        .order
        .iter()
        .map(|&index| json!({ "point": index + 1, "lat": pins[index].lat(), "lon": pins[index].lon() }))
        .collect();
    let mut value = json!({ "metres": short.metres, "order": order });
    if pins.len() <= MOST_FOR_SHORTEST {
        let shortest = shortest_walk(&pins, start).said(language)?;
        value["shortest_metres"] = whole(&shortest.metres);
    }
    Ok(Answer::of(value))
}

/// Points of `GeoJSON`, or a table of `lat,lon`.
fn pins(source: &Source) -> Result<Vec<Pin>, SeasonFault> {
    if source.is_json() && source.text().contains("\"type\"") {
        let shapes = shapes(source)?;
        if !shapes.areas.is_empty() {
            return Err(source.fault_of_all("a walk leads past points; here is a polygon"));
        }
        return Ok(shapes.pins);
    }
    let columns = Columns { needed: &["lat", "lon"], allowed: &[], beginning: None };
    Table::read(source, columns)?
        .rows()
        .map(|row| {
            let (lat, lon) = (row.number("lat")?, row.number("lon")?);
            Pin::new(lat, lon).map_err(|error| row.fault("lat", error))
        })
        .collect()
}
