//! The screen of practice.

use super::message::{Argument, Message};
use crate::acts::KEY;
use practice::{Answered, Choice, Item, Kind, Marks, Scale, Score, Shows, Topic};
use serde::Serialize;

/// Items of a round.
const ROUND: usize = 20;

/// What practice shows. Its drawing is [`crate::Handset::practice_drawing`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PracticeView {
    /// The name by which it is answered. It is not shown, for it tells what the item is about.
    pub item: String,
    /// What is asked.
    pub asks: Message,
    /// What can be answered.
    pub choices: Vec<PracticeChoice>,
    /// Whether the drawing shows a size.
    pub scale: Scale,
    /// Which item of its round it is, from 1.
    pub number: usize,
    /// Items of a round.
    pub of: usize,
    /// The answers of this round; of the one before where this one has none yet.
    pub score: PracticeScore,
}

/// An answer to choose.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PracticeChoice {
    /// The choice.
    pub choice: Choice,
    /// Its words.
    pub text: Message,
}

/// How a round went.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PracticeScore {
    /// Numbers, with the matrix of what was answered as what.
    pub score: Score,
    /// What to look at next, the most needed first.
    pub look_at: Vec<Message>,
}

/// What is said of an answer. Its drawing is [`crate::Handset::practice_explained`].
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PracticeMarked {
    /// Right or not.
    pub right: bool,
    /// The truth.
    pub truth: Message,
    /// The question that decides; nothing where both larvae are of one instar.
    pub question: Option<Message>,
    /// What is seen here.
    pub seen: Option<Message>,
    /// What comes next.
    pub next: PracticeView,
}

pub(crate) fn view(item: &Item, answered: &[Answered]) -> PracticeView {
    let done = answered.len() % ROUND;
    let own = if done == 0 { ROUND.min(answered.len()) } else { done };
    let score = Score::of(&answered[answered.len() - own..]);
    let choices = item.choices().into_iter();
    PracticeView {
        item: item.name.clone(),
        asks: Message::new(match item.shows {
            Shows::One(_) => "practice.what-is-it",
            Shows::Two(..) => "practice.same-instar",
        }),
        choices: choices.map(|choice| PracticeChoice { choice, text: said(choice) }).collect(),
        scale: item.scale,
        number: done + 1,
        of: ROUND,
        score: PracticeScore { look_at: score.look_at.iter().map(|topic| about(*topic)).collect(), score },
    }
}

pub(crate) fn marked(marks: &Marks, next: PracticeView) -> PracticeMarked {
    let deciding = marks.deciding.as_ref();
    PracticeMarked {
        right: marks.right,
        truth: said(marks.truth),
        question: deciding.map(|(character, _)| Message::new(KEY.question_text(character))),
        seen: deciding
            .and_then(|(character, state)| state.as_ref().map(|state| Message::new(KEY.state_text(character, state)))),
        next,
    }
}

fn said(choice: Choice) -> Message {
    match choice {
        Choice::Is(kind) => Message::new(outcome(kind)),
        Choice::SameInstar => Message::new("practice.same"),
        Choice::OtherInstar => Message::new("practice.different"),
    }
}

fn about(topic: Topic) -> Message {
    let word = |kind| Argument::Word(outcome(kind));
    match topic {
        Topic::Between(one, other) => {
            Message::new("practice.between").with("one", word(one)).with("other", word(other))
        }
        Topic::SameInstar(one) => Message::new("practice.pair-of").with("one", word(one)),
    }
}

fn outcome(kind: Kind) -> String {
    format!("key.{}.outcome.{}", KEY.id(), kind.name())
}
