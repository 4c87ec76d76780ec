//! The check of the whole database, in slices: each is short, how far it went is kept, and acts come in between. Entries
//! are held against their hashes, the pages of the other tables against SQLite's rules; what is cached is made anew.

use super::{files, rows};
use crate::error::{Error, HandsetError, Kind};
use crate::object::{Handset, set, setting};
use crate::state::refold;
use rusqlite::{Connection, params};
use serde::{Deserialize, Serialize};
use survey::chain::{Hash, Head, Link, Seq, StreamId};
use survey::ids::{DeviceId, Epoch, VisitId};

/// How far a check went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Checked {
    /// Entries of this device and of others that were checked since the check began.
    pub entries: u64,
    /// What follows from it so far.
    pub found: Found,
}

/// What a check came upon.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Found {
    /// Nothing so far; there is more to check.
    NothingYet,
    /// All was checked and is in order. The next step begins a check from the start.
    InOrder,
    /// Something is damaged: open again, and the database is set aside and read anew.
    Damage,
}

/// Links in one slice: some milliseconds on a phone.
const AT_ONCE: u64 = 500;
const CHECK: &str = "check";
/// Tables with a slice of their own; those of entries are read entry by entry.
const TABLES: [&str; 16] = [
    "stream",
    "act_span",
    "text",
    "photo",
    "observer",
    "setting",
    "acknowledged",
    "hole",
    "feed_cursor",
    "verdict",
    "job",
    "site",
    "visit",
    "plant_check",
    "tally",
    "finding",
];

/// Where the next slice begins. Kept as JSON in a setting.
#[derive(Debug, Clone, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
enum Place {
    Own { stream: i64, after: Seq, hash: Hash },
    Received { device: DeviceId, epoch: Epoch, seq: Seq, hash: Hash },
    Table(usize),
    Visit(Option<VisitId>),
}

#[derive(Debug, Clone, Serialize, Deserialize)]
struct Progress {
    entries: u64,
    next: Place,
}

impl Handset {
    /// Checks one slice of the database: the hash of every entry, then the pages of the other tables, then the cached
    /// state is folded again, a visit a slice. Repeated until
    /// [`Found::NothingYet`] is no longer the answer, it has checked everything. How far it went is kept: after a
    /// restart it goes on. It is to run while the phone is on charge, and after a stop that was not clean.
    ///
    /// # Errors
    /// Those of the storage other than damage, which is an answer.
    pub fn check_step(&mut self) -> Result<Checked, HandsetError> {
        let progress = setting::<String>(&self.db, CHECK)?.and_then(|text| serde_json::from_str(&text).ok());
        let progress = progress.unwrap_or(Progress { entries: 0, next: Place::start() });
        let next = match progress.next {
            Place::Visit(after) => refold::again(&mut self.db, self.device, &self.memory, after)
                .map(|next| next.map(|visit| Progress { next: Place::Visit(Some(visit)), ..progress })),
            _ => slice(&self.reader, self.device, &progress),
        };
        match next {
            Ok(Some(next)) => {
                let entries = next.entries;
                set(&self.db, CHECK, serde_json::to_string(&next).map_err(Error::from)?)?;
                Ok(Checked { entries, found: Found::NothingYet })
            }
            Ok(None) => {
                self.db.execute("DELETE FROM setting WHERE name = ?1", [CHECK]).map_err(Error::from)?;
                Ok(Checked { entries: progress.entries, found: Found::InOrder })
            }
            Err(error) if error.kind() == Kind::Damaged => {
                files::note_damage(&*self.around.disk.files, &self.folder);
                Ok(Checked { entries: progress.entries, found: Found::Damage })
            }
            Err(error) => Err(error.into()),
        }
    }
}

impl Place {
    const fn start() -> Self {
        Self::Own { stream: 0, after: Seq(0), hash: Hash::ZERO }
    }
}

/// Checks a slice; the place of the next, or `None` at the end.
fn slice(db: &Connection, device: DeviceId, progress: &Progress) -> Result<Option<Progress>, Error> {
    let (entries, next) = match &progress.next {
        Place::Own { stream, after, hash } => own(db, device, *stream, Head { seq: *after, hash: *hash })?,
        Place::Received { device, epoch, seq, hash } => received(db, Some((*device, *epoch, *seq, *hash)))?,
        Place::Table(at) => (0, Some(table(db, *at)?)),
        Place::Visit(_) => (0, None),
    };
    Ok(next.map(|next| Progress { entries: progress.entries + entries, next }))
}

fn own(db: &Connection, device: DeviceId, stream: i64, mut head: Head) -> Result<(u64, Option<Place>), Error> {
    let found = "SELECT stream, epoch, sealed IS 'salvaged' FROM stream WHERE stream >= ?1 ORDER BY stream LIMIT 1";
    let mut rows = db.prepare_cached(found)?;
    let mut rows = rows.query([stream])?;
    let Some(row) = rows.next()? else { return first_received(db) };
    let (found, epoch, with_gaps): (i64, [u8; 16], bool) = (row.get(0)?, row.get(1)?, row.get(2)?);
    if found != stream {
        head = Head::START;
    }
    let id = StreamId { device, epoch: Epoch::from_octets(epoch) };
    let links = super::rows::own_links(db, found, id, Seq(head.seq.0 + 1), AT_ONCE)?;
    for link in &links {
        let gap = with_gaps && link.seq.0 > head.seq.0 + 1;
        let checked = if gap { link.verify() } else { link.verify_after(head) };
        checked.map_err(|error| Error::Damaged(error.to_string()))?;
        head = link.head();
    }
    let next = if (links.len() as u64) < AT_ONCE {
        Place::Own { stream: found + 1, after: Seq(0), hash: Hash::ZERO }
    } else {
        Place::Own { stream: found, after: head.seq, hash: head.hash }
    };
    Ok((links.len() as u64, Some(next)))
}

type Key = (DeviceId, Epoch, Seq, Hash);

fn first_received(db: &Connection) -> Result<(u64, Option<Place>), Error> {
    received(db, None)
}

fn received(db: &Connection, after: Option<Key>) -> Result<(u64, Option<Place>), Error> {
    let (device, epoch, seq, hash) =
        after.map_or((Vec::new(), Vec::new(), 0, Vec::new()), |(device, epoch, seq, hash)| {
            (device.octets().to_vec(), epoch.octets().to_vec(), rows::number(seq), hash.0.to_vec())
        });
    let mut statement = db.prepare_cached(
        "SELECT device, epoch, seq, hash, previous, bytes FROM received \
         WHERE (device, epoch, seq, hash) > (?1, ?2, ?3, ?4) ORDER BY device, epoch, seq, hash LIMIT ?5",
    )?;
    let most = i64::try_from(AT_ONCE).unwrap_or(i64::MAX);
    let links = statement.query_map(params![device, epoch, seq, hash, most], |row| {
        Ok(Link {
            stream: StreamId { device: DeviceId::from_octets(row.get(0)?), epoch: Epoch::from_octets(row.get(1)?) },
            seq: rows::seq(row, 2)?,
            hash: Hash(row.get(3)?),
            previous: Hash(row.get(4)?),
            bytes: row.get(5)?,
        })
    })?;
    let links = links.collect::<Result<Vec<_>, _>>()?;
    for link in &links {
        link.verify().map_err(|error| Error::Damaged(error.to_string()))?;
    }
    let next = match links.last() {
        Some(last) if links.len() as u64 == AT_ONCE => {
            Place::Received { device: last.stream.device, epoch: last.stream.epoch, seq: last.seq, hash: last.hash }
        }
        _ => Place::Table(0),
    };
    Ok((links.len() as u64, Some(next)))
}

fn table(db: &Connection, at: usize) -> Result<Place, Error> {
    let Some(table) = TABLES.get(at) else { return Ok(Place::Visit(None)) };
    let answer: String = db.query_row(&format!("PRAGMA integrity_check('{table}')"), [], |row| row.get(0))?;
    if answer != "ok" {
        return Err(Error::Damaged(answer));
    }
    Ok(Place::Table(at + 1))
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_table_is_checked_but_those_read_entry_by_entry_and_the_list_of_what_waits() {
        let folder = tempfile::tempdir().unwrap();
        let mut db = crate::journal::connection::writer(&folder.path().join("journal.sqlite"), None).unwrap();
        crate::journal::schema::migrate(&mut db).unwrap();
        let mut statement = db.prepare("SELECT name FROM sqlite_schema WHERE type = 'table' ORDER BY name").unwrap();
        let there: Vec<String> = statement.query_map([], |row| row.get(0)).unwrap().collect::<Result<_, _>>().unwrap();
        let mut known: Vec<&str> = TABLES.into_iter().chain(["entry", "received", "unfolded"]).collect();
        known.sort_unstable();
        assert_eq!(there.iter().filter(|name| !name.starts_with("sqlite_")).collect::<Vec<_>>(), known);
    }
}
