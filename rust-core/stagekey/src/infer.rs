//! Bayes' rule over groups of characters, under a uniform prior.

use crate::key::{Group, Key, Table, Tie, state_in_cell};

/// An answer, by places in the key.
#[derive(Debug, Clone, PartialEq)]
pub(crate) struct Given {
    pub(crate) character: usize,
    pub(crate) look: usize,
    pub(crate) said: Said,
}

/// What was said.
#[derive(Debug, Clone, PartialEq)]
pub(crate) enum Said {
    /// One of these states: their chances are added.
    States(Vec<usize>),
    /// This value, with a further error of its own on the log scale.
    Value { value: f64, more_error: f64 },
}

/// What the answers say of the outcomes.
#[derive(Debug, Clone)]
pub(crate) struct Belief {
    groups: Vec<Option<Vec<f64>>>,
    support: Vec<f64>,
}

impl Belief {
    /// The belief after these answers, at most one a character.
    pub(crate) fn of(key: &Key, given: &[Given]) -> Self {
        let groups: Vec<_> = key.groups.iter().map(|group| group_log(key, group, given)).collect();
        let support = normalised(&sum_but(&groups, None, key.outcomes.len()));
        Self { groups, support }
    }

    /// The chance of each outcome, in the order of the key; sums to one.
    pub(crate) fn support(&self) -> &[f64] {
        &self.support
    }

    /// What all groups but this one say, as likelihoods scaled to have a greatest of one.
    pub(crate) fn without_group(&self, group: usize) -> Vec<f64> {
        let logs = sum_but(&self.groups, Some(group), self.support.len());
        let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        logs.into_iter().map(|log| (log - most).exp()).collect()
    }
}

impl Given {
    /// The likelihood of this answer alone for each outcome: a chance, or a density on the log scale.
    pub(crate) fn likelihood(&self, key: &Key) -> Vec<f64> {
        let character = &key.characters[self.character];
        match (&character.looks[self.look].table, &self.said) {
            (Table::States { p, .. }, Said::States(states)) => {
                let sum = |outcome| states.iter().map(|state| p[*state][outcome]).sum();
                (0..key.outcomes.len()).map(sum).collect()
            }
            (Table::Number { reading, .. }, Said::Value { value, more_error }) => {
                character.spreads().iter().map(|(spread, _)| reading.density(*spread, *value, *more_error)).collect()
            }
            // An answer is checked against the kind of its character before it gets here.
            (Table::States { .. }, Said::Value { .. }) | (Table::Number { .. }, Said::States(_)) => {
                vec![1.0; key.outcomes.len()]
            }
        }
    }
}

/// The answers of a group that were given, put together; nothing where none was given.
fn group_log(key: &Key, group: &Group, given: &[Given]) -> Option<Vec<f64>> {
    let answered = |member: &usize| given.iter().find(|one| one.character == *member);
    let answers: Vec<_> = group.members.iter().map(answered).collect();
    if answers.iter().all(Option::is_none) {
        return None;
    }
    match &group.tie {
        Tie::Single => answers[0].map(|one| logs(&one.likelihood(key))),
        Tie::Weighted(weights) => {
            let mut pooled = vec![0.0; key.outcomes.len()];
            let mut total = 0.0;
            for (answer, weight) in answers.iter().zip(weights) {
                if let Some(answer) = answer {
                    total += weight;
                    let log = logs(&answer.likelihood(key));
                    pooled.iter_mut().zip(log).for_each(|(sum, log)| *sum += weight * log);
                }
            }
            Some(pooled.into_iter().map(|sum| sum / total).collect())
        }
        Tie::Joint { cells } => {
            let sizes = joint_sizes(key, group);
            let fits = |cell: usize| {
                answers.iter().enumerate().all(|(nth, answer)| match answer.map(|one| &one.said) {
                    Some(Said::States(states)) => states.contains(&state_in_cell(&sizes, nth, cell)),
                    Some(Said::Value { .. }) | None => true,
                })
            };
            let mut sums = vec![0.0; key.outcomes.len()];
            for (_, row) in cells.iter().enumerate().filter(|(cell, _)| fits(*cell)) {
                sums.iter_mut().zip(row).for_each(|(sum, one)| *sum += one);
            }
            Some(logs(&sums))
        }
    }
}

pub(crate) fn joint_sizes(key: &Key, group: &Group) -> Vec<usize> {
    group.members.iter().map(|member| key.characters[*member].states().len()).collect()
}

/// Chances from logarithms of likelihoods, under a uniform prior.
pub(crate) fn normalised(logs: &[f64]) -> Vec<f64> {
    let most = logs.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    let mut chances: Vec<f64> = logs.iter().map(|log| (log - most).exp()).collect();
    let sum: f64 = chances.iter().sum();
    divide(&mut chances, sum);
    chances
}

/// Divides all by one number.
pub(crate) fn divide(values: &mut [f64], by: f64) {
    for value in values {
        *value /= by;
    }
}

/// Shannon's entropy in nats.
pub(crate) fn entropy(chances: &[f64]) -> f64 {
    -chances.iter().filter(|chance| **chance > 0.0).map(|chance| chance * chance.ln()).sum::<f64>()
}

fn sum_but(groups: &[Option<Vec<f64>>], but: Option<usize>, outcomes: usize) -> Vec<f64> {
    let mut sum = vec![0.0; outcomes];
    for (place, logs) in groups.iter().enumerate() {
        if let Some(logs) = logs
            && Some(place) != but
        {
            sum.iter_mut().zip(logs).for_each(|(sum, log)| *sum += log);
        }
    }
    sum
}

fn logs(likelihoods: &[f64]) -> Vec<f64> {
    likelihoods.iter().map(|likelihood| likelihood.ln()).collect()
}
