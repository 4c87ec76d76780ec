//! The screen of the stage key.

use super::message::Message;
use crate::acts::KEY;
use crate::error::Error;
use crate::object::Handset;
use figure::specimen::{Words, character, character_state};
use figure::{Figure, Size};
use serde::Serialize;
use stagekey::{Answer, Character, CharacterId, Counts, KeySession, Kind, Means, Next, OutcomeId};
use survey::site::OtherDanaus;
use survey::stage::{AnimalState, Stage, What};

/// What the key asks, and what the answers say so far. Texts are ids of messages; drawings are named, see [`drawing`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyView {
    /// What comes next.
    pub next: KeyNext,
    /// Every outcome with its support under a uniform prior, the best first; they sum to one.
    pub support: Vec<KeySupport>,
    /// What is proposed.
    pub proposal: KeyProposal,
    /// What speaks for and against the best supported outcome, the weightiest first.
    pub reasons: Vec<KeyReason>,
    /// The two questions whose answers disagree most, if two do.
    pub disagree: Option<[Message; 2]>,
    /// What was answered.
    pub answers: Vec<KeyAnswer>,
    /// Questions that could not be looked at, by name and in words.
    pub skipped: Vec<(CharacterId, Message)>,
    /// By what one can look at all, and whether this observer can.
    pub means: Vec<(Means, bool)>,
    /// Whether nothing more is asked only because the guess was checked: [`Handset::ask_beyond_guess`] asks on.
    pub beyond_guess: bool,
    /// Whether the proposal is offered for the count: not before something was answered, or nothing is left to ask.
    pub offered: bool,
    /// What holds besides: that the numbers are not checked on real animals, and that related species breed here.
    pub notes: Vec<Message>,
}

/// Before a session: what the observer may think it is, and by what one can look.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyStartView {
    /// Every outcome that a session can begin with as a guess.
    pub guesses: Vec<KeyOutcome>,
    /// By what one can look, and whether it is offered as chosen: all but measuring, which takes long.
    pub means: Vec<(Means, bool)>,
    /// Whether a session was left and can be gone on with.
    pub going_on: bool,
}

/// What a thing on a leaf may be.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyOutcome {
    /// Its name.
    pub outcome: OutcomeId,
    /// Its words.
    pub text: Message,
    /// Its drawing.
    pub drawing: String,
}

/// What comes next.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum KeyNext {
    /// This question.
    Question(KeyQuestion),
    /// Nothing: the message says why.
    Done(Message),
}

/// A question.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyQuestion {
    /// The name by which it is answered.
    pub character: CharacterId,
    /// The question.
    pub text: Message,
    /// By what to look.
    pub by: Means,
    /// The same in words.
    pub by_text: Message,
    /// What can be said.
    pub says: KeySays,
}

/// What can be said to a question.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum KeySays {
    /// One of these, or several in doubt.
    States(Vec<KeyState>),
    /// A number in this unit; both ends are accepted.
    Number {
        /// `mm`, `mg`, or nothing.
        unit: &'static str,
        /// Least.
        least: f64,
        /// Greatest.
        most: f64,
        /// A drawing of what to measure.
        drawing: String,
    },
}

/// A state to choose.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyState {
    /// The answer that choosing it gives.
    pub answer: Answer,
    /// Its words.
    pub text: Message,
    /// Its drawing.
    pub drawing: String,
}

/// An outcome and how well it fits.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeySupport {
    /// Its name.
    pub outcome: OutcomeId,
    /// Its words.
    pub text: Message,
    /// Its drawing.
    pub drawing: String,
    /// 0 to 1.
    pub support: f64,
}

/// What is proposed.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyProposal {
    /// The outcomes that cannot be told apart, or the one; the best supported first.
    pub among: Vec<Message>,
    /// Their support together.
    pub support: f64,
    /// What a count of it would be; `None` where it is none of this species and is not counted.
    pub counts: Option<KeyCounts>,
}

/// What a count would be.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct KeyCounts {
    /// A stage or an undecided set.
    pub what: What,
    /// The state of the animal; `None` where dead and living ones are in question, which counts as alive.
    pub state: Option<AnimalState>,
}

/// One answer for or against.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyReason {
    /// The question.
    pub question: Message,
    /// Nats: above zero it speaks for the outcome, below against.
    pub weight: f64,
}

/// An answer that was given.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct KeyAnswer {
    /// The question's name.
    pub character: CharacterId,
    /// The question.
    pub question: Message,
    /// The answer.
    pub answer: Answer,
    /// Words of the state or states; none for a number.
    pub texts: Vec<Message>,
    /// The number, where it is one.
    pub value: Option<f64>,
    /// `mm`, `mg`, or nothing.
    pub unit: &'static str,
}

/// A drawing by its name in a record: `character/state`, `outcome/NAME`, or a character alone for all its states.
/// Nothing is returned for a name that no record holds. The words are those of the phone's language.
pub fn drawing(name: &str, size: Size, words: &Words) -> Option<Figure> {
    match name.split_once('/') {
        Some((own, state)) => character_state(own, state, size, words),
        None => character(name, size, words),
    }
}

pub(crate) fn view(handset: &Handset, session: &KeySession) -> Result<KeyView, Error> {
    let support = session.support(&KEY)?;
    let proposal = session.proposal(&KEY)?;
    let asked = session.next(&KEY)?;
    let beyond_guess = asked == Next::GuessChecked;
    let done = !matches!(asked, Next::Ask(_));
    let next = match asked {
        Next::Ask(asked) => match KEY.character(asked.character.as_str()) {
            Some(character) => KeyNext::Question(question(character, asked.by)),
            None => KeyNext::Done(Message::new("key.nothing-left")),
        },
        Next::Settled => KeyNext::Done(Message::new("key.settled")),
        Next::GuessChecked => KeyNext::Done(Message::new("key.guess-checked")),
        Next::NothingLeft => KeyNext::Done(Message::new("key.nothing-left")),
    };
    let counts = match &proposal.counts {
        Counts::This { what, state } => Some(KeyCounts { what: what.clone(), state: *state }),
        Counts::NotThis => None,
    };
    let reasons = session.reasons(&KEY, support[0].0.as_str())?;
    let disagree = session.contradiction(&KEY)?.map(|found| [&found.between.0, &found.between.1].map(asks));
    Ok(KeyView {
        next,
        notes: notes(handset, counts.as_ref()),
        support: support
            .into_iter()
            .map(|(outcome, support)| KeySupport {
                text: named(&outcome),
                drawing: format!("outcome/{outcome}"),
                outcome,
                support,
            })
            .collect(),
        proposal: KeyProposal { among: proposal.among.iter().map(named).collect(), support: proposal.support, counts },
        reasons: reasons
            .into_iter()
            .map(|reason| KeyReason { question: asks(&reason.character), weight: reason.weight })
            .collect(),
        disagree,
        answers: session.answers().iter().map(|(character, answer)| given(character, answer)).collect(),
        skipped: session.skips().iter().map(|character| (character.clone(), asks(character))).collect(),
        means: Means::ALL.map(|means| (means, session.means().contains(&means))).into(),
        beyond_guess,
        offered: !session.answers().is_empty() || done,
    })
}

/// The means by which a character is asked where it is asked by itself: that of the answer, the first allowed, or the
/// first there is.
pub(crate) fn usual(character: &Character, session: &KeySession) -> Means {
    let answered = session.answers().get(&character.id).map(Answer::by);
    let mut looks = character.looks.iter().map(|look| look.means);
    let first = looks.clone().next().unwrap_or(Means::Eye);
    answered.unwrap_or_else(|| looks.find(|means| session.means().contains(means)).unwrap_or(first))
}

pub(crate) fn question(character: &Character, by: Means) -> KeyQuestion {
    let says = match &character.kind {
        Kind::States(states) => KeySays::States(
            states
                .iter()
                .map(|state| KeyState {
                    answer: Answer::Is { state: state.id.clone(), by },
                    text: Message::new(KEY.state_text(&character.id, &state.id)),
                    drawing: format!("{}/{}", character.id, state.id),
                })
                .collect(),
        ),
        Kind::Number { unit, least, most, .. } => KeySays::Number {
            unit: unit.symbol(),
            least: *least,
            most: *most,
            drawing: format!("{}/measure", character.id),
        },
    };
    KeyQuestion {
        character: character.id.clone(),
        text: asks(&character.id),
        by,
        by_text: Message::new(format!("key.means.{by}")),
        says,
    }
}

pub(crate) fn start(going_on: bool) -> KeyStartView {
    KeyStartView {
        guesses: KEY
            .outcomes()
            .iter()
            .map(|outcome| KeyOutcome {
                outcome: outcome.id.clone(),
                text: named(&outcome.id),
                drawing: format!("outcome/{}", outcome.id),
            })
            .collect(),
        means: Means::ALL.map(|means| (means, means != Means::Measuring)).into(),
        going_on,
    }
}

fn given(character: &CharacterId, answer: &Answer) -> KeyAnswer {
    let texts = match answer {
        Answer::Is { state, .. } => vec![Message::new(KEY.state_text(character, state))],
        Answer::Between { states, .. } => {
            states.iter().map(|state| Message::new(KEY.state_text(character, state))).collect()
        }
        Answer::Measures { .. } => Vec::new(),
    };
    let value = match answer {
        Answer::Measures { value, .. } => Some(*value),
        Answer::Is { .. } | Answer::Between { .. } => None,
    };
    let unit = match KEY.character(character.as_str()).map(|found| &found.kind) {
        Some(Kind::Number { unit, .. }) => unit.symbol(),
        Some(Kind::States(_)) | None => "",
    };
    KeyAnswer { character: character.clone(), question: asks(character), answer: answer.clone(), texts, value, unit }
}

/// Where another *Danaus* breeds at the site in hand, eggs and first instars have no certain species.
fn notes(handset: &Handset, counts: Option<&KeyCounts>) -> Vec<Message> {
    let site = handset.in_hand().ok().and_then(|hand| handset.memory.sites.site(hand.site));
    let breed = site.is_some_and(|site| site.other_danaus == Some(OtherDanaus::Breed));
    let early = counts
        .is_some_and(|counts| counts.what.stages().iter().any(|stage| matches!(stage, Stage::Egg | Stage::Larva1)));
    let kin = (breed && early).then(|| Message::new("key.among-danaus"));
    std::iter::once(Message::new("key.support-note")).chain(kin).collect()
}

fn asks(character: &CharacterId) -> Message {
    Message::new(KEY.question_text(character))
}

fn named(outcome: &OutcomeId) -> Message {
    Message::new(KEY.outcome_text(outcome))
}
