//! What is refused before a file is parsed at all.

use serde_json::Value;

/// The largest file that is read, in bytes.
pub const MOST_BYTES: usize = 5_000_000;
/// The most levels of arrays and objects within each other.
pub const MOST_LEVELS: usize = 32;

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
}

/// The file as JSON, within the limits. A byte order mark is passed over.
pub(crate) fn parse(bytes: &[u8]) -> Result<Value, FileError> {
    if bytes.len() > MOST_BYTES {
        return Err(FileError::TooLarge { bytes: bytes.len() });
    }
    let text = std::str::from_utf8(bytes).map_err(|error| FileError::NotText { offset: error.valid_up_to() })?;
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    check_depth(text)?;
    serde_json::from_str(text).map_err(|error| FileError::NotJson {
        line: error.line(),
        column: error.column(),
        what: error.to_string(),
    })
}

fn check_depth(text: &str) -> Result<(), FileError> {
    let (mut levels, mut in_string, mut escaped) = (0_usize, false, false);
    for (offset, byte) in text.bytes().enumerate() {
        match byte {
            _ if escaped => escaped = false,
            b'\\' if in_string => escaped = true,
            b'"' => in_string = !in_string,
            b'[' | b'{' if !in_string => levels += 1,
            b']' | b'}' if !in_string => levels = levels.saturating_sub(1),
            _ => {}
        }
        if levels > MOST_LEVELS {
            return Err(FileError::TooDeep { offset });
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
        assert_eq!(check_depth(&text), Ok(()));
        let deep = "[".repeat(MOST_LEVELS + 1);
        assert_eq!(check_depth(&deep), Err(FileError::TooDeep { offset: MOST_LEVELS }));
    }
}
