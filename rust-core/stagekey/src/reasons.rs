//! Why: which answers speak for and against, and which two disagree most.

use crate::infer::{Belief, Given};
use crate::key::Key;
use crate::names::{CharacterId, OutcomeId};
use serde::Serialize;

/// What one answer does for one outcome.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Reason {
    /// The character that was answered.
    pub character: CharacterId,
    /// The answer, as it is typed.
    pub answer: String,
    /// Change of the outcome's log odds (nats) through this answer, all others standing: above zero it speaks for the
    /// outcome, below against.
    pub weight: f64,
}

/// Two answers that hardly ever go together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Contradiction {
    /// The characters.
    pub between: (CharacterId, CharacterId),
    /// Logarithm (nats) of how many times less often the two are expected together than if they had nothing to do with
    /// each other.
    pub conflict: f64,
}

/// Two answers expected together this many times less often than by chance are pointed out (our own choice, no source).
const POINTED_OUT: f64 = 4.0;

/// Keeps the odds of a support of 1 finite.
const LEAST_CHANCE: f64 = 1e-300;

/// The reasons for and against an outcome, the weightiest first.
pub(crate) fn reasons(key: &Key, given: &[Given], answers: &[String], outcome: usize) -> Vec<Reason> {
    let with = log_odds(Belief::of(key, given).support(), outcome);
    let mut reasons: Vec<Reason> = (0..given.len())
        .map(|left_out| {
            let others: Vec<Given> =
                given.iter().enumerate().filter(|(place, _)| *place != left_out).map(|(_, one)| one.clone()).collect();
            let without = log_odds(Belief::of(key, &others).support(), outcome);
            let character = key.characters[given[left_out].character].id.clone();
            Reason { character, answer: answers[left_out].clone(), weight: with - without }
        })
        .collect();
    reasons.sort_by(|a, b| b.weight.abs().total_cmp(&a.weight.abs()));
    reasons
}

/// The two answers that disagree most, if any two do: for a pair, ln of P(a) P(b) / P(a, b) under a uniform prior
/// (the conflict measure of Jensen, Chamond, Nordby and Jensen 1990 for networks of evidence; citation from memory).
pub(crate) fn contradiction(key: &Key, given: &[Given]) -> Option<Contradiction> {
    let likelihoods: Vec<Vec<f64>> = given.iter().map(|one| one.likelihood(key)).collect();
    let mut most: Option<Contradiction> = None;
    for a in 0..given.len() {
        for b in a + 1..given.len() {
            let conflict = conflict(&likelihoods[a], &likelihoods[b]);
            if conflict > POINTED_OUT.ln() && most.as_ref().is_none_or(|one| conflict > one.conflict) {
                let id = |place: usize| key.characters[given[place].character].id.clone();
                most = Some(Contradiction { between: (id(a), id(b)), conflict });
            }
        }
    }
    most
}

/// Outcomes by support, the best first.
pub(crate) fn ranked(key: &Key, support: &[f64]) -> Vec<(OutcomeId, f64)> {
    let mut ranked: Vec<_> = key.outcomes.iter().map(|one| one.id.clone()).zip(support.iter().copied()).collect();
    ranked.sort_by(|a, b| b.1.total_cmp(&a.1));
    ranked
}

fn conflict(a: &[f64], b: &[f64]) -> f64 {
    let mean = |values: &mut dyn Iterator<Item = f64>| values.sum::<f64>() / a.len() as f64;
    let (one, two) = (mean(&mut a.iter().copied()), mean(&mut b.iter().copied()));
    let both = mean(&mut a.iter().zip(b).map(|(x, y)| x * y));
    (one * two / both).ln()
}

fn log_odds(support: &[f64], outcome: usize) -> f64 {
    let others: f64 = support.iter().enumerate().filter(|(place, _)| *place != outcome).map(|(_, one)| one).sum();
    support[outcome].max(LEAST_CHANCE).ln() - others.max(LEAST_CHANCE).ln()
}
