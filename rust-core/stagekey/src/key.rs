//! A key that has been checked: outcomes, characters, groups, and their tables.

use crate::density::{Reading, Spread};
use crate::names::{CharacterId, Means, OutcomeId, StateId};
use crate::unit::Unit;
use serde::{Deserialize, Serialize};
use std::collections::BTreeMap;
use survey::chain::Hash;
use survey::stage::{AnimalState, Outcome};

/// A checked key for one species. Only loading makes one, so that its laws hold.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Key {
    pub(crate) hash: Hash,
    pub(crate) id: String,
    pub(crate) species: String,
    pub(crate) invented: Option<String>,
    pub(crate) threshold: f64,
    pub(crate) sources: BTreeMap<String, String>,
    pub(crate) outcomes: Vec<KeyOutcome>,
    pub(crate) characters: Vec<Character>,
    pub(crate) groups: Vec<Group>,
}

/// What the thing on the leaf may be, in the words of the key.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct KeyOutcome {
    /// Its name.
    pub id: OutcomeId,
    /// What is counted for it.
    pub counts_as: Outcome,
    /// State of the animal, where the answers say nothing finer.
    pub animal_state: AnimalState,
    /// With which outcomes it is confused most.
    pub neighbours: Vec<OutcomeId>,
    /// For a look-alike: what it is taken for, and what decides.
    pub looks_like: Vec<Likeness>,
}

/// A look-alike against what it is taken for.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Likeness {
    /// What it is taken for.
    pub of: OutcomeId,
    /// The states that decide between the two.
    pub deciding: Vec<(CharacterId, StateId)>,
    /// Why nothing decides, with its source, where nothing does.
    pub none_deciding: Option<(String, String)>,
}

/// A character: what is asked.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Character {
    /// Its name.
    pub id: CharacterId,
    /// What an answer looks like.
    pub kind: Kind,
    /// The means by which it can be looked at, as they stand in the file.
    pub looks: Vec<Look>,
    pub(crate) group: usize,
}

/// What an answer to a character looks like.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub enum Kind {
    /// One of these states.
    States(Vec<State>),
    /// A number.
    Number {
        /// Its unit.
        unit: Unit,
        /// Least value accepted.
        least: f64,
        /// Greatest value accepted.
        most: f64,
        /// Spread over animals by outcome, in the order of the key's outcomes, with the source of each.
        spreads: Vec<(Spread, String)>,
    },
}

/// A state of a character.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct State {
    /// Its name.
    pub id: StateId,
    /// The state of the animal that it shows, where it shows one.
    pub shows: Option<AnimalState>,
}

/// A character looked at by one means.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub struct Look {
    /// By what.
    pub means: Means,
    /// What it costs the observer, in seconds.
    pub seconds: f64,
    /// Source of cost and, for a number, of error and slip.
    pub source: String,
    pub(crate) table: Table,
}

/// Likelihoods by outcome.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) enum Table {
    /// `p[state][outcome]`, with the source by outcome.
    States { p: Vec<Vec<f64>>, sources: Vec<String> },
    /// Densities of a reading, and the same as chances of cells of equal width on the log scale, for looking ahead:
    /// `cells[cell][outcome]`, `middles[cell]` the value amid the cell.
    Number { reading: Reading, middles: Vec<f64>, cells: Vec<Vec<f64>> },
}

/// Characters that say nearly the same.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) struct Group {
    pub(crate) id: String,
    pub(crate) members: Vec<usize>,
    pub(crate) tie: Tie,
    pub(crate) source: Option<String>,
}

/// How the answers of a group are put together.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
pub(crate) enum Tie {
    /// One member: its likelihood alone.
    Single,
    /// Logarithms of likelihoods, weighted. Weights stand in the order of the members; those of the answered members
    /// are scaled to sum to one, so that a group never says more than one character.
    Weighted(Vec<f64>),
    /// Chances of every combination: `cells[combination][outcome]`, the last member's state running fastest.
    Joint { cells: Vec<Vec<f64>> },
}

/// The state of the `nth` member in a cell of a joint table, the last member running fastest.
pub(crate) fn state_in_cell(sizes: &[usize], nth: usize, cell: usize) -> usize {
    cell / sizes[nth + 1..].iter().product::<usize>() % sizes[nth]
}

impl Key {
    /// SHA-256 of the key file.
    pub const fn hash(&self) -> Hash {
        self.hash
    }

    /// The name of the key, part of the ids of its texts.
    pub fn id(&self) -> &str {
        &self.id
    }

    /// The species in question.
    pub fn species(&self) -> &str {
        &self.species
    }

    /// Says so where species and numbers are made up.
    pub fn invented(&self) -> Option<&str> {
        self.invented.as_deref()
    }

    /// The support that a proposal needs, above 0.5 and below 1.
    pub const fn threshold(&self) -> f64 {
        self.threshold
    }

    /// The outcomes, in the order of the file.
    pub fn outcomes(&self) -> &[KeyOutcome] {
        &self.outcomes
    }

    /// The characters, in the order of the file.
    pub fn characters(&self) -> &[Character] {
        &self.characters
    }

    /// The sources that the file names: short name and what it stands for.
    pub const fn sources(&self) -> &BTreeMap<String, String> {
        &self.sources
    }

    /// The character with this name.
    pub fn character(&self, id: &str) -> Option<&Character> {
        self.characters.iter().find(|character| character.id.as_str() == id)
    }

    /// The outcome with this name.
    pub fn outcome(&self, id: &str) -> Option<&KeyOutcome> {
        self.outcomes.iter().find(|outcome| outcome.id.as_str() == id)
    }

    /// The outcomes that are counted as this; the key's choice comes first where several are.
    pub fn outcomes_for(&self, counted: Outcome) -> impl Iterator<Item = &KeyOutcome> + '_ {
        self.outcomes.iter().filter(move |outcome| outcome.counts_as == counted)
    }

    /// The group of characters that say nearly the same, to which this one belongs: its name and its members by name. A
    /// character of its own is a group of one, under its own name.
    pub fn group_of(&self, character: &Character) -> (&str, Vec<&CharacterId>) {
        let group = &self.groups[character.group];
        (&group.id, group.members.iter().map(|member| &self.characters[*member].id).collect())
    }

    /// Ids of all texts of this key: a question for each character, a label for each state and outcome.
    pub fn text_ids(&self) -> Vec<String> {
        let outcomes = self.outcomes.iter().map(|outcome| self.outcome_text(&outcome.id));
        let characters = self.characters.iter().flat_map(|character| {
            let states = character.states().iter().map(|state| self.state_text(&character.id, &state.id));
            std::iter::once(self.question_text(&character.id)).chain(states)
        });
        let reasons = self.outcomes.iter().flat_map(|outcome| &outcome.looks_like);
        let reasons = reasons.filter_map(|likeness| likeness.none_deciding.as_ref()).map(|(why, _)| why.clone());
        outcomes.chain(characters).chain(reasons).collect()
    }

    /// Ids of all drawings of this key: `character/state`, and `outcome/name`.
    pub fn figure_ids(&self) -> Vec<String> {
        let outcomes = self.outcomes.iter().map(|outcome| format!("outcome/{}", outcome.id));
        let states = self
            .characters
            .iter()
            .flat_map(|character| character.states().iter().map(move |state| format!("{}/{}", character.id, state.id)));
        outcomes.chain(states).collect()
    }

    /// Id of the text that asks for a character.
    pub fn question_text(&self, character: &CharacterId) -> String {
        format!("key.{}.{character}", self.id)
    }

    /// Id of the text of a state.
    pub fn state_text(&self, character: &CharacterId, state: &StateId) -> String {
        format!("key.{}.{character}.{state}", self.id)
    }

    /// Id of the text that names an outcome.
    pub fn outcome_text(&self, outcome: &OutcomeId) -> String {
        format!("key.{}.outcome.{outcome}", self.id)
    }

    /// The same key with every likelihood of a state multiplied by what `factor` says for its
    /// (character, outcome, state) as places in the file, rows scaled to sum to one again; joint tables alike.
    ///
    /// For asking how much wrong likelihoods matter; numeric densities stay.
    #[must_use]
    pub fn with_likelihoods_times(&self, mut factor: impl FnMut(usize, usize, usize) -> f64) -> Self {
        let mut key = self.clone();
        for (place, character) in key.characters.iter_mut().enumerate() {
            for look in &mut character.looks {
                if let Table::States { p, .. } = &mut look.table {
                    scale(p, |outcome, state| factor(place, outcome, state));
                }
            }
        }
        for group in &mut key.groups {
            if let Tie::Joint { cells } = &mut group.tie {
                let first = group.members[0];
                scale(cells, |outcome, cell| factor(first, outcome, cell));
            }
        }
        key
    }

    pub(crate) fn place_of(&self, id: &str) -> Option<usize> {
        self.characters.iter().position(|character| character.id.as_str() == id)
    }

    pub(crate) fn outcome_place(&self, id: &str) -> Option<usize> {
        self.outcomes.iter().position(|outcome| outcome.id.as_str() == id)
    }
}

impl Character {
    /// Its states; none for a number.
    pub fn states(&self) -> &[State] {
        match &self.kind {
            Kind::States(states) => states,
            Kind::Number { .. } => &[],
        }
    }

    /// The unit of a number; nothing for states.
    pub const fn unit(&self) -> Option<Unit> {
        match &self.kind {
            Kind::Number { unit, .. } => Some(*unit),
            Kind::States(_) => None,
        }
    }

    /// How it looks by these means.
    pub fn look(&self, means: Means) -> Option<&Look> {
        self.looks.iter().find(|look| look.means == means)
    }

    /// The likelihood of a state for an outcome, by these means, with the source of the number. Nothing is returned
    /// for a number or an unknown place.
    pub fn likelihood(&self, means: Means, state: usize, outcome: usize) -> Option<(f64, &str)> {
        match &self.look(means)?.table {
            Table::States { p, sources } => Some((*p.get(state)?.get(outcome)?, sources.get(outcome)?)),
            Table::Number { .. } => None,
        }
    }

    /// Spread over animals by outcome, for a number.
    pub(crate) fn spreads(&self) -> &[(Spread, String)] {
        match &self.kind {
            Kind::Number { spreads, .. } => spreads,
            Kind::States(_) => &[],
        }
    }

    pub(crate) fn state_place(&self, id: &str) -> Option<usize> {
        self.states().iter().position(|state| state.id.as_str() == id)
    }
}

impl Look {
    /// Error and slip of a reading, for a number.
    pub const fn reading(&self) -> Option<Reading> {
        match &self.table {
            Table::Number { reading, .. } => Some(*reading),
            Table::States { .. } => None,
        }
    }
}

/// Multiplies `p[state][outcome]` by a factor, and scales each outcome's row to sum to one.
fn scale(p: &mut [Vec<f64>], mut factor: impl FnMut(usize, usize) -> f64) {
    let outcomes = p.first().map_or(0, Vec::len);
    for outcome in 0..outcomes {
        for (state, row) in p.iter_mut().enumerate() {
            row[outcome] *= factor(outcome, state);
        }
        let sum: f64 = p.iter().map(|row| row[outcome]).sum();
        for row in p.iter_mut() {
            row[outcome] /= sum;
        }
    }
}
