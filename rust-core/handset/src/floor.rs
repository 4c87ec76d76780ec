//! What a tap is measured against: one bare row, durable, in a database of its own beside the journal, through a connection
//! with the journal's own settings. Only measurements turn this on.

use crate::error::{Error, HandsetError};
use crate::journal::connection;
use crate::object::Handset;
use rusqlite::Connection;
use std::path::PathBuf;
use std::sync::{Mutex, PoisonError};
use std::time::{Duration, Instant};

/// About the octets of an entry that a tap makes.
const ROW: [u8; 400] = [7; 400];

/// The database stays open, as the journal does.
static BARE: Mutex<Option<(PathBuf, Connection)>> = Mutex::new(None);

impl Handset {
    /// Puts one row down, durable when this returns, and says how long that took.
    ///
    /// # Errors
    /// Storage.
    pub fn bare_insert(&self) -> Result<Duration, HandsetError> {
        let mut bare = BARE.lock().unwrap_or_else(PoisonError::into_inner);
        let (_, db) = match bare.take().filter(|(folder, _)| *folder == self.folder) {
            Some(open) => bare.insert(open),
            None => bare.insert((self.folder.clone(), self.bare()?)),
        };
        #[expect(clippy::disallowed_methods, reason = "this is a measurement")]
        let began = Instant::now();
        db.execute("INSERT INTO bare (octets) VALUES (?1)", [&ROW]).map_err(Error::from)?;
        Ok(began.elapsed())
    }

    fn bare(&self) -> Result<Connection, Error> {
        let db = connection::writer(&self.folder.join("bare.sqlite"), None)?;
        db.execute_batch("CREATE TABLE IF NOT EXISTS bare (at INTEGER PRIMARY KEY, octets BLOB NOT NULL) STRICT")?;
        Ok(db)
    }
}
