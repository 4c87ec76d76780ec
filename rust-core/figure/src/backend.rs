//! The drawing backend that records shapes for `plotters`.

use crate::ink::Ink;
use crate::shape::{Anchor, Shape, Size, Stroke, Weight, Xy};
use crate::text::text_width;
use plotters::drawing::DrawingAreaErrorKind;
use plotters_backend::text_anchor::{HPos, VPos};
use plotters_backend::{
    BackendColor, BackendCoord, BackendStyle, BackendTextStyle, DrawingBackend, DrawingErrorKind, FontStyle,
};

/// Why there is no figure.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FigureError {
    /// There is no visit, or no stage in scope.
    #[error("there is nothing to draw")]
    Nothing,
    /// Narrower than a chart can be.
    #[error("a width of {width} is too narrow, {least} is the least")]
    TooNarrow {
        /// The width asked for.
        width: u32,
        /// The least there is.
        least: u32,
    },
    /// A colour outside the palette was used.
    #[error("a colour outside the palette: {0:?}")]
    NotInPalette([u8; 3]),
    /// The plotting library gave up.
    #[error("the chart could not be laid out")]
    Layout,
}

/// Records what is drawn on it.
pub(crate) struct Recorder<'a> {
    size: Size,
    shapes: &'a mut Vec<Shape>,
}

/// Ascent of a common sans-serif font in parts of its size: how far below its top a text's baseline lies.
const ASCENT: f64 = 0.76;
/// How far below the middle of its digits a text's baseline lies, in parts of its size.
const MIDDLE: f64 = 0.35;

type Drawn = Result<(), DrawingErrorKind<FigureError>>;

impl<'a> Recorder<'a> {
    pub(crate) const fn new(size: Size, shapes: &'a mut Vec<Shape>) -> Self {
        Self { size, shapes }
    }

    fn paint(&mut self, color: BackendColor, shape: impl FnOnce(Ink) -> Shape) -> Drawn {
        if color.alpha > 0.0 {
            let ink = ink(color).map_err(DrawingErrorKind::DrawingError)?;
            self.shapes.push(shape(ink));
        }
        Ok(())
    }
}

impl DrawingBackend for Recorder<'_> {
    type ErrorType = FigureError;

    fn get_size(&self) -> (u32, u32) {
        (self.size.width, self.size.height)
    }

    fn ensure_prepared(&mut self) -> Drawn {
        Ok(())
    }

    fn present(&mut self) -> Drawn {
        Ok(())
    }

    fn draw_pixel(&mut self, point: BackendCoord, color: BackendColor) -> Drawn {
        self.paint(color, |ink| Shape::Circle { center: xy(point), radius: 0.5, fill: Some(ink), stroke: None })
    }

    fn draw_line<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S) -> Drawn {
        let width = f64::from(style.stroke_width());
        self.paint(style.color(), |ink| Shape::Line { from: xy(from), to: xy(to), stroke: Stroke::solid(ink, width) })
    }

    fn draw_rect<S: BackendStyle>(&mut self, from: BackendCoord, to: BackendCoord, style: &S, fill: bool) -> Drawn {
        let points = [from, (to.0, from.1), to, (from.0, to.1)].map(xy).to_vec();
        let width = f64::from(style.stroke_width());
        self.paint(style.color(), |ink| polygon(points, ink, width, fill))
    }

    fn draw_path<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, path: I, style: &S) -> Drawn {
        let points: Vec<Xy> = path.into_iter().map(xy).collect();
        let width = f64::from(style.stroke_width());
        match points.as_slice() {
            [] | [_] => Ok(()),
            [from, to] => {
                let (from, to) = (*from, *to);
                self.paint(style.color(), |ink| Shape::Line { from, to, stroke: Stroke::solid(ink, width) })
            }
            _ => self.paint(style.color(), |ink| Shape::Polyline { points, stroke: Stroke::solid(ink, width) }),
        }
    }

    fn draw_circle<S: BackendStyle>(&mut self, center: BackendCoord, radius: u32, style: &S, fill: bool) -> Drawn {
        let width = f64::from(style.stroke_width());
        self.paint(style.color(), |ink| Shape::Circle {
            center: xy(center),
            radius: f64::from(radius),
            fill: fill.then_some(ink),
            stroke: (!fill).then_some(Stroke::solid(ink, width)),
        })
    }

    fn fill_polygon<S: BackendStyle, I: IntoIterator<Item = BackendCoord>>(&mut self, corners: I, style: &S) -> Drawn {
        let points: Vec<Xy> = corners.into_iter().map(xy).collect();
        self.paint(style.color(), |ink| polygon(points, ink, 0.0, true))
    }

    fn draw_text<T: BackendTextStyle>(&mut self, text: &str, style: &T, at: BackendCoord) -> Drawn {
        let anchor = match style.anchor().h_pos {
            HPos::Left => Anchor::Start,
            HPos::Center => Anchor::Middle,
            HPos::Right => Anchor::End,
        };
        let size = style.size();
        let down = match style.anchor().v_pos {
            VPos::Top => ASCENT * size,
            VPos::Center => MIDDLE * size,
            VPos::Bottom => 0.0,
        };
        let weight = weight(style.style());
        let at = Xy { x: f64::from(at.0), y: hundredths(f64::from(at.1) + down) };
        let text = text.to_owned();
        self.paint(style.color(), |ink| Shape::Text { at, text, size, ink, anchor, weight })
    }

    fn estimate_text_size<T: BackendTextStyle>(
        &self,
        text: &str,
        style: &T,
    ) -> Result<(u32, u32), DrawingErrorKind<FigureError>> {
        Ok((whole(text_width(text, style.size(), weight(style.style()))), whole(style.size())))
    }
}

impl From<DrawingAreaErrorKind<FigureError>> for FigureError {
    fn from(error: DrawingAreaErrorKind<FigureError>) -> Self {
        match error {
            DrawingAreaErrorKind::BackendError(DrawingErrorKind::DrawingError(own)) => own,
            DrawingAreaErrorKind::BackendError(DrawingErrorKind::FontError(_))
            | DrawingAreaErrorKind::SharingError
            | DrawingAreaErrorKind::LayoutError => Self::Layout,
        }
    }
}

const fn weight(style: FontStyle) -> Weight {
    match style {
        FontStyle::Bold => Weight::Bold,
        FontStyle::Normal | FontStyle::Oblique | FontStyle::Italic => Weight::Regular,
    }
}

fn ink(color: BackendColor) -> Result<Ink, FigureError> {
    let rgb = [color.rgb.0, color.rgb.1, color.rgb.2];
    Ink::of_rgb(rgb).ok_or(FigureError::NotInPalette(rgb))
}

fn polygon(points: Vec<Xy>, ink: Ink, width: f64, fill: bool) -> Shape {
    if fill {
        Shape::Polygon { points, fill: Some(ink), stroke: None }
    } else {
        Shape::Polygon { points, fill: None, stroke: Some(Stroke::solid(ink, width)) }
    }
}

fn xy((x, y): BackendCoord) -> Xy {
    Xy { x: f64::from(x), y: f64::from(y) }
}

fn hundredths(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "clamped to the range of u32 first")]
fn whole(number: f64) -> u32 {
    number.ceil().clamp(0.0, f64::from(u32::MAX)) as u32
}
