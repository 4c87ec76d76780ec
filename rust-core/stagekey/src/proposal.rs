//! What is proposed: the smallest set of outcomes that the answers support enough.

use crate::infer::{Belief, Given, Said};
use crate::key::Key;
use crate::names::OutcomeId;
use serde::Serialize;
use survey::stage::{AnimalState, Outcome, Undecided, What};

/// Sums of chances that reach the threshold but for rounding reach it, and chances that differ by no more are equal.
const ROUNDING: f64 = 1e-12;

/// What the key proposes.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Proposal {
    /// The smallest set of outcomes whose support reaches the threshold, the best supported first.
    pub among: Vec<OutcomeId>,
    /// Their support together.
    pub support: f64,
    /// What would be counted for it.
    pub counts: Counts,
}

/// What is counted for a proposal.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Counts {
    /// This, with the animal in this state where the answers decide it.
    This {
        /// A stage, or one of several outcomes.
        what: What,
        /// Nothing is said where some of the proposed outcomes are dead and some alive.
        state: Option<AnimalState>,
    },
    /// Not an animal, or not this species: a finding of its own kind, in no total.
    NotThis,
}

/// The smallest set with at least this support, as bits by place. Of equal chances the first is taken.
pub(crate) fn smallest_set(support: &[f64], threshold: f64) -> u64 {
    let (mut set, mut sum) = (0_u64, 0.0);
    while sum < threshold - ROUNDING {
        let mut best: Option<(usize, f64)> = None;
        for (place, chance) in support.iter().enumerate() {
            if set >> place & 1 == 0 && best.is_none_or(|(_, most)| *chance > most * (1.0 + ROUNDING)) {
                best = Some((place, *chance));
            }
        }
        let Some((place, chance)) = best else { break };
        set |= 1 << place;
        sum += chance;
    }
    set
}

pub(crate) fn proposal(key: &Key, belief: &Belief, given: &[Given]) -> Proposal {
    let support = belief.support();
    let set = smallest_set(support, key.threshold);
    let mut places: Vec<usize> = (0..support.len()).filter(|place| set >> place & 1 == 1).collect();
    places.sort_by(|a, b| support[*b].total_cmp(&support[*a]));
    Proposal {
        among: places.iter().map(|place| key.outcomes[*place].id.clone()).collect(),
        support: places.iter().map(|place| support[*place]).sum(),
        counts: counts(key, &places, given),
    }
}

fn counts(key: &Key, places: &[usize], given: &[Given]) -> Counts {
    let as_counted: Vec<Outcome> = places.iter().map(|place| key.outcomes[*place].counts_as).collect();
    let what = match (Undecided::among(as_counted.iter().copied()), as_counted.first()) {
        (Ok(undecided), _) => What::Undecided(undecided),
        (Err(_), Some(Outcome::Stage(stage))) => What::Stage(*stage),
        (Err(_), Some(Outcome::NotThis) | None) => return Counts::NotThis,
    };
    Counts::This { what, state: animal_state(key, places, given) }
}

/// The state that an answer shows, if it is alive or dead as the proposed outcomes are; else the outcomes' own.
fn animal_state(key: &Key, places: &[usize], given: &[Given]) -> Option<AnimalState> {
    let ours = places.iter().map(|place| &key.outcomes[*place]);
    let mut states = ours.filter(|outcome| outcome.counts_as != Outcome::NotThis).map(|outcome| outcome.animal_state);
    let first = states.next()?;
    if states.any(|other| other.is_living() != first.is_living()) {
        return None;
    }
    let mut shown = given.iter().filter_map(|one| match &one.said {
        Said::States(seen) if seen.len() == 1 => key.characters[one.character].states()[seen[0]].shows,
        Said::States(_) | Said::Value { .. } => None,
    });
    Some(shown.find(|state| state.is_living() == first.is_living()).unwrap_or(first))
}
