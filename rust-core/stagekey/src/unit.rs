//! Units of what is measured.

use serde::{Deserialize, Serialize};

/// The unit of a numeric character.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
pub enum Unit {
    /// Millimetres.
    #[serde(rename = "mm")]
    Millimetre,
    /// Milligrams.
    #[serde(rename = "mg")]
    Milligram,
    /// One length divided by another, on the same photo.
    #[serde(rename = "ratio")]
    Ratio,
}

impl Unit {
    /// Its symbol; none for a ratio.
    pub const fn symbol(self) -> &'static str {
        match self {
            Self::Millimetre => "mm",
            Self::Milligram => "mg",
            Self::Ratio => "",
        }
    }
}
