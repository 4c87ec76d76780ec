//! Sites from `GeoJSON` that somebody else wrote, or we.

use crate::limits::{FileError, MOST_FEATURES, parse};
use geojson::{Feature, Geometry, GeometryValue, Position};
use serde_json::{Value, json};
use survey::ids::SiteId;
use survey::place::{Area, Pin, Place, PlaceError};

/// What a file holds. A feature that cannot be used does not spoil the others.
#[derive(Debug, Clone, PartialEq)]
pub struct SitesRead {
    /// Those that can be used.
    pub sites: Vec<SiteRead>,
    /// Those that cannot, and why.
    pub refused: Vec<FeatureError>,
}

/// A site as a file gives it.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteRead {
    /// Which feature it is, from 0.
    pub feature: usize,
    /// The id from its properties or the feature, where that is one of ours.
    pub id: Option<SiteId>,
    /// Its property `name`, where it has one.
    pub name: Option<String>,
    /// Where it is; `None` for a null geometry.
    pub place: Option<Place>,
    /// Its property `uncertainty_m`, metres, where it is a whole number from 1.
    pub uncertainty_m: Option<u32>,
    /// Its property `cell_degrees`: the place is the middle of a cell of this width and no exact place.
    pub cell_degrees: Option<f64>,
}

/// A feature that cannot be used.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
#[error("feature {feature} (from 0){}: {problem}", .name.as_ref().map_or_else(String::new, |name| format!(", {name:?}")))]
pub struct FeatureError {
    /// Which, from 0.
    pub feature: usize,
    /// Its name, where it has one, cut to 64 characters.
    pub name: Option<String>,
    /// What is wrong.
    pub problem: Problem,
}

/// What is wrong with a feature.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Problem {
    /// Not a feature, or its geometry is malformed.
    #[error("it is no GeoJSON feature: {what}")]
    Malformed {
        /// What the parser says.
        what: String,
    },
    /// A kind of geometry that is no site.
    #[error("a site is a Point or a Polygon, not a {kind}")]
    NotASite {
        /// Its kind.
        kind: &'static str,
    },
    /// A position without longitude and latitude.
    #[error("ring {ring}, position {position} (both from 0) has fewer than two numbers")]
    ShortPosition {
        /// 0 is the outline or the point itself, then the holes.
        ring: usize,
        /// Which position of the ring, from 0.
        position: usize,
    },
    /// A position that is no place.
    #[error("ring {ring}, position {position} (both from 0): {problem}; GeoJSON puts the longitude first")]
    Position {
        /// 0 is the outline or the point itself, then the holes.
        ring: usize,
        /// Which position of the ring, from 0.
        position: usize,
        /// What is wrong with it.
        problem: PlaceError,
    },
    /// A ring whose last position is not its first.
    #[error("ring {ring} (from 0) is not closed: its last position is not its first")]
    Open {
        /// 0 is the outline, then the holes.
        ring: usize,
    },
    /// A polygon without rings.
    #[error("the polygon has no outline")]
    NoOutline,
    /// Rings that do not make a patch.
    #[error(transparent)]
    Outline(PlaceError),
    /// A point without a latitude and a longitude that are numbers.
    #[error("line {line}: a point needs the attributes lat and lon, decimal degrees")]
    NoPosition {
        /// The line, from 1.
        line: usize,
    },
    /// A point of a GPX file that is no place.
    #[error("line {line}: {problem}")]
    Point {
        /// The line, from 1.
        line: usize,
        /// What is wrong with it.
        problem: PlaceError,
    },
    /// A track or a route, and nobody asked for those.
    #[error("line {line}: a {kind} is taken as the outline of a site only where you ask for it")]
    Line {
        /// The line of the file, from 1.
        line: usize,
        /// `track` or `route`.
        kind: &'static str,
    },
    /// A track with several pieces: what lies between them is not known.
    #[error("line {line}: an outline is one piece, this track has {segments}")]
    Pieces {
        /// The line, from 1.
        line: usize,
        /// How many.
        segments: usize,
    },
    /// A name that cannot be shown.
    #[error("the name has control characters or more than {MOST_LETTERS} letters")]
    BadName,
}

/// The longest name of a site, in characters.
const MOST_LETTERS: usize = 200;

/// Sites from `GeoJSON` ([RFC 7946](https://www.rfc-editor.org/rfc/rfc7946)): a `FeatureCollection`, one `Feature`, or a
/// bare Point or Polygon.
///
/// Polygons may have holes and run either way round; their rings must be closed (section 3.1.6). A third number of a
/// position, an altitude, is passed over. A Point becomes a pin without radius and accuracy.
///
/// # Errors
/// [`FileError`] where the file as a whole cannot be read; single features that cannot be used are listed in the result.
pub fn read_sites(bytes: &[u8]) -> Result<SitesRead, FileError> {
    let features = features(parse(bytes)?)?;
    if features.len() > MOST_FEATURES {
        return Err(FileError::TooManyFeatures { offset: 0 });
    }
    let mut read = SitesRead { sites: Vec::new(), refused: Vec::new() };
    for (index, value) in features.into_iter().enumerate() {
        let name = value["properties"]["name"].as_str().map(|name| name.chars().take(64).collect());
        match site(index, value) {
            Ok(site) => read.sites.push(site),
            Err(problem) => read.refused.push(FeatureError { feature: index, name, problem }),
        }
    }
    Ok(read)
}

fn features(mut file: Value) -> Result<Vec<Value>, FileError> {
    let found = match file.get("type") {
        Some(Value::String(found)) => found.chars().take(64).collect(),
        Some(_) => "no text".to_owned(),
        None => "missing".to_owned(),
    };
    match (found.as_str(), file.get_mut("features").map(Value::take)) {
        ("FeatureCollection", Some(Value::Array(features))) => Ok(features),
        ("Feature", _) => Ok(vec![file]),
        ("Point" | "Polygon", _) => Ok(vec![json!({ "type": "Feature", "properties": null, "geometry": file })]),
        _ => Err(FileError::NotGeoJson { found }),
    }
}

fn site(index: usize, value: Value) -> Result<SiteRead, Problem> {
    let feature: Feature =
        serde_json::from_value(value).map_err(|error| Problem::Malformed { what: error.to_string() })?;
    let property = |name: &str| feature.property(name).filter(|value| !value.is_null());
    let id = property("id").and_then(Value::as_str).map(str::to_owned).or_else(|| match &feature.id {
        Some(geojson::feature::Id::String(id)) => Some(id.clone()),
        Some(geojson::feature::Id::Number(_)) | None => None,
    });
    Ok(SiteRead {
        feature: index,
        id: id.and_then(|id| id.parse().ok()),
        name: property("name").and_then(Value::as_str).map(name).transpose()?,
        place: feature.geometry.as_ref().map(place).transpose()?,
        uncertainty_m: property("uncertainty_m")
            .and_then(Value::as_u64)
            .and_then(|metres| u32::try_from(metres).ok())
            .filter(|metres| *metres > 0),
        cell_degrees: property("cell_degrees").and_then(Value::as_f64).filter(|degrees| *degrees > 0.0),
    })
}

pub(crate) fn name(text: &str) -> Result<String, Problem> {
    let text = text.trim();
    if text.chars().count() > MOST_LETTERS || text.chars().any(char::is_control) {
        return Err(Problem::BadName);
    }
    Ok(text.to_owned())
}

fn place(geometry: &Geometry) -> Result<Place, Problem> {
    match &geometry.value {
        GeometryValue::Point { coordinates } => {
            Ok(Place::Pin { at: pin(coordinates, 0, 0)?, radius_m: None, accuracy_m: None })
        }
        GeometryValue::Polygon { coordinates } => {
            let mut rings = coordinates
                .iter()
                .enumerate()
                .map(|(index, corners)| ring(corners, index))
                .collect::<Result<Vec<_>, _>>()?
                .into_iter();
            let outline = rings.next().ok_or(Problem::NoOutline)?;
            Area::new(outline, rings.collect()).map(Place::Area).map_err(Problem::Outline)
        }
        other => Err(Problem::NotASite { kind: other.type_name() }),
    }
}

fn ring(corners: &[Position], ring: usize) -> Result<Vec<Pin>, Problem> {
    let pins = corners
        .iter()
        .enumerate()
        .map(|(position, corner)| pin(corner, ring, position))
        .collect::<Result<Vec<_>, _>>()?;
    match (pins.first(), pins.last()) {
        (Some(first), Some(last)) if first != last => Err(Problem::Open { ring }),
        _ => Ok(pins),
    }
}

fn pin(corner: &Position, ring: usize, position: usize) -> Result<Pin, Problem> {
    let &[lon, lat, ..] = corner.as_slice() else {
        return Err(Problem::ShortPosition { ring, position });
    };
    Pin::new(lat, lon).map_err(|problem| Problem::Position { ring, position, problem })
}
