//! Degree-days under two half sines, one to each night.

use super::cutoff::Cutoff;
use super::day::Day;
use super::sine::sine;
use super::thresholds::Thresholds;

/// Degree-days of one day by the double sine: the first half day rises from its own lowest temperature, the second
/// falls to the next day's lowest one.
///
/// The mean of the single sines from the day's lowest and from the next day's lowest temperature to the day's highest.
/// Where the next night is warmer than the day, its second half rises.
///
/// Unit: °C × day. Domain: every valid day, only the lowest temperature of the next day is used.
///
/// Source: Allen JC (1976) Environ. Entomol. 5:388-396.
pub fn double_sine(day: Day, next: Day, thresholds: Thresholds, cutoff: Cutoff) -> f64 {
    let second = Day::span(day.max(), next.min());
    f64::midpoint(sine(day, thresholds, cutoff), sine(second, thresholds, cutoff))
}
