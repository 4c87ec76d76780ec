//! Degree-days under a sine through the day's extremes.

use super::cutoff::{Above, Cutoff, degree_days};
use super::day::Day;
use super::thresholds::Thresholds;
use std::f64::consts::{FRAC_PI_2, PI};

/// Degree-days of one day by the single sine: the temperature swings as a sine from the lowest to the highest and back.
///
/// With middle m and half-width w of the day, the mean number of degrees above a temperature t is
/// [(m − t)(π/2 − a) + w cos a] ÷ π with a = arcsine of (t − m) ÷ w where t lies between the extremes, m − t where it
/// lies below them, 0 where it lies above. How the parts above both thresholds join is told at [`Cutoff`].
///
/// Unit: °C × day. Domain: every valid day.
///
/// Source: Baskerville GL, Emin P (1969) Ecology 50:514-517.
pub fn sine(day: Day, thresholds: Thresholds, cutoff: Cutoff) -> f64 {
    degree_days(|temperature| above(day, temperature), thresholds, cutoff)
}

fn above(day: Day, temperature: f64) -> Above {
    let middle = day.middle();
    if temperature >= day.max() {
        return Above { degrees: 0.0, share: 0.0 };
    }
    if temperature <= day.min() {
        return Above { degrees: middle - temperature, share: 1.0 };
    }
    let half_width = (day.max() - day.min()) / 2.0;
    let sine = ((temperature - middle) / half_width).clamp(-1.0, 1.0);
    let (angle, cosine) = (sine.asin(), ((1.0 - sine) * (1.0 + sine)).sqrt());
    let degrees = ((middle - temperature) * (FRAC_PI_2 - angle) + half_width * cosine) / PI;
    Above { degrees: degrees.max(0.0), share: (FRAC_PI_2 - angle) / PI }
}
