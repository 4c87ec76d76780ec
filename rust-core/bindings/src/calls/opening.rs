//! Opening, words and drawings.

use super::{fixed, opened};
use crate::failure::Failure;
use crate::held::Held;
use crate::object::Leafturn;
use crate::records::{self, Drawing, Opened, Opening};
use handset::HandsetError;
use std::collections::HashMap;
use std::sync::Arc;

#[uniffi::export]
impl Leafturn {
    /// Opens the journal, which is made where there is none.
    #[uniffi::constructor]
    pub fn open(opening: Opening) -> Result<Arc<Self>, Failure> {
        Ok(Arc::new(Self { held: Held::open(opening)? }))
    }

    /// What opening came upon, to be said once.
    pub fn opened(&self) -> Result<Opened, Failure> {
        self.held.act(|handset, voice| Ok(opened(handset, voice)))
    }

    /// Fixed words of the screens by id: all of `phone.` and `cautions.` that have nothing to fill in.
    pub fn words(&self) -> Result<HashMap<String, String>, Failure> {
        Ok(fixed(self.held.voice()))
    }

    /// Speaks another language from here on; returns its fixed words.
    pub fn set_language(&self, tag: String) -> Result<HashMap<String, String>, Failure> {
        Ok(fixed(self.held.speak(&tag)))
    }

    /// Local time is so many minutes ahead of UTC from here on.
    pub fn set_offset(&self, minutes: i16) -> Result<(), Failure> {
        self.held.set_offset(minutes);
        Ok(())
    }

    /// The drawing of a stage, as large as fits.
    pub fn drawing(&self, name: String, width: u32, height: u32) -> Result<Drawing, Failure> {
        self.held.act(|_, voice| {
            records::specimen(&name, records::size(width, height), voice).ok_or_else(|| HandsetError::not_here(&name))
        })
    }
}
