//! Taking back, and taking that back.

use super::plant::open_check;
use super::{Plan, Screen};
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use rusqlite::{OptionalExtension, params};
use survey::entry::{Act, TakenBack};
use survey::fold::Kept;
use survey::ids::EntryId;
use survey::stage::What;

impl Handset {
    /// Takes the last act in the visit in hand back, whole: an empty plant's closing and the opening of the next go
    /// together. The screens' records say beforehand what it would be.
    ///
    /// # Errors
    /// `no-visit`, `nothing-to-take-back`; storage.
    pub fn take_back(&mut self) -> Result<Screen, HandsetError> {
        let last = self.in_hand()?.group.last_act().cloned();
        self.take_back_span_of(last)
    }

    /// Redoes what the last take-back took back, as long as no act followed it.
    ///
    /// # Errors
    /// `no-visit`, `nothing-to-take-back`; storage.
    pub fn redo(&mut self) -> Result<Screen, HandsetError> {
        let last = self.in_hand()?.group.last_take_back().cloned();
        self.take_back_span_of(last)
    }

    /// Takes one entry of this device back, wherever it stands, while a visit is in hand.
    ///
    /// # Errors
    /// `no-visit`, `not-here`, `not-own`, `nothing-to-take-back` where it is taken back already; storage.
    pub fn take_back_entry(&mut self, id: EntryId) -> Result<Screen, HandsetError> {
        // The screen that follows is the visit's: without one nothing is to be written.
        self.in_hand()?;
        let fold = self.hand().map(|group| &group.fold).filter(|fold| fold.entry(id).is_some());
        let fold = fold.unwrap_or(&self.memory.sites);
        let kept = fold.entry(id).ok_or_else(|| Error::refused(Why::NotHere, id))?;
        if kept.key.stream.device != self.device {
            return Err(Error::refused(Why::NotOwn, id).into());
        }
        if fold.is_void(id) {
            return Err(Error::refused(Why::NothingToTakeBack, id).into());
        }
        let plan = Plan::one(kept.entry.scope, Act::TakenBack(TakenBack { target: id }));
        self.commit(&plan)?;
        self.screen()
    }

    /// Takes the last count of a stage or undecided set on the open plant back that still has effect.
    ///
    /// # Errors
    /// `no-visit`, `no-plant-open`, `nothing-to-take-back`; storage.
    pub fn uncount(&mut self, what: &What) -> Result<Screen, HandsetError> {
        let hand = self.in_hand()?;
        let check = open_check(&hand)?.id;
        let fold = &hand.group.fold;
        let counts = fold.entries().filter(|kept| match &kept.entry.act {
            Act::Counted(counted) => counted.check == check && counted.what == *what,
            _ => false,
        });
        let own = counts.filter(|kept| kept.key.stream.device == self.device && !fold.is_void(kept.entry.id));
        let last = own.max_by_key(|kept| kept.key).map(|kept| kept.entry.id);
        self.take_back_entry(last.ok_or_else(|| Error::refused(Why::NothingToTakeBack, what))?)
    }

    fn take_back_span_of(&mut self, last: Option<Kept>) -> Result<Screen, HandsetError> {
        let last = last.ok_or_else(|| Error::refused(Why::NothingToTakeBack, "no act of this device"))?;
        let (first_seq, last_seq) = self.span_of(&last)?;
        let targets = self.in_hand()?.group.span(last.key.stream, first_seq, last_seq);
        let plan = targets.iter().fold(Plan::default(), |plan, kept| {
            plan.and(kept.entry.scope, Act::TakenBack(TakenBack { target: kept.entry.id }))
        });
        self.commit(&plan)?;
        self.screen()
    }

    /// The first and last sequence number of the act that an entry belongs to.
    fn span_of(&self, kept: &Kept) -> Result<(u64, u64), Error> {
        let seq = kept.key.seq.0;
        let at = i64::try_from(seq).unwrap_or(i64::MAX);
        let mut statement = self.db.prepare_cached(
            "SELECT first, last FROM act_span JOIN stream USING (stream) \
             WHERE epoch = ?1 AND last >= ?2 ORDER BY last LIMIT 1",
        )?;
        let found = statement
            .query_row(params![kept.key.stream.epoch.octets(), at], |row| {
                Ok((row.get::<_, i64>(0)?, row.get::<_, i64>(1)?))
            })
            .optional()?;
        Ok(match found {
            Some((first, last)) if first <= at => {
                (u64::try_from(first).unwrap_or(seq), u64::try_from(last).unwrap_or(seq))
            }
            _ => (seq, seq),
        })
    }
}
