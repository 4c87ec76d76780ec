//! A copy of a damaged database, opened so that as much as possible can be read.

use super::raw::{self, PAGE};
use super::{DEVICE, Limit, folder_of, read};
use crate::journal::{connection, files, rows, schema};
use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags, params};
use std::collections::BTreeMap;
use std::io::Write;
use std::path::Path;
use survey::chain::{Hash, Link, Seq, StreamId};
use survey::ids::{DeviceId, Epoch};

/// The copy; it goes when this does.
pub(super) struct Copy {
    db: Option<Connection>,
    /// Rows found in the octets of the pages.
    raw: Vec<(Option<i64>, Vec<Value>)>,
    limit: Limit,
    _folder: Folder,
}

/// A folder beside the database set aside, that goes with its content.
struct Folder(std::path::PathBuf);

/// Where a database's header states the number of its pages, and twice the number of its changes.
const CHANGES: usize = 24;
const PAGES: usize = 28;
const CHANGES_WHEN_COUNTED: usize = 92;

impl Copy {
    /// Copies a database with its log. Where it cannot be asked for its tables, the pages that say which there are come
    /// from a fresh database: ours all have the same tables at the same pages, and what is read is held against its
    /// hash.
    pub(super) fn of(database: &Path) -> std::io::Result<Self> {
        let folder = Folder(folder_of(database).join("reading"));
        if folder.0.exists() {
            std::fs::remove_dir_all(&folder.0)?;
        }
        std::fs::create_dir(&folder.0)?;
        let here = folder.0.join("copy.sqlite");
        let [from, from_log, _] = files::with_companions(database);
        let [to, to_log, _] = files::with_companions(&here);
        for (from, to) in [(&from, &to), (&from_log, &to_log)] {
            if from.exists() {
                std::fs::copy(from, to)?;
            }
        }
        let octets = std::fs::read(&from).unwrap_or_default();
        let log = std::fs::read(&from_log).unwrap_or_default();
        let limit = Limit::of(octets.len() + log.len());
        let raw = if is_foreign(&octets) { Vec::new() } else { raw::rows(&octets, &log) };
        let db = match open(&here) {
            Some(db) => Some(db),
            None if is_foreign(&octets) => None,
            None => {
                // SQLite may have dropped the log when it found no database beside it.
                for (from, to) in [(&from, &to), (&from_log, &to_log)] {
                    if from.exists() {
                        std::fs::copy(from, to)?;
                    }
                }
                transplant(&folder.0, &here)?;
                open(&here)
            }
        };
        Ok(Self { db, raw, limit, _folder: folder })
    }

    /// The device that the database names.
    pub(super) fn device(&self) -> Option<DeviceId> {
        let sql = "SELECT value FROM setting WHERE name = ?1";
        let asked = self.db.as_ref().and_then(|db| db.query_row(sql, [DEVICE], |row| row.get(0)).ok());
        let found = || {
            self.raw.iter().find_map(|(_, row)| match &row[..] {
                [Value::Text(name), Value::Blob(octets)] if name == DEVICE => octets.clone().try_into().ok(),
                _ => None,
            })
        };
        asked.or_else(found).map(DeviceId::from_octets)
    }

    /// Row, epoch and beginning of each stream.
    pub(super) fn streams(&self) -> Vec<(i64, Epoch, i64)> {
        let rows = self.rows("stream", "stream, epoch, begun_ms");
        let read = |row: Vec<Value>| match (&row[0], &row[1], &row[2]) {
            (Value::Integer(row), Value::Blob(epoch), Value::Integer(begun)) => {
                Some((*row, Epoch::from_octets(epoch.clone().try_into().ok()?), *begun))
            }
            _ => None,
        };
        let asked = rows.into_iter().filter_map(read);
        let found = self.raw.iter().filter_map(|(number, row)| match (number, &row[..]) {
            (Some(number), [Value::Null, Value::Blob(epoch), Value::Integer(begun), Value::Null | Value::Text(_)]) => {
                Some((*number, Epoch::from_octets(epoch.clone().try_into().ok()?), *begun))
            }
            _ => None,
        });
        let mut streams: Vec<(i64, Epoch, i64)> = Vec::new();
        for stream in asked.chain(found) {
            if streams.iter().all(|(_, epoch, _)| *epoch != stream.1) {
                streams.push(stream);
            }
        }
        streams.sort_by_key(|(row, ..)| *row);
        streams
    }

    /// Every entry of a stream that verifies, in order, gaps left out.
    pub(super) fn links(&self, stream: i64, id: StreamId) -> Vec<Link> {
        let mut links = self.db.as_ref().map(|db| self.asked_links(db, stream, id)).unwrap_or_default();
        for (_, row) in &self.raw {
            if let Some((number, link)) = raw_link(row, stream, id)
                && links.get(&number).is_none_or(|link| link.verify().is_err())
                && link.verify().is_ok()
            {
                links.insert(number, link);
            }
        }
        let mut whole: Vec<Link> = Vec::with_capacity(links.len());
        for link in links.into_values() {
            let follows =
                whole.last().is_none_or(|before: &Link| before.seq.0 + 1 != link.seq.0 || before.hash == link.previous);
            if follows && link.verify().is_ok() {
                whole.push(link);
            }
        }
        whole
    }

    fn asked_links(&self, db: &Connection, stream: i64, id: StreamId) -> BTreeMap<i64, Link> {
        let range = |first: i64, last: i64, order: read::Order| {
            let sql = format!(
                "SELECT seq, previous, hash, bytes FROM entry WHERE stream = ?1 AND seq BETWEEN ?2 AND ?3 \
                 ORDER BY seq {}",
                order.sql()
            );
            read::until_error(db, &sql, params![stream, first, last], |row| {
                let link = Link {
                    stream: id,
                    seq: rows::seq(row, 0)?,
                    previous: Hash(row.get(1)?),
                    hash: Hash(row.get(2)?),
                    bytes: row.get(3)?,
                };
                Ok((row.get::<_, i64>(0)?, link))
            })
        };
        read::around_damage(range, self.limit)
    }

    /// Other devices' entries that verify.
    pub(super) fn received(&self) -> Vec<Link> {
        let read = |row: Vec<Value>| {
            let mut row = row.into_iter();
            let mut blob = || match row.next() {
                Some(Value::Blob(octets)) => Some(octets),
                _ => None,
            };
            let (device, epoch) = (blob()?.try_into().ok()?, blob()?.try_into().ok()?);
            let (hash, previous, bytes) = (blob()?.try_into().ok()?, blob()?.try_into().ok()?, blob()?);
            let Some(Value::Integer(seq)) = row.next() else { return None };
            let link = Link {
                stream: StreamId { device: DeviceId::from_octets(device), epoch: Epoch::from_octets(epoch) },
                seq: Seq(u64::try_from(seq).ok()?),
                hash: Hash(hash),
                previous: Hash(previous),
                bytes,
            };
            link.verify().is_ok().then_some(link)
        };
        self.rows("received", "device, epoch, hash, previous, bytes, seq").into_iter().filter_map(read).collect()
    }

    /// Rows of a table, from both ends up to where it cannot be read.
    pub(super) fn rows(&self, table: &str, columns: &str) -> Vec<Vec<Value>> {
        let Some(db) = &self.db else { return Vec::new() };
        read::both_ends(db, table, columns)
    }
}

impl Drop for Folder {
    fn drop(&mut self) {
        // What stays behind is removed before the next reading.
        let _ = std::fs::remove_dir_all(&self.0);
    }
}

/// A row of the table of entries.
fn raw_link(row: &[Value], stream: i64, id: StreamId) -> Option<(i64, Link)> {
    let [Value::Integer(of), Value::Integer(seq), Value::Blob(previous), Value::Blob(hash), _, _, Value::Blob(bytes)] =
        row
    else {
        return None;
    };
    let link = Link {
        stream: id,
        seq: Seq(u64::try_from(*seq).ok()?),
        previous: Hash(previous.clone().try_into().ok()?),
        hash: Hash(hash.clone().try_into().ok()?),
        bytes: bytes.clone(),
    };
    (*of == stream).then_some((*seq, link))
}

/// Opens the copy where it can be asked for its tables.
fn open(copy: &Path) -> Option<Connection> {
    let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let db = connection::bare(copy, flags, None).ok()?;
    // `writable_schema` lets SQLite read on where a file is shorter than its header says.
    db.execute_batch("PRAGMA writable_schema = ON; PRAGMA trusted_schema = OFF").ok()?;
    let tables = "SELECT count(*) FROM sqlite_schema WHERE name IN ('entry', 'stream', 'setting')";
    let known: i64 = db.query_row(tables, [], |row| row.get(0)).ok()?;
    (known == 3 && db.prepare("SELECT seq FROM entry").is_ok()).then_some(db)
}

/// Whether the file is in order and another application's.
fn is_foreign(octets: &[u8]) -> bool {
    let Some(id) = octets.get(68..72).and_then(|id| <[u8; 4]>::try_from(id).ok()) else { return false };
    octets.starts_with(b"SQLite format 3\0") && i64::from(i32::from_be_bytes(id)) != schema::APPLICATION_ID
}

/// Puts the pages of a fresh database that say which tables there are over those of the copy.
fn transplant(folder: &Path, copy: &Path) -> std::io::Result<()> {
    let fresh = folder.join("fresh.sqlite");
    let pages_of_schema = connection::writer(&fresh, None).and_then(|mut db| {
        schema::migrate(&mut db)?;
        let mut statement = db.prepare("SELECT pageno FROM dbstat WHERE name = 'sqlite_schema'")?;
        let pages = statement.query_map([], |row| row.get::<_, i64>(0))?.collect::<Result<Vec<_>, _>>()?;
        Ok(pages)
    });
    let pages_of_schema = pages_of_schema.map_err(std::io::Error::other)?;
    let fresh = std::fs::read(&fresh)?;
    let mut whole = std::fs::read(copy).unwrap_or_default();
    let pages = whole.len().max(fresh.len()).div_ceil(PAGE);
    whole.resize(pages * PAGE, 0);
    for page in pages_of_schema.into_iter().filter_map(|page| usize::try_from(page - 1).ok()) {
        if let Some(octets) = fresh.get(page * PAGE..(page + 1) * PAGE) {
            whole[page * PAGE..(page + 1) * PAGE].copy_from_slice(octets);
        }
    }
    let pages = u32::try_from(pages).unwrap_or(u32::MAX);
    whole[PAGES..PAGES + 4].copy_from_slice(&pages.to_be_bytes());
    whole.copy_within(CHANGES..CHANGES + 4, CHANGES_WHEN_COUNTED);
    std::fs::File::create(copy)?.write_all(&whole)
}
