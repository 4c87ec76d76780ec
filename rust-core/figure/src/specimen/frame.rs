//! Putting sketches into a figure: line weights, scale bars, cells with labels.

use super::sketch::{Frame, Sketch, View, hundredths};
use super::words::Words;
use crate::ink::Ink;
use crate::shape::{Anchor, Shape, Size, Stroke, Weight, Xy};
use crate::text::{lines, text_width};

/// The least and the greatest side of a figure that is drawn; other sizes become the nearer of the two.
const SIDES: (u32, u32) = (24, 8192);

pub(super) const fn drawable(size: Size) -> Size {
    Size { width: side(size.width), height: side(size.height) }
}

const fn side(length: u32) -> u32 {
    if length < SIDES.0 {
        SIDES.0
    } else if length > SIDES.1 {
        SIDES.1
    } else {
        length
    }
}

pub(super) fn whole(size: Size) -> Frame {
    Frame { left: 0.0, top: 0.0, width: f64::from(size.width), height: f64::from(size.height) }
}

/// Width of the pen in a frame: heavier in proportion the smaller the frame is.
pub(super) fn pen(frame: Frame) -> f64 {
    hundredths(0.9 + 0.006 * frame.width.min(frame.height))
}

/// Size of text in a frame.
pub(super) fn font(frame: Frame) -> f64 {
    hundredths((frame.width.min(frame.height) * 0.06).clamp(9.0, 18.0))
}

/// Whether a bar shows the scale.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bar {
    Shown,
    Left,
}

/// A sketch in its frame, above its scale bar if there is one.
pub(super) fn picture(sketch: &Sketch, view: View, frame: Frame, bar: Bar, words: &Words) -> Vec<Shape> {
    let pen = pen(frame);
    if bar == Bar::Left {
        return sketch.shapes(view, frame, pen);
    }
    let font = font(frame);
    let strip = hundredths(font * 1.35 + pen);
    let upper = Frame { height: (frame.height - strip).max(1.0), ..frame };
    let mut shapes = sketch.shapes(view, upper, pen);
    let lower = Frame { top: frame.top + upper.height, height: strip, ..frame };
    shapes.extend(scale_bar(view.scale_in(upper), lower, font, pen, words));
    shapes
}

/// The longest bar of 1, 2 or 5 times a power of ten that leaves room for its text; none if even the shortest does not.
fn scale_bar(scale: f64, strip: Frame, font: f64, pen: f64, words: &Words) -> Vec<Shape> {
    const LENGTHS: [f64; 12] = [50.0, 20.0, 10.0, 5.0, 2.0, 1.0, 0.5, 0.2, 0.1, 0.05, 0.02, 0.01];
    let text = |length: f64| {
        let number = if length < 0.1 { format!("{length}") } else { words.millimetres(length) };
        crate::words::fill(words.say("drawing.scale-bar"), &[("length", &number)])
    };
    let gap = font * 0.5;
    let fits = |length: f64| {
        let room = strip.width - text_width(&text(length), font, Weight::Regular) - gap - 2.0 * pen;
        length * scale <= (strip.width * 0.45).min(room)
    };
    let Some(length) = LENGTHS.into_iter().find(|length| fits(*length)) else { return Vec::new() };
    let (left, middle) = (strip.left + pen, strip.top + strip.height / 2.0);
    let right = left + length * scale;
    let tick = font * 0.32;
    let xy = |x: f64, y: f64| Xy { x: hundredths(x), y: hundredths(y) };
    let stroke = Stroke::solid(Ink::Black, hundredths(pen * 1.2));
    let line = |from, to| Shape::Line { from, to, stroke };
    vec![
        line(xy(left, middle), xy(right, middle)),
        line(xy(left, middle - tick), xy(left, middle + tick)),
        line(xy(right, middle - tick), xy(right, middle + tick)),
        label(&text(length), xy(right + gap, middle + font * 0.35), font, Anchor::Start, Weight::Regular),
    ]
}

pub(super) fn label(text: &str, at: Xy, size: f64, anchor: Anchor, weight: Weight) -> Shape {
    Shape::Text { at, text: text.to_owned(), size, ink: Ink::Black, anchor, weight }
}

/// Lines of text from the top of a frame down, centred; lines that do not fit are left out, for the description has
/// them.
pub(super) fn caption(text: &str, frame: Frame, size: f64, weight: Weight) -> Vec<Shape> {
    let middle = frame.left + frame.width / 2.0;
    lines(text, size, weight, frame.width)
        .iter()
        .enumerate()
        .map(|(row, line)| (hundredths(frame.top + size * (0.9 + 1.2 * row as f64)), line))
        .take_while(|(base, line)| {
            base + size * 0.3 <= frame.top + frame.height && text_width(line, size, weight) <= frame.width + 0.01
        })
        .map(|(y, line)| label(line, Xy { x: hundredths(middle), y }, size, Anchor::Middle, weight))
        .collect()
}

/// Cells of equal size in rows, as near as can be to four wide and three high.
pub(super) fn cells(frame: Frame, count: usize, gap: f64) -> Vec<Frame> {
    let count = count.max(1);
    let fit = |columns: usize| {
        let rows = count.div_ceil(columns);
        (frame.width / columns as f64).min(frame.height / rows as f64 * 4.0 / 3.0)
    };
    let columns = (1..=count).max_by(|one, other| fit(*one).total_cmp(&fit(*other))).unwrap_or(1);
    let rows = count.div_ceil(columns);
    let width = (frame.width - gap * (columns - 1) as f64) / columns as f64;
    let height = (frame.height - gap * (rows - 1) as f64) / rows as f64;
    (0..count)
        .map(|cell| Frame {
            left: frame.left + (cell % columns) as f64 * (width + gap),
            top: frame.top + (cell / columns) as f64 * (height + gap),
            width: width.max(1.0),
            height: height.max(1.0),
        })
        .collect()
}
