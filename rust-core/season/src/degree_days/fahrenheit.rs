//! Whether numbers given as Celsius look like Fahrenheit: a question to ask, never a correction to make.

use super::id;
use super::weather::Weather;
use crate::MessageId;
use serde::Serialize;
use survey::date::Date;

/// The hottest air ever measured near the ground, 56.7 °C (Death Valley 1913, World Meteorological Organization).
const HOTTEST_EVER: f64 = 56.7;
/// A median of daily highest temperatures that no place on Earth has over a season, in °C.
const TOO_HOT_FOR_A_SEASON: f64 = 45.0;
/// A median of daily ranges beyond that of the driest deserts, in °C.
const TOO_WIDE: f64 = 25.0;

/// "These days look like degrees Fahrenheit: are they?"
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ScaleQuestion {
    /// The question.
    pub question: MessageId,
    /// The hottest day, which shows best why it is asked.
    pub hottest: Date,
    /// Its highest temperature as given.
    pub as_given: f64,
    /// What that would be if the number were in degrees Fahrenheit, in °C.
    pub if_fahrenheit: f64,
    /// How many days are hotter than any air ever measured.
    pub impossible_days: usize,
}

/// Asks whether a series given as °C is in °F.
///
/// It is asked where any highest temperature is above 56.7 °C, or the median of the highest temperatures is above
/// 45 °C, or the median daily range is above 25 °C. Cold seasons in °F can look like °C: no question is no proof.
///
/// Source: the limit is the world's record of the World Meteorological Organization; the medians are this project's
/// own rule, with no source.
pub fn looks_like_fahrenheit(weather: &Weather) -> Option<ScaleQuestion> {
    let (hottest, day) = weather.days().max_by(|(_, one), (_, other)| one.max().total_cmp(&other.max()))?;
    let highest = median(weather.days().map(|(_, day)| day.max()).collect());
    let range = median(weather.days().map(|(_, day)| day.max() - day.min()).collect());
    let impossible_days = weather.days().filter(|(_, day)| day.max() > HOTTEST_EVER).count();
    (impossible_days > 0 || highest > TOO_HOT_FOR_A_SEASON || range > TOO_WIDE).then(|| ScaleQuestion {
        question: id::ASK_IF_FAHRENHEIT,
        hottest,
        as_given: day.max(),
        if_fahrenheit: (day.max() - 32.0) / 1.8,
        impossible_days,
    })
}

fn median(mut values: Vec<f64>) -> f64 {
    values.sort_by(f64::total_cmp);
    values.get(values.len() / 2).copied().unwrap_or(0.0)
}
