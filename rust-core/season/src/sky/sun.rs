//! Sunrise, solar noon, sunset.

use super::solar::{J2000, half_turn, solar_position};
use crate::Refusal;
use chrono::{DateTime, Datelike, NaiveDateTime, TimeDelta, Utc};
use serde::{Serialize, Serializer};
use survey::date::Date;
use survey::place::Pin;

/// The sun's day at a place: the one whose noon falls on the date in local mean time.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SunDay {
    /// Sunrise before noon.
    pub rise: Crossing,
    /// When the sun stands in the meridian.
    #[serde(serialize_with = "rfc3339")]
    pub noon: DateTime<Utc>,
    /// Height of the sun's middle above the horizon then, in degrees, without refraction.
    pub noon_altitude: f64,
    /// Sunset after noon.
    pub set: Crossing,
}

/// Whether and when the sun passes the horizon in half a day.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Crossing {
    /// At this time.
    At(#[serde(serialize_with = "rfc3339")] DateTime<Utc>),
    /// It stays above the horizon.
    StaysUp,
    /// It stays below the horizon.
    StaysDown,
}

/// Where the sun stands at a moment.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SunAt {
    /// Height of its middle above the horizon in degrees, without refraction.
    pub altitude: f64,
    /// Direction in degrees, from north over east.
    pub azimuth: f64,
}

/// Height of the sun's middle when its upper edge is seen on the horizon: 34′ of refraction and 16′ of radius.
const HORIZON: f64 = -50.0 / 60.0;
/// Terrestrial Time minus Universal Time, in days: 69 s in the 2020s. A minute off moves results by less than 1 s.
const TERRESTRIAL_AHEAD: f64 = 69.0 / 86_400.0;
/// Degrees by which the Earth turns in a day, against the stars and against the mean sun.
const TURN_BY_STARS: f64 = 360.985_647_366_29;
const TURN_BY_SUN: f64 = 360.0;
/// Years in which the series are right to 0.01° and the difference of times is small.
const YEARS: std::ops::RangeInclusive<i32> = 1900..=2100;
/// Halvings of half a day: enough for a millisecond.
const STEPS: u32 = 30;
/// How far from the mean low and high the lowest and highest point of the sun's way may lie, in days.
const AROUND: f64 = 1.0 / 24.0;

/// Sunrise, solar noon and sunset of a date at a place, in Universal Time.
///
/// The sun's middle is 50′ below a level horizon at rise and set (34′ refraction, 16′ radius), the observer at sea
/// level. Noon is where the hour angle is 0, found by iteration; rise and set are found by halving between noon and the
/// lowest points before and after it, the sun's place being computed afresh each time. In polar summer and winter the
/// value says that the sun stays up or down.
///
/// Unit: times to the millisecond, right to about a minute, for refraction and the height of observer and horizon
/// matter more. Domain: years 1900 to 2100.
///
/// Source: Meeus J (1998) Astronomical Algorithms, 2nd ed., Willmann-Bell, chapters 12, 13, 15, 25.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the years.
pub fn sun_day(place: Pin, date: Date) -> Result<SunDay, Refusal> {
    if !YEARS.contains(&date.naive().year()) {
        return Err(Refusal::NotANumber);
    }
    let midnight = f64::from(date.naive().num_days_from_ce()) + JULIAN_OF_COMMON_ERA;
    let mut noon = midnight + 0.5 - place.lon() / TURN_BY_SUN;
    for _ in 0..4 {
        noon -= half_turn(hour_angle(place, noon)) / TURN_BY_SUN;
    }
    let altitude = |day: f64| horizontal(place, day).altitude;
    let high = extreme(altitude, noon);
    let (low_before, low_after) =
        (extreme(|day| -altitude(day), noon - 0.5), extreme(|day| -altitude(day), noon + 0.5));
    let crossing = |low: f64| match (altitude(low) < HORIZON, altitude(high) < HORIZON) {
        (true, false) => Crossing::At(time(halve(altitude, low, high))),
        (false, false) => Crossing::StaysUp,
        (_, true) => Crossing::StaysDown,
    };
    Ok(SunDay { rise: crossing(low_before), noon: time(noon), noon_altitude: altitude(noon), set: crossing(low_after) })
}

/// Where the sun stands at a moment, seen from a place at sea level, without refraction.
///
/// Unit: degrees, right to 0.02°. Domain: years 1900 to 2100.
///
/// Source: Meeus J (1998) Astronomical Algorithms, 2nd ed., Willmann-Bell, chapters 13 and 25.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the years.
pub fn sun_at(place: Pin, moment: DateTime<Utc>) -> Result<SunAt, Refusal> {
    if !YEARS.contains(&moment.year()) {
        return Err(Refusal::NotANumber);
    }
    Ok(horizontal(place, moment.timestamp_millis() as f64 / 86_400_000.0 + JULIAN_OF_UNIX))
}

/// Julian date of 1970-01-01 00:00.
const JULIAN_OF_UNIX: f64 = 2_440_587.5;
/// Julian date of the midnight with which day 0 of the common era begins.
const JULIAN_OF_COMMON_ERA: f64 = 1_721_424.5;

fn hour_angle(place: Pin, day: f64) -> f64 {
    let sun = solar_position(day + TERRESTRIAL_AHEAD);
    let century = (day - J2000) / 36_525.0;
    let sidereal = 280.460_618_37 + TURN_BY_STARS * (day - J2000) + 0.000_387_933 * century * century;
    sidereal + sun.nutation * sun.obliquity.to_radians().cos() + place.lon() - sun.right_ascension
}

fn horizontal(place: Pin, day: f64) -> SunAt {
    let (sin_hour, cos_hour) = hour_angle(place, day).to_radians().sin_cos();
    let (sin_lat, cos_lat) = place.lat().to_radians().sin_cos();
    let (sin_dec, cos_dec) = solar_position(day + TERRESTRIAL_AHEAD).declination.to_radians().sin_cos();
    let sin_altitude = sin_lat * sin_dec + cos_lat * cos_dec * cos_hour;
    let from_south = (sin_hour * cos_dec).atan2(cos_hour * cos_dec * sin_lat - sin_dec * cos_lat);
    SunAt {
        altitude: sin_altitude.clamp(-1.0, 1.0).asin().to_degrees(),
        azimuth: (from_south.to_degrees() + 180.0).rem_euclid(360.0),
    }
}

/// The day near this one where the function is greatest, by thirds.
fn extreme(of: impl Fn(f64) -> f64, near: f64) -> f64 {
    let (low, high) = (0..STEPS).fold((near - AROUND, near + AROUND), |(low, high), _| {
        let third = (high - low) / 3.0;
        if of(low + third) < of(high - third) { (low + third, high) } else { (low, high - third) }
    });
    f64::midpoint(low, high)
}

fn halve(altitude: impl Fn(f64) -> f64, below: f64, above: f64) -> f64 {
    let (below, above) = (0..STEPS).fold((below, above), |(below, above), _| {
        let middle = f64::midpoint(below, above);
        if altitude(middle) < HORIZON { (middle, above) } else { (below, middle) }
    });
    f64::midpoint(below, above)
}

fn time(day: f64) -> DateTime<Utc> {
    #[expect(clippy::cast_possible_truncation, reason = "the years are held between 1900 and 2100")]
    let ms = ((day - JULIAN_OF_UNIX) * 86_400_000.0).round() as i64;
    (NaiveDateTime::default() + TimeDelta::milliseconds(ms)).and_utc()
}

fn rfc3339<S: Serializer>(moment: &DateTime<Utc>, serializer: S) -> Result<S::Ok, S::Error> {
    serializer.serialize_str(&moment.format("%Y-%m-%dT%H:%M:%S%.3fZ").to_string())
}
