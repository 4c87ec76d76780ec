//! `GeoJSON` that somebody else wrote.

use crate::damage::described;
use arbitrary::Arbitrary;
use exchange::{FileError, SiteToWrite, SitesRead, read_sites, sites_geojson};
use serde_json::{Value, json};
use survey::ids::SiteId;
use survey::place::{MOST_CORNERS, Place, PublicPrecision};

#[derive(Debug, Arbitrary)]
struct Input {
    features: Vec<Feature>,
    bare: bool,
}

#[derive(Debug, Arbitrary)]
struct Feature {
    name: Option<String>,
    id: Option<[u8; 16]>,
    uncertainty: Option<i32>,
    cell: Option<i16>,
    geometry: Geometry,
}

#[derive(Debug, Arbitrary)]
enum Geometry {
    Null,
    Point(Position),
    Polygon {
        rings: Vec<Vec<Position>>,
        closed: bool,
        fine: bool,
    },
    Line(Vec<Position>),
    Several(Vec<Geometry>),
    /// A star around a middle, which never crosses itself.
    Star {
        lat: i8,
        lon: i8,
        reaches: Vec<u8>,
        hole: bool,
    },
}

#[derive(Debug, Arbitrary)]
struct Position {
    lon: i16,
    lat: i16,
    more: Vec<u8>,
}

/// Octets that begin like JSON are read as a file, others as a description of one.
pub fn hold(octets: &[u8]) {
    if matches!(octets.first(), Some(b'{' | b'[' | b' ' | 0xEF)) {
        file(octets);
    } else if let Some(input) = described::<Input>(octets) {
        let features: Vec<Value> = input.features.iter().take(24).map(Feature::json).collect();
        let count = features.len();
        let whole = match features.first() {
            Some(one) if input.bare => one["geometry"].clone(),
            _ => json!({ "type": "FeatureCollection", "features": features }),
        };
        if let Some(read) = file(whole.to_string().as_bytes())
            && !input.bare
        {
            assert_eq!(read.sites.len() + read.refused.len(), count, "no feature is passed over in silence");
        }
    }
}

/// What is read can be used, can be written, and is the same when it is read again; what is not says why.
fn file(octets: &[u8]) -> Option<SitesRead> {
    let read = match read_sites(octets) {
        Ok(read) => read,
        Err(error) => {
            refused(octets, &error);
            return None;
        }
    };
    usable(&read);
    there_and_back(&read);
    Some(read)
}

/// What holds for all that is read from whatever file.
pub(crate) fn usable(read: &SitesRead) {
    for error in &read.refused {
        let said = error.to_string();
        assert!((10..4_000).contains(&said.len()), "{} octets of error", said.len());
        assert!(error.name.as_ref().is_none_or(|name| name.chars().count() <= 64));
    }
    for site in &read.sites {
        if let Some(name) = &site.name {
            assert!(name.chars().count() <= 200 && !name.chars().any(char::is_control));
        }
        assert!(site.uncertainty_m != Some(0));
        assert!(site.cell_degrees.is_none_or(|degrees| degrees > 0.0));
        match &site.place {
            Some(Place::Area(area)) => {
                let corners = area.outline().len() + area.holes().iter().map(Vec::len).sum::<usize>();
                assert!((3..=MOST_CORNERS).contains(&corners));
                assert!(area.square_metres() >= 0.0 && area.perimeter_m() >= 0.0);
            }
            Some(Place::Pin { .. }) | None => {}
        }
        if let Some(place) = &site.place {
            published(place);
        }
    }
}

/// However coarse a place is published, it lies where places lie, and its uncertainty is a number to work with.
fn published(place: &Place) {
    let middle = place.middle();
    assert!((-90.0..=90.0).contains(&middle.lat()) && (-180.0..=180.0).contains(&middle.lon()));
    for precision in [PublicPrecision::Exact, PublicPrecision::Hundredth, PublicPrecision::Tenth] {
        let public = place.public(precision).expect("only what is withheld has no public place");
        assert!((-90.0..=90.0).contains(&public.at.lat()) && (-180.0..=180.0).contains(&public.at.lon()));
        assert!(public.uncertainty_m >= 1);
        let apart = public.at.distance_m(middle);
        assert!(apart <= f64::from(public.uncertainty_m), "{apart} m away, {} m stated", public.uncertainty_m);
    }
    assert_eq!(place.public(PublicPrecision::Withheld), None);
}

pub(crate) fn refused(octets: &[u8], error: &FileError) {
    let said = error.to_string();
    assert!((10..4_000).contains(&said.len()), "{} octets of error", said.len());
    match error {
        FileError::NotText { offset } | FileError::TooDeep { offset } => assert!(*offset < octets.len()),
        _ => {}
    }
}

fn there_and_back(read: &SitesRead) {
    let written: Vec<SiteToWrite> = (1_u8..)
        .zip(&read.sites)
        .map(|(n, site)| SiteToWrite {
            id: site.id.unwrap_or(SiteId::from_octets([n; 16])),
            name: site.name.clone(),
            place: site.place.clone(),
            precision: PublicPrecision::Exact,
            privacy: None,
        })
        .collect();
    let text = sites_geojson(&written);
    let again = read_sites(text.as_bytes()).expect("what we write we read");
    assert!(again.refused.is_empty(), "{:?}", again.refused);
    for (site, again) in written.iter().zip(&again.sites) {
        assert_eq!((Some(site.id), &site.name), (again.id, &again.name));
        match (&site.place, &again.place) {
            (None, None) => {}
            (Some(Place::Pin { at, .. }), Some(Place::Pin { at: found, .. })) => assert_eq!(at, found),
            (Some(Place::Area(area)), Some(Place::Area(found))) => {
                assert_eq!(area.outline().len(), found.outline().len());
                assert_eq!(area.holes().len(), found.holes().len());
            }
            (one, other) => panic!("{one:?} became {other:?}"),
        }
    }
    let places: Vec<SiteToWrite> =
        written.into_iter().zip(again.sites).map(|(site, again)| SiteToWrite { place: again.place, ..site }).collect();
    assert_eq!(sites_geojson(&places), text, "written a second time nothing changes");
}

impl Feature {
    fn json(&self) -> Value {
        json!({
            "type": "Feature",
            "id": self.id.map(SiteId::from_octets),
            "properties": {
                "name": self.name,
                "uncertainty_m": self.uncertainty,
                "cell_degrees": self.cell.map(|cell| f64::from(cell) / 100.0),
            },
            "geometry": self.geometry.json(),
        })
    }
}

impl Geometry {
    fn json(&self) -> Value {
        match self {
            Self::Null => Value::Null,
            Self::Point(position) => json!({ "type": "Point", "coordinates": position.json(1.0) }),
            Self::Polygon { rings, closed, fine } => {
                let scale = if *fine { 0.001 } else { 1.0 };
                let ring = |ring: &Vec<Position>| {
                    let mut ring: Vec<Value> = ring.iter().take(64).map(|position| position.json(scale)).collect();
                    if *closed {
                        ring.extend(ring.first().cloned());
                    }
                    ring
                };
                json!({ "type": "Polygon", "coordinates": rings.iter().take(4).map(ring).collect::<Vec<_>>() })
            }
            Self::Line(line) => {
                let line: Vec<Value> = line.iter().take(64).map(|position| position.json(1.0)).collect();
                json!({ "type": "LineString", "coordinates": line })
            }
            Self::Several(several) => {
                let several: Vec<Value> = several.iter().take(4).map(Self::json).collect();
                json!({ "type": "GeometryCollection", "geometries": several })
            }
            Self::Star { lat, lon, reaches, hole } => {
                let star = |scale: f64| {
                    let step = std::f64::consts::TAU / f64::from(u8::try_from(reaches.len()).unwrap_or(u8::MAX));
                    let mut ring: Vec<[f64; 2]> = (0_u8..u8::MAX)
                        .zip(reaches)
                        .map(|(n, reach)| {
                            let (sin, cos) = (step * f64::from(n)).sin_cos();
                            let reach = scale * (0.01 + f64::from(*reach) / 1_000.0);
                            [f64::from(*lon) + reach * cos, f64::from(*lat) / 1.5 + reach * sin]
                        })
                        .collect();
                    ring.extend(ring.first().copied());
                    ring
                };
                let rings = if *hole { vec![star(1.0), star(0.5)] } else { vec![star(1.0)] };
                json!({ "type": "Polygon", "coordinates": rings })
            }
        }
    }
}

impl Position {
    /// Degrees, now and then beyond what there is.
    fn json(&self, scale: f64) -> Value {
        let lon = f64::from(self.lon) / 180.0 * scale;
        let lat = f64::from(self.lat) / 360.0 * scale;
        let more = self.more.iter().take(2).map(|more| f64::from(*more));
        [lon, lat].into_iter().chain(more).collect()
    }
}
