//! Notes on a visit or a site.

use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use serde::Serialize;
use survey::chain::Hash;
use survey::fold::Told;
use survey::ids::SiteId;
use survey::time::{OffsetMinutes, UnixMs};

/// Notes, the latest last.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NotesView {
    /// The site that they are on; `None` for those of the visit in hand.
    pub site: Option<SiteId>,
    /// The number of the open plant, to begin a note with that is about it.
    pub plant: Option<u32>,
    /// The notes.
    pub notes: Vec<NoteRow>,
}

/// A note.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct NoteRow {
    /// The hash that names it.
    pub note: Hash,
    /// When it was written.
    pub at: UnixMs,
    /// Offset of local time.
    pub offset: OffsetMinutes,
    /// Its text; `None` where it was erased, or is on another phone.
    pub text: Option<String>,
}

impl Handset {
    /// The notes on a site, or with `None` those on the visit in hand.
    ///
    /// # Errors
    /// `no-visit`, `not-here`; storage.
    pub fn notes(&self, site: Option<SiteId>) -> Result<NotesView, HandsetError> {
        let (told, plant) = if let Some(site) = site {
            let state = self.memory.sites.site(site).ok_or_else(|| Error::refused(Why::NotHere, site))?;
            (state.notes, None)
        } else {
            let hand = self.in_hand()?;
            let notes = hand.group.state.as_ref().map(|state| state.notes.clone()).unwrap_or_default();
            (notes, hand.group.open_check().map(|check| check.number))
        };
        let row = |told: &Told<Hash>| {
            Ok(NoteRow { note: told.what, at: told.at, offset: told.offset, text: self.text(told.what)? })
        };
        Ok(NotesView { site, plant, notes: told.iter().map(row).collect::<Result<_, HandsetError>>()? })
    }
}
