//! GPX that somebody else wrote.

use crate::damage::{Damage, damaged, described};
use crate::geojson::{refused, usable};
use arbitrary::Arbitrary;
use exchange::{Lines, MOST_POINTS, SitesRead, read_gpx};
use std::fmt::Write;

#[derive(Debug, Arbitrary)]
struct Input {
    features: Vec<Feature>,
    damages: Vec<Damage>,
}

#[derive(Debug, Arbitrary)]
struct Feature {
    kind: u8,
    name: Option<String>,
    points: Vec<(i16, i16)>,
    pieces: bool,
    unknown: Option<String>,
}

/// Octets that begin like XML are read as a file, others as a description of one.
pub fn hold(octets: &[u8]) {
    if matches!(octets.first(), Some(b'<' | b' ' | 0xEF)) {
        file(octets);
    } else if let Some(input) = described::<Input>(octets) {
        let features = &input.features[..input.features.len().min(24)];
        let right = written(features);
        let read = file(right.as_bytes()).expect("what is written right is read");
        assert_eq!(read.sites.len() + read.refused.len(), features.len(), "no feature is passed over in silence");
        file(&damaged(right.as_bytes(), &input.damages));
    }
}

/// What is read can be used; asking for outlines only ever adds to it; what is refused says why.
fn file(octets: &[u8]) -> Option<SitesRead> {
    let pins = read_gpx(octets, Lines::Refuse);
    let all = read_gpx(octets, Lines::AsOutlines);
    match (pins, all) {
        (Ok(pins), Ok(all)) => {
            usable(&pins);
            usable(&all);
            assert!(all.sites.len() + all.refused.len() <= octets.len());
            assert!(all.sites.len() <= MOST_POINTS);
            assert!(pins.sites.iter().all(|site| all.sites.contains(site)));
            assert_eq!(pins.sites.len() + pins.refused.len(), all.sites.len() + all.refused.len());
            Some(all)
        }
        (Err(one), Err(other)) => {
            assert_eq!(one, other);
            refused(octets, &one);
            None
        }
        (one, other) => panic!("{one:?} without outlines, {other:?} with them"),
    }
}

fn written(features: &[Feature]) -> String {
    let mut text = "<gpx version=\"1.1\" creator=\"invented\">".to_owned();
    for feature in features {
        let (outer, inner) = [("wpt", "wpt"), ("rte", "rtept"), ("trk", "trkpt")][usize::from(feature.kind % 3)];
        let degrees = |(lon, lat): &(i16, i16)| (f64::from(*lat) / 360.0, f64::from(*lon) / 180.0);
        let (lat, lon) = feature.points.first().map_or((0.0, 0.0), degrees);
        // Attributes without a meaning are passed over, so that all three may be written alike.
        let _ = write!(text, "<{outer} lat=\"{lat}\" lon=\"{lon}\">");
        if let Some(name) = &feature.name {
            let name: String = name.chars().take(250).flat_map(escaped).collect();
            let _ = write!(text, "<name>{name}</name>");
        }
        if outer == "trk" {
            text.push_str("<trkseg>");
        }
        for (n, point) in feature.points.iter().take(64).enumerate().filter(|_| outer != "wpt") {
            let (lat, lon) = degrees(point);
            let _ = write!(text, "<{inner} lat=\"{lat}\" lon='{lon}'/>");
            if outer == "trk" && feature.pieces && n == 3 {
                text.push_str("</trkseg><trkseg>");
            }
        }
        if outer == "trk" {
            text.push_str("</trkseg>");
        }
        if let Some(unknown) = &feature.unknown {
            let unknown: String = unknown.chars().take(64).flat_map(escaped).collect();
            let _ = write!(text, "<extensions><x>{unknown}</x><name/></extensions>");
        }
        let _ = write!(text, "</{outer}>");
    }
    text.push_str("</gpx>");
    text
}

/// A letter as XML may hold it; those that it may not become a space.
fn escaped(letter: char) -> Vec<char> {
    match letter {
        '<' => "&lt;".chars().collect(),
        '&' => "&amp;".chars().collect(),
        '>' => "&gt;".chars().collect(),
        letter if letter.is_control() => vec![' '],
        letter => vec![letter],
    }
}
