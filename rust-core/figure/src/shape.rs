//! The plain shapes of a figure.

use crate::ink::Ink;
use serde::{Deserialize, Serialize};

/// A drawing, and what it says in words.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Figure {
    /// Its size in figure units: dp on Android, pt on iOS, CSS pixels on pages. It may be scaled as a whole.
    pub size: Size,
    /// The shapes, painted in this order on paper.
    pub shapes: Vec<Shape>,
    /// What the figure shows, for those who do not see it.
    pub text_alternative: TextAlternative,
}

/// Width and height in figure units.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Size {
    /// Width.
    pub width: u32,
    /// Height.
    pub height: u32,
}

/// What a figure says, in words and numbers.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct TextAlternative {
    /// What it is, in one line.
    pub title: String,
    /// What it finds.
    pub description: String,
}

/// A point: right and down from the upper left corner, in figure units.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Xy {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// One shape.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(tag = "shape", rename_all = "kebab-case")]
pub enum Shape {
    /// A straight line.
    Line {
        /// One end.
        from: Xy,
        /// The other.
        to: Xy,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// Straight lines from point to point.
    Polyline {
        /// The points, two or more.
        points: Vec<Xy>,
        /// How it is drawn.
        stroke: Stroke,
    },
    /// A closed outline of straight lines.
    Polygon {
        /// The corners, three or more, the last joined to the first.
        points: Vec<Xy>,
        /// What it is filled with.
        fill: Option<Ink>,
        /// How its edge is drawn.
        stroke: Option<Stroke>,
    },
    /// A circle.
    Circle {
        /// Its middle.
        center: Xy,
        /// Its radius.
        radius: f64,
        /// What it is filled with.
        fill: Option<Ink>,
        /// How its edge is drawn.
        stroke: Option<Stroke>,
    },
    /// A path of lines and cubic Bézier curves.
    Curve {
        /// Where it starts.
        start: Xy,
        /// Its steps.
        steps: Vec<CurveStep>,
        /// What it is filled with; the end is joined to the start for it.
        fill: Option<Ink>,
        /// How its edge is drawn.
        stroke: Option<Stroke>,
    },
    /// One line of text.
    Text {
        /// Its anchor on the baseline.
        at: Xy,
        /// The text.
        text: String,
        /// Size of the font in figure units.
        size: f64,
        /// Its ink.
        ink: Ink,
        /// Which part of it stands at the anchor.
        anchor: Anchor,
        /// How heavy.
        weight: Weight,
    },
}

/// A step of a curve from where the last one ended.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
#[serde(tag = "step", rename_all = "kebab-case")]
pub enum CurveStep {
    /// A straight line.
    Line {
        /// Its end.
        to: Xy,
    },
    /// A cubic Bézier curve.
    Cubic {
        /// Control point of its start.
        first: Xy,
        /// Control point of its end.
        second: Xy,
        /// Its end.
        to: Xy,
    },
    /// Back to the start.
    Close,
}

/// How a line is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Stroke {
    /// Its ink.
    pub ink: Ink,
    /// Its width in figure units.
    pub width: f64,
    /// Whole or broken.
    pub dash: Dash,
}

/// Whether a line is whole.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Dash {
    /// Whole.
    #[default]
    Solid,
    /// Four units drawn, three left out.
    Dashed,
    /// One unit drawn, two left out.
    Dotted,
}

/// Which part of a text stands at its anchor.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Anchor {
    /// Its start.
    #[default]
    Start,
    /// Its middle.
    Middle,
    /// Its end.
    End,
}

/// How heavy a text is.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Weight {
    /// Usual.
    #[default]
    Regular,
    /// Bold.
    Bold,
}

impl Stroke {
    /// A whole line.
    pub const fn solid(ink: Ink, width: f64) -> Self {
        Self { ink, width, dash: Dash::Solid }
    }
}
