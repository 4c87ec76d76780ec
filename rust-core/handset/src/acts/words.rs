//! Notes, and the names of people: what can be erased.

use super::{Beside, Plan, input};
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use ::sync::engine::KnownText;
use rusqlite::{OptionalExtension, params};
use std::collections::BTreeMap;
use survey::chain::{Hash, blob_hash};
use survey::entry::{Act, Erased, Scope};
use survey::ids::{ObserverId, SiteId};
use survey::site::Note;

impl Handset {
    /// Writes a note on a site, or with `None` on the visit in hand. Its text lies outside the journal, which has
    /// only its salted hash. Returns the hash.
    ///
    /// # Errors
    /// `no-visit`, `not-here`, `text-not-usable`; storage.
    pub fn note(&mut self, site: Option<SiteId>, text: &str) -> Result<Hash, HandsetError> {
        let text = input::note(text)?;
        let scope = match site {
            None => self.in_hand()?.scope(),
            Some(site) => {
                self.known_site(site)?;
                Scope::Site(site)
            }
        };
        let salt = self.around.random.octets();
        let hash = blob_hash(salt, text.as_bytes());
        let plan = Plan::one(scope, Act::Noted(Note { text: hash }));
        self.commit(&plan.beside(Beside::Text { hash, salt, text }))?;
        self.text_added(KnownText { hash, stream: self.stream.id, seq: self.stream.head.seq });
        Ok(hash)
    }

    /// The text of a note; `None` where it was erased, or is not here.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn text(&self, hash: Hash) -> Result<Option<String>, HandsetError> {
        let found = self.db.query_row("SELECT text FROM text WHERE hash = ?1", [hash.0], |row| row.get(0)).optional();
        Ok(found.map_err(Error::from)?)
    }

    /// Erases the text of a note of the visit in hand or of a site: text and salt go, the entry and its hash stay,
    /// and the chain still verifies.
    ///
    /// # Errors
    /// `not-here`; storage.
    pub fn erase_text(&mut self, hash: Hash) -> Result<(), HandsetError> {
        let noted = |entry: &survey::entry::Entry| matches!(&entry.act, Act::Noted(note) if note.text == hash);
        let in_hand = self.hand().map_or(&self.memory.sites, |group| &group.fold);
        let found = in_hand.entries().find(|kept| noted(&kept.entry));
        let scope = found.map(|kept| kept.entry.scope).ok_or_else(|| Error::refused(Why::NotHere, hash))?;
        let plan = Plan::one(scope, Act::Erased(Erased { blob: hash })).beside(Beside::EraseText(hash));
        self.commit(&plan)?;
        self.text_gone(hash);
        Ok(crate::journal::erased::cut_log(&self.db)?)
    }

    /// Makes an observer, and keeps the name in a table that never leaves this device with the journal.
    ///
    /// # Errors
    /// `text-not-usable`; storage.
    pub fn add_observer(&mut self, name: &str) -> Result<ObserverId, HandsetError> {
        let observer = self.draw(|_, octets| ObserverId::random(octets));
        self.name_observer(observer, name)?;
        Ok(observer)
    }

    /// Keeps a name for an observer, or another one than before.
    ///
    /// # Errors
    /// `text-not-usable`; storage.
    pub fn name_observer(&mut self, observer: ObserverId, name: &str) -> Result<(), HandsetError> {
        let name = input::name(name)?;
        let written = self.db.execute(
            "INSERT INTO observer (observer, name) VALUES (?1, ?2) \
             ON CONFLICT (observer) DO UPDATE SET name = excluded.name",
            params![observer.octets(), name],
        );
        written.map_err(Error::from)?;
        Ok(())
    }

    /// Forgets the name of an observer; the random id in entries stays.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn forget_observer(&mut self, observer: ObserverId) -> Result<(), HandsetError> {
        let forgotten = self.db.execute("DELETE FROM observer WHERE observer = ?1", [observer.octets()]);
        forgotten.map_err(Error::from)?;
        Ok(crate::journal::erased::cut_log(&self.db)?)
    }

    /// Names of observers that are kept here.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn observers(&self) -> Result<BTreeMap<ObserverId, String>, HandsetError> {
        let read = || -> Result<_, Error> {
            let mut statement = self.db.prepare_cached("SELECT observer, name FROM observer")?;
            let rows = statement.query_map([], |row| Ok((ObserverId::from_octets(row.get(0)?), row.get(1)?)))?;
            Ok(rows.collect::<Result<_, _>>()?)
        };
        Ok(read()?)
    }
}
