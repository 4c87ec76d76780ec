//! Why there is no estimate.

use crate::{MessageId, id};
use survey::stage::Stage;

/// The data do not carry the estimate.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum Refusal {
    /// There is nothing to estimate from: no visit, no unit, no thing.
    #[error("there is nothing to estimate from")]
    Nothing,
    /// Too few observations.
    #[error("{have} observations are too few, {need} are needed")]
    TooFew {
        /// How many there are.
        have: u64,
        /// How many it takes.
        need: u64,
    },
    /// All values are equal, so that their scatter says nothing.
    #[error("all counts are equal, so they say nothing about how plants differ")]
    NoVariance,
    /// Nobody wrote down how many units were checked.
    #[error("the effort is unknown: how many plants were checked was not recorded")]
    UnknownEffort,
    /// Only totals over several units are known.
    #[error("only pooled totals are known, and this needs the plants one by one")]
    Pooled,
    /// The stage was not looked for, which is not a zero.
    #[error("the stage was not looked for")]
    OutOfScope,
    /// Stems and clumps in one series.
    #[error("stems and clumps are never put together in one series")]
    MixedUnits,
    /// Effort is known but nobody said whether stems or clumps.
    #[error("the effort is known but not its unit")]
    UnknownUnit,
    /// Two values for the same day.
    #[error("day {day} stands there twice")]
    SameDay {
        /// The day number.
        day: f64,
    },
    /// Not finite, or outside the range the method states.
    #[error("a value is not a number of the range this method takes")]
    NotANumber,
    /// More successes than trials, or fewer units at the site than were checked.
    #[error("{part} of {whole} is impossible")]
    ImpossibleCounts {
        /// What should be the smaller number.
        part: u64,
        /// What should be the larger.
        whole: u64,
    },
    /// A stage was counted at a visit that does not have it in scope.
    #[error("{0} was counted, but not looked for")]
    CountedOutOfScope(Stage),
    /// A condition of the method does not hold; the message names it.
    #[error("a condition of the method does not hold: {0}")]
    NotMet(MessageId),
}

impl Refusal {
    /// The message that says so.
    pub const fn message(&self) -> MessageId {
        match self {
            Self::Nothing => id::REFUSED_NOTHING,
            Self::TooFew { .. } => id::REFUSED_TOO_FEW,
            Self::NoVariance => id::REFUSED_NO_VARIANCE,
            Self::UnknownEffort => id::REFUSED_UNKNOWN_EFFORT,
            Self::Pooled => id::REFUSED_POOLED,
            Self::OutOfScope | Self::CountedOutOfScope(_) => id::REFUSED_OUT_OF_SCOPE,
            Self::MixedUnits => id::REFUSED_MIXED_UNITS,
            Self::UnknownUnit => id::REFUSED_UNKNOWN_UNIT,
            Self::SameDay { .. } => id::REFUSED_SAME_DAY,
            Self::NotANumber => id::REFUSED_NOT_A_NUMBER,
            Self::ImpossibleCounts { .. } => id::REFUSED_IMPOSSIBLE_COUNTS,
            Self::NotMet(condition) => *condition,
        }
    }
}
