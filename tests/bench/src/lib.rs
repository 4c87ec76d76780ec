//! Ratios against a floor measured in the same run, and many phones at once.
//!
//! Nothing here passes or fails by the clock: times and ratios are printed for people to read; what fails a run is an
//! error or a loss.

pub mod dice;
pub mod figures;
pub mod floor;
pub mod journal;
pub mod link;
pub mod phone;
pub mod season;
pub mod station;

/// Whatever went wrong: a measurement ends there.
pub type Failure = Box<dyn std::error::Error + Send + Sync>;
