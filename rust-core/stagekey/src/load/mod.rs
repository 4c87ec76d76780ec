//! From the text of a key file to a checked key, or to everything that is wrong with it.

mod laws;
mod tables;

use crate::fault::{Fault, Faults, Found, Reason};
use crate::key::{Character, Group, Key, KeyOutcome, Kind, Likeness, State, Tie};
use crate::names::OutcomeId;
use crate::raw::{RawCharacter, RawGroup, RawKey, RawOutcome};
use std::collections::BTreeSet;
use std::ops::Range;
use survey::chain::Hash;

/// The key of the monarch, as it is built in.
const MONARCH: &str = include_str!("../../keys/monarch.toml");

/// The text of the built-in key of the monarch.
pub const fn monarch_text() -> &'static str {
    MONARCH
}

impl Key {
    /// The key that this text describes.
    ///
    /// # Errors
    /// All faults that were found, by line.
    pub fn load(text: &str) -> Result<Self, Faults> {
        let mut found = Found::none(text);
        let raw: RawKey = match toml::from_str(text) {
            Ok(raw) => raw,
            Err(error) => {
                found.at(error.span().unwrap_or(0..0), Reason::Unreadable(error.message().to_owned()));
                return Err(found.into_faults());
            }
        };
        head(&raw, &mut found);
        let outcomes = outcomes(&raw, &mut found);
        let characters = characters(&raw, &outcomes, &mut found);
        if !found.is_empty() {
            return Err(found.into_faults());
        }
        let (characters, groups) = groups(&raw, characters, &outcomes, &mut found);
        if !found.is_empty() {
            return Err(found.into_faults());
        }
        let key = Self {
            hash: Hash::plain(text.as_bytes()),
            id: raw.id.get_ref().clone(),
            species: raw.species.clone(),
            invented: raw.invented.clone(),
            threshold: *raw.threshold.get_ref(),
            sources: raw.sources.clone(),
            outcomes,
            characters,
            groups,
        };
        laws::check(&key, &raw, &mut found);
        if found.is_empty() { Ok(key) } else { Err(found.into_faults()) }
    }

    /// The key that this text describes, or the built-in one with what is wrong with the text.
    pub fn load_or_monarch(text: &str) -> (Self, Option<Faults>) {
        match Self::load(text) {
            Ok(key) => (key, None),
            Err(faults) => (Self::monarch(), Some(faults)),
        }
    }

    /// The texts and drawings that this key needs and nobody has. The line of each is 1: they stand outside the file.
    pub fn missing(&self, has_text: impl Fn(&str) -> bool, has_figure: impl Fn(&str) -> bool) -> Vec<Fault> {
        let texts = self.text_ids().into_iter().filter(|id| !has_text(id)).map(|name| ("text", name));
        let figures = self.figure_ids().into_iter().filter(|id| !has_figure(id)).map(|name| ("drawing", name));
        texts.chain(figures).map(|(what, name)| Fault { line: 1, reason: Reason::Missing { what, name } }).collect()
    }
}

fn head(raw: &RawKey, found: &mut Found<'_>) {
    if *raw.format.get_ref() != 1 {
        found.at(raw.format.span(), Reason::Format(*raw.format.get_ref()));
    }
    name(raw.id.get_ref(), raw.id.span(), found);
    let threshold = *raw.threshold.get_ref();
    if !(threshold > 0.5 && threshold < 1.0) {
        found.at(raw.threshold.span(), Reason::Number { what: "threshold", value: threshold.to_string() });
    }
    source(raw, raw.threshold_source.get_ref(), raw.threshold_source.span(), found);
}

fn outcomes(raw: &RawKey, found: &mut Found<'_>) -> Vec<KeyOutcome> {
    let known: BTreeSet<&str> = raw.outcomes.iter().map(|outcome| outcome.get_ref().id.as_str()).collect();
    let mut seen = BTreeSet::new();
    for spanned in &raw.outcomes {
        let outcome = spanned.get_ref();
        name(outcome.id.as_str(), spanned.span(), found);
        if !seen.insert(outcome.id.as_str()) {
            found.at(spanned.span(), Reason::Twice(outcome.id.to_string()));
        }
        let named = outcome.neighbours.iter().chain(&outcome.looks_like);
        for other in named.chain(outcome.none_deciding.iter().map(|none| &none.against)) {
            if !known.contains(other.as_str()) {
                found.at(spanned.span(), unknown("outcome", other.as_str()));
            }
        }
        for none in &outcome.none_deciding {
            source(raw, &none.source, spanned.span(), found);
        }
    }
    if raw.outcomes.len() < 2 {
        found.at(0..0, Reason::Number { what: "the number of outcomes", value: raw.outcomes.len().to_string() });
    }
    raw.outcomes.iter().map(|outcome| key_outcome(outcome.get_ref())).collect()
}

fn key_outcome(raw: &RawOutcome) -> KeyOutcome {
    let likeness = |of: &OutcomeId| Likeness {
        of: of.clone(),
        deciding: raw.deciding.iter().map(|one| (one.character.clone(), one.state.clone())).collect(),
        none_deciding: raw
            .none_deciding
            .iter()
            .find(|none| none.against == *of)
            .map(|none| (none.why.clone(), none.source.clone())),
    };
    KeyOutcome {
        id: raw.id.clone(),
        counts_as: raw.counts_as,
        animal_state: raw.animal_state,
        neighbours: raw.neighbours.clone(),
        looks_like: raw.looks_like.iter().map(likeness).collect(),
    }
}

fn characters(raw: &RawKey, outcomes: &[KeyOutcome], found: &mut Found<'_>) -> Vec<Character> {
    let mut seen = BTreeSet::new();
    let mut characters = Vec::new();
    for spanned in &raw.characters {
        let one = spanned.get_ref();
        name(one.id.as_str(), spanned.span(), found);
        if !seen.insert(one.id.as_str()) {
            found.at(spanned.span(), Reason::Twice(one.id.to_string()));
        }
        let joint = raw.groups.iter().any(|group| joint_has(group.get_ref(), one));
        if let Some(kind) = kind(raw, one, spanned.span(), outcomes, found) {
            let looks = tables::looks(raw, one, &kind, outcomes, joint, spanned.span(), found);
            characters.push(Character { id: one.id.clone(), kind, looks, group: usize::MAX });
        }
    }
    characters
}

fn joint_has(group: &RawGroup, character: &RawCharacter) -> bool {
    group.joint.as_ref().is_some_and(|joint| joint.characters.contains(&character.id))
}

fn kind(
    raw: &RawKey,
    one: &RawCharacter,
    span: Range<usize>,
    outcomes: &[KeyOutcome],
    found: &mut Found<'_>,
) -> Option<Kind> {
    if let Some(number) = &one.number
        && one.states.is_empty()
    {
        return tables::number(raw, number, outcomes, span, found);
    }
    let different: BTreeSet<_> = one.states.iter().collect();
    if one.number.is_some() || one.states.len() < 2 || different.len() < one.states.len() {
        found.at(span, Reason::TooFewStates(one.id.to_string()));
        return None;
    }
    for state in &one.states {
        name(state.as_str(), span.clone(), found);
    }
    for state in one.animal_states.keys().filter(|state| !one.states.contains(state)) {
        found.at(span.clone(), unknown("state", state.as_str()));
    }
    let state = |id: &crate::names::StateId| State { id: id.clone(), shows: one.animal_states.get(id).copied() };
    Some(Kind::States(one.states.iter().map(state).collect()))
}

/// Puts every character into exactly one group; one that no group names stands alone.
fn groups(
    raw: &RawKey,
    mut characters: Vec<Character>,
    outcomes: &[KeyOutcome],
    found: &mut Found<'_>,
) -> (Vec<Character>, Vec<Group>) {
    let mut groups: Vec<Group> = Vec::new();
    for spanned in &raw.groups {
        let one = spanned.get_ref();
        let span = spanned.span();
        name(&one.id, span.clone(), found);
        if let Some(named) = &one.source {
            source(raw, named, span.clone(), found);
        }
        let ids: Vec<_> = match &one.joint {
            Some(joint) => joint.characters.clone(),
            None => one.weights.keys().cloned().collect(),
        };
        let mut members = Vec::new();
        for id in &ids {
            match characters.iter().position(|character| character.id == *id) {
                None => found.at(span.clone(), unknown("character", id.as_str())),
                Some(place) if characters[place].group != usize::MAX || members.contains(&place) => {
                    found.at(span.clone(), Reason::Twice(id.to_string()));
                }
                Some(place) => {
                    characters[place].group = groups.len();
                    members.push(place);
                }
            }
        }
        if members.len() < ids.len() {
            continue;
        }
        let tie = match &one.joint {
            Some(joint) if one.weights.is_empty() && members.len() > 1 => {
                tables::joint(raw, joint, &members, &mut characters, outcomes, &span, found)
                    .map(|cells| Tie::Joint { cells })
            }
            None => weights(one).map(Tie::Weighted),
            Some(_) => None,
        };
        match tie {
            Some(tie) => groups.push(Group { id: one.id.clone(), members, tie, source: one.source.clone() }),
            None if found.is_empty() => found.at(span, Reason::Weights(one.id.clone())),
            None => {}
        }
    }
    for (place, alone) in characters.iter_mut().enumerate().filter(|(_, one)| one.group == usize::MAX) {
        alone.group = groups.len();
        groups.push(Group { id: alone.id.to_string(), members: vec![place], tie: Tie::Single, source: None });
    }
    (characters, groups)
}

fn weights(group: &RawGroup) -> Option<Vec<f64>> {
    let weights: Vec<f64> = group.weights.values().copied().collect();
    let sound = weights.len() > 1 && weights.iter().all(|weight| *weight > 0.0 && *weight < 1.0);
    let whole = (weights.iter().sum::<f64>() - 1.0).abs() < SUM_TOLERANCE;
    (sound && whole && group.source.is_some()).then_some(weights)
}

/// Sums of numbers written with a few decimals differ from one by rounding only.
const SUM_TOLERANCE: f64 = 1e-9;

fn name(name: &str, span: Range<usize>, found: &mut Found<'_>) {
    let sound = |letter: char| letter.is_ascii_lowercase() || letter.is_ascii_digit() || letter == '-';
    if name.is_empty() || name.len() > 40 || !name.chars().all(sound) {
        found.at(span, Reason::BadName(name.chars().take(64).collect()));
    }
}

fn source(raw: &RawKey, named: &str, span: Range<usize>, found: &mut Found<'_>) {
    if !raw.sources.contains_key(named) {
        found.at(span, unknown("source", named));
    }
}

fn unknown(what: &'static str, name: &str) -> Reason {
    Reason::Unknown { what, name: name.chars().take(64).collect() }
}
