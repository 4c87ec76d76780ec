//! Connections, and every PRAGMA with the reason for it.

use super::schema;
use crate::error::Error;
use rusqlite::{Connection, OpenFlags};
use std::path::Path;
use survey::defect::{Defect, planted};

/// A setting of a connection.
pub(crate) struct Pragma {
    /// Its name.
    pub(crate) name: &'static str,
    /// The value given.
    pub(crate) set: &'static str,
    /// The value that is read back.
    #[cfg_attr(not(test), expect(dead_code, reason = "the table is the documentation; the test reads it back"))]
    pub(crate) read: &'static str,
}

/// The settings of the writing connection.
///
/// | PRAGMA | value | why |
/// |---|---|---|
/// | `journal_mode` | `WAL` | one sync an act, and readers that do not wait |
/// | `synchronous` | `FULL` | a commit is on the disk before the act returns; `NORMAL` loses the last acts at a power cut |
/// | `fullfsync`, `checkpoint_fullfsync` | `ON` | Apple's `fsync` leaves data in the drive's cache; no effect elsewhere |
/// | `foreign_keys` | `ON` | an entry belongs to a stream that exists |
/// | `recursive_triggers` | `ON` | without it `INSERT OR REPLACE` deletes rows past the triggers that forbid it |
/// | `trusted_schema` | `OFF` | a doctored file cannot call functions out of its schema |
/// | `temp_store` | `MEMORY` | nothing of a journal is left in temporary files |
/// | `secure_delete` | `ON` | what is erased is overwritten where it stood |
/// | `cell_size_check` | `ON` | a damaged page is noticed when it is read |
pub(crate) const WRITER: &[Pragma] = &[
    Pragma { name: "journal_mode", set: "WAL", read: "wal" },
    Pragma { name: "synchronous", set: "FULL", read: "2" },
    Pragma { name: "fullfsync", set: "ON", read: "1" },
    Pragma { name: "checkpoint_fullfsync", set: "ON", read: "1" },
    Pragma { name: "foreign_keys", set: "ON", read: "1" },
    Pragma { name: "recursive_triggers", set: "ON", read: "1" },
    Pragma { name: "trusted_schema", set: "OFF", read: "0" },
    Pragma { name: "temp_store", set: "MEMORY", read: "2" },
    Pragma { name: "secure_delete", set: "ON", read: "1" },
    Pragma { name: "cell_size_check", set: "ON", read: "1" },
];

/// The settings of the reading connection: `query_only` beside the read-only flag, for a second lock on the door.
pub(crate) const READER: &[Pragma] = &[
    Pragma { name: "query_only", set: "ON", read: "1" },
    Pragma { name: "trusted_schema", set: "OFF", read: "0" },
    Pragma { name: "temp_store", set: "MEMORY", read: "2" },
    Pragma { name: "cell_size_check", set: "ON", read: "1" },
];

/// Milliseconds that a connection waits for another; only the reader can be in the way, and it holds no write lock.
const BUSY_MS: u64 = 2000;

/// Opens the connection that writes, and makes the file where there is none. `vfs` names the file layer under it.
pub(crate) fn writer(path: &Path, vfs: Option<&str>) -> Result<Connection, Error> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_CREATE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = bare(path, flags, vfs)?;
    // Asked before any setting is made: some of them write, and another application's file is not to be touched.
    if !schema::is_ours(&connection)? {
        return Err(Error::Damaged("the file is no journal of this software".into()));
    }
    let connection = configured(connection, WRITER)?;
    if planted(Defect::SynchronousNormal) {
        connection.execute_batch("PRAGMA synchronous = NORMAL")?;
    }
    Ok(connection)
}

/// Opens the connection that only reads.
pub(crate) fn reader(path: &Path, vfs: Option<&str>) -> Result<Connection, Error> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    configured(bare(path, flags, vfs)?, READER)
}

/// Opens a connection without any settings.
pub(crate) fn bare(path: &Path, flags: OpenFlags, vfs: Option<&str>) -> rusqlite::Result<Connection> {
    match vfs {
        None => Connection::open_with_flags(path, flags),
        Some(vfs) => Connection::open_with_flags_and_vfs(path, flags, vfs),
    }
}

fn configured(connection: Connection, pragmas: &[Pragma]) -> Result<Connection, Error> {
    connection.busy_timeout(std::time::Duration::from_millis(BUSY_MS))?;
    connection.set_prepared_statement_cache_capacity(64);
    for Pragma { name, set, .. } in pragmas {
        connection.execute_batch(&format!("PRAGMA {name} = {set}"))?;
    }
    Ok(connection)
}

#[cfg(test)]
mod tests {
    use super::*;
    use rusqlite::types::Value;

    fn read_back(connection: &Connection, pragmas: &[Pragma]) {
        for Pragma { name, read, .. } in pragmas {
            let value: Value = connection.pragma_query_value(None, name, |row| row.get(0)).unwrap();
            let text = match value {
                Value::Integer(number) => number.to_string(),
                Value::Text(text) => text,
                other => format!("{other:?}"),
            };
            assert_eq!(text, *read, "{name}");
        }
    }

    #[test]
    fn every_pragma_reads_back_as_it_was_set() {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("journal.sqlite");
        let connection = writer(&path, None).unwrap();
        read_back(&connection, WRITER);
        connection.execute_batch("CREATE TABLE t (a)").unwrap();
        let reading = reader(&path, None).unwrap();
        read_back(&reading, READER);
        assert!(reading.execute_batch("INSERT INTO t VALUES (1)").is_err());
    }
}
