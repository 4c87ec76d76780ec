//! Values year by year.

use super::frame::short;
use super::plot::{Plot, Upward};
use super::words::ChartWords;
use crate::axis::Between;
use crate::backend::FigureError;
use crate::ink::Ink;
use crate::page::{Area, Box2, Marker, heading, interval_bar, legend, mark, path, sheet};
use crate::shape::{Figure, Stroke, TextAlternative};
use crate::words::fill;
use season::Interval;

/// A year.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct YearValue {
    /// The year.
    pub year: i32,
    /// Its value.
    pub value: f64,
    /// Its interval, where it has one.
    pub interval: Option<Interval>,
}

/// A course of years.
#[derive(Debug, Clone, PartialEq)]
pub struct Years {
    /// The years, rising.
    pub values: Vec<YearValue>,
    /// A straight line: value at year 0, and slope per year.
    pub line: Option<(f64, f64)>,
    /// Whether values are densities against the first year.
    pub against_first: bool,
    /// What may be said of the course, in words; it stands under the title.
    pub wording: String,
}

/// Values year by year with intervals, and the line by medians where there is one.
///
/// # Errors
/// [`FigureError::Nothing`] without two years; [`FigureError::TooNarrow`] below [`crate::NARROWEST`].
pub fn year_course(of: &Years, width: u32, own: &ChartWords) -> Result<Figure, FigureError> {
    let words = &own.words;
    let (Some(first), Some(last)) = (of.values.first(), of.values.last()) else { return Err(FigureError::Nothing) };
    if first.year == last.year {
        return Err(FigureError::Nothing);
    }
    let at = |value: &YearValue| value.value;
    let (lowest, highest) = (
        of.values.iter().min_by(|one, other| at(one).total_cmp(&at(other))).unwrap_or(first),
        of.values.iter().max_by(|one, other| at(one).total_cmp(&at(other))).unwrap_or(first),
    );
    let title = if of.against_first { &own.years_title_index } else { &own.years_title };
    let facts = [
        ("years", of.values.len().to_string()),
        ("first", first.year.to_string()),
        ("last", last.year.to_string()),
        ("low", short(words, lowest.value)),
        ("low_year", lowest.year.to_string()),
        ("high", short(words, highest.value)),
        ("high_year", highest.year.to_string()),
    ];
    let facts: Vec<(&str, &str)> = facts.iter().map(|(place, text)| (*place, text.as_str())).collect();
    let description = format!("{} {}", fill(&own.years_says, &facts), of.wording);
    let top = of
        .values
        .iter()
        .map(|value| value.interval.map_or(value.value, |interval| interval.high))
        .fold(0.0, f64::max)
        // An interval without end would press all values to the floor.
        .min(4.0 * highest.value.max(f64::MIN_POSITIVE));
    sheet(width, TextAlternative { title: title.clone(), description }, |area| {
        let y = heading(area, title, &[&of.wording])?;
        let labels: Vec<(f64, String)> =
            of.values.iter().map(|value| (f64::from(value.year), value.year.to_string())).collect();
        let name = if of.against_first { &own.years_axis_index } else { &own.years_axis_value };
        let upward = Upward { name, top, between: Between::Decimals };
        let across = (f64::from(first.year), f64::from(last.year));
        let plot = Plot::draw(area, y + 8, &upward, across, &labels, (&own.years_axis, 0, words))?;
        if let Some((start, slope)) = of.line {
            let points: Vec<(f64, f64)> = (0..=100)
                .map(|step| across.0 + f64::from(step) / 100.0 * (across.1 - across.0))
                .map(|year| (year, start + slope * year))
                .collect();
            plot.dashed(area, &thinned(&points), Stroke::solid(Ink::Black, 1.0))?;
        }
        if of.against_first {
            plot.curve(area, &[(across.0, 1.0), (across.1, 1.0)], Stroke::solid(Ink::Rule, 1.0))?;
        }
        let way: Vec<(f64, f64)> = of.values.iter().map(|value| (f64::from(value.year), value.value)).collect();
        plot.curve(area, &way, Stroke::solid(Ink::Rule, 1.0))?;
        for value in &of.values {
            let (x, y) = plot.at(f64::from(value.year), value.value);
            if let Some(interval) = value.interval {
                interval_bar(area, x, plot.y(interval.low), plot.y(interval.high))?;
            }
            mark(area, (x, y), Marker::Full)?;
        }
        match of.line {
            Some(_) => legend(area, &[((), own.years_line.clone())], plot.end(), key),
            None => Ok(plot.end()),
        }
    })
}

/// Ends of a straight line as far as it stays at or above 0.
fn thinned(points: &[(f64, f64)]) -> Vec<(f64, f64)> {
    let above: Vec<(f64, f64)> = points.iter().copied().filter(|point| point.1 >= 0.0).collect();
    match above.as_slice() {
        [first, .., last] => vec![*first, *last],
        _ => Vec::new(),
    }
}

fn key(area: &Area<'_>, area_box: Box2, (): ()) -> Result<(), FigureError> {
    let level = i32::midpoint(area_box.top, area_box.bottom);
    path(area, vec![(area_box.left, level), (area_box.left + 6, level)], Stroke::solid(Ink::Black, 1.0))?;
    path(area, vec![(area_box.left + 10, level), (area_box.left + 16, level)], Stroke::solid(Ink::Black, 1.0))
}
