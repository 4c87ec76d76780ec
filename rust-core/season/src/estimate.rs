//! What every method returns.

use crate::{MessageId, Refusal};
use serde::Serialize;

/// An estimate with all that is needed to judge it.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Estimate {
    /// The value, in the unit that the method states.
    pub value: f64,
    /// Standard error in the same unit, where the method has one.
    pub standard_error: Option<f64>,
    /// The interval, where the data carry one; `assumed` says why there is none.
    pub interval: Option<Interval>,
    /// How many observations it rests on: units, things or visits, as the method states.
    pub n: u64,
    /// How it was made.
    pub method: MessageId,
    /// What was taken for true without being known.
    pub assumed: Vec<MessageId>,
}

/// An interval around a value, both ends in its unit.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Interval {
    /// Lower end.
    pub low: f64,
    /// Upper end.
    pub high: f64,
    /// How often such intervals are meant to hold the truth, between 0 and 1.
    pub level: Level,
    /// Whether doubt was put on both sides.
    pub sides: Sides,
}

/// On which sides of the value an interval may miss.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Sides {
    /// Both.
    Both,
    /// Only above: the lower end is the least possible value.
    Upper,
}

/// A confidence level, above 0 and below 1.
#[derive(Debug, Clone, Copy, PartialEq, PartialOrd, Serialize)]
#[serde(transparent)]
pub struct Level(f64);

impl Level {
    /// 95 %.
    pub const P95: Self = Self(0.95);

    /// The level of this share.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] unless above 0 and below 1.
    pub fn new(share: f64) -> Result<Self, Refusal> {
        if share > 0.0 && share < 1.0 { Ok(Self(share)) } else { Err(Refusal::NotANumber) }
    }

    /// The share, such as 0.95.
    pub const fn share(self) -> f64 {
        self.0
    }

    /// What is left over: 1 − level.
    pub(crate) fn alpha(self) -> f64 {
        1.0 - self.0
    }
}

impl Interval {
    /// Whether the value lies in it, ends included.
    pub fn contains(&self, value: f64) -> bool {
        (self.low..=self.high).contains(&value)
    }
}

impl Estimate {
    pub(crate) fn assuming(mut self, more: impl IntoIterator<Item = MessageId>) -> Self {
        for message in more {
            if !self.assumed.contains(&message) {
                self.assumed.push(message);
            }
        }
        self
    }

    /// The same value, its interval reaching up to where the other's ends; none where either has none.
    pub(crate) fn reaching_to(mut self, other: &Self) -> Self {
        self.interval = match (self.interval, other.interval) {
            (Some(own), Some(upper)) => Some(Interval { high: own.high.max(upper.high), ..own }),
            _ => None,
        };
        self
    }
}
