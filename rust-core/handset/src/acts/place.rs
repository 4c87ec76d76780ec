//! Where a site is: from fixes of the phone, from a walk along its edge, or from a file.

use crate::error::{Error, HandsetError, Why};
use exchange::{Lines, SiteRead, SitesRead, read_gpx, read_sites};
use survey::place::{Area, Pin, Place};

/// A fix of the phone.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Fix {
    /// Where.
    pub at: Pin,
    /// Radius in metres within which it lies with 68 % confidence, where the phone says so.
    pub accuracy_m: Option<f64>,
}

/// A place of a file.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundPlace {
    /// Its name there.
    pub name: Option<String>,
    /// The place.
    pub place: Place,
}

/// What a file holds.
#[derive(Debug, Clone, PartialEq)]
pub struct FoundPlaces {
    /// What can be used.
    pub places: Vec<FoundPlace>,
    /// How many others are in it, which cannot.
    pub refused: usize,
}

/// Radius in metres of a fix without accuracy (Darwin Core's advice for GPS after 2000-05-01).
const UNKNOWN_ACCURACY_M: f64 = 30.0;

/// One pin from several fixes: their mean, weighted by the inverse square of their accuracies.
///
/// Errors of fixes that follow one another are much alike, so that the accuracy of the mean is not that of one fix over
/// the root of their number: the median of the accuracies is kept, or the distance within which 68 % of the fixes lie
/// from the mean where that is larger (choice of this project).
///
/// # Errors
/// `says-nothing` without a fix; `number-out-of-range` for an accuracy that is none.
pub fn pin_of_fixes(fixes: &[Fix]) -> Result<Place, HandsetError> {
    let first = fixes.first().ok_or_else(|| HandsetError::from(Error::refused(Why::SaysNothing, "no fix")))?.at;
    let accuracy = |fix: &Fix| fix.accuracy_m.unwrap_or(UNKNOWN_ACCURACY_M);
    if let Some(wrong) = fixes.iter().map(accuracy).find(|metres| !(metres.is_finite() && *metres > 0.0)) {
        return Err(HandsetError::number_out_of_range(&wrong.to_string()));
    }
    let weights: f64 = fixes.iter().map(|fix| accuracy(fix).powi(-2)).sum();
    let mean =
        |of: &dyn Fn(&Fix) -> f64| fixes.iter().map(|fix| of(fix) * accuracy(fix).powi(-2)).sum::<f64>() / weights;
    // Longitudes are averaged as differences from the first, so that fixes on both sides of the 180th meridian meet.
    let east = mean(&|fix| wrapped(fix.at.lon() - first.lon()));
    let lat = mean(&|fix| fix.at.lat());
    let at = Pin::new(lat, wrapped(first.lon() + east))
        .map_err(|error| HandsetError::number_out_of_range(&error.to_string()))?;
    let mut distances: Vec<f64> = fixes.iter().map(|fix| fix.at.distance_m(at)).collect();
    distances.sort_by(f64::total_cmp);
    let mut accuracies: Vec<f64> = fixes.iter().map(accuracy).collect();
    accuracies.sort_by(f64::total_cmp);
    // 68 of 100 by the rank that covers at least that share.
    let within = distances[(distances.len() * 68).div_ceil(100) - 1];
    let accuracy_m = accuracies[accuracies.len() / 2].max(within);
    Ok(Place::Pin { at, radius_m: None, accuracy_m: Some(accuracy_m) })
}

/// A patch from the corners that were walked.
///
/// # Errors
/// `place-not-usable` with the reason: fewer than three corners, an edge that crosses itself.
pub fn area_of_edge(corners: &[Fix]) -> Result<Place, HandsetError> {
    let area = Area::new(corners.iter().map(|fix| fix.at).collect(), Vec::new());
    area.map(Place::Area).map_err(|error| Error::refused(Why::PlaceNotUsable, error).into())
}

/// The places of a GPX or `GeoJSON` file; tracks of a GPX file are taken as outlines.
///
/// # Errors
/// `file-not-usable` where it is neither, or is broken.
pub fn places_of_file(bytes: &[u8]) -> Result<FoundPlaces, HandsetError> {
    let is_xml =
        bytes.iter().find(|octet| !octet.is_ascii_whitespace() && !b"\xef\xbb\xbf".contains(octet)) == Some(&b'<');
    let read = if is_xml { read_gpx(bytes, Lines::AsOutlines) } else { read_sites(bytes) };
    let SitesRead { sites, refused } =
        read.map_err(|error| HandsetError::from(Error::refused(Why::FileNotUsable, error)))?;
    let found = |SiteRead { name, place, .. }: SiteRead| place.map(|place| FoundPlace { name, place });
    Ok(FoundPlaces { places: sites.into_iter().filter_map(found).collect(), refused: refused.len() })
}

/// A place as a text that [`place_of_text`] reads: for a shell, which gives it back unread.
pub fn text_of_place(place: &Place) -> String {
    // A place has names and numbers alone, so that writing it does not fail.
    serde_json::to_string(place).unwrap_or_default()
}

/// The place that [`text_of_place`] wrote.
///
/// # Errors
/// `not-here` for any other text.
pub fn place_of_text(text: &str) -> Result<Place, HandsetError> {
    serde_json::from_str(text).map_err(|_| HandsetError::not_here("place"))
}

fn wrapped(degrees: f64) -> f64 {
    if degrees > 180.0 {
        degrees - 360.0
    } else if degrees < -180.0 {
        degrees + 360.0
    } else {
        degrees
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn fix(lat: f64, lon: f64, accuracy_m: Option<f64>) -> Fix {
        Fix { at: Pin::new(lat, lon).unwrap(), accuracy_m }
    }

    fn pin(fixes: &[Fix]) -> (Pin, f64) {
        match pin_of_fixes(fixes).unwrap() {
            Place::Pin { at, accuracy_m: Some(metres), .. } => (at, metres),
            other => panic!("{other:?}"),
        }
    }

    #[test]
    fn the_mean_leans_to_the_better_fix_and_claims_no_more_than_the_fixes_do() {
        let (at, metres) = pin(&[fix(44.0, -93.0, Some(5.0)), fix(44.0002, -93.0, Some(10.0))]);
        assert!((at.lat() - 44.000_04).abs() < 1e-9, "weights 4 to 1: {at:?}");
        // Of two, 68 % are both: the farther one lies 0.00016 degrees from the mean, 17.8 m.
        assert!((metres - 17.8).abs() < 0.1, "{metres}");
        let (_, still) = pin(&[fix(44.0, -93.0, Some(6.0)); 5]);
        assert!((still - 6.0).abs() < 1e-9, "five fixes at one place are no better than one: {still}");
        let (_, unknown) = pin(&[fix(44.0, -93.0, None)]);
        assert!((unknown - 30.0).abs() < 1e-9);
        assert!(pin_of_fixes(&[]).is_err());
        assert!(pin_of_fixes(&[fix(44.0, -93.0, Some(0.0))]).is_err());
    }

    #[test]
    fn fixes_on_both_sides_of_the_180th_meridian_meet() {
        let (at, _) = pin(&[fix(-17.0, 179.999_9, Some(5.0)), fix(-17.0, -179.999_7, Some(5.0))]);
        assert!((at.lon() + 179.999_9).abs() < 1e-9, "{at:?}");
    }

    #[test]
    fn a_walk_and_files_give_places_and_what_is_none_says_why() {
        let edge = [fix(44.0, -93.0, None), fix(44.001, -93.0, None), fix(44.001, -93.001, None)];
        assert!(matches!(area_of_edge(&edge).unwrap(), Place::Area(_)));
        assert!(area_of_edge(&edge[..2]).is_err());
        let geojson =
            br#"{"type":"Feature","properties":{"name":"Made up"},"geometry":{"type":"Point","coordinates":[-93,44]}}"#;
        let found = places_of_file(geojson).unwrap();
        assert_eq!((found.places[0].name.as_deref(), found.refused), (Some("Made up"), 0));
        let gpx = br#" <gpx version="1.1"><wpt lat="44" lon="-93"><name>Made up</name></wpt></gpx>"#;
        assert_eq!(places_of_file(gpx).unwrap().places.len(), 1);
        assert!(places_of_file(b"neither").is_err());
    }
}
