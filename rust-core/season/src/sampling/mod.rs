//! Sampling: which plants, where, in which order, how many, and when to stop.
//!
//! Chance comes from seeds: the same seed chooses the same plants on every machine. The plant nearest to a point is
//! never chosen, because in a clumped patch that picks the isolated plants.

mod advice;
mod belts;
mod clusters;
mod draw;
mod effort;
mod every_kth;
mod green;
mod how_many;
mod kuno;
mod patch;
mod points;
mod precision;
mod rule_check;
mod scatter;
mod shortest_walk;
mod sprt;
mod strata;
mod walk;

ids! {
    /// Units for a precision under Poisson counts.
    HOW_MANY_POISSON = "method.how-many-poisson";
    /// Units for a precision under negative binomial counts.
    HOW_MANY_NEGATIVE_BINOMIAL = "method.how-many-negative-binomial";
    /// Units for a precision from a pilot sample.
    HOW_MANY_PILOT = "method.how-many-pilot";
    /// Units for a precision from Taylor's power law.
    HOW_MANY_TAYLOR = "method.how-many-taylor";
    /// Units for a precision from Iwao's regression.
    HOW_MANY_IWAO = "method.how-many-iwao";
    /// Units for a precision of a share.
    HOW_MANY_SHARE = "method.how-many-share";
    /// The mean will be the one that was expected.
    ASSUMED_EXPECTED_MEAN = "assumed.expected-mean";
    /// Counts scatter as the stated model says.
    ASSUMED_STATED_SCATTER = "assumed.stated-scatter";
    /// The sample grew until it was precise enough, which makes a plain interval miss more often than it says.
    ASSUMED_STOPPED_EARLY = "assumed.stopped-early";
    /// Counts scatter no less than by pure chance, whatever the few so far say.
    ASSUMED_AT_LEAST_POISSON = "assumed.at-least-poisson";
    /// The errors of visits are independent of each other, and numbers change along a straight line between them.
    ASSUMED_VISITS_APART = "assumed.visits-apart";
    /// Coverage and bias found by playing visits through.
    CHECKED_BY_SIMULATION = "method.checked-by-simulation";
}

pub use advice::{Advice, Goal, MoreFor, OutOfReach, SoFar, advice};
pub use belts::{Belt, belts};
pub use clusters::{Cluster, clusters};
pub use effort::{EffortTells, SeasonTells, season_tells, what_effort_tells};
pub use every_kth::EveryKth;
pub use green::green_line;
pub use how_many::{
    HowMany, how_many_by_iwao, how_many_by_negative_binomial, how_many_by_pilot, how_many_by_poisson,
    how_many_by_taylor, how_many_for_share, how_many_for_share_within,
};
pub use kuno::kuno_line;
pub use points::points_in;
pub use precision::Precision;
pub use rule_check::{RuleCheck, check_rule};
pub use scatter::{Iwao, Scatter, Taylor};
pub use shortest_walk::{MOST_FOR_SHORTEST, shortest_walk};
pub use sprt::{Decision, Operating, SequentialTest, Simulation};
pub use strata::{Allocation, Stratum, allocate};
pub use walk::{Walk, short_walk};
