//! Sun, heat, ground.

use super::ask;
use super::warmth::UnitName;
use crate::command::CommandError;
use crate::command::season::answer::{Answer, whole};
use crate::command::season::common::{self, Common, finite, option};
use crate::command::season::fault::{Said, SeasonFault};
use crate::command::season::read::shapes;
use chrono::{DateTime, Utc};
use clap::{Args, ValueEnum};
use season::degree_days::Scale;
use season::sky::{Ellipsoid, direct, equation_of_time, heat_index, inverse, solar_position, sun_at, sun_day};
use serde_json::{Value, json};
use survey::date::Date;
use survey::place::Pin;

/// `leafturn season sun`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Sun {
    #[command(flatten)]
    common: Common,
    /// Where: latitude and longitude, decimal degrees.
    #[arg(long, value_name = "LAT,LON", value_parser = common::place, allow_hyphen_values = true)]
    place: Option<Pin>,
    /// The day.
    #[arg(long, value_name = "DATE", value_parser = common::date)]
    on: Option<Date>,
    /// A moment, such as 2026-06-30T14:00:00Z: where the sun stands.
    #[arg(long, value_name = "TIME", value_parser = moment)]
    moment: Option<DateTime<Utc>>,
    /// A Julian ephemeris day: the sun's position as astronomers give it.
    #[arg(long, value_name = "DAY", value_parser = finite)]
    julian: Option<f64>,
}

fn moment(text: &str) -> Result<DateTime<Utc>, String> {
    DateTime::parse_from_rfc3339(text)
        .map(|moment| moment.to_utc())
        .map_err(|_| format!("{text:?} is no moment; write it as 2026-06-30T14:00:00Z"))
}

ask!(Sun, "sun", sun);

fn sun(asked: &Sun) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    if let Some(day) = asked.julian {
        if !(0.0..=5_000_000.0).contains(&day) {
            return Err(SeasonFault::usage("--julian lies between 0 and 5000000").into());
        }
        let mut value = whole(&solar_position(day));
        value["equation_of_time"] = json!(equation_of_time(day));
        return Ok(Answer::of(value));
    }
    let place = option(asked.place.as_ref(), "--place LAT,LON")?;
    match (asked.on, asked.moment) {
        (Some(on), None) => Ok(Answer::of(whole(&sun_day(place, on).said(language)?))),
        (None, Some(moment)) => Ok(Answer::of(whole(&sun_at(place, moment).said(language)?))),
        (Some(_), Some(_)) | (None, None) => Err(SeasonFault::usage("either --on DATE or --moment TIME").into()),
    }
}

/// `leafturn season heat`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Heat {
    #[command(flatten)]
    common: Common,
    /// Air in the shade, in the unit of --unit.
    #[arg(long, value_name = "DEGREES", value_parser = finite, allow_hyphen_values = true)]
    at: Option<f64>,
    /// Relative humidity, per cent.
    #[arg(long, value_name = "PER CENT", value_parser = finite)]
    humidity: Option<f64>,
    /// Unit of --at.
    #[arg(long, value_enum, default_value_t = UnitName::C)]
    unit: UnitName,
}

ask!(Heat, "heat", heat);

fn heat(asked: &Heat) -> Result<Answer, CommandError> {
    let at = option(asked.at.as_ref(), "--at DEGREES")?;
    let humidity = option(asked.humidity.as_ref(), "--humidity PER CENT")?;
    let scale: Scale = asked.unit.scale();
    let found = heat_index(scale.read(at), humidity).said(asked.common.tongue())?;
    let mut value = whole(&found);
    value["means"] = whole(&found.category.message());
    Ok(Answer::of(value))
}

/// `leafturn season ground`
#[derive(Debug, Args)]
pub(in crate::command::season) struct Ground {
    #[command(flatten)]
    common: Common,
    /// From here (instead of a FILE of `GeoJSON`).
    #[arg(long, value_name = "LAT,LON", value_parser = common::place, allow_hyphen_values = true)]
    place: Option<Pin>,
    /// To there.
    #[arg(long, value_name = "LAT,LON", value_parser = common::place, allow_hyphen_values = true)]
    to: Option<Pin>,
    /// Or in this direction, degrees from north (with --metres).
    #[arg(long, value_name = "DEGREES", value_parser = finite, requires = "metres", allow_hyphen_values = true, conflicts_with = "to")]
    direction: Option<f64>,
    /// So many metres.
    #[arg(long, value_name = "METRES", value_parser = finite, requires = "direction")]
    metres: Option<f64>,
    /// The figure of the Earth.
    #[arg(long, value_enum, default_value_t = EllipsoidName::Wgs84)]
    ellipsoid: EllipsoidName,
}

#[derive(Debug, Clone, Copy, ValueEnum)]
enum EllipsoidName {
    Wgs84,
    Grs80,
}

ask!(Ground, "ground", ground);

fn ground(asked: &Ground) -> Result<Answer, CommandError> {
    let language = asked.common.tongue();
    let ellipsoid = match asked.ellipsoid {
        EllipsoidName::Wgs84 => Ellipsoid::Wgs84,
        EllipsoidName::Grs80 => Ellipsoid::Grs80,
    };
    if let Some(from) = asked.place {
        return match (asked.to, asked.direction, asked.metres) {
            (Some(to), ..) => Ok(Answer::of(whole(&inverse(from, to, ellipsoid)))),
            (None, Some(direction), Some(metres)) => {
                let there = direct(from, direction, metres).said(language)?;
                Ok(Answer::of(json!({ "lat": there.lat(), "lon": there.lon() })))
            }
            (None, ..) => {
                Err(SeasonFault::usage("--to, or --direction with --metres, is needed beside --place").into())
            }
        };
    }
    let source = asked.common.needed()?;
    let shapes = shapes(&source)?;
    let areas: Vec<Value> = shapes
        .areas
        .iter()
        .map(|area| json!({ "square_metres": area.square_metres(), "perimeter_metres": area.perimeter_m() }))
        .collect();
    let legs: Vec<Value> = shapes.pins.windows(2).map(|pair| whole(&inverse(pair[0], pair[1], ellipsoid))).collect();
    Ok(Answer::of(json!({ "areas": areas, "legs": legs })))
}
