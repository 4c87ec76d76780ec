//! The stage clock: which stage an animal is in, told by the heat since its egg was laid.
//!
//! Air stands for the leaf, and individuals differ. Results show dates for air two degrees cooler and warmer, and a
//! spread between individuals that is a lower bound.

mod dates;
mod durations;
mod fit;
mod fits;
mod laying;
mod next_visit;
mod normals;
mod refusal;
mod stages;
mod temperatures;

ids! {
    /// Duration of a stage at a constant temperature.
    STAGE_DURATION = "method.stage-duration";
    /// Dates by the heat since laying.
    STAGE_DATES = "method.stage-dates";
    /// Laying dates by the heat before a stage was seen.
    LAYING_DATES = "method.laying-dates";
    /// The lower threshold from rates of development.
    THRESHOLD_BY_RATES = "method.threshold-by-rates";
    /// The heat that a stage needs, from rates of development.
    HEAT_NEEDED_BY_RATES = "method.heat-needed-by-rates";
    /// Share of a cohort seen young at the next visit.
    NEXT_VISIT_CHANCE = "method.next-visit-chance";
    /// Development speeds up in a straight line with temperature.
    ASSUMED_STRAIGHT_RATE = "assumed.straight-rate";
    /// Stages of one animal vary independently of each other: the spread is a lower bound.
    ASSUMED_STAGES_INDEPENDENT = "assumed.stages-independent";
    /// The published standard deviations are those between individuals, which is not verified.
    ASSUMED_PUBLISHED_SPREAD = "assumed.published-spread";
    /// Nothing dies.
    ASSUMED_NO_LOSSES = "assumed.no-losses";
    /// Where weather ends, the days are like those of other years.
    ASSUMED_NORMAL_DAYS = "assumed.normal-days";
    /// At this temperature the stage does not develop.
    REFUSED_NO_DEVELOPMENT = "refused.no-development";
    /// The clock has no such stage.
    REFUSED_STAGE_NOT_IN_CLOCK = "refused.stage-not-in-clock";
    /// Rates do not rise with temperature.
    REFUSED_RATES_DO_NOT_RISE = "refused.rates-do-not-rise";
    /// The weather needed is not known.
    REFUSED_NO_WEATHER = "refused.no-weather";
}

pub use dates::{DateReached, Reached, StageDates, stage_dates};
pub use durations::{StageDuration, durations};
pub use fit::{RateFit, Rearing, fit_rates};
pub use fits::{StageFit, Verdict, stage_fits};
pub use laying::{LayingDates, Span, laying_dates};
pub use next_visit::{Cohort, NextVisit, falls_below, next_visit};
pub use normals::Normals;
pub use refusal::ClockRefusal;
pub use stages::{StageClock, StageHeat};
pub use temperatures::{Basis, Temperatures};

/// How far leaf and air may differ, in °C: results are shown for air this much cooler and warmer.
pub const AIR_AND_LEAF_DIFFER: f64 = 2.0;
