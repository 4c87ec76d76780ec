//! Texts of a figure as curves, for pictures of pixels: what draws them then needs no font of its own.
//!
//! The letters are those of Ubuntu Light, which is built in (Ubuntu Font Licence 1.0), so that a picture is the same on
//! every machine. SVG files keep their texts as texts.

use figure::{Anchor, CurveStep, Figure, Shape, Weight, Xy};
use ttf_parser::{Face, FaceParsingError, OutlineBuilder};

/// How far a letter is drawn again beside itself to make it bold, as a share of its size.
const BOLD: f64 = 0.045;

/// The same figure with every text drawn as curves. Letters that the font lacks are drawn as its empty box.
///
/// # Errors
/// The built-in font cannot be read.
pub(super) fn outlined(figure: &Figure) -> Result<Figure, FaceParsingError> {
    let face = face()?;
    let shapes = figure.shapes.iter().flat_map(|shape| match shape {
        Shape::Text { at, text, size, ink, anchor, weight } => {
            let first = start(&face, *at, text, *size, *anchor);
            let shifts: &[f64] = match weight {
                Weight::Regular => &[0.0],
                Weight::Bold => &[-0.5 * BOLD, 0.5 * BOLD],
            };
            let drawn = shifts
                .iter()
                .flat_map(|shift| letters(&face, text, Xy { x: first.x + shift * size, y: first.y }, *size));
            let curve = |(start, steps)| Shape::Curve { start, steps, fill: Some(*ink), stroke: None };
            drawn.map(curve).collect()
        }
        other => vec![other.clone()],
    });
    Ok(Figure { shapes: shapes.collect(), ..figure.clone() })
}

/// The width of a text in the built-in font.
///
/// # Errors
/// The built-in font cannot be read.
#[cfg(test)]
pub(super) fn width(text: &str, size: f64) -> Result<f64, FaceParsingError> {
    Ok(advance(&face()?, text, size))
}

fn face() -> Result<Face<'static>, FaceParsingError> {
    Face::parse(epaint_default_fonts::UBUNTU_LIGHT, 0)
}

fn start(face: &Face<'_>, at: Xy, text: &str, size: f64, anchor: Anchor) -> Xy {
    let back = match anchor {
        Anchor::Start => 0.0,
        Anchor::Middle => advance(face, text, size) / 2.0,
        Anchor::End => advance(face, text, size),
    };
    Xy { x: at.x - back, y: at.y }
}

fn advance(face: &Face<'_>, text: &str, size: f64) -> f64 {
    let units = |letter| f64::from(face.glyph_hor_advance(face.glyph_index(letter).unwrap_or_default()).unwrap_or(0));
    text.chars().map(units).sum::<f64>() * size / f64::from(face.units_per_em())
}

/// One path a letter, for the holes of a letter are part of its path.
fn letters(face: &Face<'_>, text: &str, at: Xy, size: f64) -> Vec<(Xy, Vec<CurveStep>)> {
    let scale = size / f64::from(face.units_per_em());
    let mut x = at.x;
    let mut paths = Vec::new();
    for letter in text.chars() {
        let glyph = face.glyph_index(letter).unwrap_or_default();
        let mut pen = Pen { x, y: at.y, scale, last: at, start: None, contour: at, steps: Vec::new() };
        if face.outline_glyph(glyph, &mut pen).is_some()
            && let Some(start) = pen.start
        {
            paths.push((start, pen.steps));
        }
        x += f64::from(face.glyph_hor_advance(glyph).unwrap_or(0)) * scale;
    }
    paths
}

/// Writes an outline as steps of one curve. It goes to each further contour, and back from it, along one line, which
/// encloses nothing.
struct Pen {
    x: f64,
    y: f64,
    scale: f64,
    last: Xy,
    start: Option<Xy>,
    contour: Xy,
    steps: Vec<CurveStep>,
}

impl Pen {
    fn at(&self, x: f32, y: f32) -> Xy {
        Xy { x: f64::from(x).mul_add(self.scale, self.x), y: (-f64::from(y)).mul_add(self.scale, self.y) }
    }

    fn go(&mut self, step: CurveStep, to: Xy) {
        self.steps.push(step);
        self.last = to;
    }
}

impl OutlineBuilder for Pen {
    fn move_to(&mut self, x: f32, y: f32) {
        let to = self.at(x, y);
        if self.start.is_none() {
            self.start = Some(to);
        } else {
            self.steps.push(CurveStep::Line { to });
        }
        (self.last, self.contour) = (to, to);
    }

    fn line_to(&mut self, x: f32, y: f32) {
        let to = self.at(x, y);
        self.go(CurveStep::Line { to }, to);
    }

    fn quad_to(&mut self, x1: f32, y1: f32, x: f32, y: f32) {
        let (from, middle, to) = (self.last, self.at(x1, y1), self.at(x, y));
        let toward =
            |end: Xy| Xy { x: end.x + 2.0 / 3.0 * (middle.x - end.x), y: end.y + 2.0 / 3.0 * (middle.y - end.y) };
        self.go(CurveStep::Cubic { first: toward(from), second: toward(to), to }, to);
    }

    fn curve_to(&mut self, x1: f32, y1: f32, x2: f32, y2: f32, x: f32, y: f32) {
        let (first, second, to) = (self.at(x1, y1), self.at(x2, y2), self.at(x, y));
        self.go(CurveStep::Cubic { first, second, to }, to);
    }

    fn close(&mut self) {
        let home = [Some(self.contour), self.start].into_iter().flatten();
        self.steps.extend(home.map(|to| CurveStep::Line { to }));
    }
}
