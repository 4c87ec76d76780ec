//! The screen of practice.

use super::message::{Argument, Message};
use crate::acts::KEY;
use practice::{Answered, Cell, Choice, Item, Kind, Marks, Scale, Score, Shows, Topic};
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
    /// How often one was taken for another.
    pub confused: Vec<Message>,
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
    /// Right or not, with the truth, in words.
    pub verdict: Message,
    /// What decides, in words.
    pub decides: Message,
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
        score: PracticeScore {
            look_at: score.look_at.iter().map(|topic| about(*topic)).collect(),
            confused: score.matrix.iter().filter(|cell| cell.truth != cell.answered).map(confused).collect(),
            score,
        },
    }
}

impl PracticeView {
    /// Whether the drawing shows no size, which is to be said.
    pub fn hides_size(&self) -> bool {
        self.scale == Scale::Hidden
    }
}

pub(crate) fn marked(marks: &Marks, next: PracticeView) -> PracticeMarked {
    let deciding = marks.deciding.as_ref();
    let question = deciding.map(|(character, _)| KEY.question_text(character));
    let seen = deciding.and_then(|(character, state)| state.as_ref().map(|state| KEY.state_text(character, state)));
    let verdict = match (marks.right, marks.truth) {
        (true, _) => Message::new("practice.right"),
        (false, Choice::Is(_)) => Message::new("practice.wrong").with("truth", word(marks.truth)),
        (false, Choice::SameInstar | Choice::OtherInstar) => {
            Message::new("practice.wrong-pair").with("truth", word(marks.truth))
        }
    };
    let decides = match (&question, &seen) {
        (Some(question), Some(seen)) => Message::new("practice.decides-state")
            .with("character", Argument::Word(question.clone()))
            .with("state", Argument::Word(seen.clone())),
        (Some(question), None) => Message::new("practice.decides").with("character", Argument::Word(question.clone())),
        (None, _) => Message::new("practice.only-grown"),
    };
    PracticeMarked {
        right: marks.right,
        truth: said(marks.truth),
        question: question.map(Message::new),
        seen: seen.map(Message::new),
        verdict,
        decides,
        next,
    }
}

fn confused(cell: &Cell) -> Message {
    Message::new("practice.confused")
        .with("truth", word(cell.truth))
        .with("answered", word(cell.answered))
        .with("number", Argument::Number(cell.number.into()))
}

fn word(choice: Choice) -> Argument {
    Argument::Word(said(choice).id)
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
