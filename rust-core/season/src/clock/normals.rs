//! What days of the year are usually like.

use crate::degree_days::{Celsius, Day, Weather, earlier, later};
use chrono::Datelike;
use std::collections::BTreeMap;
use survey::date::Date;

/// Usual lowest and highest temperatures by day of the year.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Normals {
    days: BTreeMap<(u32, u32), Day>,
}

/// Days on either side that are averaged with a day: 15 days of each year smooth the accidents of single years.
const HALF_WINDOW: u64 = 7;

impl Normals {
    /// Means of the lowest and highest temperatures over all years of a series, each day of the year with the seven
    /// days before and after it. Days of the year without any weather near stay unknown.
    ///
    /// The heat of a mean day is no more than the mean heat of days where they cross the lower threshold, so forecasts
    /// in spring and autumn are somewhat late.
    pub fn of(years: &Weather) -> Self {
        let mut sums: BTreeMap<(u32, u32), (f64, f64, f64)> = BTreeMap::new();
        for (date, day) in years.days() {
            let near = (0..=HALF_WINDOW)
                .map(|days| later(date, days))
                .chain((1..=HALF_WINDOW).map(|days| earlier(date, days)));
            for target in near {
                let sum = sums.entry(key(target)).or_default();
                *sum = (sum.0 + day.min(), sum.1 + day.max(), sum.2 + 1.0);
            }
        }
        sums.into_iter()
            .filter_map(|(key, (min, max, days))| Some((key, Day::new(Celsius(min / days), Celsius(max / days))?)))
            .collect()
    }

    /// What a day is usually like; 29 February is like 28 February where it has no weather of its own.
    pub fn on(&self, date: Date) -> Option<Day> {
        let own = self.days.get(&key(date));
        own.or_else(|| if key(date) == (2, 29) { self.days.get(&(2, 28)) } else { None }).copied()
    }

    /// The same, each day this many degrees warmer.
    #[must_use]
    pub fn warmer(&self, by: f64) -> Self {
        Self { days: self.days.iter().map(|(key, day)| (*key, day.warmer(by))).collect() }
    }
}

impl FromIterator<((u32, u32), Day)> for Normals {
    /// From month (1 to 12) and day of the month.
    fn from_iter<I: IntoIterator<Item = ((u32, u32), Day)>>(days: I) -> Self {
        Self { days: days.into_iter().collect() }
    }
}

fn key(date: Date) -> (u32, u32) {
    (date.naive().month(), date.naive().day())
}
