//! The palette: few, named, each tested for contrast.

use serde::{Deserialize, Serialize};

/// An ink. What has to be told apart differs in marker or pattern too, so that one colour is enough.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Ink {
    /// The ground of every figure.
    Paper,
    /// Text and the lines that matter.
    Black,
    /// Second text.
    Slate,
    /// Axes, and lines that guide the eye.
    Rule,
    /// A light fill, always with an edge.
    Shade,
    /// Marks of doubt: a deep blue that stays dark in grey.
    Doubt,
    /// Yellow parts of drawn animals, always with an edge.
    Yellow,
    /// Off-white parts of drawn eggs, always with an edge.
    Cream,
    /// Leaves and stems in drawings: light enough for black lines on it, always with an edge.
    Leaf,
}

/// What an ink is fit for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Role {
    /// Text on paper: contrast 7 or more.
    Text,
    /// Edges and marks on paper: contrast 3 or more.
    Edge,
    /// Areas that an edge surrounds.
    Fill,
}

impl Ink {
    /// All of them.
    pub const ALL: [Self; 9] = [
        Self::Paper,
        Self::Black,
        Self::Slate,
        Self::Rule,
        Self::Shade,
        Self::Doubt,
        Self::Yellow,
        Self::Cream,
        Self::Leaf,
    ];

    /// Red, green and blue in sRGB.
    pub const fn rgb(self) -> [u8; 3] {
        match self {
            Self::Paper => [0xFF, 0xFF, 0xFF],
            Self::Black => [0x11, 0x11, 0x11],
            Self::Slate => [0x4A, 0x4A, 0x4A],
            Self::Rule => [0x80, 0x80, 0x80],
            Self::Shade => [0xD6, 0xD6, 0xD6],
            Self::Doubt => [0x0B, 0x4F, 0x8A],
            Self::Yellow => [0xF2, 0xCB, 0x3A],
            Self::Cream => [0xFA, 0xF0, 0xCF],
            Self::Leaf => [0xBF, 0xDC, 0xA6],
        }
    }

    /// The most demanding role it is fit for.
    pub const fn role(self) -> Role {
        match self {
            Self::Black | Self::Slate | Self::Doubt => Role::Text,
            Self::Rule => Role::Edge,
            Self::Paper | Self::Shade | Self::Yellow | Self::Cream | Self::Leaf => Role::Fill,
        }
    }

    pub(crate) fn of_rgb(rgb: [u8; 3]) -> Option<Self> {
        Self::ALL.into_iter().find(|ink| ink.rgb() == rgb)
    }
}

/// Contrast of two inks, 1 to 21: (L1 + 0.05) ÷ (L2 + 0.05), L being the relative luminance of the lighter and the
/// darker (W3C, Web Content Accessibility Guidelines 2.2, definitions of contrast ratio and relative luminance).
pub fn contrast(one: Ink, other: Ink) -> f64 {
    let (one, other) = (luminance(one.rgb()), luminance(other.rgb()));
    (one.max(other) + 0.05) / (one.min(other) + 0.05)
}

fn luminance(rgb: [u8; 3]) -> f64 {
    let [red, green, blue] = rgb.map(|channel| {
        let share = f64::from(channel) / 255.0;
        if share <= 0.04045 { share / 12.92 } else { ((share + 0.055) / 1.055).powf(2.4) }
    });
    0.2126 * red + 0.7152 * green + 0.0722 * blue
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn luminance_runs_from_black_to_white() {
        assert!(luminance([0, 0, 0]).abs() < 1e-12);
        assert!((luminance([255, 255, 255]) - 1.0).abs() < 1e-12);
        // #777777 on white is the well-known grey just below 4.5 (common practice, no source).
        assert!((1.05 / (luminance([0x77; 3]) + 0.05) - 4.48).abs() < 0.01);
    }

    /// Text at 7 or more (success criterion 1.4.6), edges and marks at 3 or more (1.4.11).
    #[test]
    fn every_ink_is_fit_for_its_role_on_paper() {
        for ink in Ink::ALL {
            let least = match ink.role() {
                Role::Text => 7.0,
                Role::Edge => 3.0,
                Role::Fill => 1.0,
            };
            assert!(contrast(ink, Ink::Paper) >= least, "{ink:?}: {}", contrast(ink, Ink::Paper));
        }
    }

    #[test]
    fn no_two_inks_are_one_colour() {
        for ink in Ink::ALL {
            assert_eq!(Ink::of_rgb(ink.rgb()), Some(ink));
        }
        assert_eq!(Ink::of_rgb([1, 2, 3]), None);
    }
}
