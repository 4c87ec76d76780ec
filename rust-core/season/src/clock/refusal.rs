//! Why the clock gives no answer.

use super::id;
use crate::{MessageId, Refusal};
use survey::stage::Stage;

/// The clock gives no answer.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum ClockRefusal {
    /// Too cold or, with a cutoff that slows down, too hot.
    #[error("at {at} °C nothing develops")]
    NoDevelopment {
        /// The temperature in °C.
        at: f64,
    },
    /// The clock does not hold the stage.
    #[error("the clock does not hold {0}")]
    NotInClock(Stage),
    /// The lists do not make a clock: a stage twice or out of order, heat not above 0, variation below 0.
    #[error("these stages make no clock")]
    NoClock,
    /// Rates of development do not rise with temperature, so they have no threshold.
    #[error("rates of development do not rise with temperature")]
    RatesDoNotRise,
    /// The day that the answer begins with has no weather and no normal.
    #[error("there is no weather for the days this needs")]
    NoWeather,
    /// The data do not carry it.
    #[error(transparent)]
    Data(#[from] Refusal),
}

impl ClockRefusal {
    /// The message that says so.
    pub const fn message(&self) -> MessageId {
        match self {
            Self::NoDevelopment { .. } => id::REFUSED_NO_DEVELOPMENT,
            Self::NotInClock(_) => id::REFUSED_STAGE_NOT_IN_CLOCK,
            Self::NoClock => crate::id::REFUSED_NOT_A_NUMBER,
            Self::RatesDoNotRise => id::REFUSED_RATES_DO_NOT_RISE,
            Self::NoWeather => id::REFUSED_NO_WEATHER,
            Self::Data(refusal) => refusal.message(),
        }
    }
}
