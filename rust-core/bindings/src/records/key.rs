//! The stage key.

use super::{Choice, Label};
use crate::voice::Voice;
use handset::HandsetError;
use handset::acts::{BeginKey, KeyReply};
use handset::views::{
    KeyAnswer, KeyNext, KeyOutcome as Outcome, KeyProposal as Proposal, KeyQuestion as Question, KeyReason, KeySays,
    KeyStartView, KeyView, Message,
};
use messages::{decimal, percent, words};
use std::collections::BTreeSet;
use survey::stage::AnimalState;

/// Least weight of a reason that is told, in nats: below it an answer hardly speaks for or against.
const LEAST_WEIGHT: f64 = 0.1;

/// Before a session of the key: what the observer thinks it is, and by what one can look.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyStartScreen {
    /// Title.
    pub title: String,
    /// "I think it is …", each for `begin_key`: only what splits it from its neighbours is then asked.
    pub guesses: Vec<KeyOutcome>,
    /// The label of beginning without a guess.
    pub no_guess: Label,
    /// By what the observer can look.
    pub means: Vec<Choice>,
    /// The label of going on with a session that was left, where there is one: `key` shows it.
    pub going_on: Option<Label>,
}

/// What a thing on a leaf may be.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyOutcome {
    /// Its name.
    pub outcome: String,
    /// Its words.
    pub label: String,
    /// Its drawing, for `drawing`.
    pub drawing: String,
}

/// How a session begins.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyBeginning {
    /// Names of the means by which the observer can look.
    pub means: Vec<String>,
    /// What the observer thinks it is.
    pub guess: Option<String>,
}

/// The key: what it asks, and what the answers say so far.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyScreen {
    /// Title.
    pub title: String,
    /// What is asked; `None` where nothing helps any more.
    pub question: Option<KeyQuestion>,
    /// Why nothing is asked any more.
    pub done: Option<String>,
    /// Heading above the bars.
    pub support_title: String,
    /// Every outcome, the best supported first.
    pub support: Vec<KeySupport>,
    /// What is proposed.
    pub proposal: KeyProposal,
    /// What speaks for and against the best supported outcome, a line each.
    pub reasons: Vec<String>,
    /// Two answers that hardly go together.
    pub disagree: Option<String>,
    /// What was answered, to be changed.
    pub answers: Vec<KeyAnswered>,
    /// What could not be looked at, to be asked again.
    pub skipped: Vec<KeyAnswered>,
    /// What holds besides, a line each.
    pub notes: Vec<String>,
    /// By what the observer can look.
    pub means: Vec<Choice>,
    /// The label of asking on beyond the guess, where that is possible.
    pub beyond_guess: Option<Label>,
}

/// A question with what can be said to it.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyQuestion {
    /// Its name, for `answer_key`.
    pub character: String,
    /// The question.
    pub text: String,
    /// By what to look.
    pub by: String,
    /// States to choose; one for `answer_key`, several in doubt as well. Empty where a number is asked.
    pub states: Vec<KeyState>,
    /// The number that is asked.
    pub number: Option<KeyNumber>,
    /// "I could not look", for `skip_question`.
    pub could_not_look: Label,
    /// "Not sure between these", where there are states.
    pub not_sure: Option<Label>,
}

/// A state to choose.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyState {
    /// For `answer_key`.
    pub answer: String,
    /// Its words.
    pub label: String,
    /// Its drawing, for `drawing`.
    pub drawing: String,
}

/// A number that is asked.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyNumber {
    /// `mm`, or empty for a ratio.
    pub unit: String,
    /// Least.
    pub least: f64,
    /// Greatest.
    pub most: f64,
    /// A drawing of what to measure, for `drawing`.
    pub drawing: String,
}

/// How well an outcome fits the answers.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeySupport {
    /// What it is.
    pub outcome: KeyOutcome,
    /// Length of the bar, 0 to 1.
    pub share: f64,
    /// The same in words.
    pub percent: String,
}

/// What the key proposes.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyProposal {
    /// In words.
    pub text: String,
    /// The support of what is proposed, in words.
    pub percent: String,
    /// "Counted as …": the label of `count_from_key`; none before there is anything to go by.
    pub put: Option<Label>,
    /// Whether it is an animal of this species: what is not is noted on the plant and enters no total.
    pub counted: bool,
}

/// A question that was answered or skipped.
#[derive(Debug, Clone, uniffi::Record)]
pub struct KeyAnswered {
    /// Its name, for `key_question` and `ask_again`.
    pub character: String,
    /// The question.
    pub question: String,
    /// The answer in words; empty where it was skipped.
    pub answer: String,
}

impl KeyStartScreen {
    pub(crate) fn of(view: &KeyStartView, voice: Voice) -> Self {
        Self {
            title: voice.plain("phone.key"),
            guesses: view.guesses.iter().map(|guess| outcome(guess, voice)).collect(),
            no_guess: Label::plain(voice.plain("phone.key-no-guess")),
            means: means(&view.means, voice),
            going_on: view.going_on.then(|| Label::plain(voice.plain("phone.key-go-on"))),
        }
    }
}

impl KeyBeginning {
    pub(crate) fn read(self) -> Result<BeginKey, HandsetError> {
        Ok(BeginKey { means: read_means(&self.means)?, guess: self.guess })
    }
}

/// The means of these names.
pub(crate) fn read_means(names: &[String]) -> Result<BTreeSet<handset::views::Means>, HandsetError> {
    let read = |name: &String| handset::views::Means::named(name).ok_or_else(|| HandsetError::not_here(name));
    names.iter().map(read).collect()
}

/// The answers as they stand in a record: one, or several in doubt.
pub(crate) const fn reply(answers: Vec<String>) -> KeyReply {
    KeyReply::Between(answers)
}

impl KeyScreen {
    pub(crate) fn of(view: &KeyView, voice: Voice) -> Self {
        let (asked, done) = match &view.next {
            KeyNext::Question(asked) => (Some(KeyQuestion::of(asked, voice)), None),
            KeyNext::Done(why) => (None, Some(voice.message(why))),
        };
        let best = view.support.first().map_or_else(String::new, |best| voice.message(&best.text));
        Self {
            title: voice.plain("phone.key"),
            question: asked,
            done,
            support_title: voice.plain("key.support"),
            support: view
                .support
                .iter()
                .map(|one| KeySupport {
                    outcome: KeyOutcome {
                        outcome: one.outcome.to_string(),
                        label: voice.message(&one.text),
                        drawing: one.drawing.clone(),
                    },
                    share: one.support,
                    percent: percent(voice.language, one.support, 0),
                })
                .collect(),
            proposal: proposal(view, voice),
            reasons: view.reasons.iter().filter_map(|one| reason(one, &best, &view.answers, voice)).collect(),
            disagree: view.disagree.as_ref().map(|[one, other]| {
                let told = |question| told(question, &view.answers, voice);
                voice.say("key.disagree", &[("one", told(one).into()), ("other", told(other).into())])
            }),
            answers: view.answers.iter().map(|one| answered(one, voice)).collect(),
            skipped: view
                .skipped
                .iter()
                .map(|(character, question)| KeyAnswered {
                    character: character.to_string(),
                    question: voice.message(question),
                    answer: String::new(),
                })
                .collect(),
            notes: view.notes.iter().map(|note| voice.message(note)).collect(),
            means: means(&view.means, voice),
            beyond_guess: view.beyond_guess.then(|| Label::plain(voice.plain("phone.key-beyond"))),
        }
    }
}

impl KeyQuestion {
    pub(crate) fn of(question: &Question, voice: Voice) -> Self {
        let (states, number) = match &question.says {
            KeySays::States(states) => (states.as_slice(), None),
            KeySays::Number { unit, least, most, drawing } => {
                let (unit, drawing) = ((*unit).to_owned(), drawing.clone());
                (&[][..], Some(KeyNumber { unit, least: *least, most: *most, drawing }))
            }
        };
        Self {
            character: question.character.to_string(),
            text: voice.message(&question.text),
            by: voice.message(&question.by_text),
            not_sure: (!states.is_empty()).then(|| Label::plain(voice.plain("key.not-sure"))),
            states: states
                .iter()
                .map(|state| KeyState {
                    answer: state.answer.to_string(),
                    label: voice.message(&state.text),
                    drawing: state.drawing.clone(),
                })
                .collect(),
            number,
            could_not_look: Label::plain(voice.plain("key.skip")),
        }
    }
}

fn outcome(view: &Outcome, voice: Voice) -> KeyOutcome {
    KeyOutcome { outcome: view.outcome.to_string(), label: voice.message(&view.text), drawing: view.drawing.clone() }
}

fn means(all: &[(handset::views::Means, bool)], voice: Voice) -> Vec<Choice> {
    all.iter()
        .map(|(means, chosen)| Choice {
            name: means.name().into(),
            label: voice.plain(&format!("key.means.{means}")),
            chosen: *chosen,
        })
        .collect()
}

fn proposal(view: &KeyView, voice: Voice) -> KeyProposal {
    let proposal = &view.proposal;
    let among = proposal.among.iter().map(|one| voice.message(one));
    let what = among.reduce(|first, second| voice.either(first, second)).unwrap_or_default();
    let id = match (&proposal.counts, proposal.among.len()) {
        (None, _) => "key.proposes-not-this",
        (Some(_), 1) => "key.proposes",
        (Some(_), _) => "key.proposes-doubt",
    };
    KeyProposal {
        text: voice.say(id, &[("what", what.into())]),
        percent: percent(voice.language, proposal.support, 0),
        put: view.offered.then(|| Label::plain(put(proposal, voice))),
        counted: proposal.counts.is_some(),
    }
}

fn reason(reason: &KeyReason, best: &str, answers: &[KeyAnswer], voice: Voice) -> Option<String> {
    let side = if reason.weight >= LEAST_WEIGHT {
        "key.for"
    } else if reason.weight <= -LEAST_WEIGHT {
        "key.against"
    } else {
        return None;
    };
    let answer = answers.iter().find(|answer| answer.question == reason.question)?;
    let told = [("question", voice.message(&answer.question).into()), ("answer", said(answer, voice).into())];
    let answer = voice.say("key.reason", &told);
    Some(
        voice.say(
            "key.speaks",
            &[("side", voice.plain(side).into()), ("outcome", best.into()), ("answer", answer.into())],
        ),
    )
}

/// A question with its answer, as one of two that disagree.
fn told(question: &Message, answers: &[KeyAnswer], voice: Voice) -> String {
    let answer = answers.iter().find(|answer| answer.question == *question);
    format!("“{} {}”", voice.message(question), answer.map_or_else(String::new, |answer| said(answer, voice)))
}

fn answered(answer: &KeyAnswer, voice: Voice) -> KeyAnswered {
    KeyAnswered {
        character: answer.character.to_string(),
        question: voice.message(&answer.question),
        answer: said(answer, voice),
    }
}

fn said(answer: &KeyAnswer, voice: Voice) -> String {
    let texts = answer.texts.iter().map(|text| voice.message(text));
    let states = texts.reduce(|first, second| voice.either(first, second));
    let number = answer.value.map(|value| {
        let number = decimal(voice.language, value, 1);
        if answer.unit.is_empty() { number } else { format!("{number}\u{a0}{}", answer.unit) }
    });
    states.or(number).unwrap_or_default()
}

/// What a count of the proposal would be.
fn put(proposal: &Proposal, voice: Voice) -> String {
    match &proposal.counts {
        Some(counts) => {
            let state = counts.state.filter(|state| *state != AnimalState::Alive);
            let what = voice.what(&counts.what);
            let what = state.map_or(what.clone(), |state| format!("{what}, {}", words::state(voice.language, state)));
            voice.say("key.counts-as", &[("what", what.into())])
        }
        None => voice.plain("phone.key-note-not-this"),
    }
}
