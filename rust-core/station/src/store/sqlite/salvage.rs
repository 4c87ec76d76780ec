//! Reading what can be read of a damaged file into a fresh store.
//!
//! Entries are read one by one and checked against their hashes; each goes through the same door as one that a phone
//! pushes, so the fresh store keeps every law. What follows from entries (feeds, verdicts, names of photos and texts) is
//! made anew. Of the other tables rows are taken as they are, where they can be read and fit.

use super::value::{run, uint};
use super::{SqliteStore, StoreError, entries, journal, store_error};
use crate::intake;
use crate::store::journal::{Appended, Content, Offered, Offerer, Push};
use rusqlite::types::Value;
use rusqlite::{Connection, OpenFlags, OptionalExtension, Row, params_from_iter};
use std::collections::BTreeMap;
use std::path::Path;
use survey::chain::{Hash, Head, Link, Seq, StreamId, blob_hash};
use survey::ids::{DeviceId, Epoch};
use survey::time::UnixMs;

/// What was read.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Salvaged {
    /// Entries that are in the fresh store.
    pub entries: u64,
    /// Entries whose octets are not those that were hashed: left out.
    pub altered: u64,
    /// Places at which no entry could be read.
    pub unreadable: u64,
    /// Whole entries that follow what could not be read: not in the store, which would otherwise believe that it has all
    /// before them, and not ask.
    pub after_gaps: Vec<Link>,
    /// Texts.
    pub texts: u64,
    /// Texts that are not what their hash says.
    pub texts_altered: u64,
    /// Rows of other tables, by table; the flag says that all of them could be read.
    pub rows: BTreeMap<&'static str, (u64, bool)>,
    /// Verified photos.
    pub photos: Vec<SalvagedPhoto>,
}

/// What the old database knew of a verified photo.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub struct SalvagedPhoto {
    /// The phone that took it.
    pub device: [u8; 16],
    /// Its id.
    pub photo: [u8; 16],
    /// The salt of its hash.
    pub salt: [u8; 16],
    /// When its octets were verified, milliseconds since 1970 in UTC.
    pub verified_ms: i64,
}

/// Tables whose rows are taken as they are, with the columns of their key.
const TABLES: [(&str, &str); 6] = [
    ("streams", "device, epoch"),
    ("memberships", "device, site"),
    ("links", "of_device, by_device"),
    ("tokens", "token"),
    ("people", "id, role"),
    ("grants", "coordinator, site"),
];

/// So many places in a row without an entry end the search where the last place is not known.
const PATIENCE: i64 = 20_000;

/// A row of the old table of texts, in the order of its columns: hash, device, salt, text, since when.
type OldText = (Hash, [u8; 16], Option<[u8; 16]>, Option<String>, i64);

/// A row of the old table of entries.
struct Old {
    link: Link,
    received: UnixMs,
}

impl SqliteStore {
    /// Reads a damaged file, which must be a copy: opening it takes in the log beside it. This store must be fresh.
    ///
    /// # Errors
    /// Where this store cannot. What is wrong with the damaged file is no error.
    pub fn salvage(&self, damaged: &Path) -> Result<Salvaged, StoreError> {
        let mut salvaged = Salvaged::default();
        let flags = OpenFlags::SQLITE_OPEN_READ_WRITE | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let Ok(old) = Connection::open_with_flags(damaged, flags) else { return Ok(salvaged) };
        // Index and table may disagree in a damaged file: what is read is what the tables say.
        let _ = old.execute_batch("PRAGMA query_only = ON; PRAGMA trusted_schema = OFF; PRAGMA cell_size_check = ON");
        self.write(|t| {
            for (table, key) in TABLES {
                salvaged.rows.insert(table, copy_rows(t, &old, table, key)?);
            }
            let holes = holes(&old);
            read_entries(&old, &mut salvaged.unreadable, |row| {
                if row.link.verify().is_err() {
                    salvaged.altered += 1;
                    return Ok(());
                }
                match keep(t, &row, &holes)? {
                    Kept::Yes => salvaged.entries += 1,
                    Kept::Already => {}
                    Kept::AfterGap => salvaged.after_gaps.push(row.link),
                }
                Ok(())
            })?;
            take_texts(t, &old, &mut salvaged)?;
            salvaged.photos = photos(&old);
            salvaged.rows.insert("own_stream", copy_rows(t, &old, "own_stream", "only_one")?);
            Ok(())
        })?;
        Ok(salvaged)
    }
}

enum Kept {
    Yes,
    Already,
    AfterGap,
}

fn keep(t: &Connection, row: &Old, holes: &BTreeMap<(StreamId, Seq, Hash), Offered>) -> Result<Kept, StoreError> {
    let link = &row.link;
    let before = Head { seq: Seq(link.seq.0 - 1), hash: link.previous };
    // A hole lies in a table of its own; where the entry follows one, the hole goes in first.
    let mut chain = vec![(before, intake::whole(link.clone()))];
    let mut at = before;
    while !journal::is_held(t, link.stream, at)? {
        let Some(hole) = holes.get(&(link.stream, at.seq, at.hash)) else { return Ok(Kept::AfterGap) };
        at = Head { seq: Seq(at.seq.0 - 1), hash: hole.previous };
        chain.push((at, hole.clone()));
    }
    let mut added = 0;
    for (after, item) in chain.into_iter().rev() {
        let items = vec![item];
        let push = Push { stream: link.stream, after, items, by: Offerer::File, received: row.received };
        match entries::append(t, &push)? {
            Appended::Held { added: own, .. } => added = own,
            Appended::Gap(_) | Appended::NotYours => return Ok(Kept::AfterGap),
        }
    }
    Ok(if added > 0 { Kept::Yes } else { Kept::Already })
}

/// Reads the entries in the order in which they came, around whatever cannot be read.
fn read_entries(
    old: &Connection,
    unreadable: &mut u64,
    mut take: impl FnMut(Old) -> Result<(), StoreError>,
) -> Result<(), StoreError> {
    const COLUMNS: &str = "rowid, device, epoch, seq, hash, previous, bytes, received_ms";
    let last: Option<i64> = old.query_row("SELECT max(rowid) FROM entries", [], |row| row.get(0)).ok().flatten();
    let next = old.prepare(&format!("SELECT {COLUMNS} FROM entries WHERE rowid > ?1 ORDER BY rowid LIMIT 1"));
    let this = old.prepare(&format!("SELECT {COLUMNS} FROM entries WHERE rowid = ?1"));
    let (Ok(mut next), Ok(mut this)) = (next, this) else { return Ok(()) };
    let (mut at, mut missed) = (0_i64, 0_i64);
    loop {
        match next.query_row([at], read_old).optional() {
            Ok(None) => return Ok(()),
            Ok(Some((rowid, row))) => {
                (at, missed) = (rowid, 0);
                take(row)?;
                continue;
            }
            Err(_) => {}
        }
        at += 1;
        if last.map_or(missed >= PATIENCE, |last| at > last) {
            return Ok(());
        }
        match this.query_row([at], read_old).optional() {
            Ok(Some((_, row))) => {
                missed = 0;
                take(row)?;
            }
            Ok(None) => missed += 1,
            Err(_) => {
                missed += 1;
                *unreadable += 1;
            }
        }
    }
}

fn read_old(row: &Row<'_>) -> rusqlite::Result<(i64, Old)> {
    let stream = StreamId { device: DeviceId::from_octets(row.get(1)?), epoch: Epoch::from_octets(row.get(2)?) };
    let link = Link {
        stream,
        seq: Seq(uint(row, 3)?.max(1)),
        hash: Hash(row.get(4)?),
        previous: Hash(row.get(5)?),
        bytes: row.get(6)?,
    };
    Ok((row.get(0)?, Old { link, received: UnixMs(row.get(7)?) }))
}

fn holes(old: &Connection) -> BTreeMap<(StreamId, Seq, Hash), Offered> {
    let mut found = BTreeMap::new();
    each(old, "SELECT device, epoch, seq, hash, previous, reason FROM holes", |row| {
        let stream = StreamId { device: DeviceId::from_octets(row.get(0)?), epoch: Epoch::from_octets(row.get(1)?) };
        let (seq, hash) = (Seq(uint(row, 2)?.max(1)), Hash(row.get(3)?));
        let content = Content::Hole { reason: row.get(5)? };
        found.insert((stream, seq, hash), Offered { seq, hash, previous: Hash(row.get(4)?), content });
        Ok(())
    });
    found
}

/// Copies the rows of a table: from its beginning up to what cannot be read, then from its end.
fn copy_rows(t: &Connection, old: &Connection, table: &str, key: &str) -> Result<(u64, bool), StoreError> {
    // Columns by name: the old file may be of an earlier schema.
    let Ok(columns) = old
        .prepare(&format!("SELECT * FROM {table} LIMIT 0"))
        .map(|statement| statement.column_names().map(str::to_owned).collect::<Vec<_>>())
    else {
        return Ok((0, false));
    };
    let places: Vec<String> = (1..=columns.len()).map(|n| format!("?{n}")).collect();
    let sql = format!("INSERT OR IGNORE INTO {table} ({}) VALUES ({})", columns.join(", "), places.join(", "));
    let (mut rows, mut whole): (Vec<Vec<Value>>, bool) = (Vec::new(), true);
    for order in ["", " DESC"] {
        let keys = key.split(", ").map(|column| format!("{column}{order}")).collect::<Vec<_>>().join(", ");
        let read = each(old, &format!("SELECT * FROM {table} ORDER BY {keys}"), |row| {
            rows.push((0..columns.len()).map(|column| row.get(column)).collect::<rusqlite::Result<_>>()?);
            Ok(())
        });
        whole = read;
        if read {
            break;
        }
    }
    let mut copied = 0;
    for row in rows {
        // A row that breaks a rule of the schema is damage too.
        match t.prepare_cached(&sql).map_err(store_error)?.execute(params_from_iter(row)) {
            Ok(added) => copied += added as u64,
            Err(_) => whole = false,
        }
    }
    Ok((copied, whole))
}

fn take_texts(t: &Connection, old: &Connection, salvaged: &mut Salvaged) -> Result<(), StoreError> {
    let mut found: Vec<OldText> = Vec::new();
    for order in ["", " DESC"] {
        let sql = format!("SELECT hash, device, salt, text, since_ms FROM texts ORDER BY hash{order}");
        let whole = each(old, &sql, |row| {
            found.push((Hash(row.get(0)?), row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?));
            Ok(())
        });
        if whole {
            break;
        }
    }
    found.sort_unstable();
    found.dedup();
    for (hash, device, salt, text, since) in found {
        let (salt, text) = match (salt, text) {
            (Some(salt), Some(text)) if blob_hash(salt, text.as_bytes()) == hash => (Some(salt), Some(text)),
            (None, None) => (None, None),
            _ => {
                salvaged.texts_altered += 1;
                continue;
            }
        };
        let sql = "INSERT OR IGNORE INTO texts (hash, device, salt, text, since_ms) VALUES (?1, ?2, ?3, ?4, ?5)";
        let added = run(t, sql, rusqlite::params![hash.0, device, salt, text, since])?;
        salvaged.texts += added as u64;
    }
    Ok(())
}

fn photos(old: &Connection) -> Vec<SalvagedPhoto> {
    let mut found = Vec::new();
    for order in ["", " DESC"] {
        let sql = format!(
            "SELECT device, photo, salt, verified_ms FROM photos WHERE verified_ms IS NOT NULL AND salt IS NOT NULL
             ORDER BY device{order}, photo{order}"
        );
        if each(old, &sql, |row| {
            let (device, photo, salt, verified_ms) = (row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?);
            found.push(SalvagedPhoto { device, photo, salt, verified_ms });
            Ok(())
        }) {
            break;
        }
    }
    found.sort_unstable();
    found.dedup();
    found
}

/// Reads rows up to the first that cannot be read; whether all could be. A row of the wrong types is passed over.
fn each(old: &Connection, sql: &str, mut take: impl FnMut(&Row<'_>) -> rusqlite::Result<()>) -> bool {
    let Ok(mut statement) = old.prepare(sql) else { return false };
    let Ok(mut rows) = statement.query([]) else { return false };
    let mut whole = true;
    loop {
        match rows.next() {
            Ok(Some(row)) => whole &= take(row).is_ok(),
            Ok(None) => return whole,
            Err(_) => return false,
        }
    }
}
