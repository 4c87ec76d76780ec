//! What this phone keeps of a person, to be seen and let go of.

use crate::error::{Error, HandsetError};
use crate::journal::files;
use crate::object::Handset;
use serde::Serialize;
use std::collections::BTreeMap;
use survey::ids::ObserverId;

/// Everything that is kept here, by number.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct MineView {
    /// Names of observers: they are on this phone alone.
    pub observers: BTreeMap<ObserverId, String>,
    /// Entries made here.
    pub made: u64,
    /// Entries of others that a station sent.
    pub received: u64,
    /// Entries that no station has yet.
    pub waiting: u64,
    /// Photos whose files are here.
    pub photos: u64,
    /// Notes whose texts are here.
    pub notes: u64,
}

impl Handset {
    /// What is kept here.
    ///
    /// # Errors
    /// Those of the storage.
    pub fn mine(&self) -> Result<MineView, HandsetError> {
        let count = |sql: &str| -> Result<u64, Error> {
            let number: i64 = self.db.query_row(sql, [], |row| row.get(0))?;
            Ok(u64::try_from(number).unwrap_or(0))
        };
        Ok(MineView {
            observers: self.observers()?,
            made: count("SELECT count(*) FROM entry")?,
            received: count("SELECT count(*) FROM received")?,
            waiting: self.sync_status()?.streams.iter().map(|stream| stream.waits).sum(),
            photos: count("SELECT count(*) FROM photo WHERE name IS NOT NULL")?,
            notes: count("SELECT count(*) FROM text")?,
        })
    }

    /// Deletes everything in the handset's folder: journal, photos, notes, names. What no station has is lost. The next
    /// opening begins as on a phone that never counted.
    ///
    /// # Errors
    /// Those of the storage; what was deleted until then stays so.
    pub fn delete_everything(self) -> Result<(), HandsetError> {
        let folder = self.folder.clone();
        drop(self);
        Ok(files::remove_all(&folder)?)
    }
}
