//! Single eggs followed from check to check.

use super::id;
use crate::Refusal;

/// One interval between two checks of one egg.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Exposure {
    /// Days between the checks, above 0.
    pub days: f64,
    /// What became of it by the second check.
    pub fate: Fate,
}

/// What became of an egg between two checks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Fate {
    /// Still there and alive, or hatched.
    Survived,
    /// Gone before its time, collapsed, wholly dark.
    Died,
    /// Leaf lost, not found again, fate not known: censored, not dead.
    Unknown,
}

/// Refuses intervals without days; those of known fate.
pub(super) fn known(exposures: &[Exposure]) -> Result<Vec<Exposure>, Refusal> {
    if exposures.iter().any(|exposure| !(exposure.days.is_finite() && exposure.days > 0.0)) {
        return Err(Refusal::NotMet(id::REFUSED_DURATIONS));
    }
    let known: Vec<Exposure> = exposures.iter().copied().filter(|exposure| exposure.fate != Fate::Unknown).collect();
    if known.is_empty() { Err(Refusal::Nothing) } else { Ok(known) }
}
