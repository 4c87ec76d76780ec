//! Lines at which counting may stop, with the count so far.

use super::frame::short;
use super::plot::{Plot, Upward};
use super::words::ChartWords;
use crate::axis::Between;
use crate::backend::FigureError;
use crate::ink::Ink;
use crate::page::{Area, Box2, Marker, heading, legend, mark, path, sheet};
use crate::shape::{Figure, Stroke, TextAlternative};
use crate::words::fill;

/// What a line means.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum StopLine {
    /// Counting may stop where the count reaches it.
    Stop,
    /// Above it the mean counts as high.
    High,
    /// Below it the mean counts as low.
    Low,
}

/// Lines and the count so far.
#[derive(Debug, Clone, PartialEq)]
pub struct StopLines {
    /// Each line as (plants, animals), plants rising.
    pub lines: Vec<(StopLine, Vec<(f64, f64)>)>,
    /// Animals counted on the first, the first two, … plants.
    pub running: Vec<u64>,
}

#[derive(Clone, Copy)]
enum Key {
    Line(StopLine),
    Running,
}

/// Stop lines over plants checked, with the running count where there is one.
///
/// # Errors
/// [`FigureError::Nothing`] without a line of two points; [`FigureError::TooNarrow`] below [`crate::NARROWEST`].
pub fn stop_lines(of: &StopLines, width: u32, own: &ChartWords) -> Result<Figure, FigureError> {
    let words = &own.words;
    let points = || of.lines.iter().flat_map(|(_, line)| line);
    if of.lines.is_empty() || of.lines.iter().any(|(_, line)| line.len() < 2) {
        return Err(FigureError::Nothing);
    }
    let last = points().map(|point| point.0).fold(of.running.len() as f64, f64::max);
    let counted = of.running.last().copied().unwrap_or(0) as f64;
    // A line that begins far up, as those for few plants do, is cut off so that the rest can be read.
    let lowest = |line: &Vec<(f64, f64)>| line.iter().map(|point| point.1).fold(f64::INFINITY, f64::min);
    let floor = of.lines.iter().map(|(_, line)| lowest(line)).fold(0.0, f64::max);
    let highest = points().map(|point| point.1).fold(0.0, f64::max);
    let falls = of.lines.iter().any(|(kind, _)| *kind == StopLine::Stop);
    let highest = if falls { highest.min(4.0 * floor.max(1.0)) } else { highest }.max(counted * 1.1);
    let alternative = TextAlternative { title: own.stop_title.clone(), description: says(of, own) };
    sheet(width, alternative, |area| {
        let y = heading(area, &own.stop_title, &[])?;
        let labels: Vec<(f64, String)> = crate::axis::ticks(last, 7, Between::WholeOnly)
            .values
            .into_iter()
            .map(|value| (value, short(words, value)))
            .collect();
        let upward = Upward { name: &own.stop_axis_animals, top: highest, between: Between::WholeOnly };
        let plot = Plot::draw(area, y + 8, &upward, (0.0, last), &labels, (&own.stop_axis_plants, 0, words))?;
        for (kind, line) in &of.lines {
            let stroke = Stroke::solid(Ink::Black, 2.0);
            match kind {
                StopLine::Stop => plot.curve(area, line, stroke)?,
                // These are straight, and are drawn from end to end so that they look it.
                StopLine::High => plot.curve(area, &ends(line), stroke)?,
                StopLine::Low => plot.dashed(area, &ends(line), stroke)?,
            }
        }
        let steps: Vec<(f64, f64)> = std::iter::once((0.0, 0.0))
            .chain((1_u32..).map(f64::from).zip(of.running.iter().map(|&total| total as f64)))
            .flat_map(|point| [point, point])
            .collect();
        // A count stands still until the next plant is checked.
        let stairs: Vec<(f64, f64)> =
            steps.windows(2).map(|pair| if pair[0].0 < pair[1].0 { (pair[1].0, pair[0].1) } else { pair[1] }).collect();
        if !of.running.is_empty() {
            plot.curve(area, &stairs, Stroke::solid(Ink::Rule, 1.0))?;
            mark(area, plot.at(of.running.len() as f64, counted), Marker::Full)?;
        }
        let mut keys: Vec<(Key, String)> = of
            .lines
            .iter()
            .map(|(kind, _)| {
                let text = match kind {
                    StopLine::Stop => &own.stop_line,
                    StopLine::High => &own.stop_high,
                    StopLine::Low => &own.stop_low,
                };
                (Key::Line(*kind), text.clone())
            })
            .collect();
        if !of.running.is_empty() {
            keys.push((Key::Running, own.stop_running.clone()));
        }
        legend(area, &keys, plot.end(), key)
    })
}

fn ends(line: &[(f64, f64)]) -> Vec<(f64, f64)> {
    line.first().into_iter().chain(line.last()).copied().collect()
}

fn key(area: &Area<'_>, area_box: Box2, key: Key) -> Result<(), FigureError> {
    let level = i32::midpoint(area_box.top, area_box.bottom);
    let ends = [(area_box.left, level), (area_box.right, level)];
    match key {
        Key::Line(StopLine::Low) => super::plot::dash(area, ends[0], ends[1], Stroke::solid(Ink::Black, 2.0)),
        Key::Line(StopLine::Stop | StopLine::High) => path(area, ends.to_vec(), Stroke::solid(Ink::Black, 2.0)),
        Key::Running => {
            path(area, ends.to_vec(), Stroke::solid(Ink::Rule, 1.0))?;
            mark(area, ends[1], Marker::Full)
        }
    }
}

fn says(of: &StopLines, own: &ChartWords) -> String {
    let words = &own.words;
    let text = |template: &str, plants: f64, animals: f64| {
        fill(template, &[("plants", &short(words, plants)), ("animals", &short(words, animals))])
    };
    let line = |wanted: StopLine| of.lines.iter().find(|(kind, _)| *kind == wanted).map(|(_, line)| line);
    let plants = of.running.len() as f64;
    let counted = of.running.last().copied().unwrap_or(0) as f64;
    if of.running.is_empty() {
        let ends = of.lines.iter().filter_map(|(_, line)| line.last());
        return ends.map(|&(plants, animals)| text(&own.stop_says_line, plants, animals)).collect::<Vec<_>>().join(" ");
    }
    if let Some(stop) = line(StopLine::Stop) {
        let reached = (1_u32..)
            .map(f64::from)
            .zip(&of.running)
            .find(|(plants, total)| *plants >= 2.0 && at(stop, *plants).is_some_and(|needed| **total as f64 >= needed));
        return match reached {
            Some((plants, total)) => text(&own.stop_says_at, plants, *total as f64),
            None => text(&own.stop_says_not_yet, plants, counted),
        };
    }
    let beyond = |kind| line(kind).and_then(|line| at(line, plants));
    let template = match (beyond(StopLine::High), beyond(StopLine::Low)) {
        (Some(high), _) if counted >= high => &own.stop_says_high,
        (_, Some(low)) if counted <= low => &own.stop_says_low,
        _ => &own.stop_says_not_yet,
    };
    text(template, plants, counted)
}

/// Height of a line over a number of plants, straight between its points.
fn at(line: &[(f64, f64)], plants: f64) -> Option<f64> {
    line.windows(2).find(|pair| (pair[0].0..=pair[1].0).contains(&plants)).map(|pair| {
        let share = (plants - pair[0].0) / (pair[1].0 - pair[0].0).max(1e-9);
        pair[0].1 + share * (pair[1].1 - pair[0].1)
    })
}
