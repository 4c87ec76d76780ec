//! Degree-days under straight lines through the day's extremes.

use super::cutoff::{Above, Cutoff, degree_days};
use super::day::Day;
use super::thresholds::Thresholds;

/// Degree-days of one day by the single triangle: straight up from the lowest temperature to the highest, and back.
///
/// The mean number of degrees above a temperature t is (highest − t)² ÷ (2 × (highest − lowest)) where t lies between
/// the extremes, middle − t where it lies below them, 0 where it lies above. How the parts above both thresholds join
/// is told at [`Cutoff`].
///
/// Unit: °C × day. Domain: every valid day.
///
/// Source: Zalom FG, Goodell PB, Wilson LT, Barnett WW, Bentley WJ (1983) Degree-Days, UC DANR Leaflet 21373.
pub fn triangle(day: Day, thresholds: Thresholds, cutoff: Cutoff) -> f64 {
    degree_days(|temperature| above(day, temperature), thresholds, cutoff)
}

fn above(day: Day, temperature: f64) -> Above {
    if temperature >= day.max() {
        return Above { degrees: 0.0, share: 0.0 };
    }
    if temperature <= day.min() {
        return Above { degrees: day.middle() - temperature, share: 1.0 };
    }
    let (over, width) = (day.max() - temperature, day.max() - day.min());
    Above { degrees: over * over / (2.0 * width), share: over / width }
}
