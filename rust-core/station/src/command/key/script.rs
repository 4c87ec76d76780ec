//! Answers in a file, and what follows from them as JSON.

use super::super::{CommandError, Outcome, print_json, print_line};
use super::labels::Labels;
use serde::{Deserialize, Serialize};
use stagekey::{AnswerError, Contradiction, KeySession, Means, Next, Proposal, Reason};
use std::collections::{BTreeMap, BTreeSet};
use survey::check::KeyEvidence;

/// What a file of answers holds.
#[derive(Debug, Deserialize)]
#[serde(deny_unknown_fields)]
struct Given {
    #[serde(default)]
    answers: BTreeMap<String, String>,
    #[serde(default)]
    skipped: Vec<String>,
    #[serde(default)]
    guess: Option<String>,
    #[serde(default)]
    means: Option<BTreeSet<Means>>,
}

/// What follows from the answers.
#[derive(Debug, Serialize)]
pub(super) struct Told<'k> {
    key: &'k str,
    hash: String,
    species: &'k str,
    #[serde(skip_serializing_if = "Option::is_none")]
    invented: Option<&'k str>,
    /// Of every outcome, the best first, under a uniform prior.
    support: Vec<Supported>,
    proposal: Proposal,
    /// For and against the best supported outcome.
    reasons: Vec<Reason>,
    contradiction: Option<Contradiction>,
    next: Next,
    /// The question that is next, in words.
    asks: Option<Asks>,
    /// What a count would keep.
    evidence: KeyEvidence,
    /// Answers that were not taken; all others were.
    refused: Vec<Refused>,
}

#[derive(Debug, Serialize)]
struct Supported {
    outcome: String,
    label: String,
    support: f64,
}

#[derive(Debug, Serialize)]
struct Asks {
    question: String,
    states: BTreeMap<String, String>,
}

/// An answer that was not taken.
#[derive(Debug, Serialize)]
pub(super) struct Refused {
    character: String,
    given: String,
    message: &'static str,
    text: String,
}

/// Weighs the answers of a file and prints what follows.
pub(super) fn answer(labels: &Labels<'_>, text: &str, json: bool) -> Result<Outcome, CommandError> {
    let unreadable = |error: serde_json::Error| CommandError::Answers(error.to_string());
    // An object and nothing else: a list would be read as the fields in their order.
    let object: serde_json::Map<String, serde_json::Value> = serde_json::from_str(text).map_err(unreadable)?;
    let given = Given::deserialize(serde_json::Value::Object(object)).map_err(unreadable)?;
    let means = given.means.clone().unwrap_or_else(|| Means::ALL.into());
    let begun = match &given.guess {
        Some(guess) => KeySession::begin_with_guess(labels.key, means, guess)?,
        None => KeySession::begin(labels.key, means),
    };
    let mut refused = Vec::new();
    let mut session = begun;
    let skips = given.skipped.iter().map(|character| (character, None));
    let answers = given.answers.iter().map(|(character, answer)| (character, Some(answer)));
    for (character, answer) in skips.chain(answers) {
        let taken = match answer {
            Some(answer) => session.typed(labels.key, character, answer),
            None => session.skipped(labels.key, character),
        };
        match taken {
            Ok(next) => session = next,
            Err(error) => refused.push(Refused {
                character: character.chars().take(64).collect(),
                given: answer.map_or_else(String::new, |answer| answer.chars().take(64).collect()),
                message: error.text_id(),
                text: labels.refusal(&error),
            }),
        }
    }
    let outcome = if refused.is_empty() { Outcome::Fine } else { Outcome::DataWrong };
    if json {
        print_json(&told(labels, &session, refused)?)?;
        return Ok(outcome);
    }
    for one in &refused {
        print_line(&format!("{}: {}", one.character, one.text))?;
    }
    for line in super::talk::summary(labels, &session)? {
        print_line(&line)?;
    }
    Ok(outcome)
}

/// What a session comes to.
pub(super) fn told<'k>(
    labels: &Labels<'k>,
    session: &KeySession,
    refused: Vec<Refused>,
) -> Result<Told<'k>, AnswerError> {
    let key = labels.key;
    let support = session.support(key)?;
    let next = session.next(key)?;
    let asks = match &next {
        Next::Ask(question) => key.character(question.character.as_str()).map(|character| Asks {
            question: labels.question(&character.id),
            states: character
                .states()
                .iter()
                .map(|state| (state.id.to_string(), labels.state(&character.id, &state.id)))
                .collect(),
        }),
        Next::Settled | Next::GuessChecked | Next::NothingLeft => None,
    };
    Ok(Told {
        key: key.id(),
        hash: key.hash().to_string(),
        species: key.species(),
        invented: key.invented(),
        reasons: session.reasons(key, support[0].0.as_str())?,
        support: support
            .iter()
            .map(|(outcome, support)| Supported {
                outcome: outcome.to_string(),
                label: labels.outcome(outcome),
                support: *support,
            })
            .collect(),
        proposal: session.proposal(key)?,
        contradiction: session.contradiction(key)?,
        next,
        asks,
        evidence: session.evidence(key, None)?,
        refused,
    })
}
