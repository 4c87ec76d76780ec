//! Leaving nothing of what was erased: texts, photos, and what the log still has of them.

use crate::error::Error;
use rusqlite::{Connection, OptionalExtension, params};
use survey::chain::Hash;
use survey::ids::PhotoId;

/// What an erasure took away.
#[derive(Debug, Clone, PartialEq, Eq)]
pub(crate) enum Gone {
    /// A text.
    Text(Hash),
    /// A photo, and its file where there still was one.
    Photo(PhotoId, Option<String>),
}

/// Takes the text or photo of this hash away. Deleted content is overwritten in its page (`secure_delete`).
pub(crate) fn take_away(db: &Connection, blob: Hash) -> Result<Option<Gone>, Error> {
    if db.execute("DELETE FROM text WHERE hash = ?1", [blob.0])? > 0 {
        return Ok(Some(Gone::Text(blob)));
    }
    let sql = "SELECT photo, name FROM photo WHERE hash = ?1";
    let found: Option<([u8; 16], Option<String>)> =
        db.query_row(sql, [blob.0], |row| Ok((row.get(0)?, row.get(1)?))).optional()?;
    let Some((photo, name)) = found else { return Ok(None) };
    db.execute("UPDATE photo SET name = NULL, salt = zeroblob(16) WHERE photo = ?1", params![photo])?;
    Ok(Some(Gone::Photo(PhotoId::from_octets(photo), name)))
}

/// Writes the log back into the database and cuts it: it holds pages as they were before.
pub(crate) fn cut_log(db: &Connection) -> Result<(), Error> {
    // Where a reader holds the log it is cut at the next erasure or the next clean end.
    db.query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(()))?;
    Ok(())
}
