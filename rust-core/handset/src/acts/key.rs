//! Acts on the stage key.
//!
//! A session of the key is what was answered so far about one thing on a leaf. It is written down with each answer, so
//! that a phone that dies in between goes on where it was; but it is no entry, for nothing of it is counted yet. The act
//! that counts what came of it writes the answers into the count, as its evidence, and ends the session, in one
//! transaction.

use super::Beside;
use super::count::Count;
use crate::error::{Error, HandsetError, Why};
use crate::object::{Handset, set, setting};
use crate::views::{KeyQuestion, KeyView, PlantView, key as view};
use rusqlite::Connection;
use stagekey::{Answer, Counts, Key, KeySession, Means};
use std::collections::BTreeSet;
use std::sync::LazyLock;
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
    /// session: one act.
    ///
    /// # Errors
    /// `no-key`; `not-counted` where the proposal is none of this species and nothing is counted instead; those of
    /// [`Handset::count`].
    pub fn count_from_key(&mut self, count: KeyCount) -> Result<PlantView, HandsetError> {
        let session = self.session()?;
        let proposal = session.proposal(&KEY).map_err(Error::from)?;
        let (what, state) = match (count.instead, proposal.counts) {
            (Some(instead), _) => instead,
            (None, Counts::This { what, state }) => (what, state.unwrap_or(AnimalState::Alive)),
            (None, Counts::NotThis) => {
                return Err(Error::refused(Why::NotCounted, proposal.among[0].as_str()).into());
            }
        };
        let evidence = session.evidence(&KEY, None).map_err(Error::from)?;
        let counted = Count { what, state, number: count.number, key: Some(evidence), check: count.check };
        self.count_beside(counted, Some(Beside::KeyDone))
    }

    fn keep_session(&mut self, session: &KeySession) -> Result<KeyView, HandsetError> {
        let text = serde_json::to_string(session).map_err(Error::from)?;
        set(&self.db, SESSION, text)?;
        Ok(view::view(self, session)?)
    }

    fn session(&self) -> Result<KeySession, Error> {
        let text: Option<String> = setting(&self.db, SESSION)?;
        text.and_then(|text| read(&text)).ok_or_else(|| Error::refused(Why::NoKey, "no session is going on"))
    }
}

/// Ends the session that is going on.
pub(super) fn end(db: &Connection) -> Result<(), Error> {
    db.prepare_cached("DELETE FROM setting WHERE name = ?1")?.execute([SESSION])?;
    Ok(())
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
