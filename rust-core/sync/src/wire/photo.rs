//! Photos, which travel in parts.

use serde::{Deserialize, Serialize};
use survey::time::UnixMs;

/// Length of every part but the last: 1 MiB.
pub const PART_BYTES: u64 = 1024 * 1024;

/// What the station has of a photo. The answer to `PUT` of a part, and the header of the answer to `HEAD`.
#[derive(Debug, Clone, PartialEq, Eq, Default, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct PhotoState {
    /// The parts held, ascending, from 0.
    pub parts: Vec<u32>,
    /// Whether all parts are there and the whole matches what its entry declared.
    pub verified: bool,
    /// When a back-up that holds the verified photo was made.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(value_type = Option<i64>))]
    pub backed_up: Option<UnixMs>,
}

/// Number of parts of a photo of so many bytes.
pub const fn parts_of(bytes: u64) -> u64 {
    bytes.div_ceil(PART_BYTES)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn states_as_they_are_sent() {
        insta::assert_json_snapshot!([
            PhotoState { parts: vec![0, 2], verified: false, backed_up: None },
            PhotoState { parts: vec![0, 1, 2], verified: true, backed_up: Some(UnixMs(1_700_000_000_000)) },
        ]);
    }

    #[test]
    fn a_begun_mebibyte_is_a_part() {
        for (bytes, parts) in [(0, 0), (1, 1), (PART_BYTES, 1), (PART_BYTES + 1, 2)] {
            assert_eq!(parts_of(bytes), parts);
        }
    }
}
