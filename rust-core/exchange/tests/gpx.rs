//! GPX of sites, as others write it. All sites are invented.

use exchange::{FileError, Lines, MOST_BYTES, MOST_FEATURES, MOST_LEVELS, MOST_POINTS, Problem, SitesRead, read_gpx};
use proptest::prelude::*;
use survey::place::{Pin, Place, PlaceError};

fn gpx(inner: &str) -> String {
    format!(
        "<?xml version=\"1.0\"?>\n<gpx version=\"1.1\" creator=\"test\" xmlns=\"http://www.topografix.com/GPX/1/1\">\n{inner}\n</gpx>"
    )
}

fn read(inner: &str, lines: Lines) -> SitesRead {
    read_gpx(gpx(inner).as_bytes(), lines).unwrap()
}

fn refused(text: &str) -> FileError {
    read_gpx(text.as_bytes(), Lines::AsOutlines).unwrap_err()
}

fn problem(inner: &str) -> Problem {
    let mut read = read(inner, Lines::AsOutlines);
    assert!(read.sites.is_empty(), "{read:?}");
    read.refused.remove(0).problem
}

/// The element names and attributes are those of the GPX 1.1 schema (<https://www.topografix.com/GPX/1/1/gpx.xsd>).
#[test]
fn waypoints_are_pins_and_lines_are_outlines_only_where_asked() {
    let inner = r#"<metadata><name>A file</name></metadata>
<wpt lat="41.5" lon="-91.25"><ele>210</ele><time>2026-06-01T09:00:00Z</time><name> Inky &amp; <![CDATA[Ada's]]> patch&#33; </name>
  <extensions><x:name xmlns:x="urn:invented">not this one</x:name></extensions></wpt>
<wpt lat=" -33.9 " lon="1.84e1"/>
<trk><name>Round the meadow</name><trkseg><trkpt lat="41.0" lon="-93.0"/><trkpt lat="41.01" lon="-93.0"/><trkpt lat="41.01" lon="-92.99"/></trkseg></trk>
<rte><rtept lat="41.0" lon="-93.0"/><rtept lat="41.01" lon="-93.0"/><rtept lat="41.01" lon="-92.99"/><rtept lat="41.0" lon="-93.0"/></rte>"#;
    let only_pins = read(inner, Lines::Refuse);
    let pin = |lat, lon| Some(Place::Pin { at: Pin::new(lat, lon).unwrap(), radius_m: None, accuracy_m: None });
    let names: Vec<_> = only_pins.sites.iter().map(|site| site.name.as_deref()).collect();
    assert_eq!(names, [Some("Inky & Ada's patch!"), None]);
    assert_eq!(only_pins.sites[0].place, pin(41.5, -91.25));
    assert_eq!(only_pins.sites[1].place, pin(-33.9, 18.4));
    let kinds: Vec<String> = only_pins.refused.iter().map(ToString::to_string).collect();
    assert_eq!(
        kinds,
        [
            "feature 2 (from 0), \"Round the meadow\": line 7: a track is taken as the outline of a site only where you ask for it",
            "feature 3 (from 0): line 8: a route is taken as the outline of a site only where you ask for it",
        ]
    );
    let all = read(inner, Lines::AsOutlines);
    assert_eq!((all.sites.len(), all.refused.len()), (4, 0));
    let areas: Vec<_> = all.sites[2..].iter().map(|site| site.place.clone()).collect();
    assert_eq!(areas[0], areas[1], "an outline is the same whether its line is closed or not");
    let Some(Place::Area(area)) = &areas[0] else { panic!("an area") };
    assert!(area.contains(Pin::new(41.008, -92.995).unwrap()));
}

#[test]
fn what_is_wrong_with_a_feature_is_named_with_its_line() {
    for wrong in
        [r#"<wpt lat="41.5"/>"#, r#"<wpt lat="41.5" lon="east"/>"#, r#"<wpt lat="1" lat="2" lon="3"/>"#, "<wpt/>"]
    {
        assert_eq!(problem(wrong), Problem::NoPosition { line: 3 }, "{wrong}");
    }
    let swapped = PlaceError::LooksSwapped { lat: -91.5, lon: 41.6 };
    assert_eq!(problem("\n<wpt lat=\"-91.5\" lon=\"41.6\"/>"), Problem::Point { line: 4, problem: swapped });
    assert!(matches!(problem(r#"<wpt lat="NaN" lon="inf"/>"#), Problem::Point { .. }));
    let point = r#"<trkpt lat="1" lon="1"/>"#;
    let pieces = format!("<trk><trkseg>{point}</trkseg><trkseg>{point}</trkseg></trk>");
    assert_eq!(problem(&pieces), Problem::Pieces { line: 3, segments: 2 });
    let short = format!("<trk><trkseg>{point}{point}</trkseg></trk>");
    assert!(matches!(problem(&short), Problem::Outline(PlaceError::TooFewCorners { .. })));
    assert!(matches!(problem("<rte/>"), Problem::Outline(PlaceError::TooFewCorners { .. })));
    let long = format!("<wpt lat=\"1\" lon=\"1\"><name>{}</name></wpt>", "x".repeat(201));
    assert_eq!(problem(&long), Problem::BadName);
}

#[test]
fn a_file_that_is_none_is_refused_as_a_whole() {
    assert!(matches!(refused(""), FileError::NotXml { line: 1, .. }));
    assert!(matches!(refused("GPX"), FileError::NotXml { line: 1, .. }));
    assert_eq!(refused("<kml/>"), FileError::NotGpx { found: "kml".into() });
    assert!(matches!(refused("<gpx><wpt></gpx>"), FileError::NotXml { .. }));
    assert!(matches!(refused("<gpx>\n<wpt lat=\"1\""), FileError::NotXml { .. }));
    assert!(matches!(refused("<gpx/><gpx/>"), FileError::NotXml { .. }));
    assert!(matches!(refused("<gpx/>more"), FileError::NotXml { .. }));
    assert!(matches!(refused("<gpx><name>&boom;</name></gpx>"), FileError::NotXml { .. }));
    // Entities that stand for entities, each ten times the one before: never read at all.
    let laughs = "<?xml version=\"1.0\"?>\n<!DOCTYPE gpx [<!ENTITY a \"ha\"><!ENTITY b \"&a;&a;&a;\">]><gpx/>";
    assert_eq!(refused(laughs), FileError::DocumentType { line: 2 });
    assert!(matches!(refused(&"<gpx>".repeat(100_000)), FileError::TooDeep { .. }));
    let deepest = format!("<gpx>{}{}</gpx>", "<a>".repeat(MOST_LEVELS - 1), "</a>".repeat(MOST_LEVELS - 1));
    assert!(read_gpx(deepest.as_bytes(), Lines::Refuse).is_ok());
    let many = gpx(&format!("<rte>\n{}</rte>", "<rtept lat=\"1\" lon=\"1\"/>\n".repeat(MOST_POINTS + 1)));
    assert_eq!(refused(&many), FileError::TooManyPoints { line: MOST_POINTS + 4 });
    assert!(matches!(refused(&gpx(&"<rte/>".repeat(MOST_FEATURES + 1))), FileError::TooManyFeatures { .. }));
    assert_eq!(read_gpx(b"<gpx>\xff", Lines::Refuse), Err(FileError::NotText { offset: 5 }));
    assert_eq!(refused(&" ".repeat(MOST_BYTES + 1)), FileError::TooLarge { bytes: MOST_BYTES + 1 });
}

proptest! {
    /// A point in a file is the point that is read, to the last bit.
    #[test]
    fn a_waypoint_is_read_as_it_stands(lat in -90.0_f64..=90.0, lon in -180.0_f64..=180.0) {
        let read = read(&format!("<wpt lat=\"{lat}\" lon=\"{lon}\"/>"), Lines::Refuse);
        let place = Place::Pin { at: Pin::new(lat, lon).unwrap(), radius_m: None, accuracy_m: None };
        prop_assert_eq!(read.sites[0].place.as_ref(), Some(&place));
    }

    /// A file cut anywhere is refused as a whole, never half taken.
    #[test]
    fn a_cut_file_is_no_file(cut in any::<prop::sample::Index>()) {
        let whole = gpx("<wpt lat=\"1\" lon=\"2\"><name>a&amp;b</name></wpt>");
        prop_assert!(read_gpx(&whole.as_bytes()[..cut.index(whole.len())], Lines::Refuse).is_err());
    }
}
