//! Places as `GeoJSON`.

use super::source::{At, Source};
use crate::command::season::fault::SeasonFault;
use exchange::{FileError, read_sites};
use survey::place::{Area, Pin, Place};

/// Square metres below which a polygon is a line.
const LEAST: f64 = 0.01;

/// Points and polygons in the order of the file.
#[derive(Debug, Default)]
pub(in crate::command::season) struct Shapes {
    pub(in crate::command::season) pins: Vec<Pin>,
    pub(in crate::command::season) areas: Vec<Area>,
}

/// The shapes of a text; a feature that cannot be used refuses the whole.
pub(in crate::command::season) fn shapes(source: &Source) -> Result<Shapes, SeasonFault> {
    let read = read_sites(source.text().as_bytes()).map_err(|error| {
        let at = match &error {
            FileError::NotText { offset }
            | FileError::TooDeep { offset }
            | FileError::TooManyValues { offset }
            | FileError::TooManyFeatures { offset } => source.at(*offset),
            FileError::NotJson { line, column, .. } => At { line: *line, column: (*column).max(1) },
            FileError::NotXml { line, .. } | FileError::DocumentType { line } => At { line: *line, column: 1 },
            _ => At { line: 1, column: 1 },
        };
        source.fault(at, error)
    })?;
    if let Some(refused) = read.refused.first() {
        return Err(source.fault(feature(source, refused.feature), refused));
    }
    let mut shapes = Shapes::default();
    for site in read.sites {
        match site.place {
            Some(Place::Pin { at, .. }) => shapes.pins.push(at),
            Some(Place::Area(area)) => shapes.areas.push(area),
            None => return Err(source.fault(feature(source, site.feature), "this feature has no place")),
        }
    }
    Ok(shapes)
}

impl Shapes {
    /// The one polygon.
    pub(in crate::command::season) fn area(&self, source: &Source) -> Result<&Area, SeasonFault> {
        match self.areas.as_slice() {
            [area] if self.pins.is_empty() && area.square_metres() < LEAST => {
                Err(source.fault(feature(source, 0), "this polygon has no area"))
            }
            [area] if self.pins.is_empty() => Ok(area),
            areas => Err(source.fault_of_all(format!(
                "one polygon is wanted, here are {} and {} points",
                areas.len(),
                self.pins.len()
            ))),
        }
    }
}

/// Where a feature begins: the place of its geometry's coordinates, counted through the file.
fn feature(source: &Source, index: usize) -> At {
    let found = source.text().match_indices("\"coordinates\"").nth(index);
    source.at(found.map_or(0, |(offset, _)| offset))
}
