//! Heat summed over days, with the ends of stages.

use super::frame::short;
use super::plot::{Plot, Upward, dash};
use super::words::ChartWords;
use crate::axis::Between;
use crate::backend::FigureError;
use crate::ink::Ink;
use crate::page::{SMALL, TICK, Type, heading, sheet, wide, write_level};
use crate::shape::{Anchor, Figure, Stroke, TextAlternative};
use crate::words::{capital, fill};
use survey::date::Date;
use survey::stage::Stage;

/// The sum at the end of a day.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct HeatDay {
    /// The day.
    pub date: Date,
    /// Degree-days up to its end.
    pub sum: f64,
    /// Whether the day was measured; otherwise it was filled in or is missing.
    pub measured: bool,
}

/// The end of a stage.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Band {
    /// The stage.
    pub stage: Stage,
    /// Degree-days at which it ends.
    pub ends: f64,
}

/// Degree-days over days, and where stages end along them. Bands beyond the last sum are left out.
///
/// # Errors
/// [`FigureError::Nothing`] without a day; [`FigureError::TooNarrow`] below [`crate::NARROWEST`].
pub fn heat_curve(days: &[HeatDay], bands: &[Band], width: u32, own: &ChartWords) -> Result<Figure, FigureError> {
    let words = &own.words;
    let (Some(first), Some(last)) = (days.first(), days.last()) else { return Err(FigureError::Nothing) };
    let number = |date: Date| (date.naive() - first.date.naive()).num_days() as f64;
    let reached: Vec<&Band> = bands.iter().filter(|band| band.ends <= last.sum).collect();
    let ended_on = |band: &Band| days.iter().find(|day| day.sum >= band.ends).map(|day| day.date);
    let mut says = vec![fill(
        &own.heat_says,
        &[
            ("sum", &short(words, last.sum)),
            ("first", &words.day_and_year(first.date)),
            ("last", &words.day_and_year(last.date)),
        ],
    )];
    says.extend(reached.iter().filter_map(|band| {
        let (stage, date) = (capital(words.stage(band.stage)), words.day_and_year(ended_on(band)?));
        Some(fill(&own.heat_ends, &[("stage", &stage), ("date", &date)]))
    }));
    let alternative = TextAlternative { title: own.heat_title.clone(), description: says.join(" ") };
    let has_gaps = days.iter().any(|day| !day.measured);
    let notes: Vec<&str> = if has_gaps { vec![&own.heat_gap] } else { Vec::new() };
    let room = reached
        .iter()
        .map(|band| wide(&fill(&own.heat_band, &[("stage", words.stage(band.stage))]), TICK) + 8)
        .max()
        .unwrap_or(0);
    sheet(width, alternative, |area| {
        let y = heading(area, &own.heat_title, &notes)?;
        let labels: Vec<(f64, String)> = days.iter().map(|day| (number(day.date), words.day(day.date))).collect();
        let upward = Upward { name: &own.heat_axis, top: last.sum, between: Between::Decimals };
        let across = (-1.0, number(last.date).max(1.0));
        let plot = Plot::draw(area, y + 8, &upward, across, &labels, (&own.axis_date, room, words))?;
        let mut lowest = i32::MAX;
        for band in &reached {
            let level = plot.y(band.ends);
            dash(area, (plot.left(), level), (plot.right(), level), Stroke::solid(Ink::Rule, 1.0))?;
            // Stages that end close together keep their names apart, the later above.
            let at = level.min(lowest - TICK - 2);
            lowest = at;
            let text = fill(&own.heat_band, &[("stage", words.stage(band.stage))]);
            write_level(area, &text, (plot.right() + 6, at), Type { anchor: Anchor::Start, ..SMALL })?;
        }
        let mut before = (-1.0, 0.0);
        for day in days {
            let now = (number(day.date), day.sum);
            let thick = Stroke::solid(Ink::Black, 2.0);
            if day.measured {
                plot.curve(area, &[before, now], thick)?;
            } else {
                plot.dashed(area, &[before, now], thick)?;
            }
            before = now;
        }
        Ok(plot.end())
    })
}
