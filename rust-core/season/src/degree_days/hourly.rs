//! Degree-days from hourly temperatures.

use super::cutoff::{Cutoff, rate};
use super::id;
use super::temperature::Celsius;
use super::thresholds::Thresholds;
use crate::{Estimate, Refusal};
use serde::Serialize;

/// Degree-days of a run of hours.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct HourlySum {
    /// Sum over the known hours in °C × day; `n` counts them.
    pub known: Estimate,
    /// How many hours are missing and add nothing.
    pub missing_hours: usize,
}

/// Degree-days of hourly temperatures: each known hour adds a 24th of the rate at its temperature.
///
/// Unit: °C × day. Domain: one value an hour, `None` where the hour is missing; at least one known hour.
///
/// Source: the definition of degree-days as an integral, by rectangles of one hour; compare Zalom et al. (1983), UC
/// DANR Leaflet 21373.
///
/// # Errors
/// [`Refusal::Nothing`] without a known hour; [`Refusal::NotANumber`] for a value that is no temperature of the air.
pub fn hourly(hours: &[Option<Celsius>], thresholds: Thresholds, cutoff: Cutoff) -> Result<HourlySum, Refusal> {
    let known: Vec<_> = hours.iter().copied().flatten().collect();
    if known.is_empty() {
        return Err(Refusal::Nothing);
    }
    if known.iter().any(|temperature| !(-100.0..=100.0).contains(&temperature.0)) {
        return Err(Refusal::NotANumber);
    }
    Ok(HourlySum {
        known: Estimate {
            value: known.iter().map(|temperature| rate(*temperature, thresholds, cutoff)).sum::<f64>() / 24.0,
            standard_error: None,
            interval: None,
            n: known.len() as u64,
            method: id::DEGREE_DAYS_HOURLY,
            assumed: vec![id::ASSUMED_AIR_IS_LEAF],
        },
        missing_hours: hours.len() - known.len(),
    })
}
