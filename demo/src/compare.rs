//! What lies on the phones against what lies at the station, read from their SQLite files by plain SQL.

use crate::Trouble;
use rusqlite::{Connection, OpenFlags};
use std::collections::{BTreeMap, BTreeSet};
use std::path::Path;
use survey::entry::Entry;
use survey::ids::{DeviceId, EntryId};

/// One phone's line of the table.
#[derive(Debug, Clone, Copy, Default, PartialEq, Eq)]
pub struct Line {
    /// Entries in the phone's own journal.
    pub recorded: u64,
    /// Those of them that the station has, octet for octet.
    pub received: u64,
    /// Those that it lacks.
    pub missing: u64,
    /// Those that stand at the station more than once.
    pub twice: u64,
}

type Key = (Vec<u8>, Vec<u8>, i64, Vec<u8>);

/// What the station holds: octets by (device, epoch, seq, hash), and how often each entry id occurs.
#[derive(Debug, Default)]
pub struct Held {
    octets: BTreeMap<Key, Vec<u8>>,
    ids: BTreeMap<EntryId, u64>,
}

impl Held {
    /// Reads a station's file.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn at_station(database: &Path) -> Result<Self, Trouble> {
        let mut held = Self::default();
        for (key, octets) in read(database, "SELECT device, epoch, seq, hash, bytes FROM entries")? {
            if let Ok(entry) = Entry::decode(&octets) {
                *held.ids.entry(entry.id).or_default() += 1;
            }
            held.octets.insert(key, octets);
        }
        Ok(held)
    }

    /// Compares a phone's own journal with it.
    ///
    /// # Errors
    /// The file cannot be read.
    pub fn compare(&self, journal: &Path, device: DeviceId) -> Result<Line, Trouble> {
        let mut line = Line::default();
        let mut ids = BTreeSet::new();
        let own = "SELECT x'', epoch, seq, hash, bytes FROM entry JOIN stream USING (stream)";
        for ((_, epoch, seq, hash), octets) in read(journal, own)? {
            let key = (device.octets().to_vec(), epoch, seq, hash);
            line.recorded += 1;
            match self.octets.get(&key) {
                Some(held) if *held == octets => line.received += 1,
                Some(_) | None => line.missing += 1,
            }
            if let Ok(entry) = Entry::decode(&octets)
                && ids.insert(entry.id)
                && self.ids.get(&entry.id).is_some_and(|times| *times > 1)
            {
                line.twice += 1;
            }
        }
        Ok(line)
    }
}

fn read(database: &Path, sql: &str) -> Result<Vec<(Key, Vec<u8>)>, Trouble> {
    let connection = Connection::open_with_flags(database, OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let mut statement = connection.prepare(sql)?;
    let rows =
        statement.query_map([], |row| Ok(((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?), row.get(4)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}
