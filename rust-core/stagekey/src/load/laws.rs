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
        let belief = Belief::of(key, &typical_answers(key, place));
        let best = belief.support().iter().copied().fold(0.0, f64::max);
        if belief.support()[place] < best || best < key.threshold {
            found.at(span.clone(), Reason::Unreachable(outcome.id.to_string()));
        }
        look_alike(key, place, &span, found);
    }
}

/// For each character the state that speaks most for this outcome against the one that fits next best.
fn typical_answers(key: &Key, outcome: usize) -> Vec<Given> {
    let characters = key.characters.iter().enumerate();
    characters.filter_map(|(place, character)| typical_answer(place, character, outcome)).collect()
}

fn typical_answer(place: usize, character: &Character, outcome: usize) -> Option<Given> {
    let mut best: Option<(f64, Given)> = None;
    for (nth, look) in character.looks.iter().enumerate() {
        let (rows, is_number) = match &look.table {
            Table::States { p, .. } => (p, false),
            Table::Number { cells, .. } => (cells, true),
        };
        for (state, row) in rows.iter().enumerate() {
            let share = row[outcome] / row.iter().sum::<f64>();
            if best.as_ref().is_none_or(|(most, _)| share > *most) {
                let said = match (&look.table, is_number) {
                    (Table::Number { middles, .. }, true) => Said::Value { value: middles[state], more_error: 0.0 },
                    _ => Said::States(vec![state]),
                };
                best = Some((share, Given { character: place, look: nth, said }));
            }
        }
    }
    best.map(|(_, given)| given)
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
