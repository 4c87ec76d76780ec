//! Sites as `GeoJSON`, no finer than each may be published.

use geojson::{Feature, FeatureCollection, GeoJson, Geometry, JsonObject, Position, feature};
use serde_json::{Value, json};
use survey::ids::SiteId;
use survey::place::{Area, Pin, Place, PublicPrecision};
use survey::site::Privacy;

/// What is written of a site.
#[derive(Debug, Clone, PartialEq)]
pub struct SiteToWrite {
    /// Its id.
    pub id: SiteId,
    /// Its name, where it has one.
    pub name: Option<String>,
    /// Where it is, as recorded; it is coarsened before it is written.
    pub place: Option<Place>,
    /// How finely it may be published.
    pub precision: PublicPrecision,
    /// Whose land it is; private land is published no finer than 0.01 degree whatever the precision says.
    pub privacy: Option<Privacy>,
}

/// The sites as a `FeatureCollection` of [RFC 7946](https://www.rfc-editor.org/rfc/rfc7946), in the order given.
///
/// Exact places become a Point, or a Polygon whose rings are closed and follow the right-hand rule (section 3.1.6);
/// coarsened ones the Point in the middle of their cell; withheld ones, and sites without a place, have a null geometry.
/// Positions are longitude, latitude, WGS 84.
///
/// Properties: `id`, `name`, `uncertainty_m` (radius in metres of a circle that holds the site, around the point, or
/// around the middle of the polygon's box),
/// `cell_degrees` (width of the cell, null where nothing was coarsened), `data_generalizations` (what was done to the
/// place, in English; the name is that of the Darwin Core term `dataGeneralizations`).
pub fn sites_geojson(sites: &[SiteToWrite]) -> String {
    let features = sites.iter().map(feature_of).collect();
    GeoJson::from(FeatureCollection { bbox: None, features, foreign_members: None }).to_string()
}

fn feature_of(site: &SiteToWrite) -> Feature {
    let published = published(site);
    let mut properties = JsonObject::new();
    properties.insert("id".into(), json!(site.id));
    properties.insert("name".into(), json!(site.name));
    properties.insert("uncertainty_m".into(), json!(published.uncertainty_m));
    properties.insert("cell_degrees".into(), json!(published.cell_degrees));
    properties.insert("data_generalizations".into(), published.generalizations.map_or(Value::Null, Value::String));
    Feature {
        bbox: None,
        geometry: published.geometry,
        id: Some(feature::Id::String(site.id.to_string())),
        properties: Some(properties),
        foreign_members: None,
    }
}

struct Published {
    geometry: Option<Geometry>,
    uncertainty_m: Option<u32>,
    cell_degrees: Option<f64>,
    generalizations: Option<String>,
}

fn published(site: &SiteToWrite) -> Published {
    let precision = match site.privacy {
        Some(Privacy::Private) => site.precision.max(PublicPrecision::Hundredth),
        Some(Privacy::Public) | None => site.precision,
    };
    let nowhere = |why: &str| Published {
        geometry: None,
        uncertainty_m: None,
        cell_degrees: None,
        generalizations: Some(why.to_owned()),
    };
    let Some(place) = &site.place else { return nowhere("No place was recorded.") };
    let Some(public) = place.public(precision) else { return nowhere("Place withheld.") };
    let geometry = match (place, public.cell_degrees) {
        (Place::Area(area), None) => Geometry::new_polygon(rings(area)),
        (Place::Pin { .. } | Place::Area(_), _) => Geometry::new_point(position(public.at)),
    };
    Published {
        geometry: Some(geometry),
        uncertainty_m: Some(public.uncertainty_m),
        cell_degrees: public.cell_degrees,
        generalizations: public.cell_degrees.map(|degrees| {
            format!("Place given as the middle of a cell of {degrees} degree in latitude and longitude.")
        }),
    }
}

/// The outline counter-clockwise, the holes clockwise, all closed.
fn rings(area: &Area) -> Vec<Vec<Position>> {
    let outline = ring(area.outline(), Turn::Left);
    std::iter::once(outline).chain(area.holes().iter().map(|hole| ring(hole, Turn::Right))).collect()
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Turn {
    Left,
    Right,
}

fn ring(corners: &[Pin], wanted: Turn) -> Vec<Position> {
    let mut ring: Vec<Pin> = corners.to_vec();
    if turn(corners) != wanted {
        // The first corner stays first.
        ring[1..].reverse();
    }
    ring.iter().chain(ring.first()).map(|&corner| position(corner)).collect()
}

/// Which way a ring runs, by twice its signed area in degrees.
fn turn(corners: &[Pin]) -> Turn {
    let origin = corners[0];
    let next = corners.iter().cycle().skip(1);
    let twice: f64 = corners
        .iter()
        .zip(next)
        .map(|(one, other)| {
            (one.lon() - origin.lon()) * (other.lat() - origin.lat())
                - (other.lon() - origin.lon()) * (one.lat() - origin.lat())
        })
        .sum();
    if twice < 0.0 { Turn::Right } else { Turn::Left }
}

fn position(pin: Pin) -> Position {
    Position::from([pin.lon(), pin.lat()])
}
