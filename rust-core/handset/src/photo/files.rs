//! Photos' files.

use crate::error::Error;
use crate::journal::files::{OUTGOING, PHOTOS, names_in, write_lasting};
use crate::object::Handset;
use crate::surroundings::disk::Files;
use ::sync::wire::photo::PhotoState;
use rusqlite::{Connection, OptionalExtension};
use std::path::Path;
use survey::entry::{Entry, Scope};
use survey::ids::PhotoId;
use survey::time::UnixMs;

/// Writes a picture so that it lasts; the name is relative to the handset's folder.
pub(crate) fn write(files: &dyn Files, folder: &Path, photo: PhotoId, picture: &[u8]) -> Result<String, Error> {
    let name = format!("{PHOTOS}/{photo}.jpg");
    write_lasting(files, &folder.join(&name), picture)?;
    Ok(name)
}

/// Removes a file that nothing names any longer. Where that fails the next opening sweeps it away.
pub(crate) fn remove(files: &dyn Files, folder: &Path, name: &str) {
    let _ = files.remove(&folder.join(name));
}

/// Scope and file of a photo of this device.
pub(crate) fn own_photo(handset: &Handset, photo: PhotoId) -> Result<Option<(Scope, Option<String>)>, Error> {
    let found = handset
        .db
        .query_row(
            "SELECT entry.bytes, photo.name FROM photo JOIN entry USING (stream, seq) WHERE photo = ?1",
            [photo.octets()],
            |row| Ok((row.get::<_, Vec<u8>>(0)?, row.get::<_, Option<String>>(1)?)),
        )
        .optional()?;
    let Some((bytes, name)) = found else { return Ok(None) };
    Ok(Some((Entry::decode(&bytes)?.scope, name)))
}

/// How long a file stays at least: 30 days, in milliseconds.
const STAYS_MS: i64 = 30 * 24 * 60 * 60 * 1000;

/// Lets go of files that the station has backed up, after their time.
pub(crate) fn let_go(db: &Connection, files: &dyn Files, folder: &Path, now: UnixMs) -> Result<u64, Error> {
    let transaction = db.unchecked_transaction()?;
    let mut gone = Vec::new();
    {
        let mut statement = transaction.prepare_cached(
            "SELECT photo, name, state FROM photo WHERE name IS NOT NULL AND state IS NOT NULL AND taken_ms <= ?1",
        )?;
        let rows = statement.query_map([now.0.saturating_sub(STAYS_MS)], |row| {
            Ok((row.get::<_, [u8; 16]>(0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?))
        })?;
        for row in rows {
            let (photo, name, state) = row?;
            let state: PhotoState = serde_json::from_str(&state)?;
            if state.verified && state.backed_up.is_some() {
                gone.push((photo, name));
            }
        }
    }
    for (photo, _) in &gone {
        transaction.execute("UPDATE photo SET name = NULL WHERE photo = ?1", [photo])?;
    }
    transaction.commit()?;
    for (_, name) in &gone {
        remove(files, folder, name);
    }
    Ok(gone.len() as u64)
}

/// Removes files of photos and jobs that no row names: what a kill left between file and row.
pub(crate) fn sweep(db: &Connection, files: &dyn Files, root: &Path) -> Result<(), Error> {
    for (folder, sql) in [
        (PHOTOS, "SELECT name FROM photo WHERE name IS NOT NULL"),
        (OUTGOING, "SELECT file FROM job WHERE file IS NOT NULL"),
    ] {
        let mut statement = db.prepare(sql)?;
        let named = statement.query_map([], |row| row.get::<_, String>(0))?;
        let named: std::collections::BTreeSet<String> = named.collect::<Result<_, _>>()?;
        for name in names_in(&root.join(folder))? {
            let name = format!("{folder}/{name}");
            if !named.contains(&name) {
                remove(files, root, &name);
            }
        }
    }
    Ok(())
}
