//! How precise an estimate is to be.

use crate::estimate::Level;
use crate::{Refusal, quantile};
use serde::Serialize;

/// A wanted precision, as a share of the mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Precision {
    /// Half the width of the interval is this share of the mean.
    HalfWidth {
        /// The share, such as 0.25.
        share: f64,
        /// Level of the interval.
        level: Level,
    },
    /// The standard error is this share of the mean.
    StandardError {
        /// The share, such as 0.25.
        share: f64,
    },
}

impl Precision {
    /// The share of the mean that is asked for.
    pub const fn share(self) -> f64 {
        match self {
            Self::HalfWidth { share, .. } | Self::StandardError { share } => share,
        }
    }

    /// How many standard errors the share stands for: z, or 1.
    pub(super) fn reach(self) -> f64 {
        match self {
            Self::HalfWidth { level, .. } => quantile::normal(1.0 - level.alpha() / 2.0),
            Self::StandardError { .. } => 1.0,
        }
    }

    /// (z ÷ D)², or (1 ÷ D)²: what the squared coefficient of variation is multiplied by.
    pub(super) fn factor(self) -> Result<f64, Refusal> {
        let share = self.share();
        if share > 1e-4 && share <= 100.0 { Ok((self.reach() / share).powi(2)) } else { Err(Refusal::NotANumber) }
    }
}
