//! Acts of practice. All that is kept of it is in the journal, under the scope of this device, which is fed to nobody;
//! what comes next follows from the answers there and a seed that each device draws for itself.

use super::Plan;
use super::key::KEY;
use crate::error::{Error, HandsetError, Why};
use crate::journal::rows;
use crate::object::Handset;
use crate::views::{PracticeMarked, PracticeView, practice as view};
use figure::specimen::Words;
use figure::{Figure, Size};
use practice::{Answered, Choice, Deck, Item};
use survey::entry::{Act, Entry, PracticeAnswered, Scope};

impl Handset {
    /// What practice shows next.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn practice(&mut self) -> Result<PracticeView, HandsetError> {
        let item = self.next_item()?;
        Ok(view::view(&item, self.practised()?))
    }

    /// The drawing of what practice shows: without names.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn practice_drawing(&mut self, size: Size, words: &Words) -> Result<Figure, HandsetError> {
        Ok(self.next_item()?.figure(size, words))
    }

    /// Answers what practice shows, by the item's name, so that a second press answers nothing else. Says what is
    /// right, and goes on to the next.
    ///
    /// # Errors
    /// `not-here` where this item is not the one shown, or has no such choice; storage.
    pub fn answer_practice(
        &mut self,
        item: &str,
        choice: Choice,
        took_ms: u32,
    ) -> Result<PracticeMarked, HandsetError> {
        let shown = self.next_item()?;
        if shown.name != item || !shown.choices().contains(&choice) {
            return Err(Error::refused(Why::NotHere, item).into());
        }
        let answered = shown.answered(choice, took_ms);
        let act = Act::PracticeAnswered(PracticeAnswered {
            item: answered.item.clone(),
            truth: answered.truth.name().to_owned(),
            answered: answered.answered.name().to_owned(),
            took_ms,
        });
        self.commit(&Plan::one(Scope::Device, act))?;
        self.practised()?;
        if let Some(all) = &mut self.practised {
            all.push(answered);
        }
        let marks = shown.marks(&KEY, choice);
        Ok(view::marked(&marks, self.practice()?))
    }

    /// The drawing of what was answered last: with names, and a ring about the part that decides.
    ///
    /// # Errors
    /// `not-here` where nothing was answered; storage.
    pub fn practice_explained(&mut self, size: Size, words: &Words) -> Result<Figure, HandsetError> {
        let deck = self.deck();
        let all = self.practised()?;
        let (last, before) = all.split_last().ok_or_else(|| Error::refused(Why::NotHere, "nothing was answered"))?;
        let item = deck.next(before);
        let marks = item.marks(&KEY, last.answered);
        Ok(item.explained(&marks, size, words))
    }

    fn next_item(&mut self) -> Result<Item, Error> {
        let deck = self.deck();
        Ok(deck.next(self.practised()?))
    }

    fn deck(&self) -> Deck {
        let mut head = [0; 8];
        head.copy_from_slice(&self.audit_seed[..8]);
        Deck::seeded(u64::from_le_bytes(head))
    }

    /// Everything answered on this device, in the order of its streams; read from the journal once.
    fn practised(&mut self) -> Result<&[Answered], Error> {
        if self.practised.is_none() {
            let mut all = Vec::new();
            rows::each_of_device(&self.db, |bytes| {
                if let Ok(Entry { act: Act::PracticeAnswered(own), .. }) = Entry::decode(bytes) {
                    all.extend(Answered::of_names(&own.item, &own.truth, &own.answered, own.took_ms));
                }
            })?;
            self.practised = Some(all);
        }
        Ok(self.practised.as_deref().unwrap_or_default())
    }
}
