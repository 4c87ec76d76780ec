//! Weather as far as it goes, then what is usual.

use super::normals::Normals;
use crate::degree_days::{Counting, Day, Filled, Gaps, Weather};
use serde::Serialize;
use survey::date::Date;

/// How a day's temperatures are known, from best to least.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Basis {
    /// Measured.
    Measured,
    /// Put in between the neighbours of a gap of at most three days.
    Interpolated,
    /// As in other years.
    Normal,
}

/// The temperatures that a clock runs on.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Temperatures {
    weather: Weather,
    normals: Option<Normals>,
}

impl Temperatures {
    /// This weather; where it has gaps of more than three days, and before and after it, these normals if there are any.
    pub const fn new(weather: Weather, normals: Option<Normals>) -> Self {
        Self { weather, normals }
    }

    /// The day and how it is known; `None` where nothing is.
    pub fn on(&self, date: Date) -> Option<(Day, Basis)> {
        if let Some(day) = self.weather.on(date) {
            return Some((day, Basis::Measured));
        }
        let filled = Filled::over(&self.weather, date, date, Gaps::Interpolate);
        let drawn = filled.days().first().and_then(|(_, day, _)| *day);
        drawn.map(|day| (day, Basis::Interpolated)).or_else(|| Some((self.normals.as_ref()?.on(date)?, Basis::Normal)))
    }

    /// The same, each day this many degrees warmer.
    #[must_use]
    pub fn warmer(&self, by: f64) -> Self {
        Self { weather: self.weather.warmer(by), normals: self.normals.as_ref().map(|normals| normals.warmer(by)) }
    }

    /// A day's degree-days, °C × day, and how they are known.
    pub(super) fn heat(&self, date: Date, counting: &Counting) -> Option<(f64, Basis)> {
        let (day, basis) = self.on(date)?;
        let next = counting.method().looks_ahead().then(|| self.on(crate::degree_days::later(date, 1))).flatten();
        Some((counting.of_day(day, next.map(|(day, _)| day)), basis))
    }
}
