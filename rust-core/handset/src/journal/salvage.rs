//! What can be read of a damaged database. Of each stream the beginning that verifies, up to the first entry that does
//! not, is taken over as a sealed stream; texts and names come along. Everything else stays in the file set aside.

use super::{connection, rows};
use crate::error::Error;
use crate::object::{DEVICE, setting};
use rusqlite::{Connection, OpenFlags, TransactionBehavior, params};
use std::path::Path;
use survey::chain::{Hash, Head, Link, StreamId};
use survey::entry::{Entry, Scope};
use survey::ids::{DeviceId, Epoch};

/// The device that a database says it belongs to, where it can be asked.
pub(crate) fn device(database: &Path, vfs: Option<&str>) -> Option<DeviceId> {
    let old = open(database, vfs)?;
    setting(&old, DEVICE).ok().flatten().map(DeviceId::from_octets)
}

/// Takes over what can be read, and says how many entries that were.
pub(crate) fn take_over(database: &Path, vfs: Option<&str>, fresh: &mut Connection) -> Result<u64, Error> {
    let Some(old) = open(database, vfs) else { return Ok(0) };
    let Ok(Some(device)) = setting(&old, DEVICE).map(|found| found.map(DeviceId::from_octets)) else { return Ok(0) };
    let transaction = fresh.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let mut taken = 0;
    for (row, epoch, begun) in readable(&old, "SELECT stream, epoch, begun_ms FROM stream ORDER BY stream", |row| {
        Ok((row.get::<_, i64>(0)?, row.get::<_, [u8; 16]>(1)?, row.get::<_, i64>(2)?))
    }) {
        let id = StreamId { device, epoch: Epoch::from_octets(epoch) };
        let links = whole_beginning(&old, row, id);
        if links.is_empty() {
            continue;
        }
        transaction.execute(
            "INSERT INTO stream (epoch, begun_ms, sealed) VALUES (?1, ?2, 'salvaged')",
            params![epoch, begun],
        )?;
        let stream = transaction.last_insert_rowid();
        for link in links {
            let scope = Entry::decode(&link.bytes).map_or(Scope::Device, |entry| entry.scope);
            rows::append(&transaction, stream, &link, scope)?;
            taken += 1;
        }
    }
    for (hash, salt, text) in readable(&old, "SELECT hash, salt, text FROM text", |row| {
        Ok((row.get::<_, [u8; 32]>(0)?, row.get::<_, [u8; 16]>(1)?, row.get::<_, String>(2)?))
    }) {
        transaction.execute(
            "INSERT INTO text (hash, salt, text) VALUES (?1, ?2, ?3) ON CONFLICT DO NOTHING",
            params![hash, salt, text],
        )?;
    }
    for (observer, name) in readable(&old, "SELECT observer, name FROM observer", |row| {
        Ok((row.get::<_, [u8; 16]>(0)?, row.get::<_, String>(1)?))
    }) {
        transaction.execute(
            "INSERT INTO observer (observer, name) VALUES (?1, ?2) ON CONFLICT DO NOTHING",
            params![observer, name],
        )?;
    }
    transaction.commit()?;
    Ok(taken)
}

fn open(database: &Path, vfs: Option<&str>) -> Option<Connection> {
    // Reading needs the log beside the file to be replayed, so the copy set aside is opened for writing.
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    connection::bare(database, flags, vfs).ok()
}

fn whole_beginning(old: &Connection, row: i64, id: StreamId) -> Vec<Link> {
    let sql = format!("SELECT seq, previous, hash, bytes FROM entry WHERE stream = {row} ORDER BY seq");
    let links = readable(old, &sql, |row| {
        Ok(Link {
            stream: id,
            seq: rows::seq(row, 0)?,
            previous: Hash(row.get(1)?),
            hash: Hash(row.get(2)?),
            bytes: row.get(3)?,
        })
    });
    let mut head = Head::START;
    links
        .into_iter()
        .take_while(|link| {
            let holds = link.verify_after(head).is_ok();
            head = link.head();
            holds
        })
        .collect()
}

/// The rows up to the first that cannot be read.
fn readable<T>(db: &Connection, sql: &str, read: impl FnMut(&rusqlite::Row<'_>) -> rusqlite::Result<T>) -> Vec<T> {
    let Ok(mut statement) = db.prepare(sql) else { return Vec::new() };
    let Ok(rows) = statement.query_map([], read) else { return Vec::new() };
    rows.map_while(Result::ok).collect()
}
