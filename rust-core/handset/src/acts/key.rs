//! Acts on the stage key.
//!
//! A session of the key is what was answered so far about one thing on a leaf. It is written down with each answer, so
//! that a phone that dies in between goes on where it was; but it is no entry, for nothing of it is counted yet. The act
//! that counts what came of it writes the answers into the count, as its evidence, and ends the session, in one
//! transaction.

use super::count::Count;
use super::plant::the_check;
use super::{Beside, Plan, input};
use crate::error::{Error, HandsetError, Why};
use crate::object::{Handset, set, setting};
use crate::views::{KeyQuestion, KeyStartView, KeyView, PlantView, key as view};
use rusqlite::Connection;
use stagekey::{Answer, AnswerError, Counts, Key, KeySession, Means};
use std::collections::BTreeSet;
use std::sync::LazyLock;
use survey::check::{KeyEvidence, OtherNoted};
use survey::entry::Act;
use survey::ids::CheckId;
use survey::stage::{AnimalState, What};

/// The session that is going on.
const SESSION: &str = "key-session";

/// The key that phones carry.
pub(crate) static KEY: LazyLock<Key> = LazyLock::new(Key::monarch);

/// How a session begins.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct BeginKey {
    /// By what the observer can look.
    pub means: BTreeSet<Means>,
    /// What the observer thinks it is, by the name of an outcome: only what splits it from its neighbours is asked.
    pub guess: Option<String>,
}

/// What an observer says to a question.
#[derive(Debug, Clone, PartialEq)]
pub enum KeyReply {
    /// A state, several in doubt, or a number.
    Answer(Answer),
    /// A number as it was typed, `12.5` or `12,5`, or an answer as it stands in files.
    Typed(String),
    /// Not sure between these answers, each as it is typed.
    Between(Vec<String>),
    /// It could not be looked at.
    CouldNotLook,
    /// Asked again: what was said before is taken back.
    AskAgain,
}

/// What is counted when the key is done.
#[derive(Debug, Clone, PartialEq)]
pub struct KeyCount {
    /// Something else than what is proposed, where the observer decides so; the answers are kept all the same.
    pub instead: Option<(What, AnimalState)>,
    /// How many, 1 to 9999.
    pub number: u32,
    /// The plant; `None` for the open one.
    pub check: Option<CheckId>,
}

impl KeyCount {
    /// One, as proposed, on the open plant.
    pub const ONE: Self = Self { instead: None, number: 1, check: None };
}

impl Handset {
    /// Begins a session of the stage key; one that was going on is dropped.
    ///
    /// # Errors
    /// `answer-not-usable` for a guess that is no outcome; storage.
    pub fn begin_key(&mut self, begin: &BeginKey) -> Result<KeyView, HandsetError> {
        let means = begin.means.clone();
        let session = match &begin.guess {
            Some(guess) => KeySession::begin_with_guess(&KEY, means, guess).map_err(Error::from)?,
            None => KeySession::begin(&KEY, means),
        };
        self.keep_session(&session)
    }

    /// What is asked before a session begins.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn key_start(&self) -> Result<KeyStartView, HandsetError> {
        let left: Option<String> = setting(&self.db, SESSION)?;
        Ok(view::start(left.is_some()))
    }

    /// The session that is going on, as it stands: also after the phone died in between.
    ///
    /// # Errors
    /// `no-key`; storage.
    pub fn key(&self) -> Result<KeyView, HandsetError> {
        Ok(view::view(self, &self.session()?)?)
    }

    /// A question of the key by itself: to answer it, or to answer it otherwise than before.
    ///
    /// # Errors
    /// `no-key`, `answer-not-usable` for an unknown character; storage.
    pub fn key_question(&self, character: &str) -> Result<KeyQuestion, HandsetError> {
        let session = self.session()?;
        let found = KEY.character(character).ok_or_else(|| Error::refused(Why::NotHere, character))?;
        Ok(view::question(found, view::usual(found, &session)))
    }

    /// Answers a question, the one that was asked or any other; all other answers stay.
    ///
    /// # Errors
    /// `no-key`, `answer-not-usable`; storage.
    pub fn answer_key(&mut self, character: &str, reply: &KeyReply) -> Result<KeyView, HandsetError> {
        let session = self.session()?;
        let answered = match reply {
            KeyReply::Answer(answer) => session.answered(&KEY, character, answer.clone()),
            KeyReply::Typed(text) => session.typed(&KEY, character, text),
            KeyReply::Between(texts) => {
                between(&session, character, texts).and_then(|answer| session.answered(&KEY, character, answer))
            }
            KeyReply::CouldNotLook => session.skipped(&KEY, character),
            KeyReply::AskAgain => Ok(session.withdrawn(character)),
        };
        self.keep_session(&answered.map_err(Error::from)?)
    }

    /// Goes on asking beyond the guess.
    ///
    /// # Errors
    /// `no-key`; storage.
    pub fn ask_beyond_guess(&mut self) -> Result<KeyView, HandsetError> {
        let session = self.session()?.going_on();
        self.keep_session(&session)
    }

    /// Allows other means for what is asked from here on; answers stay.
    ///
    /// # Errors
    /// `no-key`; storage.
    pub fn look_by(&mut self, means: BTreeSet<Means>) -> Result<KeyView, HandsetError> {
        let session = self.session()?.with_means(means);
        self.keep_session(&session)
    }

    /// Ends the session without a count.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn drop_key(&mut self) -> Result<(), HandsetError> {
        Ok(end(&self.db)?)
    }

    /// Counts what the key proposes, or what the observer decides instead, with the answers as evidence, and ends the
    /// session: one act. What is proposed to be none of this species is noted on the plant as something else: no total
    /// and no estimate has it.
    ///
    /// # Errors
    /// `no-key`; those of [`Handset::count`].
    pub fn count_from_key(&mut self, count: KeyCount) -> Result<PlantView, HandsetError> {
        let session = self.session()?;
        let proposal = session.proposal(&KEY).map_err(Error::from)?;
        let key = Some(session.evidence(&KEY, None).map_err(Error::from)?);
        let (what, state) = match (count.instead, proposal.counts) {
            (Some(instead), _) => instead,
            (None, Counts::This { what, state }) => (what, state.unwrap_or(AnimalState::Alive)),
            (None, Counts::NotThis) => return self.note_other(count.check, count.number, key),
        };
        let counted = Count { what, state, number: count.number, key, check: count.check };
        self.count_beside(counted, Some(Beside::KeyDone))
    }

    fn note_other(
        &mut self,
        check: Option<CheckId>,
        number: u32,
        key: Option<KeyEvidence>,
    ) -> Result<PlantView, HandsetError> {
        let number = input::count(number)?;
        let hand = self.in_hand()?;
        let check = the_check(&hand, check)?.id;
        let plan = Plan::one(hand.scope(), Act::OtherNoted(OtherNoted { check, number, key }));
        self.commit(&plan.beside(Beside::KeyDone))?;
        self.plant(check)
    }

    pub(super) fn keep_session(&mut self, session: &KeySession) -> Result<KeyView, HandsetError> {
        let text = serde_json::to_string(session).map_err(Error::from)?;
        set(&self.db, SESSION, text)?;
        Ok(view::view(self, session)?)
    }

    pub(super) fn session(&self) -> Result<KeySession, Error> {
        let text: Option<String> = setting(&self.db, SESSION)?;
        text.and_then(|text| read(&text)).ok_or_else(|| Error::refused(Why::NoKey, "no session is going on"))
    }
}

/// Ends the session that is going on.
pub(super) fn end(db: &Connection) -> Result<(), Error> {
    db.prepare_cached("DELETE FROM setting WHERE name = ?1")?.execute([SESSION])?;
    Ok(())
}

/// Doubt between the states that these answers name; the means are those of the first. One answer alone is that answer.
fn between(session: &KeySession, character: &str, texts: &[String]) -> Result<Answer, AnswerError> {
    let parsed = texts.iter().map(|text| Answer::parse(&KEY, character, text, session.means()));
    let answers = parsed.collect::<Result<Vec<_>, _>>()?;
    if let [one] = &answers[..] {
        return Ok(one.clone());
    }
    let by = answers.first().map_or(Means::Eye, Answer::by);
    let states = answers.into_iter().flat_map(|answer| match answer {
        Answer::Is { state, .. } => vec![state],
        Answer::Between { states, .. } => states.into_iter().collect(),
        Answer::Measures { .. } => Vec::new(),
    });
    Ok(Answer::Between { states: states.collect(), by })
}

/// A session that was written down. One that an earlier version of the key wrote keeps the answers that can still be
/// read.
fn read(text: &str) -> Option<KeySession> {
    let session: KeySession = serde_json::from_str(text).ok()?;
    if let Ok(session) = session.clone().checked(&KEY) {
        return Some(session);
    }
    let begun = KeySession::begin(&KEY, session.means().clone());
    Some(session.answers().iter().fold(begun, |kept, (character, answer)| {
        kept.answered(&KEY, character.as_str(), answer.clone()).unwrap_or(kept)
    }))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn answers_given_to_an_earlier_key_are_kept_where_they_can_be_read() {
        let session = KeySession::begin(&KEY, [Means::Eye].into());
        let session = session.typed(&KEY, "pairs", "two").unwrap().typed(&KEY, "body-length", "12").unwrap();
        let text = serde_json::to_string(&session).unwrap();
        assert_eq!(read(&text), Some(session));
        let other = text.replace(&KEY.hash().to_string(), &"0".repeat(64)).replace("\"two\"", "\"seven\"");
        let kept = read(&other).unwrap();
        assert_eq!(kept.answers().keys().map(stagekey::CharacterId::as_str).collect::<Vec<_>>(), ["body-length"]);
        assert_eq!(read("{"), None);
    }
}
