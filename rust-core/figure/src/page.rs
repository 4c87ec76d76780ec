//! What charts are set with: a sheet that grows downwards, lines, markers, text, legends.

use crate::backend::{FigureError, Recorder};
use crate::ink::Ink;
use crate::shape::{Anchor, Figure, Shape, Size, Stroke, TextAlternative, Weight};
use crate::text::{lines, text_width};
use plotters::coord::Shift;
use plotters::drawing::{DrawingArea, IntoDrawingArea};
use plotters::element::{Circle, PathElement, Polygon, Rectangle};
use plotters::style::text_anchor::{HPos, Pos, VPos};
use plotters::style::{Color as _, FontDesc, FontFamily, FontStyle, RGBColor, ShapeStyle, TextStyle};

/// The area that everything is drawn on.
pub(crate) type Area<'a> = DrawingArea<Recorder<'a>, Shift>;

/// Room left at the edges.
pub(crate) const MARGIN: i32 = 12;
/// Sizes of text.
pub(crate) const TITLE: i32 = 15;
pub(crate) const BODY: i32 = 12;
pub(crate) const TICK: i32 = 11;
/// More than any chart is high: the height is cut to what was used.
const ENDLESS: u32 = 100_000;
/// Radius of markers.
const MARKER: i32 = 3;

/// A box in whole figure units.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) struct Box2 {
    pub(crate) left: i32,
    pub(crate) top: i32,
    pub(crate) right: i32,
    pub(crate) bottom: i32,
}

/// How a text is set.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Type {
    pub(crate) size: i32,
    pub(crate) ink: Ink,
    pub(crate) weight: Weight,
    pub(crate) anchor: Anchor,
}

/// A marker on a curve.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Marker {
    /// A filled disc.
    Full,
    /// A ring.
    Hollow,
    /// A triangle of doubt, standing on its base.
    Doubt,
}

pub(crate) const PLAIN: Type = Type { size: BODY, ink: Ink::Black, weight: Weight::Regular, anchor: Anchor::Start };
pub(crate) const SMALL: Type = Type { size: TICK, ink: Ink::Slate, ..PLAIN };

/// A figure of this width, drawn from the top down by `draw`, which returns where it ended.
pub(crate) fn sheet(
    width: u32,
    text_alternative: TextAlternative,
    draw: impl FnOnce(&Area<'_>) -> Result<i32, FigureError>,
) -> Result<Figure, FigureError> {
    if width < crate::NARROWEST {
        return Err(FigureError::TooNarrow { width, least: crate::NARROWEST });
    }
    // Wider than any screen or page is cut, so that coordinates stay whole numbers of the library's range.
    let width = width.min(10_000);
    let mut shapes: Vec<Shape> = Vec::new();
    let bottom = {
        let area = Recorder::new(Size { width, height: ENDLESS }, &mut shapes).into_drawing_area();
        draw(&area)?
    };
    let height = u32::try_from(bottom + MARGIN).unwrap_or(0);
    Ok(Figure { size: Size { width, height }, shapes, text_alternative })
}

/// The width of the sheet in whole units.
pub(crate) fn width_of(area: &Area<'_>) -> i32 {
    i32::try_from(area.dim_in_pixel().0).unwrap_or(i32::MAX)
}

/// Title and notes; returns where they end.
pub(crate) fn heading(area: &Area<'_>, title: &str, notes: &[&str]) -> Result<i32, FigureError> {
    let bold = Type { size: TITLE, weight: Weight::Bold, ..PLAIN };
    let y = paragraph(area, title, MARGIN, bold)?;
    notes.iter().try_fold(y + 3, |y, note| paragraph(area, note, y, Type { ink: Ink::Slate, ..PLAIN }))
}

/// A text broken into lines from margin to margin; returns where it ends.
pub(crate) fn paragraph(area: &Area<'_>, text: &str, top: i32, set: Type) -> Result<i32, FigureError> {
    let room = f64::from(width_of(area) - 2 * MARGIN);
    lines(text, f64::from(set.size), set.weight, room).iter().try_fold(top, |y, line| {
        write(area, line, (MARGIN, y), set)?;
        Ok(y + set.size + 4)
    })
}

/// A line of text whose top is at the point.
pub(crate) fn write(area: &Area<'_>, text: &str, at: (i32, i32), set: Type) -> Result<(), FigureError> {
    Ok(area.draw_text(text, &style(set, VPos::Top), at)?)
}

/// A line of text whose middle is level with the point.
pub(crate) fn write_level(area: &Area<'_>, text: &str, at: (i32, i32), set: Type) -> Result<(), FigureError> {
    Ok(area.draw_text(text, &style(set, VPos::Center), at)?)
}

/// Estimated width of a text, rounded up.
#[expect(clippy::cast_possible_truncation, reason = "texts are far shorter than two thousand million units")]
pub(crate) fn wide(text: &str, size: i32) -> i32 {
    text_width(text, f64::from(size), Weight::Regular).ceil() as i32
}

pub(crate) fn line(area: &Area<'_>, from: (i32, i32), to: (i32, i32), stroke: Stroke) -> Result<(), FigureError> {
    Ok(area.draw(&PathElement::new(vec![from, to], pen(stroke)))?)
}

pub(crate) fn path(area: &Area<'_>, points: Vec<(i32, i32)>, stroke: Stroke) -> Result<(), FigureError> {
    Ok(area.draw(&PathElement::new(points, pen(stroke)))?)
}

pub(crate) fn fill_rect(area: &Area<'_>, area_box: Box2, ink: Ink) -> Result<(), FigureError> {
    Ok(area.draw(&Rectangle::new(corners(area_box), color(ink).filled()))?)
}

pub(crate) fn outline_rect(area: &Area<'_>, area_box: Box2, stroke: Stroke) -> Result<(), FigureError> {
    Ok(area.draw(&Rectangle::new(corners(area_box), pen(stroke)))?)
}

pub(crate) fn fill_polygon(area: &Area<'_>, corners: Vec<(i32, i32)>, ink: Ink) -> Result<(), FigureError> {
    Ok(area.draw(&Polygon::new(corners, color(ink).filled()))?)
}

/// A vertical bar with short caps.
pub(crate) fn interval_bar(area: &Area<'_>, x: i32, low: i32, high: i32) -> Result<(), FigureError> {
    let thin = Stroke::solid(Ink::Black, 1.0);
    line(area, (x, low), (x, high), thin)?;
    line(area, (x - 3, low), (x + 3, low), thin)?;
    line(area, (x - 3, high), (x + 3, high), thin)
}

pub(crate) fn mark(area: &Area<'_>, at: (i32, i32), marker: Marker) -> Result<(), FigureError> {
    match marker {
        Marker::Full => area.draw(&Circle::new(at, MARKER, color(Ink::Black).filled()))?,
        Marker::Hollow => {
            area.draw(&Circle::new(at, MARKER, color(Ink::Paper).filled()))?;
            area.draw(&Circle::new(at, MARKER, pen(Stroke::solid(Ink::Black, 1.0))))?;
        }
        Marker::Doubt => {
            let corners = vec![(at.0, at.1 - 4), (at.0 + 4, at.1 + 3), (at.0 - 4, at.1 + 3)];
            area.draw(&Polygon::new(corners.clone(), color(Ink::Paper).filled()))?;
            let edge = [corners.as_slice(), &corners[..1]].concat();
            area.draw(&PathElement::new(edge, pen(Stroke::solid(Ink::Doubt, 1.0))))?;
        }
    }
    Ok(())
}

/// Keys with their texts, as many to a row as fit; returns where they end. `draw` draws a key in a box.
pub(crate) fn legend<K: Copy>(
    area: &Area<'_>,
    keys: &[(K, String)],
    top: i32,
    draw: impl Fn(&Area<'_>, Box2, K) -> Result<(), FigureError>,
) -> Result<i32, FigureError> {
    const KEY: i32 = 18;
    const ROW: i32 = 18;
    let right = width_of(area) - MARGIN;
    let (mut x, mut y) = (MARGIN, top);
    for (key, text) in keys {
        let room = f64::from(right - MARGIN - KEY - 6);
        let rows = lines(text, f64::from(TICK), Weight::Regular, room);
        let widest = rows.iter().map(|row| wide(row, TICK)).max().unwrap_or(0);
        if x > MARGIN && x + KEY + 6 + widest > right {
            (x, y) = (MARGIN, y + ROW);
        }
        draw(area, Box2 { left: x, top: y + 2, right: x + KEY, bottom: y + 14 }, *key)?;
        for (row, level) in rows.iter().zip((y + 8..).step_by(14)) {
            write_level(area, row, (x + KEY + 6, level), SMALL)?;
        }
        if rows.len() > 1 {
            (x, y) = (MARGIN, y + ROW + 14 * (i32::try_from(rows.len()).unwrap_or(1) - 1));
        } else {
            x += KEY + 6 + widest + 16;
        }
    }
    Ok(if x > MARGIN { y + ROW } else { y })
}

const fn corners(area_box: Box2) -> [(i32, i32); 2] {
    [(area_box.left, area_box.top), (area_box.right, area_box.bottom)]
}

fn style(set: Type, level: VPos) -> TextStyle<'static> {
    let weight = match set.weight {
        Weight::Regular => FontStyle::Normal,
        Weight::Bold => FontStyle::Bold,
    };
    let anchor = match set.anchor {
        Anchor::Start => HPos::Left,
        Anchor::Middle => HPos::Center,
        Anchor::End => HPos::Right,
    };
    TextStyle {
        font: FontDesc::new(FontFamily::SansSerif, f64::from(set.size), weight),
        color: color(set.ink).to_backend_color(),
        pos: Pos::new(anchor, level),
    }
}

const fn color(ink: Ink) -> RGBColor {
    let [red, green, blue] = ink.rgb();
    RGBColor(red, green, blue)
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "widths of lines are small and positive")]
fn pen(stroke: Stroke) -> ShapeStyle {
    color(stroke.ink).stroke_width(stroke.width.round().max(1.0) as u32)
}
