//! Everything that the stage key, its practice and the drawings say is in the catalogue, and nothing stands there for
//! nothing.

use figure::specimen;
use messages::{Language, ids, knows, message};
use practice::{Choice, Topic};
use stagekey::{AnswerError, CharacterId, Key, Means};
use std::collections::BTreeSet;

/// The id under which the catalogue has a text of a drawing.
fn drawing(id: &str) -> String {
    if id.starts_with("drawing.") { id.to_owned() } else { format!("drawing.{id}") }
}

#[test]
fn every_text_and_drawing_of_the_key_is_there() {
    let drawn: BTreeSet<String> = specimen::ids().iter().map(|(own, state)| format!("{own}/{state}")).collect();
    let key = Key::monarch();
    let missing = key.missing(knows, |id| drawn.contains(id));
    assert!(missing.is_empty(), "{missing:?}");
    let used: BTreeSet<String> = key.text_ids().into_iter().collect();
    let idle: Vec<_> = ids().filter(|id| id.starts_with("key.monarch.") && !used.contains(*id)).collect();
    assert!(idle.is_empty(), "{idle:?}");
}

#[test]
fn every_drawing_has_words() {
    let wanted: BTreeSet<String> = specimen::Words::ids().map(drawing).collect();
    let there: BTreeSet<String> = ids().filter(|id| id.starts_with("drawing.")).map(str::to_owned).collect();
    assert_eq!(wanted, there);
    let english = specimen::Words::from_texts('.', |id| messages::say(Language::En, &drawing(id), &[]));
    assert_eq!(english, specimen::english(), "the English of drawings stands in two places, and is one");
}

#[test]
fn every_refusal_and_means_has_words() {
    for means in Means::ALL {
        assert!(knows(&format!("key.means.{means}")), "{means}");
    }
    let character = || CharacterId::from("bands");
    let mut refusals = vec![AnswerError::UnknownCharacter(String::new())];
    while let Some(next) = match refusals.last().unwrap() {
        AnswerError::UnknownCharacter(_) => Some(AnswerError::UnknownOutcome(String::new())),
        AnswerError::UnknownOutcome(_) => {
            Some(AnswerError::UnknownState { character: character(), given: String::new(), states: Vec::new() })
        }
        AnswerError::UnknownState { .. } => {
            Some(AnswerError::TwoStates { character: character(), given: String::new(), between: String::new() })
        }
        AnswerError::TwoStates { .. } => Some(AnswerError::TooFewStates { character: character() }),
        AnswerError::TooFewStates { .. } => {
            Some(AnswerError::NotANumber { character: character(), given: String::new() })
        }
        AnswerError::NotANumber { .. } => Some(AnswerError::OutOfRange {
            character: character(),
            value: 0.0,
            least: 0.0,
            most: 1.0,
            unit: stagekey::Unit::Millimetre,
        }),
        AnswerError::OutOfRange { .. } => Some(AnswerError::BadError { character: character(), error: 2.0 }),
        AnswerError::BadError { .. } => {
            Some(AnswerError::OtherMeans { character: character(), by: Means::Eye, means: Vec::new() })
        }
        AnswerError::OtherMeans { .. } => Some(AnswerError::UnknownMeans(String::new())),
        AnswerError::UnknownMeans(_) => Some(AnswerError::OtherKey),
        AnswerError::OtherKey => Some(AnswerError::PriorBeforeChoice),
        AnswerError::PriorBeforeChoice => Some(AnswerError::BadPrior),
        AnswerError::BadPrior => None,
    } {
        refusals.push(next);
    }
    for refusal in &refusals {
        assert!(knows(refusal.text_id()), "{}", refusal.text_id());
    }
    let there = ids().filter(|id| id.starts_with("key.refused.")).count();
    assert_eq!(there, refusals.len());
}

/// Sentences of 18 words at most, as the rest of the key's words.
#[test]
fn the_key_can_be_read_at_twelve() {
    for id in ids().filter(|id| ["key.", "practice.", "drawing."].iter().any(|own| id.starts_with(own))) {
        for language in Language::ALL {
            for text in message(id).unwrap().forms(language).all() {
                let sentences = text.split(['.', '?', ':', ';']);
                let longest = sentences.map(|sentence| sentence.split_whitespace().count()).max();
                assert!(longest <= Some(18), "{id} {language:?}: a sentence of {longest:?} words");
                assert!(!text.contains("horn"), "{id}: they are called filaments");
            }
        }
    }
}

/// Names that practice keeps are words of the key.
#[test]
fn every_topic_and_choice_can_be_said() {
    for topic in Topic::ALL {
        let kinds = match topic {
            Topic::Between(one, other) => vec![one, other],
            Topic::SameInstar(kind) => vec![kind],
        };
        for kind in kinds {
            assert!(knows(&format!("key.monarch.outcome.{}", Choice::Is(kind).name())), "{kind:?}");
        }
    }
}
