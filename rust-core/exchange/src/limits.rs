//! What is refused before a file is parsed at all.

use serde_json::Value;

/// The largest file that is read, in bytes.
pub const MOST_BYTES: usize = 5_000_000;
/// The most levels of arrays and objects within each other.
pub const MOST_LEVELS: usize = 32;

/// The most features of a file.
pub const MOST_FEATURES: usize = 10_000;
/// The most values of a JSON file, told by its commas. Parsed, each takes 32 bytes and more, whatever it takes in the
/// file: this many numbers are 250 outlines of 1000 corners, and some 30 MB in memory.
pub const MOST_VALUES: usize = 500_000;
/// The most points of a GPX file.
pub const MOST_POINTS: usize = 10_000;

/// The file as a whole cannot be read.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FileError {
    /// Larger than [`MOST_BYTES`].
    #[error("the file has {bytes} bytes, {MOST_BYTES} are the most that is read")]
    TooLarge {
        /// Its size.
        bytes: usize,
    },
    /// Not UTF-8 text.
    #[error("the file is no UTF-8 text: byte {offset} (from 0) fits nothing")]
    NotText {
        /// The first byte that is wrong, from 0.
        offset: usize,
    },
    /// More than [`MOST_LEVELS`] levels.
    #[error("more than {MOST_LEVELS} arrays and objects lie within each other at byte {offset} (from 0)")]
    TooDeep {
        /// Where the level too many opens, from 0.
        offset: usize,
    },
    /// More than [`MOST_VALUES`].
    #[error("more than {MOST_VALUES} values, at byte {offset} (from 0): split the file")]
    TooManyValues {
        /// Where the comma too many stands, from 0.
        offset: usize,
    },
    /// More than [`MOST_FEATURES`].
    #[error("more than {MOST_FEATURES} features, at byte {offset} (from 0): split the file")]
    TooManyFeatures {
        /// Where the feature too many begins, from 0; 0 where that is not known.
        offset: usize,
    },
    /// Not JSON, or cut off.
    #[error("line {line}, column {column}: this is no JSON: {what}")]
    NotJson {
        /// The line, from 1.
        line: usize,
        /// The column, from 1; 0 at the end of a line.
        column: usize,
        /// What the parser says.
        what: String,
    },
    /// JSON, but no `GeoJSON` with features.
    #[error("this is JSON but no GeoJSON FeatureCollection, Feature, Point or Polygon: its type is {found}")]
    NotGeoJson {
        /// The value of its member `type`, or that there is none.
        found: String,
    },
    /// Not XML, or cut off.
    #[error("line {line}: this is no XML: {what}")]
    NotXml {
        /// The line, from 1.
        line: usize,
        /// What the parser says.
        what: String,
    },
    /// XML with a document type: what it defines could be anything, and GPX has none.
    #[error("line {line}: the file has a document type, which no GPX file needs and none may have here")]
    DocumentType {
        /// The line, from 1.
        line: usize,
    },
    /// XML, but no GPX.
    #[error("this is XML but no GPX: its outermost element is {found:?}")]
    NotGpx {
        /// The element's name, cut to 64 characters.
        found: String,
    },
    /// More than [`MOST_POINTS`].
    #[error("line {line}: more than {MOST_POINTS} points, split the file")]
    TooManyPoints {
        /// The line of the point too many, from 1.
        line: usize,
    },
}

/// The file as text, within the limits. A byte order mark is passed over.
pub(crate) fn text(bytes: &[u8]) -> Result<&str, FileError> {
    if bytes.len() > MOST_BYTES {
        return Err(FileError::TooLarge { bytes: bytes.len() });
    }
    let text = std::str::from_utf8(bytes).map_err(|error| FileError::NotText { offset: error.valid_up_to() })?;
    Ok(text.strip_prefix('\u{feff}').unwrap_or(text))
}

/// The file as JSON, within the limits.
pub(crate) fn parse(bytes: &[u8]) -> Result<Value, FileError> {
    let text = text(bytes)?;
    check_shape(text)?;
    serde_json::from_str(text).map_err(|error| FileError::NotJson {
        line: error.line(),
        column: error.column(),
        what: error.to_string(),
    })
}

fn check_shape(text: &str) -> Result<(), FileError> {
    let (mut levels, mut commas, mut in_string, mut escaped) = (0_usize, 0_usize, false, false);
    for (offset, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_string => escaped = true,
            b'"' => in_string = !in_string,
            b'[' | b'{' if !in_string => levels += 1,
            b']' | b'}' if !in_string => levels = levels.saturating_sub(1),
            b',' if !in_string => commas += 1,
            _ => {}
        }
        if levels > MOST_LEVELS {
            return Err(FileError::TooDeep { offset });
        }
        if commas > MOST_VALUES {
            return Err(FileError::TooManyValues { offset });
        }
    }
    Ok(())
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn brackets_in_strings_are_no_levels() {
        let text = format!("[\"{}\\\"{}\"]", "[".repeat(50), "{".repeat(50));
        assert_eq!(check_shape(&text), Ok(()));
        let deep = "[".repeat(MOST_LEVELS + 1);
        assert_eq!(check_shape(&deep), Err(FileError::TooDeep { offset: MOST_LEVELS }));
    }
}
