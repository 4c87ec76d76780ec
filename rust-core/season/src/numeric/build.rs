//! Short ways to write estimates and intervals.

use crate::estimate::{Estimate, Interval, Level, Sides};
use crate::{MessageId, Refusal, quantile};

impl Estimate {
    /// A value without error or interval.
    pub(crate) fn plain(value: f64, n: usize, method: MessageId) -> Self {
        Self { value, standard_error: None, interval: None, n: n as u64, method, assumed: Vec::new() }
    }

    pub(crate) fn with_error(self, error: f64) -> Self {
        Self { standard_error: Some(error).filter(|error| error.is_finite()), ..self }
    }

    pub(crate) fn with_interval(self, interval: Interval) -> Self {
        let sound = interval.low.is_finite() && interval.high.is_finite() && interval.low <= interval.high;
        Self { interval: Some(interval).filter(|_| sound), ..self }
    }

    /// With the interval value ± normal quantile × error.
    pub(crate) fn normal(self, error: f64, level: Level) -> Self {
        let reach = quantile::normal(1.0 - level.alpha() / 2.0) * error;
        let interval = Interval::both(self.value - reach, self.value + reach, level);
        self.with_error(error).with_interval(interval)
    }

    /// With the interval value ± t quantile × error.
    pub(crate) fn student(self, error: f64, freedom: f64, level: Level) -> Result<Self, Refusal> {
        let reach = quantile::t(freedom, 1.0 - level.alpha() / 2.0)? * error;
        let interval = Interval::both(self.value - reach, self.value + reach, level);
        Ok(self.with_error(error).with_interval(interval))
    }

    /// Cuts the interval to what is possible.
    pub(crate) fn within(self, low: f64, high: f64) -> Self {
        let cut = |interval: Interval| Interval {
            low: interval.low.clamp(low, high),
            high: interval.high.clamp(low, high),
            ..interval
        };
        Self { interval: self.interval.map(cut), ..self }
    }

    /// Refuses a value that is no finite number.
    pub(crate) fn sound(self) -> Result<Self, Refusal> {
        if self.value.is_finite() { Ok(self) } else { Err(Refusal::NotANumber) }
    }
}

impl Interval {
    pub(crate) const fn both(low: f64, high: f64, level: Level) -> Self {
        Self { low, high, level, sides: Sides::Both }
    }

    pub(crate) const fn up_to(high: f64, level: Level) -> Self {
        Self { low: 0.0, high, level, sides: Sides::Upper }
    }
}
