//! The methods by name.

use super::average::average;
use super::clamped_average::clamped_average;
use super::cutoff::Cutoff;
use super::day::Day;
use super::double_sine::double_sine;
use super::double_triangle::double_triangle;
use super::id;
use super::sine::sine;
use super::thresholds::Thresholds;
use super::triangle::triangle;
use crate::MessageId;
use serde::Serialize;

/// How a day's degree-days are made from its extremes.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Method {
    /// [`average`].
    Average,
    /// [`clamped_average`].
    ClampedAverage,
    /// [`triangle`].
    SingleTriangle,
    /// [`double_triangle`].
    DoubleTriangle,
    /// [`sine`].
    #[default]
    SingleSine,
    /// [`double_sine`].
    DoubleSine,
}

/// A method with its cutoff and thresholds: all that turns temperatures into degree-days.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Counting {
    method: Method,
    cutoff: Cutoff,
    thresholds: Thresholds,
}

/// The clamped average knows the horizontal cutoff alone.
#[derive(Debug, Clone, Copy, PartialEq, Eq, thiserror::Error)]
#[error("the clamped average has a horizontal cutoff and no other")]
pub struct NoSuchCutoff;

impl Counting {
    /// The monarch's thresholds under a single sine with a horizontal cutoff.
    pub const MONARCH: Self =
        Self { method: Method::SingleSine, cutoff: Cutoff::Horizontal, thresholds: Thresholds::MONARCH };

    /// This method with this cutoff between these thresholds.
    ///
    /// # Errors
    /// [`NoSuchCutoff`] for the clamped average with another than the horizontal cutoff.
    pub fn new(method: Method, cutoff: Cutoff, thresholds: Thresholds) -> Result<Self, NoSuchCutoff> {
        if method == Method::ClampedAverage && cutoff != Cutoff::Horizontal {
            return Err(NoSuchCutoff);
        }
        Ok(Self { method, cutoff, thresholds })
    }

    /// Degree-days of one day. The double methods use the next day's lowest temperature; without a next day the day's
    /// own lowest one stands for it.
    ///
    /// Unit: °C × day.
    pub fn of_day(&self, day: Day, next: Option<Day>) -> f64 {
        let Self { method, cutoff, thresholds } = *self;
        match method {
            Method::Average => average(day, thresholds, cutoff),
            Method::ClampedAverage => clamped_average(day, thresholds),
            Method::SingleTriangle => triangle(day, thresholds, cutoff),
            Method::DoubleTriangle => double_triangle(day, next.unwrap_or(day), thresholds, cutoff),
            Method::SingleSine => sine(day, thresholds, cutoff),
            Method::DoubleSine => double_sine(day, next.unwrap_or(day), thresholds, cutoff),
        }
    }

    /// Degree-days of days that follow each other without a gap, the last one without a next day: the short way where
    /// nothing is missing and no day is asked for by itself.
    ///
    /// Unit: °C × day.
    pub fn of_days(&self, days: &[Day]) -> f64 {
        let nights = days.iter().skip(1).map(|day| Some(*day)).chain([None]);
        days.iter().zip(nights).map(|(day, next)| self.of_day(*day, next)).sum()
    }

    /// The method.
    pub const fn method(&self) -> Method {
        self.method
    }

    /// The cutoff.
    pub const fn cutoff(&self) -> Cutoff {
        self.cutoff
    }

    /// The thresholds.
    pub const fn thresholds(&self) -> Thresholds {
        self.thresholds
    }
}

impl Method {
    /// All methods.
    pub const ALL: [Self; 6] = [
        Self::Average,
        Self::ClampedAverage,
        Self::SingleTriangle,
        Self::DoubleTriangle,
        Self::SingleSine,
        Self::DoubleSine,
    ];

    /// Its name as a message.
    pub const fn id(self) -> MessageId {
        match self {
            Self::Average => id::DEGREE_DAYS_AVERAGE,
            Self::ClampedAverage => id::DEGREE_DAYS_CLAMPED_AVERAGE,
            Self::SingleTriangle => id::DEGREE_DAYS_SINGLE_TRIANGLE,
            Self::DoubleTriangle => id::DEGREE_DAYS_DOUBLE_TRIANGLE,
            Self::SingleSine => id::DEGREE_DAYS_SINGLE_SINE,
            Self::DoubleSine => id::DEGREE_DAYS_DOUBLE_SINE,
        }
    }

    /// Whether it looks at the next day's lowest temperature.
    pub const fn looks_ahead(self) -> bool {
        matches!(self, Self::DoubleTriangle | Self::DoubleSine)
    }
}
