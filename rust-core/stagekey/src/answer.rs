//! Answers as people give them, and what is wrong with some.

use crate::infer::{Given, Said};
use crate::key::{Character, Key, Kind};
use crate::names::{CharacterId, Means, StateId};
use crate::unit::Unit;
use serde::{Deserialize, Serialize};
use std::collections::BTreeSet;
use std::fmt;

/// An answer to one character. A skip is no answer.
#[derive(Debug, Clone, PartialEq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Answer {
    /// This state. "Looked, not there" is a state like another.
    Is {
        /// The state.
        state: StateId,
        /// By what it was seen.
        by: Means,
    },
    /// Not sure between these states, two or more.
    Between {
        /// The states.
        states: BTreeSet<StateId>,
        /// By what they were seen.
        by: Means,
    },
    /// This number, in the unit of the character.
    Measures {
        /// The value.
        value: f64,
        /// By what it was measured.
        by: Means,
        /// Error of this reading beyond what the key assumes of the means, as a share of the value; from the scale on
        /// a photo, for one.
        #[serde(default, skip_serializing_if = "Option::is_none")]
        error: Option<f64>,
    },
}

/// Why an answer was not taken. Nothing answered before is lost.
#[derive(Debug, Clone, PartialEq, thiserror::Error)]
pub enum AnswerError {
    /// No character has this name.
    #[error("the key has no character {0:?}")]
    UnknownCharacter(String),
    /// No outcome has this name.
    #[error("the key has no outcome {0:?}")]
    UnknownOutcome(String),
    /// The character has no such state.
    #[error("{character} has no state {given:?}; it has {}", .states.join(", "))]
    UnknownState {
        /// The character.
        character: CharacterId,
        /// What was given.
        given: String,
        /// What it could have been.
        states: Vec<String>,
    },
    /// Two states at once.
    #[error("{character} takes one state, not {given:?}; if you are not sure between them, write {between:?}")]
    TwoStates {
        /// The character.
        character: CharacterId,
        /// What was given.
        given: String,
        /// How doubt between them is written.
        between: String,
    },
    /// Doubt between fewer than two states.
    #[error("{character}: not sure between states needs two different states")]
    TooFewStates {
        /// The character.
        character: CharacterId,
    },
    /// Not a number.
    #[error("{character} takes a number like 12.5, not {given:?}")]
    NotANumber {
        /// The character.
        character: CharacterId,
        /// What was given.
        given: String,
    },
    /// A number that nothing of this kind measures.
    #[error("{character} is between {least} and {most} {}, not {value}", unit_name(*unit))]
    OutOfRange {
        /// The character.
        character: CharacterId,
        /// What was given.
        value: f64,
        /// Least value accepted.
        least: f64,
        /// Greatest value accepted.
        most: f64,
        /// Unit.
        unit: Unit,
    },
    /// An error of a reading that cannot be.
    #[error("{character}: an error of {error} is not between 0 and 1 of the value")]
    BadError {
        /// The character.
        character: CharacterId,
        /// What was given.
        error: f64,
    },
    /// The character cannot be looked at by these means.
    #[error("{character} is not looked at by {by}; it is by {}", .means.iter().map(|one| one.name()).collect::<Vec<_>>().join(", "))]
    OtherMeans {
        /// The character.
        character: CharacterId,
        /// What was given.
        by: Means,
        /// What it could have been.
        means: Vec<Means>,
    },
    /// The means that were named are none.
    #[error("{0:?} names no means; there are eye, lens, photo and measuring")]
    UnknownMeans(String),
    /// The session belongs to another key, or to another version of it.
    #[error("these answers were given to another key")]
    OtherKey,
    /// A prior may not be used before the observer's own choice.
    #[error("what is usual at this time may be used only after your own guess")]
    PriorBeforeChoice,
    /// A prior that is no set of chances for the outcomes.
    #[error("a prior needs a chance above 0 for every outcome, summing to 1")]
    BadPrior,
}

impl AnswerError {
    /// Id of the text that says so.
    pub const fn text_id(&self) -> &'static str {
        match self {
            Self::UnknownCharacter(_) => "key.refused.unknown-character",
            Self::UnknownOutcome(_) => "key.refused.unknown-outcome",
            Self::UnknownState { .. } => "key.refused.unknown-state",
            Self::TwoStates { .. } => "key.refused.two-states",
            Self::TooFewStates { .. } => "key.refused.too-few-states",
            Self::NotANumber { .. } => "key.refused.not-a-number",
            Self::OutOfRange { .. } => "key.refused.out-of-range",
            Self::BadError { .. } => "key.refused.bad-error",
            Self::OtherMeans { .. } => "key.refused.other-means",
            Self::UnknownMeans(_) => "key.refused.unknown-means",
            Self::OtherKey => "key.refused.other-key",
            Self::PriorBeforeChoice => "key.refused.prior-before-choice",
            Self::BadPrior => "key.refused.bad-prior",
        }
    }
}

impl Answer {
    /// By what the observer looked.
    pub const fn by(&self) -> Means {
        match self {
            Self::Is { by, .. } | Self::Between { by, .. } | Self::Measures { by, .. } => *by,
        }
    }

    /// An answer as it is typed: `reaches`, `lens:ridged`, `falls-short|reaches` for doubt between states, `12.5`,
    /// `12,5 mm`, `photo:12.5~0.08` with an error of 8 % of its own. Without means, the first of the character that
    /// stands in `allowed`, or the first of all.
    ///
    /// # Errors
    /// What is wrong with it.
    pub fn parse(key: &Key, character: &str, text: &str, allowed: &BTreeSet<Means>) -> Result<Self, AnswerError> {
        let asked = key.character(character).ok_or_else(|| AnswerError::UnknownCharacter(short(character)))?;
        let (by, said) = match text.split_once(':') {
            Some((means, said)) => {
                let named = Means::named(means.trim()).ok_or_else(|| AnswerError::UnknownMeans(short(means)))?;
                (named, said.trim())
            }
            None => (usual_means(asked, allowed), text.trim()),
        };
        let answer = match &asked.kind {
            Kind::States(_) => parse_states(asked, said, by)?,
            Kind::Number { unit, .. } => parse_number(asked, *unit, said, by)?,
        };
        answer.placed(key, &asked.id)?;
        Ok(answer)
    }

    /// The answer by places in the key.
    pub(crate) fn placed(&self, key: &Key, character: &CharacterId) -> Result<Given, AnswerError> {
        let place =
            key.place_of(character.as_str()).ok_or_else(|| AnswerError::UnknownCharacter(short(character.as_str())))?;
        let asked = &key.characters[place];
        let by = self.by();
        let look = asked.looks.iter().position(|look| look.means == by).ok_or_else(|| AnswerError::OtherMeans {
            character: asked.id.clone(),
            by,
            means: asked.looks.iter().map(|look| look.means).collect(),
        })?;
        Ok(Given { character: place, look, said: self.said(asked)? })
    }

    fn said(&self, asked: &Character) -> Result<Said, AnswerError> {
        match (self, &asked.kind) {
            (Self::Is { state, .. }, Kind::States(_)) => Ok(Said::States(vec![known_state(asked, state.as_str())?])),
            (Self::Between { states, .. }, Kind::States(_)) => {
                if states.len() < 2 {
                    return Err(AnswerError::TooFewStates { character: asked.id.clone() });
                }
                let places = states.iter().map(|state| known_state(asked, state.as_str()));
                places.collect::<Result<_, _>>().map(Said::States)
            }
            (Self::Measures { value, error, .. }, Kind::Number { unit, least, most, .. }) => {
                let character = asked.id.clone();
                if !(*least..=*most).contains(value) {
                    let (value, least, most, unit) = (*value, *least, *most, *unit);
                    return Err(AnswerError::OutOfRange { character, value, least, most, unit });
                }
                match error {
                    Some(error) if !(0.0..1.0).contains(error) => {
                        Err(AnswerError::BadError { character, error: *error })
                    }
                    _ => Ok(Said::Value { value: *value, more_error: error.unwrap_or(0.0) }),
                }
            }
            (Self::Measures { value, .. }, Kind::States(_)) => Err(no_such_state(asked, &value.to_string())),
            (Self::Is { state, .. }, Kind::Number { .. }) => {
                Err(AnswerError::NotANumber { character: asked.id.clone(), given: state.to_string() })
            }
            (Self::Between { .. }, Kind::Number { .. }) => {
                Err(AnswerError::NotANumber { character: asked.id.clone(), given: self.to_string() })
            }
        }
    }
}

impl fmt::Display for Answer {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{}:", self.by())?;
        match self {
            Self::Is { state, .. } => state.fmt(f),
            Self::Between { states, .. } => {
                let names: Vec<_> = states.iter().map(StateId::as_str).collect();
                f.write_str(&names.join("|"))
            }
            Self::Measures { value, error: None, .. } => value.fmt(f),
            Self::Measures { value, error: Some(error), .. } => write!(f, "{value}~{error}"),
        }
    }
}

fn parse_states(asked: &Character, said: &str, by: Means) -> Result<Answer, AnswerError> {
    if said.contains('|') {
        let states: BTreeSet<StateId> = said.split('|').map(|state| StateId::from(state.trim())).collect();
        return Ok(Answer::Between { states, by });
    }
    if asked.state_place(said).is_some() {
        return Ok(Answer::Is { state: said.into(), by });
    }
    let apart: Vec<_> = said.split([',', ';', '+', '/', ' ']).filter(|part| !part.is_empty()).collect();
    if apart.len() > 1 && apart.iter().all(|state| asked.state_place(state).is_some()) {
        let (given, between) = (short(said), apart.join("|"));
        return Err(AnswerError::TwoStates { character: asked.id.clone(), given, between });
    }
    Err(no_such_state(asked, said))
}

fn parse_number(asked: &Character, unit: Unit, said: &str, by: Means) -> Result<Answer, AnswerError> {
    let wrong = || AnswerError::NotANumber { character: asked.id.clone(), given: short(said) };
    let (value, error) = match said.split_once('~') {
        Some((value, error)) => (value.trim(), Some(decimal(error.trim()).ok_or_else(wrong)?)),
        None => (said, None),
    };
    let value = value.strip_suffix(unit_name(unit)).unwrap_or(value).trim_end();
    Ok(Answer::Measures { value: decimal(value).ok_or_else(wrong)?, by, error })
}

/// A plain decimal number with a point or one comma; a minus sign is read so that its error can name the value.
fn decimal(text: &str) -> Option<f64> {
    let plain = text.replace('\u{2212}', "-");
    let digits = plain.strip_prefix('-').unwrap_or(&plain);
    let marks = digits.matches(['.', ',']).count();
    let sound = digits.starts_with(|first: char| first.is_ascii_digit())
        && digits.ends_with(|last: char| last.is_ascii_digit())
        && digits.chars().all(|letter| letter.is_ascii_digit() || letter == '.' || letter == ',');
    (sound && marks <= 1).then(|| plain.replace(',', ".").parse().ok()).flatten()
}

fn usual_means(asked: &Character, allowed: &BTreeSet<Means>) -> Means {
    let mut means = asked.looks.iter().map(|look| look.means);
    let first = means.clone().next().unwrap_or(Means::Eye);
    means.find(|means| allowed.contains(means)).unwrap_or(first)
}

fn known_state(asked: &Character, state: &str) -> Result<usize, AnswerError> {
    asked.state_place(state).ok_or_else(|| no_such_state(asked, state))
}

fn no_such_state(asked: &Character, given: &str) -> AnswerError {
    let states = asked.states().iter().map(|state| state.id.to_string()).collect();
    AnswerError::UnknownState { character: asked.id.clone(), given: short(given), states }
}

const fn unit_name(unit: Unit) -> &'static str {
    match unit {
        Unit::Millimetre => "mm",
        Unit::Milligram => "mg",
        Unit::Ratio => "times",
    }
}

fn short(text: &str) -> String {
    text.chars().take(64).collect()
}
