//! Host plants per hectare.

use super::{id, ratio};
use crate::{Estimate, Level, Refusal};

/// A belt or plot in which all host stems of a species were counted; empty ones count as much.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Belt {
    /// Its area in square metres.
    pub square_metres: f64,
    /// Stems in it.
    pub stems: u32,
}

/// Square metres of a hectare.
const HECTARE: f64 = 10_000.0;

/// Host stems per hectare from belts or plots: total stems ÷ total area ([`ratio`]) × 10,000.
///
/// Unit: stems per hectare. Domain: at least two belts placed by chance. Where no stem stood the value is 0 without an
/// interval, which is a valid answer: nothing stands, or all is mown.
///
/// Source: Cochran WG (1977) Sampling Techniques, chapter 6.
///
/// # Errors
/// Those of [`ratio`], but not for belts that are all empty.
pub fn hosts_per_hectare(belts: &[Belt], level: Level) -> Result<Estimate, Refusal> {
    let pairs: Vec<(f64, f64)> = belts.iter().map(|belt| (belt.square_metres, f64::from(belt.stems))).collect();
    let scaled = |found: Estimate| Estimate {
        value: found.value * HECTARE,
        standard_error: found.standard_error.map(|error| error * HECTARE),
        interval: found.interval.map(|interval| crate::Interval {
            low: interval.low * HECTARE,
            high: interval.high * HECTARE,
            ..interval
        }),
        method: id::HOSTS_PER_HECTARE,
        ..found
    };
    match ratio(&pairs, None, level) {
        Err(Refusal::NoVariance) if belts.iter().all(|belt| belt.stems == 0) => {
            Ok(Estimate::plain(0.0, belts.len(), id::HOSTS_PER_HECTARE).assuming([id::ASSUMED_NO_HOSTS]))
        }
        found => Ok(scaled(found?)),
    }
}
