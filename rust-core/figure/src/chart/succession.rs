//! How stages follow one another: a band for each, as wide as its count.

use super::frame::short;
use super::plot::whole;
use super::words::ChartWords;
use crate::backend::FigureError;
use crate::ink::Ink;
use crate::page::{
    Area, BODY, MARGIN, PLAIN, Type, fill_polygon, heading, line, path, sheet, wide, width_of, write, write_level,
};
use crate::season_curve::write_dates;
use crate::shape::{Anchor, Figure, Stroke, TextAlternative};
use crate::words::{capital, fill};
use survey::date::Date;
use survey::stage::Stage;

/// Counts by visit and stage.
#[derive(Debug, Clone, PartialEq)]
pub struct Succession {
    /// Days of the visits, rising.
    pub days: Vec<f64>,
    /// Their dates, where known.
    pub dates: Option<Vec<Date>>,
    /// The stages.
    pub stages: Vec<Stage>,
    /// Counts, or means, by visit and stage.
    pub rows: Vec<Vec<f64>>,
}

/// Height of the egg's band at its widest, and of the others.
const TALL: i32 = 84;
const LOW: i32 = 44;
const GAP: i32 = 8;

/// The stages of one season, one band under the other: eggs to their own scale, larvae and pupae to one they share, so
/// that few larvae beside many eggs are seen.
///
/// # Errors
/// [`FigureError::Nothing`] without two visits or an animal; [`FigureError::TooNarrow`] below [`crate::NARROWEST`].
pub fn stage_succession(of: &Succession, width: u32, own: &ChartWords) -> Result<Figure, FigureError> {
    let words = &own.words;
    let count = |visit: usize, stage: usize| of.rows[visit].get(stage).copied().unwrap_or(0.0);
    let most = |stage: usize| (0..of.rows.len()).map(|visit| count(visit, stage)).fold(0.0, f64::max);
    let (first, last) = match of.days.as_slice() {
        [first, .., last] if of.rows.len() == of.days.len() && last > first => (*first, *last),
        _ => return Err(FigureError::Nothing),
    };
    let egg = of.stages.iter().position(|stage| *stage == Stage::Egg);
    let others = (0..of.stages.len()).filter(|index| Some(*index) != egg).map(most).fold(0.0, f64::max);
    let greatest = egg.map_or(0.0, most).max(others);
    if greatest <= 0.0 {
        return Err(FigureError::Nothing);
    }
    let day_words = |visit: usize| match &of.dates {
        Some(dates) => words.day(dates[visit]),
        None => fill(&own.day, &[("day", &short(words, of.days[visit]))]),
    };
    let says: Vec<String> = (0..of.stages.len())
        .map(|stage| {
            let name = capital(words.stage(of.stages[stage]));
            let peak = (0..of.rows.len())
                .filter(|&visit| count(visit, stage) > 0.0)
                .rev()
                .max_by(|&one, &other| count(one, stage).total_cmp(&count(other, stage)));
            match peak {
                Some(visit) => fill(
                    &own.succession_says,
                    &[("stage", &name), ("day", &day_words(visit)), ("value", &short(words, count(visit, stage)))],
                ),
                None => fill(&own.succession_none, &[("stage", &name)]),
            }
        })
        .collect();
    let alternative = TextAlternative { title: own.succession_title.clone(), description: says.join(" ") };
    let mut notes: Vec<&str> = vec![&own.succession_note];
    if egg.is_some() && of.stages.len() > 1 {
        notes.push(&words.note_scales);
    }
    sheet(width, alternative, |area| {
        let mut y = heading(area, &own.succession_title, &notes)? + 10 + BODY;
        let names: Vec<String> = of.stages.iter().map(|stage| capital(words.stage(*stage))).collect();
        let left = MARGIN + names.iter().map(|name| wide(name, BODY)).max().unwrap_or(0) + 12;
        let right = width_of(area) - MARGIN - 6;
        let x = |day: f64| left + whole((day - first) / (last - first) * f64::from(right - left));
        for (stage, name) in names.iter().enumerate() {
            let (height, scale) = if Some(stage) == egg { (TALL, most(stage)) } else { (LOW, others) };
            let points: Vec<(i32, f64)> =
                (0..of.rows.len()).map(|visit| (x(of.days[visit]), count(visit, stage))).collect();
            write_level(area, name, (MARGIN, y + height / 2), PLAIN)?;
            band(area, &points, (y, height), scale)?;
            let peak = most(stage);
            if peak > 0.0 {
                let at = points.iter().find(|(_, value)| *value >= peak).map_or(left, |(x, _)| *x);
                let reach = whole(peak / scale * f64::from(height) / 2.0);
                let text = short(words, peak);
                let beside = wide(&text, BODY) + 6;
                // The number stands above the widest place where the band leaves room, otherwise beside it.
                let place = (at.min(right - beside / 2).max(left + beside / 2), y + height / 2 - reach - BODY - 3);
                write(area, &text, place, Type { anchor: Anchor::Middle, ..PLAIN })?;
            }
            y += height + GAP + BODY;
        }
        let middles: Vec<i32> = of.days.iter().map(|day| x(*day)).collect();
        let labels: Vec<String> = (0..of.days.len())
            .map(|visit| match &of.dates {
                Some(dates) => words.day(dates[visit]),
                None => short(words, of.days[visit]),
            })
            .collect();
        line(area, (left, y), (right, y), Stroke::solid(Ink::Rule, 1.0))?;
        write_dates(area, &middles, &labels, y)?;
        let name = if of.dates.is_some() { &words.axis_date } else { &own.axis_day };
        write(area, name, (i32::midpoint(left, right), y + 26), Type { anchor: Anchor::Middle, ..PLAIN })?;
        Ok(y + 26 + BODY + 4)
    })
}

/// A band around its middle line.
fn band(area: &Area<'_>, points: &[(i32, f64)], (top, height): (i32, i32), scale: f64) -> Result<(), FigureError> {
    let middle = top + height / 2;
    let reach = |value: f64| if scale > 0.0 { whole(value / scale * f64::from(height) / 2.0) } else { 0 };
    let (from, to) = (points[0].0, points[points.len() - 1].0);
    line(area, (from, middle), (to, middle), Stroke::solid(Ink::Rule, 1.0))?;
    let upper: Vec<(i32, i32)> = points.iter().map(|&(x, value)| (x, middle - reach(value))).collect();
    let lower: Vec<(i32, i32)> = points.iter().map(|&(x, value)| (x, middle + reach(value))).collect();
    if points.iter().all(|(_, value)| *value <= 0.0) {
        return Ok(());
    }
    let mut outline: Vec<(i32, i32)> = upper.into_iter().chain(lower.into_iter().rev()).collect();
    fill_polygon(area, outline.clone(), Ink::Shade)?;
    outline.push(outline[0]);
    path(area, outline, Stroke::solid(Ink::Black, 1.0))
}
