//! Degree-days by the mean of the day.

use super::cutoff::{Cutoff, rate};
use super::day::Day;
use super::temperature::Celsius;
use super::thresholds::Thresholds;

/// Degree-days of one day by the simple average: the rate at the middle between lowest and highest temperature.
///
/// Middle = (lowest + highest) ÷ 2; degree-days = middle − lower threshold, at least 0, with the cutoff where the
/// middle is above the upper threshold. Understates days that cross a threshold.
///
/// Unit: °C × day. Domain: every valid day.
///
/// Source: method 1 of `McMaster` GS, Wilhelm WW (1997) Agric. For. Meteorol. 87:291-300.
pub fn average(day: Day, thresholds: Thresholds, cutoff: Cutoff) -> f64 {
    rate(Celsius(day.middle()), thresholds, cutoff)
}
