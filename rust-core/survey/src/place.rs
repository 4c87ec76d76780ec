//! Places: pins and polygons on the WGS 84 ellipsoid, and how finely they may be published.

use geo::{Contains, Distance, Geodesic, GeodesicArea, Validation};
use serde::{Deserialize, Serialize};

/// A point, WGS 84, decimal degrees.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "RawPin")]
pub struct Pin {
    lat: f64,
    lon: f64,
}

/// A patch with an outline and maybe holes. Valid by construction: closed, at least three corners, not crossing itself.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(try_from = "RawArea")]
pub struct Area {
    outline: Vec<Pin>,
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    holes: Vec<Vec<Pin>>,
}

/// Where a site is.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Place {
    /// A pin, with the radius in metres that holds the whole site where it is known.
    Pin {
        /// The point.
        at: Pin,
        /// Metres, 1 or more.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        radius_m: Option<f64>,
        /// Radius in metres within which a device's fix lies with 68 % confidence, where a device gave the point.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        accuracy_m: Option<f64>,
    },
    /// A walked or drawn outline.
    Area(Area),
}

/// How finely a site's place may be published.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum PublicPrecision {
    /// As recorded.
    Exact,
    /// The middle of a cell of 0.001 degree.
    Thousandth,
    /// The middle of a cell of 0.01 degree, the default.
    #[default]
    Hundredth,
    /// The middle of a cell of 0.1 degree.
    Tenth,
    /// Not at all.
    Withheld,
}

/// A place as it may be published.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct PublicPlace {
    /// The published point: the place itself, or the middle of its cell.
    pub at: Pin,
    /// Width of the cell in decimal degrees; `None` where nothing was coarsened.
    pub cell_degrees: Option<f64>,
    /// Radius in metres of a circle around the point that holds the whole site; 1 or more, rounded up.
    pub uncertainty_m: u32,
}

/// What is wrong with a place.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum PlaceError {
    /// Latitude outside −90 to 90, though the two numbers would fit the other way round.
    #[error("latitude {lat} and longitude {lon} look swapped")]
    LooksSwapped {
        /// What stood for the latitude.
        lat: f64,
        /// What stood for the longitude.
        lon: f64,
    },
    /// A number outside its range, or not a number.
    #[error("latitude {lat}, longitude {lon} is no place: latitudes go from -90 to 90, longitudes from -180 to 180")]
    OutOfRange {
        /// What stood for the latitude.
        lat: f64,
        /// What stood for the longitude.
        lon: f64,
    },
    /// Fewer than three different corners.
    #[error("ring {ring} has {corners} different corners, and needs three")]
    TooFewCorners {
        /// 0 is the outline, then the holes.
        ring: usize,
        /// How many there were.
        corners: usize,
    },
    /// Crosses or touches itself, or a hole lies outside.
    #[error("the outline is not a simple patch: {reason}")]
    NotSimple {
        /// What the geometry library says.
        reason: String,
    },
    /// More corners than an entry carries.
    #[error("{corners} corners are too many, {MOST_CORNERS} are the most")]
    TooManyCorners {
        /// How many there were.
        corners: usize,
    },
    /// The outline spans more than half the globe or crosses the 180th meridian.
    #[error("an outline that crosses the 180th meridian cannot be kept; split it there")]
    CrossesAntimeridian,
}

/// The most corners of all rings together; keeps a site within one entry of 64 KiB.
pub const MOST_CORNERS: usize = 1000;

/// A phone's 68 % radius times this holds the place in 95 of 100 fixes: √(ln 0.05 ÷ ln 0.32) for a circular normal error.
const RADIUS_68_TO_95: f64 = 1.62;
/// Radius in metres where a device's accuracy was not recorded (Darwin Core's advice for GPS after 2000-05-01).
const UNKNOWN_ACCURACY_M: f64 = 30.0;
/// Area of the WGS 84 ellipsoid.
const GLOBE_SQUARE_METRES: f64 = 510_065_621_724_088.4;

impl Pin {
    /// The point at this latitude and longitude in decimal degrees.
    ///
    /// # Errors
    /// Out of range, not finite, or apparently swapped.
    pub fn new(lat: f64, lon: f64) -> Result<Self, PlaceError> {
        if (-90.0..=90.0).contains(&lat) && (-180.0..=180.0).contains(&lon) {
            Ok(Self { lat, lon })
        } else if (-90.0..=90.0).contains(&lon) && (-180.0..=180.0).contains(&lat) {
            Err(PlaceError::LooksSwapped { lat, lon })
        } else {
            Err(PlaceError::OutOfRange { lat, lon })
        }
    }

    /// Latitude in decimal degrees, −90 to 90.
    pub const fn lat(self) -> f64 {
        self.lat
    }

    /// Longitude in decimal degrees, −180 to 180.
    pub const fn lon(self) -> f64 {
        self.lon
    }

    /// Length in metres of the shortest way on the ellipsoid (Karney 2013, J. Geodesy 87:43-55, through `geo`).
    pub fn distance_m(self, other: Self) -> f64 {
        Geodesic.distance(self.point(), other.point())
    }

    fn point(self) -> geo::Point {
        geo::Point::new(self.lon, self.lat)
    }
}

impl Area {
    /// The patch with this outline and these holes; a last corner equal to the first is dropped.
    ///
    /// # Errors
    /// Too few or too many corners, rings that cross, holes outside.
    pub fn new(outline: Vec<Pin>, holes: Vec<Vec<Pin>>) -> Result<Self, PlaceError> {
        let corners = outline.len() + holes.iter().map(Vec::len).sum::<usize>();
        if corners > MOST_CORNERS {
            return Err(PlaceError::TooManyCorners { corners });
        }
        let outline = open_ring(outline, 0)?;
        let holes = holes
            .into_iter()
            .enumerate()
            .map(|(index, hole)| open_ring(hole, index + 1))
            .collect::<Result<Vec<_>, _>>()?;
        let area = Self { outline, holes };
        area.check()?;
        Ok(area)
    }

    /// Corners of the outline, not closed.
    pub fn outline(&self) -> &[Pin] {
        &self.outline
    }

    /// Corners of the holes, not closed.
    pub fn holes(&self) -> &[Vec<Pin>] {
        &self.holes
    }

    /// Area in square metres on the ellipsoid, holes taken off.
    pub fn square_metres(&self) -> f64 {
        // Ring by ring, because a ring drawn the other way round would add its area or the rest of the globe's.
        let ring_area = |ring: &[Pin]| {
            let area = geo::Polygon::new(line(ring), Vec::new()).geodesic_area_signed().abs();
            area.min(GLOBE_SQUARE_METRES - area)
        };
        ring_area(&self.outline) - self.holes.iter().map(|hole| ring_area(hole)).sum::<f64>()
    }

    /// Length in metres of the outline on the ellipsoid, without the holes' edges.
    pub fn perimeter_m(&self) -> f64 {
        geo::Polygon::new(line(&self.outline), Vec::new()).geodesic_perimeter()
    }

    /// Whether the point lies inside and in no hole.
    pub fn contains(&self, pin: Pin) -> bool {
        self.polygon().contains(&pin.point())
    }

    /// A point inside the outline's box that stands for the whole.
    pub fn middle(&self) -> Pin {
        let (mut south, mut north, mut west, mut east) = (90.0_f64, -90.0_f64, 180.0_f64, -180.0_f64);
        for pin in &self.outline {
            south = south.min(pin.lat);
            north = north.max(pin.lat);
            west = west.min(pin.lon);
            east = east.max(pin.lon);
        }
        Pin { lat: f64::midpoint(south, north), lon: f64::midpoint(west, east) }
    }

    fn polygon(&self) -> geo::Polygon {
        geo::Polygon::new(line(&self.outline), self.holes.iter().map(|hole| line(hole)).collect())
    }

    fn check(&self) -> Result<(), PlaceError> {
        let lons = || self.outline.iter().map(|pin| pin.lon);
        if lons().fold(f64::MIN, f64::max) - lons().fold(f64::MAX, f64::min) > 180.0 {
            return Err(PlaceError::CrossesAntimeridian);
        }
        self.polygon().check_validation().map_err(|error| PlaceError::NotSimple { reason: error.to_string() })
    }
}

impl Place {
    /// A point that stands for the place.
    pub fn middle(&self) -> Pin {
        match self {
            Self::Pin { at, .. } => *at,
            Self::Area(area) => area.middle(),
        }
    }

    /// The place as it may be published, `None` where it is withheld.
    ///
    /// Rounding goes to the middle of a fixed geographic cell and nothing else: the same site always gives the
    /// same point, and because no chance enters, averaging many exports reveals no more than one of them
    /// (Chapman 2020, doi 10.15468/doc-5jp4-5g10: generalise, never randomise).
    pub fn public(&self, precision: PublicPrecision) -> Option<PublicPlace> {
        let middle = self.middle();
        let own_radius = self.radius_m();
        let cells_per_degree = match precision {
            PublicPrecision::Exact => {
                return Some(PublicPlace { at: middle, cell_degrees: None, uncertainty_m: whole_metres(own_radius) });
            }
            PublicPrecision::Thousandth => 1000,
            PublicPrecision::Hundredth => 100,
            PublicPrecision::Tenth => 10,
            PublicPrecision::Withheld => return None,
        };
        let at = cell_middle(middle, cells_per_degree);
        let half = 0.5 / f64::from(cells_per_degree);
        let half_diagonal = [(-half, -half), (-half, half), (half, -half), (half, half)]
            .into_iter()
            .map(|(north, east)| {
                let corner = Pin { lat: (at.lat + north).clamp(-90.0, 90.0), lon: at.lon + east };
                at.distance_m(corner)
            })
            .fold(0.0, f64::max);
        Some(PublicPlace {
            at,
            cell_degrees: Some(1.0 / f64::from(cells_per_degree)),
            uncertainty_m: whole_metres(own_radius + half_diagonal),
        })
    }

    /// Radius in metres around the middle that holds the whole site, a device's doubt included.
    fn radius_m(&self) -> f64 {
        match self {
            Self::Pin { radius_m, accuracy_m, .. } => {
                radius_m.unwrap_or(0.0) + accuracy_m.map_or(UNKNOWN_ACCURACY_M, |radius| radius * RADIUS_68_TO_95)
            }
            Self::Area(area) => {
                let middle = area.middle();
                area.outline.iter().map(|&corner| middle.distance_m(corner)).fold(0.0, f64::max)
            }
        }
    }
}

fn line(ring: &[Pin]) -> geo::LineString {
    ring.iter().map(|pin| (pin.lon, pin.lat)).collect()
}

fn cell_middle(pin: Pin, cells_per_degree: i32) -> Pin {
    let cells = f64::from(cells_per_degree);
    let middle = |degrees: f64, limit: f64| {
        let cell = (degrees * cells).floor().clamp(-limit * cells, limit * cells - 1.0);
        (2.0 * cell + 1.0) / (2.0 * cells)
    };
    Pin { lat: middle(pin.lat, 90.0), lon: middle(pin.lon, 180.0) }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the range of u32 first")]
fn whole_metres(metres: f64) -> u32 {
    metres.ceil().clamp(1.0, f64::from(u32::MAX)) as u32
}

fn open_ring(mut ring: Vec<Pin>, index: usize) -> Result<Vec<Pin>, PlaceError> {
    ring.dedup();
    if ring.len() > 1 && ring.first() == ring.last() {
        ring.pop();
    }
    let mut corners: Vec<_> = ring.iter().map(|pin| (pin.lat.to_bits(), pin.lon.to_bits())).collect();
    corners.sort_unstable();
    corners.dedup();
    if corners.len() < 3 {
        return Err(PlaceError::TooFewCorners { ring: index, corners: corners.len() });
    }
    Ok(ring)
}

#[derive(Deserialize)]
struct RawPin {
    lat: f64,
    lon: f64,
}

#[derive(Deserialize)]
struct RawArea {
    outline: Vec<Pin>,
    #[serde(default)]
    holes: Vec<Vec<Pin>>,
}

impl TryFrom<RawPin> for Pin {
    type Error = PlaceError;

    fn try_from(raw: RawPin) -> Result<Self, PlaceError> {
        Self::new(raw.lat, raw.lon)
    }
}

impl TryFrom<RawArea> for Area {
    type Error = PlaceError;

    fn try_from(raw: RawArea) -> Result<Self, PlaceError> {
        Self::new(raw.outline, raw.holes)
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    fn pin(lat: f64, lon: f64) -> Pin {
        Pin::new(lat, lon).unwrap()
    }

    fn area(corners: &[(f64, f64)]) -> Area {
        Area::new(corners.iter().map(|&(lat, lon)| pin(lat, lon)).collect(), Vec::new()).unwrap()
    }

    /// Test lines shipped with Karney's library (`geographiclib` of `PyPI`, WGS 84), and a line of field length.
    #[test]
    fn distances_are_those_of_geographiclib() {
        for (from, to, metres) in [
            ((35.60777, -139.44815), (-11.17491, -69.95921), 8_935_244.560_481_83),
            ((55.52454, 106.05087), (77.03196, 197.18234 - 360.0), 4_105_086.171_392_44),
            ((-19.79938, -174.47484), (-11.99349, -154.35109), 2_319_004.860_116_94),
            ((44.9778, -93.2650), (44.9788, -93.2637), 151.210_254),
        ] {
            let distance = pin(from.0, from.1).distance_m(pin(to.0, to.1));
            assert!((distance - metres).abs() < 1e-6, "{distance} is not {metres}");
        }
    }

    /// Computed with `geographiclib` 2.1 of `PyPI` (Karney's polygon areas).
    #[test]
    fn areas_are_those_of_geographiclib() {
        let square = area(&[(44.9778, -93.2650), (44.9778, -93.2637), (44.9788, -93.2637), (44.9788, -93.2650)]);
        assert!((square.square_metres() - 11_395.361_037).abs() < 1e-5);
        assert!((square.perimeter_m() - 427.341_844).abs() < 1e-5);
        let triangle = area(&[(41.0, -93.0), (41.0, -92.99), (41.01, -92.995)]);
        assert!((triangle.square_metres() - 467_172.396_6).abs() < 1e-3);
        assert!((triangle.perimeter_m() - 3_216.422_947).abs() < 1e-5);
    }

    #[test]
    fn a_hole_is_taken_off() {
        let outline = [(45.0, -93.0), (45.0, -92.99), (45.01, -92.99), (45.01, -93.0)].map(|(a, b)| pin(a, b));
        let hole = [(45.002, -92.998), (45.002, -92.996), (45.004, -92.996), (45.004, -92.998)].map(|(a, b)| pin(a, b));
        let whole = Area::new(outline.to_vec(), Vec::new()).unwrap();
        let cut = Area::new(hole.to_vec(), Vec::new()).unwrap();
        let holed = Area::new(outline.to_vec(), vec![hole.to_vec()]).unwrap();
        assert!((holed.square_metres() - (whole.square_metres() - cut.square_metres())).abs() < 1e-3);
        assert!(holed.contains(pin(45.006, -92.992)) && !holed.contains(pin(45.003, -92.997)));
    }

    #[test]
    fn places_that_cannot_be_are_refused_with_the_reason() {
        assert_eq!(Pin::new(-93.2, 44.9).unwrap_err(), PlaceError::LooksSwapped { lat: -93.2, lon: 44.9 });
        assert_eq!(Pin::new(91.0, 181.0).unwrap_err(), PlaceError::OutOfRange { lat: 91.0, lon: 181.0 });
        assert!(matches!(Pin::new(f64::NAN, 0.0), Err(PlaceError::OutOfRange { .. })));
        let bow = [(0.0, 0.0), (1.0, 1.0), (0.0, 1.0), (1.0, 0.0)].map(|(a, b)| pin(a, b));
        assert!(matches!(Area::new(bow.to_vec(), Vec::new()), Err(PlaceError::NotSimple { .. })));
        let line = [(0.0, 0.0), (1.0, 1.0), (0.0, 0.0)].map(|(a, b)| pin(a, b));
        assert!(matches!(Area::new(line.to_vec(), Vec::new()), Err(PlaceError::TooFewCorners { ring: 0, corners: 2 })));
        let across = [(0.0, 179.9), (0.0, -179.9), (1.0, -179.9)].map(|(a, b)| pin(a, b));
        assert_eq!(Area::new(across.to_vec(), Vec::new()), Err(PlaceError::CrossesAntimeridian));
    }

    /// Half-diagonals of cells of 0.01 degree at 45 degrees north, computed on a sphere: 681 m.
    #[test]
    fn the_uncertainty_holds_the_whole_cell() {
        let place = Place::Pin { at: pin(45.0001, -93.0001), radius_m: Some(20.0), accuracy_m: Some(5.0) };
        let public = place.public(PublicPrecision::Hundredth).unwrap();
        assert_eq!((public.at.lat(), public.at.lon()), (45.005, -93.005));
        assert_eq!(public.cell_degrees, Some(0.01));
        assert!((681 + 28..=681 + 31).contains(&public.uncertainty_m), "{}", public.uncertainty_m);
        assert_eq!(place.public(PublicPrecision::Withheld), None);
    }

    proptest! {
        #[test]
        fn coarsening_is_stable_and_contains_the_place(lat in -90.0_f64..=90.0, lon in -180.0_f64..=180.0, which in 0_usize..3) {
            let precision = [PublicPrecision::Thousandth, PublicPrecision::Hundredth, PublicPrecision::Tenth][which];
            let place = Place::Pin { at: pin(lat, lon), radius_m: None, accuracy_m: Some(1.0) };
            let first = place.public(precision).unwrap();
            // Publishing what was published gives the same point: nothing is left to average away.
            let again = Place::Pin { at: first.at, radius_m: None, accuracy_m: Some(1.0) }.public(precision).unwrap();
            prop_assert_eq!(first.at, again.at);
            prop_assert!(first.at.distance_m(pin(lat, lon)) <= f64::from(first.uncertainty_m));
        }
    }
}
