//! `GeoJSON` of sites, there and back. All sites are invented.

use exchange::{
    FileError, MOST_BYTES, MOST_FEATURES, MOST_VALUES, Problem, SiteToWrite, SitesRead, read_sites, sites_geojson,
};
use proptest::prelude::*;
use serde_json::{Value, json};
use survey::ids::SiteId;
use survey::place::{Area, Pin, Place, PlaceError, PublicPrecision};
use survey::site::Privacy;

fn pin(lat: f64, lon: f64) -> Pin {
    Pin::new(lat, lon).unwrap()
}

fn at(lat: f64, lon: f64) -> Place {
    Place::Pin { at: pin(lat, lon), radius_m: Some(20.0), accuracy_m: Some(5.0) }
}

fn site(number: u8, place: Option<Place>, precision: PublicPrecision) -> SiteToWrite {
    SiteToWrite {
        id: SiteId::from_octets([number; 16]),
        name: Some(format!("Invented site {number}")),
        place,
        precision,
        privacy: None,
    }
}

/// A square with a square hole, both given clockwise.
fn square() -> Place {
    let ring = |south: f64, west: f64, side: f64| {
        vec![pin(south, west), pin(south + side, west), pin(south + side, west + side), pin(south, west + side)]
    };
    Place::Area(Area::new(ring(41.0, -93.0, 0.01), vec![ring(41.003, -92.997, 0.002)]).unwrap())
}

fn read(text: &str) -> SitesRead {
    read_sites(text.as_bytes()).unwrap()
}

/// The one problem of a file with one feature of this geometry.
fn problem(geometry: &Value) -> Problem {
    let file = json!({ "type": "Feature", "properties": { "name": "Invented" }, "geometry": geometry });
    let mut read = read(&file.to_string());
    assert!(read.sites.is_empty(), "{read:?}");
    read.refused.remove(0).problem
}

/// Whether a ring of positions runs counter-clockwise, by the shoelace formula.
fn runs_left(ring: &Value) -> bool {
    let corners: Vec<(f64, f64)> = ring
        .as_array()
        .unwrap()
        .iter()
        .map(|corner| (corner[0].as_f64().unwrap(), corner[1].as_f64().unwrap()))
        .collect();
    corners.windows(2).map(|pair| (pair[1].0 - pair[0].0) * (pair[1].1 + pair[0].1)).sum::<f64>() < 0.0
}

#[test]
fn sites_as_they_are_written() {
    let private = SiteToWrite {
        privacy: Some(Privacy::Private),
        ..site(5, Some(at(30.267_153, -97.743_061)), PublicPrecision::Exact)
    };
    let text = sites_geojson(&[
        site(1, Some(at(41.661_256, -91.529_908)), PublicPrecision::Exact),
        site(2, Some(square()), PublicPrecision::Exact),
        site(3, Some(square()), PublicPrecision::Hundredth),
        site(4, Some(at(41.661_256, -91.529_908)), PublicPrecision::Withheld),
        private,
        site(6, None, PublicPrecision::Exact),
    ]);
    insta::assert_json_snapshot!("sites", serde_json::from_str::<Value>(&text).unwrap());
}

/// RFC 7946: longitude first (section 3.1.1), outline counter-clockwise and holes clockwise, rings closed (3.1.6).
#[test]
fn longitude_comes_first_and_rings_follow_the_right_hand_rule() {
    let text = sites_geojson(&[
        site(1, Some(at(41.5, -91.25)), PublicPrecision::Exact),
        site(2, Some(square()), PublicPrecision::Exact),
    ]);
    assert!(text.contains(r#""coordinates":[-91.25,41.5]"#), "{text}");
    let file: Value = serde_json::from_str(&text).unwrap();
    let rings = file["features"][1]["geometry"]["coordinates"].as_array().unwrap();
    assert!(runs_left(&rings[0]) && !runs_left(&rings[1]));
    for ring in rings {
        let ring = ring.as_array().unwrap();
        assert_eq!(ring.first(), ring.last());
        assert_eq!(ring.len(), 5);
    }
}

#[test]
fn what_is_withheld_or_private_stands_nowhere() {
    let place = at(30.267_153, -97.743_061);
    let private =
        |precision| SiteToWrite { privacy: Some(Privacy::Private), ..site(1, Some(place.clone()), precision) };
    let withheld = sites_geojson(&[site(1, Some(place.clone()), PublicPrecision::Withheld)]);
    assert!(withheld.contains(r#""geometry":null"#) && !withheld.contains("30.") && !withheld.contains("97."));
    assert_eq!(
        sites_geojson(&[private(PublicPrecision::Exact)]),
        sites_geojson(&[private(PublicPrecision::Hundredth)]),
    );
    assert!(!sites_geojson(&[private(PublicPrecision::Exact)]).contains("30.267"));
}

/// The example of RFC 7946, section 1.5, from which only the point is a site.
#[test]
fn the_example_of_the_standard() {
    let text = r#"{"type":"FeatureCollection","features":[
        {"type":"Feature","geometry":{"type":"Point","coordinates":[102.0,0.5]},"properties":{"prop0":"value0"}},
        {"type":"Feature","geometry":{"type":"LineString","coordinates":[[102.0,0.0],[103.0,1.0],[104.0,0.0],[105.0,1.0]]},
         "properties":{"prop0":"value0","prop1":0.0}},
        {"type":"Feature","geometry":{"type":"Polygon","coordinates":[[[100.0,0.0],[101.0,0.0],[101.0,1.0],[100.0,1.0],[100.0,0.0]]]},
         "properties":{"prop0":"value0","prop1":{"this":"that"}}}]}"#;
    let read = read(text);
    assert_eq!(read.sites.iter().map(|site| site.feature).collect::<Vec<_>>(), [0, 2]);
    assert_eq!(read.sites[0].place, Some(Place::Pin { at: pin(0.5, 102.0), radius_m: None, accuracy_m: None }));
    assert_eq!(read.refused[0].problem, Problem::NotASite { kind: "LineString" });
    assert_eq!(read.refused[0].to_string(), "feature 1 (from 0): a site is a Point or a Polygon, not a LineString");
}

/// The polygon with a hole of RFC 7946, appendix A.3.
#[test]
fn the_standards_polygon_with_a_hole() {
    let text = r#"{"type":"Polygon","coordinates":[
        [[100.0,0.0],[101.0,0.0],[101.0,1.0],[100.0,1.0],[100.0,0.0]],
        [[100.8,0.8],[100.8,0.2],[100.2,0.2],[100.2,0.8],[100.8,0.8]]]}"#;
    let Some(Place::Area(area)) = read(text).sites.remove(0).place else { panic!("an area") };
    assert!(area.contains(pin(0.1, 100.1)) && !area.contains(pin(0.5, 100.5)));
}

#[test]
fn what_is_wrong_is_named_with_its_place() {
    let closed = |corners: &[[f64; 2]]| json!({ "type": "Polygon", "coordinates": [corners] });
    let swapped = problem(&json!({ "type": "Point", "coordinates": [41.6, -91.5] }));
    assert_eq!(
        swapped,
        Problem::Position { ring: 0, position: 0, problem: PlaceError::LooksSwapped { lat: -91.5, lon: 41.6 } }
    );
    let outside = problem(&json!({ "type": "Point", "coordinates": [500_000.0, 4_600_000.0] }));
    assert!(matches!(outside, Problem::Position { problem: PlaceError::OutOfRange { .. }, .. }));
    let crossing = closed(&[[0.0, 0.0], [1.0, 1.0], [1.0, 0.0], [0.0, 1.0], [0.0, 0.0]]);
    assert!(matches!(problem(&crossing), Problem::Outline(PlaceError::NotSimple { .. })));
    let open = closed(&[[0.0, 0.0], [1.0, 0.0], [1.0, 1.0], [0.0, 1.0]]);
    assert_eq!(problem(&open), Problem::Open { ring: 0 });
    let flat = closed(&[[0.0, 0.0], [1.0, 0.0], [0.0, 0.0]]);
    assert!(matches!(problem(&flat), Problem::Outline(PlaceError::TooFewCorners { ring: 0, corners: 2 })));
    assert_eq!(problem(&json!({ "type": "Polygon", "coordinates": [] })), Problem::NoOutline);
    for malformed in [
        json!({ "type": "Point", "coordinates": [1.0] }),
        json!({ "type": "Point", "coordinates": [] }),
        json!({ "type": "Point", "coordinates": ["1", "2"] }),
        json!({ "type": "Point" }),
        json!({ "type": "Blob", "coordinates": [1.0, 2.0] }),
        json!("somewhere"),
    ] {
        let found = problem(&malformed);
        assert!(matches!(found, Problem::Malformed { .. } | Problem::ShortPosition { .. }), "{malformed}: {found:?}");
    }
    let file = json!({
        "type": "FeatureCollection",
        "features": [3, { "type": "Feature", "properties": { "name": "a\u{0}b" }, "geometry": null }],
    });
    let problems: Vec<Problem> = read(&file.to_string()).refused.into_iter().map(|error| error.problem).collect();
    assert!(matches!(problems.as_slice(), [Problem::Malformed { .. }, Problem::BadName]), "{problems:?}");
}

#[test]
fn a_file_that_is_none_is_refused_as_a_whole() {
    let refused = |bytes: &[u8]| read_sites(bytes).unwrap_err();
    assert!(matches!(refused(b""), FileError::NotJson { line: 1, .. }));
    let whole = sites_geojson(&[site(1, Some(square()), PublicPrecision::Exact)]);
    assert!(matches!(refused(&whole.as_bytes()[..whole.len() / 2]), FileError::NotJson { .. }));
    assert!(matches!(refused(format!("{whole}{whole}").as_bytes()), FileError::NotJson { .. }));
    assert_eq!(refused(b"\"\xff\""), FileError::NotText { offset: 1 });
    assert!(matches!(refused(br#"{"type":"Point","coordinates":[1,2],"x":"\ud800"}"#), FileError::NotJson { .. }));
    assert!(matches!(refused(br#"{"type":"Point","coordinates":[1e999,2]}"#), FileError::NotJson { .. }));
    assert_eq!(refused(b"{}"), FileError::NotGeoJson { found: "missing".into() });
    assert_eq!(
        refused(br#"{"type":"FeatureCollection"}"#),
        FileError::NotGeoJson { found: "FeatureCollection".into() }
    );
    assert_eq!(refused(b"[]"), FileError::NotGeoJson { found: "missing".into() });
    assert!(matches!(refused("[".repeat(100_000).as_bytes()), FileError::TooDeep { offset: 32 }));
    let many = |item: &str, count: usize| {
        format!("{{\"type\":\"FeatureCollection\",\"features\":[{}]}}", vec![item; count].join(","))
    };
    assert_eq!(refused(many("0", MOST_FEATURES + 1).as_bytes()), FileError::TooManyFeatures { offset: 0 });
    assert!(matches!(refused(many("0", MOST_VALUES + 1).as_bytes()), FileError::TooManyValues { .. }));
    assert_eq!(refused(&vec![b' '; MOST_BYTES + 1]), FileError::TooLarge { bytes: MOST_BYTES + 1 });
}

/// A polygon that is star-shaped around its middle, so that it never crosses itself; either way round.
fn patch() -> impl Strategy<Value = Place> {
    (-60.0_f64..60.0, -170.0_f64..170.0, prop::collection::vec(0.2_f64..1.0, 3..30), prop::bool::ANY).prop_map(
        |(lat, lon, reaches, backwards)| {
            let step = std::f64::consts::TAU / reaches.len() as f64;
            let corner = |(index, reach): (usize, f64)| {
                let angle = step * index as f64;
                pin(lat + 0.01 * reach * angle.sin(), lon + 0.01 * reach * angle.cos())
            };
            let mut corners: Vec<Pin> = reaches.into_iter().enumerate().map(corner).collect();
            if backwards {
                corners.reverse();
            }
            Place::Area(Area::new(corners, Vec::new()).unwrap())
        },
    )
}

fn point() -> impl Strategy<Value = Place> {
    (-90.0_f64..=90.0, -180.0_f64..=180.0).prop_map(|(lat, lon)| at(lat, lon))
}

proptest! {
    /// What is written exactly is read as the same place: same corners, same area, same point.
    #[test]
    fn there_and_back(place in prop_oneof![patch(), point()], name in "[ -~]{0,40}") {
        let written = SiteToWrite { name: Some(name.trim().to_owned()), ..site(7, Some(place.clone()), PublicPrecision::Exact) };
        let text = sites_geojson(std::slice::from_ref(&written));
        let read = read(&text).sites.remove(0);
        prop_assert_eq!((read.id, &read.name), (Some(written.id), &written.name));
        prop_assert_eq!(read.cell_degrees, None);
        match (&place, read.place.as_ref().unwrap()) {
            (Place::Pin { at, .. }, Place::Pin { at: found, .. }) => prop_assert_eq!(at, found),
            (Place::Area(area), Place::Area(found)) => {
                let key = |pin: &Pin| (pin.lat().to_bits(), pin.lon().to_bits());
                let sorted = |area: &Area| {
                    let mut keys: Vec<_> = area.outline().iter().map(key).collect();
                    keys.sort_unstable();
                    keys
                };
                prop_assert_eq!(sorted(area), sorted(found));
                prop_assert!((area.square_metres() - found.square_metres()).abs() < 1e-3);
                // Written a second time nothing changes any more.
                let again = sites_geojson(&[SiteToWrite { place: read.place.clone(), ..written }]);
                prop_assert_eq!(again, text);
            }
            other => prop_assert!(false, "{:?}", other),
        }
    }

    /// Two places in one cell give one and the same file, and the true place lies within the stated distance.
    #[test]
    fn a_cell_hides_where_in_it_a_site_is(
        cell in (-5000_i32..5000, -17_000_i32..17_000),
        one in (0.01_f64..0.99, 0.01_f64..0.99),
        other in (0.01_f64..0.99, 0.01_f64..0.99),
    ) {
        let within = |(north, east): (f64, f64)| {
            at((f64::from(cell.0) + north) / 100.0, (f64::from(cell.1) + east) / 100.0)
        };
        let text = |place: Place| sites_geojson(&[site(1, Some(place), PublicPrecision::Hundredth)]);
        prop_assert_eq!(text(within(one)), text(within(other)));
        let read = read(&text(within(one))).sites.remove(0);
        prop_assert_eq!(read.cell_degrees, Some(0.01));
        let apart = read.place.unwrap().middle().distance_m(within(one).middle());
        prop_assert!(apart <= f64::from(read.uncertainty_m.unwrap()));
    }

    /// Whatever stands in a file, reading it ends in a result.
    #[test]
    fn no_file_brings_it_down(bytes in prop::collection::vec(any::<u8>(), 0..200), text in "[\\[\\]{}\",:0-9a-z]{0,200}") {
        let _ = read_sites(&bytes);
        let _ = read_sites(text.as_bytes());
    }

    /// A file cut anywhere is refused as a whole, never half taken.
    #[test]
    fn a_cut_file_is_no_file(place in patch(), cut in 0.0_f64..1.0) {
        let text = sites_geojson(&[site(1, Some(place), PublicPrecision::Exact)]);
        #[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "a length times a share of 1")]
        let cut = (text.len() as f64 * cut) as usize;
        prop_assert!(read_sites(&text.as_bytes()[..cut]).is_err());
    }
}
