//! Degree-days under two half triangles, one to each night.

use super::cutoff::Cutoff;
use super::day::Day;
use super::thresholds::Thresholds;
use super::triangle::triangle;

/// Degree-days of one day by the double triangle: the first half day rises from its own lowest temperature, the second
/// falls to the next day's lowest one.
///
/// The mean of the single triangles from the day's lowest and from the next day's lowest temperature to the day's highest.
/// Where the next night is warmer than the day, its second half rises.
///
/// Unit: °C × day. Domain: every valid day, only the lowest temperature of the next day is used.
///
/// Source: Zalom FG, Goodell PB, Wilson LT, Barnett WW, Bentley WJ (1983) Degree-Days, UC DANR Leaflet 21373.
pub fn double_triangle(day: Day, next: Day, thresholds: Thresholds, cutoff: Cutoff) -> f64 {
    let second = Day::span(day.max(), next.min());
    f64::midpoint(triangle(day, thresholds, cutoff), triangle(second, thresholds, cutoff))
}
