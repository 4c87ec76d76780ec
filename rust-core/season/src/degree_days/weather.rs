//! A series of days at one place.

use super::day::Day;
use super::temperature::Scale;
use std::collections::BTreeMap;
use survey::date::Date;

/// Lowest and highest temperatures of days in order, each date once, gaps allowed.
#[derive(Debug, Clone, Default, PartialEq)]
pub struct Weather {
    days: BTreeMap<Date, Day>,
}

/// A row that is no day's weather, with its place in the series: the first is row 1.
#[derive(Debug, Clone, Copy, PartialEq, thiserror::Error)]
pub enum WeatherError {
    /// The lowest temperature is above the highest.
    #[error("row {row}, {date}: the lowest temperature {min} is above the highest {max}")]
    MinAboveMax {
        /// Which row, from 1.
        row: usize,
        /// Its date.
        date: Date,
        /// The lowest temperature as given.
        min: f64,
        /// The highest temperature as given.
        max: f64,
    },
    /// Not finite, or colder or hotter than air can be (−100 to 100 °C).
    #[error("row {row}, {date}: {value} is no temperature of the air")]
    NotATemperature {
        /// Which row, from 1.
        row: usize,
        /// Its date.
        date: Date,
        /// The number as given.
        value: f64,
    },
    /// The date stands there twice in a row.
    #[error("row {row}: {date} stands there twice")]
    DuplicateDate {
        /// The second row, from 1.
        row: usize,
        /// The date.
        date: Date,
    },
    /// The date comes before that of the row above.
    #[error("row {row}: {date} comes after {after} in the series, but before it in time")]
    OutOfOrder {
        /// Which row, from 1.
        row: usize,
        /// Its date.
        date: Date,
        /// The date of the row above.
        after: Date,
    },
}

impl Weather {
    /// The series of these rows: date, lowest and highest temperature in the scale. Dates without a row are gaps.
    ///
    /// # Errors
    /// The first row that has dates out of order or twice, the lowest temperature above the highest, or a number that
    /// is no temperature.
    pub fn read(rows: impl IntoIterator<Item = (Date, f64, f64)>, scale: Scale) -> Result<Self, WeatherError> {
        let mut days = BTreeMap::new();
        let mut last: Option<Date> = None;
        for (row, (date, min, max)) in (1..).zip(rows) {
            match last {
                Some(after) if after == date => return Err(WeatherError::DuplicateDate { row, date }),
                Some(after) if after > date => return Err(WeatherError::OutOfOrder { row, date, after }),
                _ => last = Some(date),
            }
            days.insert(date, read_day(row, date, (min, max), scale)?);
        }
        Ok(Self { days })
    }

    /// The day's temperatures, where known.
    pub fn on(&self, date: Date) -> Option<Day> {
        self.days.get(&date).copied()
    }

    /// The known days in order.
    pub fn days(&self) -> impl DoubleEndedIterator<Item = (Date, Day)> + '_ {
        self.days.iter().map(|(date, day)| (*date, *day))
    }

    /// The first known date.
    pub fn first(&self) -> Option<Date> {
        self.days.first_key_value().map(|(date, _)| *date)
    }

    /// The last known date.
    pub fn last(&self) -> Option<Date> {
        self.days.last_key_value().map(|(date, _)| *date)
    }

    /// How many days are known.
    pub fn len(&self) -> usize {
        self.days.len()
    }

    /// Whether no day is known.
    pub fn is_empty(&self) -> bool {
        self.days.is_empty()
    }

    /// The same series with each day this many degrees warmer.
    #[must_use]
    pub fn warmer(&self, by: f64) -> Self {
        Self { days: self.days().map(|(date, day)| (date, day.warmer(by))).collect() }
    }
}

impl FromIterator<(Date, Day)> for Weather {
    /// Of several days of one date the last holds.
    fn from_iter<I: IntoIterator<Item = (Date, Day)>>(days: I) -> Self {
        Self { days: days.into_iter().collect() }
    }
}

fn read_day(row: usize, date: Date, (min, max): (f64, f64), scale: Scale) -> Result<Day, WeatherError> {
    if let Some(day) = Day::new(scale.read(min), scale.read(max)) {
        return Ok(day);
    }
    let possible = |number: f64| Day::new(scale.read(number), scale.read(number)).is_some();
    Err(match [min, max].into_iter().find(|number| !possible(*number)) {
        Some(value) => WeatherError::NotATemperature { row, date, value },
        None => WeatherError::MinAboveMax { row, date, min, max },
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn date(text: &str) -> Date {
        text.to_owned().try_into().unwrap()
    }

    #[test]
    fn rows_that_are_no_weather_are_told_with_their_place() {
        let (first, second) = (date("2026-02-28"), date("2026-03-01"));
        let read = |rows: &[(Date, f64, f64)]| Weather::read(rows.iter().copied(), Scale::Celsius);
        let good = (first, 1.0, 9.0);
        assert_eq!(read(&[good, (second, 3.0, 3.0)]).unwrap().len(), 2);
        assert_eq!(
            read(&[good, (second, 9.0, 1.0)]),
            Err(WeatherError::MinAboveMax { row: 2, date: second, min: 9.0, max: 1.0 })
        );
        assert_eq!(read(&[good, good]), Err(WeatherError::DuplicateDate { row: 2, date: first }));
        assert_eq!(
            read(&[(second, 1.0, 2.0), good]),
            Err(WeatherError::OutOfOrder { row: 2, date: first, after: second })
        );
        for bad in [f64::NAN, f64::INFINITY, f64::NEG_INFINITY, 1e300] {
            assert!(matches!(read(&[(first, bad, 1.0)]), Err(WeatherError::NotATemperature { row: 1, .. })), "{bad}");
            assert!(matches!(read(&[(first, 1.0, bad)]), Err(WeatherError::NotATemperature { row: 1, .. })), "{bad}");
        }
    }

    #[test]
    fn fahrenheit_is_read_as_such() {
        let weather = Weather::read([(date("2024-02-29"), 50.0, 68.0)], Scale::Fahrenheit).unwrap();
        let day = weather.on(date("2024-02-29")).unwrap();
        assert!((day.min() - 10.0).abs() < 1e-12 && (day.max() - 20.0).abs() < 1e-12);
    }
}
