//! Lines and areas on the ellipsoid.

use crate::Refusal;
use geo::{Bearing, Destination, Distance, Geodesic, GeodesicArea, GeodesicMeasure, LineString, Point, Polygon};
use serde::Serialize;
use survey::place::Pin;

/// The figure of the Earth.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ellipsoid {
    /// World Geodetic System 1984, that of satellite positions.
    #[default]
    Wgs84,
    /// Geodetic Reference System 1980, that of many national grids.
    Grs80,
}

/// The shortest line between two points.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct GeodesicLine {
    /// Length in metres.
    pub metres: f64,
    /// Direction in which it leaves the first point, degrees from north over east, 0 to below 360.
    pub leaves: f64,
    /// Direction in which it goes on at the second point, likewise.
    pub arrives: f64,
}

/// A closed ring of shortest lines.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Ring {
    /// Length in metres, the closing line included.
    pub metres: f64,
    /// Area in square metres, above 0 where the corners go round against the clock, below 0 where with it.
    pub square_metres: f64,
}

/// The shortest line between two points on the ellipsoid.
///
/// Unit: metres, degrees; right to nanometres also where the points are opposite each other. Between equal points the
/// directions mean nothing.
///
/// Source: Karney CFF (2013) J. Geodesy 87:43-55, through the crates `geo` and `geographiclib-rs`.
pub fn inverse(from: Pin, to: Pin, ellipsoid: Ellipsoid) -> GeodesicLine {
    let (from, to) = (point(from), point(to));
    let of = |metres: f64, leaves: f64, back: f64| GeodesicLine {
        metres,
        leaves: round(leaves),
        arrives: round(back + 180.0),
    };
    match ellipsoid {
        Ellipsoid::Wgs84 => of(Geodesic.distance(from, to), Geodesic.bearing(from, to), Geodesic.bearing(to, from)),
        Ellipsoid::Grs80 => {
            let earth = GeodesicMeasure::new(6_378_137.0, 1.0 / 298.257_222_101);
            of(earth.distance(from, to), earth.bearing(from, to), earth.bearing(to, from))
        }
    }
}

/// The point at the end of a line that leaves a point in a direction, on WGS 84.
///
/// Unit: degrees from north over east, metres (below 0 goes backwards). Domain: finite numbers, at most 20,000 km.
///
/// Source: as [`inverse`].
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain.
pub fn direct(from: Pin, leaves: f64, metres: f64) -> Result<Pin, Refusal> {
    if !leaves.is_finite() || !(-2e7..=2e7).contains(&metres) {
        return Err(Refusal::NotANumber);
    }
    let end = Geodesic.destination(point(from), leaves, metres);
    Pin::new(end.y(), end.x()).map_err(|_| Refusal::NotANumber)
}

/// Length and area of a ring of points on WGS 84; it may hold a pole or cross the 180th meridian.
///
/// Unit: metres and square metres. Fewer than three corners have no area. A ring that goes round with the clock has the
/// area of its smaller side, below 0.
///
/// Source: as [`inverse`], section 6.
pub fn ring(corners: &[Pin]) -> Ring {
    let line: LineString = corners.iter().map(|&corner| point(corner)).collect();
    let (metres, square_metres) = Polygon::new(line, Vec::new()).geodesic_perimeter_area_signed();
    Ring { metres, square_metres: if corners.len() < 3 { 0.0 } else { square_metres } }
}

fn point(pin: Pin) -> Point {
    Point::new(pin.lon(), pin.lat())
}

fn round(degrees: f64) -> f64 {
    degrees.rem_euclid(360.0)
}
