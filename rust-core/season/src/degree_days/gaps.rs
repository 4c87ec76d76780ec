//! Days without weather.

use super::day::Day;
use super::weather::Weather;
use chrono::Days;
use serde::Serialize;
use survey::date::Date;

/// A gap of more days than this in a row is never interpolated.
pub const MOST_INTERPOLATED: usize = 3;

/// What to do with days that are missing inside a series.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Gaps {
    /// Leave them missing.
    #[default]
    Leave,
    /// Draw a straight line across gaps of at most [`MOST_INTERPOLATED`] days, and mark those days.
    Interpolate,
}

/// How a day's temperatures are known.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Known {
    /// Measured.
    Measured,
    /// Put in between the neighbours of a short gap.
    Interpolated,
    /// Not at all.
    Missing,
}

/// A series over a span of dates without holes in the calendar: each date has a day or is known to be missing.
#[derive(Debug, Clone, PartialEq)]
pub struct Filled {
    days: Vec<(Date, Option<Day>, Known)>,
}

impl Filled {
    /// The days of a span, both ends included; empty where `from` is after `to`.
    ///
    /// A gap is judged by its whole length, also where the span begins or ends inside it. Days before the first and
    /// after the last known one are never interpolated.
    pub fn over(weather: &Weather, from: Date, to: Date, gaps: Gaps) -> Self {
        let days = dates(from, to)
            .map(|date| match (weather.on(date), gaps) {
                (Some(day), _) => (date, Some(day), Known::Measured),
                (None, Gaps::Leave) => (date, None, Known::Missing),
                (None, Gaps::Interpolate) => match between(weather, date) {
                    Some(day) => (date, Some(day), Known::Interpolated),
                    None => (date, None, Known::Missing),
                },
            })
            .collect();
        Self { days }
    }

    /// The days in order.
    pub fn days(&self) -> &[(Date, Option<Day>, Known)] {
        &self.days
    }
}

/// All dates of a span, both ends included.
pub(crate) fn dates(from: Date, to: Date) -> impl Iterator<Item = Date> {
    from.naive().iter_days().map(Date::from).take_while(move |date| *date <= to)
}

/// The date this many days later, or the calendar's last.
pub(crate) fn later(date: Date, days: u64) -> Date {
    date.naive().checked_add_days(Days::new(days)).unwrap_or(chrono::NaiveDate::MAX).into()
}

/// The date this many days earlier, or the calendar's first.
pub(crate) fn earlier(date: Date, days: u64) -> Date {
    date.naive().checked_sub_days(Days::new(days)).unwrap_or(chrono::NaiveDate::MIN).into()
}

fn between(weather: &Weather, missing: Date) -> Option<Day> {
    let reach = 1..=MOST_INTERPOLATED as u64;
    let (before, left) = reach.clone().find_map(|days| weather.on(earlier(missing, days)).map(|day| (days, day)))?;
    let (after, right) = reach.clone().find_map(|days| weather.on(later(missing, days)).map(|day| (days, day)))?;
    reach.contains(&(before + after - 1)).then(|| left.towards(right, before as f64 / (before + after) as f64))
}
