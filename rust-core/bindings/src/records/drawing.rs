//! Drawn specimens, as plain shapes for a shell to paint.

use crate::voice::Voice;
use figure::specimen::{Caption, Kind, Scale, Specimen, Subject, Words};
use figure::{Anchor, CurveStep, Dash, Figure, Shape, Size, Stroke, Weight, Xy};

/// A drawing: paths painted in order, then lines of text.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Drawing {
    /// Width in its own units.
    pub width: u32,
    /// Height in its own units.
    pub height: u32,
    /// Painted in this order.
    pub paths: Vec<Path>,
    /// Painted last.
    pub texts: Vec<TextLine>,
    /// What it is, for those who do not see it.
    pub title: String,
    /// What it shows.
    pub description: String,
}

/// A path, filled first and then drawn.
#[derive(Debug, Clone, uniffi::Record)]
pub struct Path {
    /// Where it starts.
    pub start: Point,
    /// Its steps.
    pub steps: Vec<PathStep>,
    /// What it is filled with.
    pub fill: Option<Ink>,
    /// What its line is drawn with.
    pub line: Option<Ink>,
    /// Width of the line in units of the drawing.
    pub width: f64,
    /// Lengths drawn and left out by turns; empty for a whole line.
    pub dashes: Vec<f64>,
}

/// A step of a path from where the last one ended.
#[derive(Debug, Clone, Copy, uniffi::Enum)]
pub enum PathStep {
    /// A straight line.
    Line {
        /// Its end.
        to: Point,
    },
    /// A cubic Bézier curve.
    Cubic {
        /// Control point of its start.
        first: Point,
        /// Control point of its end.
        second: Point,
        /// Its end.
        to: Point,
    },
    /// Back to the start.
    Close,
    /// A whole circle about the start.
    Circle {
        /// Its radius.
        radius: f64,
    },
}

/// A point: right and down from the upper left corner.
#[derive(Debug, Clone, Copy, PartialEq, uniffi::Record)]
pub struct Point {
    /// To the right.
    pub x: f64,
    /// Down.
    pub y: f64,
}

/// A colour, with the name that a dark theme knows it by.
#[derive(Debug, Clone, Copy, PartialEq, Eq, uniffi::Record)]
pub struct Ink {
    /// Red, 0 to 255.
    pub red: u8,
    /// Green.
    pub green: u8,
    /// Blue.
    pub blue: u8,
}

/// A line of text in a drawing.
#[derive(Debug, Clone, uniffi::Record)]
pub struct TextLine {
    /// Its anchor on the base line.
    pub at: Point,
    /// The text.
    pub text: String,
    /// Height of the letters in units of the drawing.
    pub size: f64,
    /// Its ink.
    pub ink: Ink,
    /// Which share of its width stands left of the anchor: 0, 0.5 or 1.
    pub before: f64,
    /// Whether it is bold.
    pub bold: bool,
}

/// The typical specimen of a stage or look-alike, without scale, or a drawing of the key by its name in a record;
/// `None` for a name that there is not.
pub(crate) fn specimen(name: &str, size: Size, voice: Voice) -> Option<Drawing> {
    let words = words(voice);
    let Some(kind) = Kind::named(name) else {
        return handset::views::drawing(name, size, &words).map(Drawing::from);
    };
    let drawn = Specimen { subject: Subject::typical(kind), scale: Scale::Hidden, caption: Caption::Named(kind) };
    Some(figure::specimen::specimen(&drawn, size, &words).into())
}

/// The words of drawings.
pub(crate) fn words(voice: Voice) -> Words {
    Words::from_texts(voice.language.decimal_mark(), |id| voice.plain(id))
}

/// The words of charts.
pub(crate) fn chart_words(voice: Voice) -> figure::Words {
    figure::Words::from_texts(voice.language.decimal_mark(), |id| voice.plain(id))
}

/// A size in units of a drawing.
pub(crate) const fn size(width: u32, height: u32) -> Size {
    Size { width, height }
}

impl From<Figure> for Drawing {
    fn from(figure: Figure) -> Self {
        Self {
            width: figure.size.width,
            height: figure.size.height,
            paths: figure.shapes.iter().filter_map(path).collect(),
            texts: figure.shapes.iter().filter_map(text).collect(),
            title: figure.text_alternative.title,
            description: figure.text_alternative.description,
        }
    }
}

impl From<Xy> for Point {
    fn from(xy: Xy) -> Self {
        Self { x: xy.x, y: xy.y }
    }
}

impl From<figure::Ink> for Ink {
    fn from(ink: figure::Ink) -> Self {
        let [red, green, blue] = ink.rgb();
        Self { red, green, blue }
    }
}

impl From<CurveStep> for PathStep {
    fn from(step: CurveStep) -> Self {
        match step {
            CurveStep::Line { to } => Self::Line { to: to.into() },
            CurveStep::Cubic { first, second, to } => {
                Self::Cubic { first: first.into(), second: second.into(), to: to.into() }
            }
            CurveStep::Close => Self::Close,
        }
    }
}

fn path(shape: &Shape) -> Option<Path> {
    match shape {
        Shape::Line { from, to, stroke } => {
            Some(with(*from, vec![PathStep::Line { to: (*to).into() }], None, Some(*stroke)))
        }
        Shape::Polyline { points, stroke } => Some(with(*points.first()?, joined(points), None, Some(*stroke))),
        Shape::Polygon { points, fill, stroke } => {
            let mut steps = joined(points);
            steps.push(PathStep::Close);
            Some(with(*points.first()?, steps, *fill, *stroke))
        }
        Shape::Circle { center, radius, fill, stroke } => {
            Some(with(*center, vec![PathStep::Circle { radius: *radius }], *fill, *stroke))
        }
        Shape::Curve { start, steps, fill, stroke } => {
            Some(with(*start, steps.iter().map(|&step| step.into()).collect(), *fill, *stroke))
        }
        Shape::Text { .. } => None,
    }
}

fn text(shape: &Shape) -> Option<TextLine> {
    let Shape::Text { at, text, size, ink, anchor, weight } = shape else { return None };
    let before = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => 0.5,
        Anchor::End => 1.0,
    };
    let (at, ink, bold) = ((*at).into(), (*ink).into(), *weight == Weight::Bold);
    Some(TextLine { at, text: text.clone(), size: *size, ink, before, bold })
}

fn joined(points: &[Xy]) -> Vec<PathStep> {
    points.iter().skip(1).map(|&to| PathStep::Line { to: to.into() }).collect()
}

fn with(start: Xy, steps: Vec<PathStep>, fill: Option<figure::Ink>, stroke: Option<Stroke>) -> Path {
    let dashes = match stroke.map(|stroke| stroke.dash) {
        Some(Dash::Dashed) => vec![4.0, 3.0],
        Some(Dash::Dotted) => vec![1.0, 2.0],
        Some(Dash::Solid) | None => Vec::new(),
    };
    Path {
        start: start.into(),
        steps,
        fill: fill.map(Ink::from),
        line: stroke.map(|stroke| stroke.ink.into()),
        width: stroke.map_or(0.0, |stroke| stroke.width),
        dashes,
    }
}
