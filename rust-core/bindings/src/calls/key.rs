//! The stage key, measuring for it, and practice.

use super::counting;
use crate::failure::Failure;
use crate::object::Leafturn;
use crate::records::{
    self, CountingScreen, Drawing, KeyBeginning, KeyQuestion, KeyScreen, KeyStartScreen, MeasureScreen, MeasuredLine,
    Measuring, PracticeMarks, PracticeScreen, read_choice, read_means, reply,
};
use handset::HandsetError;
use handset::acts::{KeyCount, KeyReply};
use survey::stage::{AnimalState, What};

#[uniffi::export]
impl Leafturn {
    /// What is asked before the key is begun.
    pub fn key_start(&self) -> Result<KeyStartScreen, Failure> {
        self.held.act(|handset, voice| Ok(KeyStartScreen::of(&handset.key_start()?, voice)))
    }

    /// Begins a session of the stage key; one that was going on is dropped.
    pub fn begin_key(&self, beginning: KeyBeginning) -> Result<KeyScreen, Failure> {
        self.held.act(|handset, voice| Ok(KeyScreen::of(&handset.begin_key(&beginning.read()?)?, voice)))
    }

    /// The session that is going on, as it stands: also after the phone died in between.
    pub fn key(&self) -> Result<KeyScreen, Failure> {
        self.held.act(|handset, voice| Ok(KeyScreen::of(&handset.key()?, voice)))
    }

    /// A question of the key by itself: to answer it otherwise than before.
    pub fn key_question(&self, character: String) -> Result<KeyQuestion, Failure> {
        self.held.act(|handset, voice| Ok(KeyQuestion::of(&handset.key_question(&character)?, voice)))
    }

    /// Answers a question by a state, several in doubt, or a number as it was typed; all other answers stay.
    pub fn answer_key(&self, character: String, answers: Vec<String>) -> Result<KeyScreen, Failure> {
        self.held.act(|handset, voice| Ok(KeyScreen::of(&handset.answer_key(&character, &reply(answers))?, voice)))
    }

    /// Says that a question could not be looked at.
    pub fn skip_question(&self, character: String) -> Result<KeyScreen, Failure> {
        self.held
            .act(|handset, voice| Ok(KeyScreen::of(&handset.answer_key(&character, &KeyReply::CouldNotLook)?, voice)))
    }

    /// Takes the answer or the skip of a question back.
    pub fn ask_again(&self, character: String) -> Result<KeyScreen, Failure> {
        self.held.act(|handset, voice| Ok(KeyScreen::of(&handset.answer_key(&character, &KeyReply::AskAgain)?, voice)))
    }

    /// Goes on asking beyond the guess.
    pub fn ask_beyond_guess(&self) -> Result<KeyScreen, Failure> {
        self.held.act(|handset, voice| Ok(KeyScreen::of(&handset.ask_beyond_guess()?, voice)))
    }

    /// Looks by these means from here on; answers stay.
    pub fn look_by(&self, means: Vec<String>) -> Result<KeyScreen, Failure> {
        self.held.act(|handset, voice| Ok(KeyScreen::of(&handset.look_by(read_means(&means)?)?, voice)))
    }

    /// Ends the session without a count.
    pub fn drop_key(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.drop_key()?;
            counting(handset, voice)
        })
    }

    /// Puts what the key proposes into the count of the open plant, with the answers as evidence, and ends the session.
    pub fn count_from_key(&self) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            handset.count_from_key(KeyCount::ONE)?;
            counting(handset, voice)
        })
    }

    /// Counts something else than the key proposes; the answers are kept all the same.
    pub fn count_from_key_as(&self, what: String, state: String) -> Result<CountingScreen, Failure> {
        self.held.act(|handset, voice| {
            let state = AnimalState::named(&state).ok_or_else(|| HandsetError::not_here(&state))?;
            handset
                .count_from_key(KeyCount { instead: Some((records::read::<What>(&what)?, state)), ..KeyCount::ONE })?;
            counting(handset, voice)
        })
    }

    /// What can be measured on a photo, and by what scale.
    pub fn measure(&self) -> Result<MeasureScreen, Failure> {
        self.held.act(|handset, voice| Ok(MeasureScreen::of(&handset.measure(), voice)))
    }

    /// What a line on a photo measures, before it is given as an answer.
    pub fn measured(&self, character: String, measuring: Measuring) -> Result<MeasuredLine, Failure> {
        self.held.act(|handset, voice| Ok(MeasuredLine::of(&handset.measured(&character, &measuring.read()?)?, voice)))
    }

    /// Answers a question of the key by what a line on a photo measures, with its error.
    pub fn answer_measured(&self, character: String, measuring: Measuring) -> Result<KeyScreen, Failure> {
        self.held
            .act(|handset, voice| Ok(KeyScreen::of(&handset.answer_measured(&character, &measuring.read()?)?, voice)))
    }

    /// What practice shows next.
    pub fn practice(&self) -> Result<PracticeScreen, Failure> {
        self.held.act(|handset, voice| Ok(PracticeScreen::of(&handset.practice()?, voice)))
    }

    /// The drawing of what practice shows: without names.
    pub fn practice_drawing(&self, width: u32, height: u32) -> Result<Drawing, Failure> {
        self.held.act(|handset, voice| {
            Ok(handset.practice_drawing(records::size(width, height), &records::words(voice))?.into())
        })
    }

    /// Answers what practice shows, by the item's name, and says what is right.
    pub fn answer_practice(&self, item: String, choice: String, took_ms: u32) -> Result<PracticeMarks, Failure> {
        self.held.act(|handset, voice| {
            Ok(PracticeMarks::of(&handset.answer_practice(&item, read_choice(&choice)?, took_ms)?, voice))
        })
    }

    /// The drawing of what was answered last: with names, and a ring about the part that decides.
    pub fn practice_explained(&self, width: u32, height: u32) -> Result<Drawing, Failure> {
        self.held.act(|handset, voice| {
            Ok(handset.practice_explained(records::size(width, height), &records::words(voice))?.into())
        })
    }
}
