//! The lowest and the highest temperature of a day.

use super::temperature::Celsius;
use serde::Serialize;

/// A day's lowest and highest air temperature, the first no higher than the second, both within −100 to 100 °C.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Day {
    min: f64,
    max: f64,
}

impl Day {
    /// The coldest and the warmest that a day's temperature may be.
    const POSSIBLE: std::ops::RangeInclusive<f64> = -100.0..=100.0;

    /// A day between these temperatures; `None` if one is no possible temperature or the first is above the second.
    pub fn new(Celsius(min): Celsius, Celsius(max): Celsius) -> Option<Self> {
        let possible = Self::POSSIBLE.contains(&min) && Self::POSSIBLE.contains(&max);
        (possible && min <= max).then_some(Self { min, max })
    }

    /// The lowest temperature in °C.
    pub const fn min(self) -> f64 {
        self.min
    }

    /// The highest temperature in °C.
    pub const fn max(self) -> f64 {
        self.max
    }

    /// The mean of both in °C.
    pub const fn middle(self) -> f64 {
        f64::midpoint(self.min, self.max)
    }

    /// The same day this many degrees warmer (colder where below 0), kept within what is possible.
    #[must_use]
    pub fn warmer(self, by: f64) -> Self {
        let shift = |degrees: f64| {
            let shifted = degrees + by;
            if shifted.is_nan() { degrees } else { shifted.clamp(*Self::POSSIBLE.start(), *Self::POSSIBLE.end()) }
        };
        Self { min: shift(self.min), max: shift(self.max) }
    }

    /// From one day's highest to another night's lowest: the same span whichever of the two is warmer.
    pub(super) const fn span(one: f64, other: f64) -> Self {
        Self { min: one.min(other), max: one.max(other) }
    }

    /// The day that lies this share of the way to another.
    pub(super) fn towards(self, other: Self, share: f64) -> Self {
        let between = |from: f64, to: f64| from + (to - from) * share;
        Self { min: between(self.min, other.min), max: between(self.max, other.max) }
    }
}
