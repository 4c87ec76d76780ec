//! Practice.

use super::{Choice, Label};
use crate::voice::Voice;
use handset::HandsetError;
use handset::views::{PracticeAnswer, PracticeMarked, PracticeView};
use messages::decimal;

/// What practice shows: its drawing is `practice_drawing`.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PracticeScreen {
    /// Title.
    pub title: String,
    /// The name by which it is answered. It is not to be shown, for it tells what the item is about.
    pub item: String,
    /// What is asked.
    pub asks: String,
    /// What can be answered.
    pub choices: Vec<Choice>,
    /// Said where the drawing shows no size.
    pub no_scale: Option<String>,
    /// Which item of the round it is.
    pub progress: String,
    /// How this round went, or the one before where this one has just begun: a line each, first the result.
    pub result: Vec<String>,
    /// How often one was taken for another, a line each.
    pub confused: Vec<String>,
    /// What to look at next, a line each.
    pub look_at: Vec<String>,
    /// That practice changes no counts.
    pub note: String,
}

/// What is said of an answer: its drawing is `practice_explained`.
#[derive(Debug, Clone, uniffi::Record)]
pub struct PracticeMarks {
    /// Right or not.
    pub right: bool,
    /// The same in words, with the truth.
    pub verdict: String,
    /// What decides.
    pub decides: String,
    /// The label of going on.
    pub go_on: Label,
    /// What comes next.
    pub next: PracticeScreen,
}

/// The choice of this name.
pub(crate) fn read_choice(name: &str) -> Result<PracticeAnswer, HandsetError> {
    PracticeAnswer::named(name).ok_or_else(|| HandsetError::not_here(name))
}

impl PracticeScreen {
    pub(crate) fn of(view: &PracticeView, voice: Voice) -> Self {
        let score = &view.score.score;
        let kappa = score
            .kappa
            .map(|kappa| voice.say("practice.kappa", &[("kappa", decimal(voice.language, kappa, 2).into())]));
        let right = (score.asked > 0)
            .then(|| voice.say("practice.result", &[("right", score.right.into()), ("asked", score.asked.into())]));
        let nothing_wrong = (score.asked > 0 && score.asked == score.right).then(|| voice.plain("practice.none-wrong"));
        let confused = view.score.confused.iter();
        Self {
            title: voice.plain("phone.practice"),
            item: view.item.clone(),
            asks: voice.message(&view.asks),
            choices: view
                .choices
                .iter()
                .map(|choice| Choice {
                    name: choice.choice.name().into(),
                    label: voice.message(&choice.text),
                    chosen: false,
                })
                .collect(),
            no_scale: view.hides_size().then(|| voice.plain("practice.no-scale")),
            progress: voice.say("practice.item", &[("number", view.number.into()), ("total", view.of.into())]),
            result: [right, kappa, nothing_wrong].into_iter().flatten().collect(),
            confused: confused.map(|message| voice.message(message)).collect(),
            look_at: view.score.look_at.iter().map(|topic| voice.message(topic)).collect(),
            note: voice.plain("practice.not-field"),
        }
    }
}

impl PracticeMarks {
    pub(crate) fn of(marked: &PracticeMarked, voice: Voice) -> Self {
        Self {
            right: marked.right,
            verdict: voice.message(&marked.verdict),
            decides: voice.message(&marked.decides),
            go_on: Label::plain(voice.plain("phone.go-on-practice")),
            next: PracticeScreen::of(&marked.next, voice),
        }
    }
}
