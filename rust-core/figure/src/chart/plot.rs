//! A plot of two axes that the charts share.

use crate::axis::{Between, fitting, ticks};
use crate::backend::FigureError;
use crate::ink::Ink;
use crate::page::{Area, BODY, MARGIN, PLAIN, SMALL, TICK, line, path, wide, width_of, write, write_level};
use crate::shape::{Anchor, Stroke};
use crate::words::Words;

/// Height of a plot.
const HEIGHT: i32 = 240;
/// Room between the axis and the first value.
const INSIDE: i32 = 10;

/// Where values lie on the sheet.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plot {
    left: i32,
    right: i32,
    top: i32,
    bottom: i32,
    across: (f64, f64),
    up: (f64, f64),
}

/// What an axis of values shows.
pub(super) struct Upward<'a> {
    pub(super) name: &'a str,
    pub(super) top: f64,
    pub(super) between: Between,
}

impl Plot {
    /// Axes from 0 up to a bit above `top`, `across` from left to right; `names` are labels of the lower axis with their
    /// values. `right` is room left at the right for labels of lines.
    pub(super) fn draw(
        area: &Area<'_>,
        top: i32,
        upward: &Upward<'_>,
        across: (f64, f64),
        labels: &[(f64, String)],
        (name, right, words): (&str, i32, &Words),
    ) -> Result<Self, FigureError> {
        write(area, upward.name, (MARGIN, top), PLAIN)?;
        let top = top + BODY + 8;
        let highest = if upward.top > 0.0 { upward.top } else { 1.0 };
        let marks = ticks(highest * 1.02, 6, upward.between);
        let texts: Vec<String> = marks
            .values
            .iter()
            .map(|&value| words.number(value, if value > 0.0 { marks.decimals } else { 0 }))
            .collect();
        let left = MARGIN + 8 + texts.iter().map(|text| wide(text, TICK)).max().unwrap_or(0);
        let across = if across.1 > across.0 { across } else { (across.0 - 1.0, across.1 + 1.0) };
        let plot = Self {
            left,
            right: width_of(area) - MARGIN - right,
            top,
            bottom: top + HEIGHT,
            across,
            up: (0.0, highest * 1.08),
        };
        let axis = Stroke::solid(Ink::Rule, 1.0);
        line(area, (left, top), (left, plot.bottom), axis)?;
        line(area, (left, plot.bottom), (plot.right, plot.bottom), axis)?;
        for (value, text) in marks.values.iter().zip(&texts) {
            let y = plot.y(*value);
            line(area, (left - 4, y), (left, y), axis)?;
            write_level(area, text, (left - 7, y), crate::page::Type { anchor: Anchor::End, ..SMALL })?;
        }
        plot.labels(area, labels)?;
        let middle = crate::page::Type { anchor: Anchor::Middle, ..PLAIN };
        write(area, name, (i32::midpoint(plot.left, plot.right), plot.bottom + 8 + TICK + 6), middle)?;
        Ok(plot)
    }

    fn labels(&self, area: &Area<'_>, labels: &[(f64, String)]) -> Result<(), FigureError> {
        let edge = width_of(area) - 2;
        let places: Vec<i32> = labels
            .iter()
            .map(|(value, text)| {
                let half = wide(text, TICK) / 2 + 1;
                self.x(*value).min(edge - half).max(half + 2)
            })
            .collect();
        let widths: Vec<f64> = labels.iter().map(|(_, text)| f64::from(wide(text, TICK))).collect();
        for index in fitting(&places, &widths, 10.0) {
            let x = self.x(labels[index].0);
            line(area, (x, self.bottom), (x, self.bottom + 4), Stroke::solid(Ink::Rule, 1.0))?;
            let middle = crate::page::Type { anchor: Anchor::Middle, ..SMALL };
            write(area, &labels[index].1, (places[index], self.bottom + 8), middle)?;
        }
        Ok(())
    }

    /// Where the plot with its labels ends.
    pub(super) const fn end(&self) -> i32 {
        self.bottom + 8 + TICK + 6 + BODY + 8
    }

    pub(super) fn x(&self, value: f64) -> i32 {
        let share = (value - self.across.0) / (self.across.1 - self.across.0);
        self.left + INSIDE + whole(share * f64::from(self.right - self.left - 2 * INSIDE))
    }

    pub(super) fn y(&self, value: f64) -> i32 {
        let share = (value - self.up.0) / (self.up.1 - self.up.0);
        self.bottom - whole(share.clamp(0.0, 1.0) * f64::from(self.bottom - self.top))
    }

    pub(super) fn at(&self, across: f64, up: f64) -> (i32, i32) {
        (self.x(across), self.y(up))
    }

    /// Right end of the plot.
    pub(super) const fn right(&self) -> i32 {
        self.right
    }

    /// Left end of the plot.
    pub(super) const fn left(&self) -> i32 {
        self.left
    }

    /// A line through points, those above the plot cut off.
    pub(super) fn curve(&self, area: &Area<'_>, points: &[(f64, f64)], stroke: Stroke) -> Result<(), FigureError> {
        let inside: Vec<(i32, i32)> = points
            .iter()
            .filter(|(_, up)| *up <= self.up.1 && *up >= self.up.0)
            .map(|&(across, up)| self.at(across, up))
            .collect();
        if inside.len() < 2 { Ok(()) } else { path(area, inside, stroke) }
    }

    /// The same, broken into dashes along its way.
    pub(super) fn dashed(&self, area: &Area<'_>, points: &[(f64, f64)], stroke: Stroke) -> Result<(), FigureError> {
        let inside: Vec<(i32, i32)> = points
            .iter()
            .filter(|(_, up)| *up <= self.up.1 && *up >= self.up.0)
            .map(|&(across, up)| self.at(across, up))
            .collect();
        for pair in inside.windows(2) {
            dash(area, pair[0], pair[1], stroke)?;
        }
        Ok(())
    }
}

/// A straight line in dashes of six units with gaps of four.
pub(super) fn dash(area: &Area<'_>, from: (i32, i32), to: (i32, i32), stroke: Stroke) -> Result<(), FigureError> {
    let (dx, dy) = (f64::from(to.0 - from.0), f64::from(to.1 - from.1));
    let long = dx.hypot(dy);
    let at = |way: f64| (from.0 + whole(dx * way / long), from.1 + whole(dy * way / long));
    let mut way = 0.0;
    while way < long {
        line(area, at(way), at((way + 6.0).min(long)), stroke)?;
        way += 10.0;
    }
    Ok(())
}

#[expect(clippy::cast_possible_truncation, reason = "sheets are at most ten thousand units wide")]
pub(super) fn whole(number: f64) -> i32 {
    number.round().clamp(-1e6, 1e6) as i32
}
