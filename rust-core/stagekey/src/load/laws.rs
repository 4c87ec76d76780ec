//! What must hold of a key as a whole: every outcome can be reached, every look-alike can be told or is said not to be.

use super::unknown;
use crate::fault::{Found, Reason};
use crate::infer::{Belief, Given, Said};
use crate::key::{Character, Key, Table};
use crate::raw::RawKey;
use std::ops::Range;

/// A state decides between two outcomes when it is this many times as likely under one as under the other, by some
/// means (the engine's own rule; common practice, no source).
const DECIDES: f64 = 4.0;

pub(super) fn check(key: &Key, raw: &RawKey, found: &mut Found<'_>) {
    for (place, outcome) in key.outcomes.iter().enumerate() {
        let span = raw.outcomes[place].span();
        if !reached(key, &typical_answers(key, place), place) && !reached(key, &best_answers(key, place), place) {
            found.at(span.clone(), Reason::Unreachable(outcome.id.to_string()));
        }
        look_alike(key, place, &span, found);
    }
}

/// Whether these answers lead to this outcome alone.
fn reached(key: &Key, given: &[Given], outcome: usize) -> bool {
    Belief::of(key, given).support()[outcome] >= key.threshold
}

/// For each character the state that is this outcome's most of all; quick, and enough for most.
fn typical_answers(key: &Key, outcome: usize) -> Vec<Given> {
    let characters = key.characters.iter().enumerate();
    characters.filter_map(|(place, character)| typical_answer(place, character, outcome)).collect()
}

/// One character after the other, the answer that raises this outcome most beside all other answers; characters that do
/// not raise it are left out. Twice round, for what a first answer says may depend on later ones.
fn best_answers(key: &Key, outcome: usize) -> Vec<Given> {
    let mut given: Vec<Given> = Vec::new();
    for (place, character) in key.characters.iter().enumerate().chain(key.characters.iter().enumerate()) {
        given.retain(|one| one.character != place);
        let mut best = (Belief::of(key, &given).support()[outcome], None);
        for one in possible_answers(place, character) {
            given.push(one.clone());
            let support = Belief::of(key, &given).support()[outcome];
            given.pop();
            if support > best.0 {
                best = (support, Some(one));
            }
        }
        given.extend(best.1);
    }
    given
}

fn possible_answers(place: usize, character: &Character) -> Vec<Given> {
    let looks = character.looks.iter().enumerate();
    looks
        .flat_map(|(look, taken)| {
            let said: Vec<Said> = match &taken.table {
                Table::States { p, .. } => (0..p.len()).map(|state| Said::States(vec![state])).collect(),
                Table::Number { middles, .. } => {
                    middles.iter().map(|value| Said::Value { value: *value, more_error: 0.0 }).collect()
                }
            };
            said.into_iter().map(move |said| Given { character: place, look, said })
        })
        .collect()
}

fn typical_answer(place: usize, character: &Character, outcome: usize) -> Option<Given> {
    let share = |given: &Given| {
        let sum = |likelihoods: &[f64]| likelihoods[outcome] / likelihoods.iter().sum::<f64>();
        match (&character.looks[given.look].table, &given.said) {
            (Table::States { p, .. }, Said::States(states)) => sum(&p[states[0]]),
            (Table::Number { reading, .. }, Said::Value { value, .. }) => {
                let densities = character.spreads().iter().map(|(spread, _)| reading.density(*spread, *value, 0.0));
                sum(&densities.collect::<Vec<_>>())
            }
            (Table::States { .. }, Said::Value { .. }) | (Table::Number { .. }, Said::States(_)) => 0.0,
        }
    };
    possible_answers(place, character).into_iter().max_by(|a, b| share(a).total_cmp(&share(b)))
}

fn look_alike(key: &Key, place: usize, span: &Range<usize>, found: &mut Found<'_>) {
    let outcome = &key.outcomes[place];
    for likeness in &outcome.looks_like {
        let of = key.outcome_place(likeness.of.as_str());
        let mut decided = false;
        for (character, state) in &likeness.deciding {
            let Some(asked) = key.character(character.as_str()) else {
                found.at(span.clone(), unknown("character", character.as_str()));
                continue;
            };
            let Some(state_place) = asked.state_place(state.as_str()) else {
                found.at(span.clone(), unknown("state", state.as_str()));
                continue;
            };
            decided |= of.is_some_and(|of| decides(asked, state_place, place, of));
        }
        match (&likeness.none_deciding, decided, likeness.deciding.first()) {
            (Some(_), ..) | (None, true, _) => {}
            (None, false, Some((character, state))) => found.at(
                span.clone(),
                Reason::DoesNotDecide {
                    character: character.to_string(),
                    state: state.to_string(),
                    look_alike: outcome.id.to_string(),
                    of: likeness.of.to_string(),
                },
            ),
            (None, false, None) => found.at(
                span.clone(),
                Reason::Undecided { look_alike: outcome.id.to_string(), of: likeness.of.to_string() },
            ),
        }
    }
}

fn decides(character: &Character, state: usize, look_alike: usize, of: usize) -> bool {
    character.looks.iter().any(|look| match &look.table {
        Table::States { p, .. } => {
            let ratio = p[state][look_alike] / p[state][of];
            ratio >= DECIDES || ratio <= 1.0 / DECIDES
        }
        Table::Number { .. } => false,
    })
}
