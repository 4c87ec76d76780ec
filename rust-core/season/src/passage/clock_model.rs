//! What goes into a stage-clock likelihood beside the counts.

use super::Development;
use crate::Refusal;

/// What goes in beside the counts.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockModel {
    /// Units checked at each visit; all 1 where the effort is unknown.
    pub effort: Vec<f64>,
    /// Development over days; it begins before the first eggs that could still be seen at the first visit.
    pub clock: Development,
    /// Development each stage takes, in the clock's unit.
    pub widths: Vec<f64>,
    /// Share of each stage's animals that is seen; `None` is taken as 1 and labelled uncorrected.
    pub detection: Option<Vec<f64>>,
    /// Share of its duration that the last stage stays on the plant.
    pub residence: Residence,
    /// Which stages die at the same rate.
    pub mortality: Mortality,
    /// How counts scatter.
    pub scatter: Scatter,
}

/// Share of its duration that the last stage stays where it is counted: 0.5 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residence(pub(super) f64);

/// Which stages die at the same daily rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mortality {
    /// All.
    Same,
    /// The first (eggs) for itself, the others together.
    FirstAndRest,
    /// Each for itself; needs nearly daily visits.
    Each,
}

/// How counts scatter around what is expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scatter {
    /// By chance alone.
    Poisson,
    /// More than that, by a negative binomial whose k is estimated.
    NegativeBinomial,
}

impl Residence {
    /// The whole duration.
    pub const WHOLE: Self = Self(1.0);

    /// The share.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] outside 0.5 to 1.
    pub fn new(share: f64) -> Result<Self, Refusal> {
        if (0.5..=1.0).contains(&share) { Ok(Self(share)) } else { Err(Refusal::NotANumber) }
    }
}
