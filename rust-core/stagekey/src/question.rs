//! The next best question: the largest expected drop in entropy per second.

use crate::infer::{Belief, Given, Said, divide, entropy, joint_sizes};
use crate::key::{Key, Table, Tie, state_in_cell};
use crate::names::{CharacterId, Means};
use crate::proposal::smallest_set;
use serde::Serialize;

/// A question worth asking.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Question {
    /// What is asked.
    pub character: CharacterId,
    /// By what to look.
    pub by: Means,
    /// Expected drop in entropy, in nats.
    pub drop: f64,
    /// What it costs, in seconds.
    pub seconds: f64,
    /// The chance that its answer changes the proposal.
    pub changes: f64,
}

/// When to stop, our own choice, no source; calibration shows what it costs. While several outcomes are proposed, a
/// question is worth asking if it takes away much doubt (no single answer may settle it, but two may), or some doubt and
/// is likely to change the proposal. Once one outcome is proposed it must do both.
mod worth {
    /// Much doubt: an expected drop in entropy of so much, in nats.
    pub(super) const MUCH: f64 = 0.13;
    /// Some doubt, in nats. Less is not worth the observer's time.
    pub(super) const SOME: f64 = 0.07;
    /// The chance from which on an answer is likely to change a proposal of several outcomes.
    pub(super) const LIKELY: f64 = 0.50;
    /// The same for a proposal of one outcome.
    pub(super) const LIKELY_OF_ONE: f64 = 0.35;
}

/// Everything that a look ahead needs of the answers so far.
pub(crate) struct Ahead<'k> {
    key: &'k Key,
    given: &'k [Given],
    /// Chances of the outcomes in question: of all in an open session, of a guess and its neighbours otherwise.
    support: Vec<f64>,
    entropy: f64,
    set: u64,
    groups: Vec<Pool>,
}

/// A group as it stands before the next answer.
struct Pool {
    /// Likelihoods of all other groups times the weights' share of ours, greatest one.
    others: Vec<f64>,
    /// Sum of weights answered, and weighted logarithms so far.
    weight: f64,
    logs: Vec<f64>,
}

impl Question {
    /// Expected drop in entropy per second, by which questions are ranked.
    pub fn worth(&self) -> f64 {
        self.drop / self.seconds
    }
}

impl<'k> Ahead<'k> {
    pub(crate) fn new(key: &'k Key, given: &'k [Given], belief: &Belief) -> Self {
        let support = belief.support().to_vec();
        Self::among(key, given, belief, support)
    }

    /// Looks ahead among these outcomes only, whose chances are `weights` (zero for those out of question).
    pub(crate) fn among(key: &'k Key, given: &'k [Given], belief: &Belief, weights: Vec<f64>) -> Self {
        let ratio = |place: usize| if weights[place] > 0.0 { weights[place] / belief.support()[place] } else { 0.0 };
        let groups = (0..key.groups.len())
            .map(|group| {
                let mut others = belief.without_group(group);
                others.iter_mut().enumerate().for_each(|(place, one)| *one *= ratio(place));
                let (weight, logs) = answered(key, group, given);
                Pool { others, weight, logs }
            })
            .collect();
        let (entropy, set) = (entropy(&weights), smallest_set(&weights, key.threshold));
        Self { key, given, support: weights, entropy, set, groups }
    }

    /// Whether this question is worth asking at all.
    pub(crate) fn is_worth(&self, question: &Question) -> bool {
        let much = question.drop >= worth::MUCH;
        if self.set.count_ones() > 1 {
            much || (question.drop >= worth::SOME && question.changes >= worth::LIKELY)
        } else {
            much && question.changes >= worth::LIKELY_OF_ONE
        }
    }

    /// What a look at this character by the look at this place is expected to do.
    pub(crate) fn question(&self, character: usize, look: usize) -> Question {
        let asked = &self.key.characters[character];
        let taken = &asked.looks[look];
        let rows = match &taken.table {
            Table::States { p, .. } => p,
            Table::Number { cells, .. } => cells,
        };
        let mut after = vec![0.0; self.support.len()];
        let (mut expected, mut changes, mut total) = (0.0, 0.0, 0.0);
        for (state, row) in rows.iter().enumerate() {
            let chance = self.after(character, state, row, &mut after);
            total += chance;
            expected += chance * entropy(&after);
            if smallest_set(&after, self.key.threshold) != self.set {
                changes += chance;
            }
        }
        Question {
            character: asked.id.clone(),
            by: taken.means,
            drop: self.entropy - expected / total,
            seconds: taken.seconds,
            changes: changes / total,
        }
    }

    /// The chances after this state, and the chance of this state.
    fn after(&self, character: usize, state: usize, row: &[f64], after: &mut [f64]) -> f64 {
        let group = self.key.characters[character].group;
        let pool = &self.groups[group];
        let mut chance: f64 = self.support.iter().zip(row).map(|(support, p)| support * p).sum();
        match &self.key.groups[group].tie {
            Tie::Weighted(weights) if pool.weight > 0.0 => {
                let nth = self.key.groups[group].members.iter().position(|member| *member == character).unwrap_or(0);
                let (weight, total) = (weights[nth], weights[nth] + pool.weight);
                for (place, one) in after.iter_mut().enumerate() {
                    let log = weight.mul_add(row[place].ln(), pool.logs[place]) / total;
                    *one = pool.others[place] * log.exp();
                }
            }
            Tie::Joint { cells } if pool.weight > 0.0 => {
                self.joint_after(character, state, cells, after);
                chance = after.iter().sum();
            }
            Tie::Single | Tie::Weighted(_) | Tie::Joint { .. } => {
                for (place, one) in after.iter_mut().enumerate() {
                    *one = pool.others[place] * row[place];
                }
            }
        }
        let sum: f64 = after.iter().sum();
        divide(after, sum);
        chance
    }

    fn joint_after(&self, character: usize, state: usize, cells: &[Vec<f64>], after: &mut [f64]) {
        let group = &self.key.groups[self.key.characters[character].group];
        let sizes = joint_sizes(self.key, group);
        after.fill(0.0);
        for (cell, row) in cells.iter().enumerate() {
            let fits = group.members.iter().enumerate().all(|(nth, member)| {
                let there = state_in_cell(&sizes, nth, cell);
                if *member == character {
                    return there == state;
                }
                match self.given.iter().find(|one| one.character == *member).map(|one| &one.said) {
                    Some(Said::States(states)) => states.contains(&there),
                    Some(Said::Value { .. }) | None => true,
                }
            });
            if fits {
                after.iter_mut().zip(row).for_each(|(sum, p)| *sum += p);
            }
        }
        let others = &self.groups[self.key.characters[character].group].others;
        after.iter_mut().zip(others).for_each(|(one, other)| *one *= other);
    }
}

/// Sum of weights of the answered members of a group, and their weighted logarithms.
fn answered(key: &Key, group: usize, given: &[Given]) -> (f64, Vec<f64>) {
    let group = &key.groups[group];
    let mut logs = vec![0.0; key.outcomes.len()];
    let mut total = 0.0;
    for (nth, member) in group.members.iter().enumerate() {
        let Some(answer) = given.iter().find(|one| one.character == *member) else { continue };
        let weight = match &group.tie {
            Tie::Weighted(weights) => weights[nth],
            Tie::Single | Tie::Joint { .. } => 1.0,
        };
        total += weight;
        let likelihood = answer.likelihood(key);
        logs.iter_mut().zip(likelihood).for_each(|(sum, p)| *sum += weight * p.ln());
    }
    (total, logs)
}
