//! Numbers entering and leaving a stage, given its mortality.

use super::id;
use crate::numeric::none_negative;
use crate::{MessageId, Refusal};
use serde::Serialize;

/// Animals entering and leaving a stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Entering {
    /// Animals that entered it.
    pub entering: f64,
    /// Animals that left it alive.
    pub leaving: f64,
    /// How it was made.
    pub method: MessageId,
    /// What was taken for true without being known.
    pub assumed: Vec<MessageId>,
}

/// Animals entering a stage from the area under its curve, its duration d and a daily mortality θ known from elsewhere:
/// area × θ ÷ (1 − e^(−θ d)), or area ÷ d where θ is 0; leaving = entering × e^(−θ d).
///
/// Unit: animals. Domain: area and θ 0 or more, d above 0, in the same unit of time. Without doubt about θ and d in it.
///
/// Source: Manly BFJ (1990) Stage-Structured Populations, chapter 3; follows from area = ∫ entering · e^(−θ t) dt.
///
/// # Errors
/// [`Refusal::NotANumber`]; [`Refusal::NotMet`] for a duration not above 0.
pub fn entering(area: f64, duration: f64, mortality: f64) -> Result<Entering, Refusal> {
    none_negative([&area, &mortality])?;
    super::series::check_durations(&[duration], 1)?;
    let lost = mortality * duration;
    let mean_stay = if lost < 1e-9 { duration } else { -(-lost).exp_m1() / mortality };
    let entering = crate::numeric::finite(area / mean_stay)?;
    Ok(Entering {
        entering,
        leaving: entering * (-lost).exp(),
        method: id::ENTERING,
        assumed: vec![id::ASSUMED_KNOWN_MORTALITY, id::ASSUMED_KNOWN_DURATIONS, crate::id::ASSUMED_ALL_SEEN],
    })
}
