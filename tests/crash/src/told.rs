//! What a person was told, read from a handset's folder at that moment; and the same read again from an image.

use rusqlite::{Connection, OpenFlags, params};
use std::collections::{BTreeMap, BTreeSet};
use std::fmt::Write;
use std::path::Path;
use survey::chain::{Hash, Head, Link, Seq, StreamId, blob_hash};
use survey::ids::{DeviceId, Epoch};

/// The handset as it was when an act had returned.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Told {
    /// The act.
    pub act: String,
    /// Whether the act was one transaction.
    pub steps: Steps,
    /// The stream that was written and the last entry that the handset said was done; `None` when it was closed.
    pub shown: Option<(StreamId, Seq)>,
    /// What its folder held then, read beside it.
    pub held: Held,
}

/// In how many transactions an act is done.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Steps {
    /// In one: after a power cut within it all of it is there, or nothing.
    One,
    /// In several, each of which leaves the handset in order.
    Several,
}

/// What a handset holds beside its cache.
#[derive(Debug, Clone, Default, PartialEq, Eq)]
pub struct Held {
    /// The end of each stream.
    pub streams: BTreeMap<StreamId, Head>,
    /// The streams that were sealed.
    pub sealed: BTreeSet<StreamId>,
    /// File and content hash of each photo, by its id.
    pub photos: BTreeMap<[u8; 16], (Option<String>, [u8; 32])>,
    /// Texts that are here.
    pub texts: BTreeSet<[u8; 32]>,
    /// Content hash of the body file of each job.
    pub jobs: BTreeMap<i64, Option<(String, Hash)>>,
    /// A digest of every row that is no cache.
    pub rows: Option<Hash>,
    /// A digest of the state rows.
    pub state: Option<Hash>,
    /// Visits whose state rows wait.
    pub unfolded: i64,
}

/// Something that does not hold.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum Broken {
    /// The database cannot be read.
    #[error("the database cannot be read: {0}")]
    Unreadable(String),
    /// A chain does not verify.
    #[error("a chain does not verify: {0}")]
    Chain(String),
    /// A photo's file is not what its row says.
    #[error("photo file {0} is not whole")]
    Photo(String),
    /// A job's body is missing.
    #[error("the body {0} of a job is missing")]
    Body(String),
    /// Files that no row names.
    #[error("files that no row names: {0:?}")]
    Stray(BTreeSet<String>),
    /// The handset does not open.
    #[error("the handset does not open: {0}")]
    Closed(String),
    /// The handset began anew although nothing was damaged.
    #[error("opening set aside or sealed what was in order: {0}")]
    BeganAnew(String),
    /// An acknowledged entry, photo, text or job is missing.
    #[error("what was told as done is missing: {0}")]
    Missing(String),
    /// An act is there in part.
    #[error("an act is there in part: {0}")]
    InPart(String),
    /// State rows are not those of a refold.
    #[error("the state rows are not those of a refold")]
    State,
    /// Counting does not go on.
    #[error("counting does not go on: {0}")]
    Stuck(String),
}

/// Rows that make no promise: caches, and what follows from them.
const CACHES: [&str; 6] = ["site", "visit", "plant_check", "tally", "finding", "unfolded"];

impl Held {
    /// Reads a handset's folder, and checks chains, photos and bodies on the way.
    ///
    /// # Errors
    /// The first thing that does not hold.
    pub fn read(folder: &Path) -> Result<Self, Broken> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let db = Connection::open_with_flags(folder.join("journal.sqlite"), flags)?;
        let mut held = Self::default();
        let device: [u8; 16] = db.query_row("SELECT value FROM setting WHERE name = 'device'", [], |row| row.get(0))?;
        held.read_streams(&db, DeviceId::from_octets(device))?;
        held.read_photos(&db, folder)?;
        held.read_jobs(&db, folder)?;
        held.texts = collect(&db, "SELECT hash FROM text", |row| row.get(0))?;
        held.unfolded = db.query_row("SELECT count(*) FROM unfolded", [], |row| row.get(0))?;
        let tables: Vec<String> = collect(
            &db,
            "SELECT name FROM sqlite_schema WHERE type = 'table' AND name NOT LIKE 'sqlite_%' ORDER BY name",
            |row| row.get(0),
        )?;
        held.rows = Some(digest(&db, tables.iter().map(String::as_str).filter(|name| !CACHES.contains(name)))?);
        held.state = Some(digest(&db, CACHES[..5].iter().copied())?);
        Ok(held)
    }

    fn read_streams(&mut self, db: &Connection, device: DeviceId) -> Result<(), Broken> {
        let streams: Vec<(i64, [u8; 16], Option<String>)> =
            collect(db, "SELECT stream, epoch, sealed FROM stream ORDER BY stream", |row| {
                Ok((row.get(0)?, row.get(1)?, row.get(2)?))
            })?;
        for (row, epoch, sealed) in streams {
            let id = StreamId { device, epoch: Epoch::from_octets(epoch) };
            let mut statement =
                db.prepare("SELECT seq, previous, hash, bytes FROM entry WHERE stream = ?1 ORDER BY seq")?;
            let links = statement.query_map(params![row], |row| {
                Ok(Link {
                    stream: id,
                    seq: Seq(row.get::<_, i64>(0)?.cast_unsigned()),
                    previous: Hash(row.get(1)?),
                    hash: Hash(row.get(2)?),
                    bytes: row.get(3)?,
                })
            })?;
            let mut head = Head::START;
            for link in links {
                let link = link?;
                link.verify_after(head).map_err(|error| Broken::Chain(error.to_string()))?;
                head = link.head();
            }
            self.streams.insert(id, head);
            if sealed.is_some() {
                self.sealed.insert(id);
            }
        }
        Ok(())
    }

    fn read_photos(&mut self, db: &Connection, folder: &Path) -> Result<(), Broken> {
        type Row = ([u8; 16], Option<String>, [u8; 32], [u8; 16], i64);
        let rows: Vec<Row> = collect(db, "SELECT photo, name, hash, salt, length FROM photo", |row| {
            Ok((row.get(0)?, row.get(1)?, row.get(2)?, row.get(3)?, row.get(4)?))
        })?;
        for (photo, name, hash, salt, length) in rows {
            if let Some(name) = &name {
                let octets = std::fs::read(folder.join(name)).map_err(|_| Broken::Photo(name.clone()))?;
                if octets.len() as u64 != length.cast_unsigned() || blob_hash(salt, &octets).0 != hash {
                    return Err(Broken::Photo(name.clone()));
                }
            }
            self.photos.insert(photo, (name, hash));
        }
        Ok(())
    }

    fn read_jobs(&mut self, db: &Connection, folder: &Path) -> Result<(), Broken> {
        let rows: Vec<(i64, Option<String>)> =
            collect(db, "SELECT job, file FROM job", |row| Ok((row.get(0)?, row.get(1)?)))?;
        for (job, file) in rows {
            let body = file.map(|name| match std::fs::read(folder.join(&name)) {
                Ok(octets) => Ok((name, Hash::plain(&octets))),
                Err(_) => Err(Broken::Body(name)),
            });
            self.jobs.insert(job, body.transpose()?);
        }
        Ok(())
    }

    /// Files of photos and bodies that no row names.
    ///
    /// # Errors
    /// [`Broken::Stray`].
    pub fn no_stray_files(&self, folder: &Path) -> Result<(), Broken> {
        let named = self.photos.values().filter_map(|(name, _)| name.clone());
        let named: BTreeSet<String> = named.chain(self.jobs.values().flatten().map(|(name, _)| name.clone())).collect();
        let there = ["photos", "outgoing"].into_iter().flat_map(|part| {
            let files = std::fs::read_dir(folder.join(part)).into_iter().flatten().filter_map(Result::ok);
            files.map(move |file| format!("{part}/{}", file.file_name().to_string_lossy()))
        });
        let stray: BTreeSet<String> = there.filter(|name| !named.contains(name)).collect();
        if stray.is_empty() { Ok(()) } else { Err(Broken::Stray(stray)) }
    }
}

impl From<rusqlite::Error> for Broken {
    fn from(error: rusqlite::Error) -> Self {
        Self::Unreadable(error.to_string())
    }
}

fn collect<T, C: FromIterator<T>>(
    db: &Connection,
    sql: &str,
    read: impl FnMut(&rusqlite::Row<'_>) -> rusqlite::Result<T>,
) -> Result<C, Broken> {
    Ok(db.prepare(sql)?.query_map([], read)?.collect::<Result<_, _>>()?)
}

/// A hash over every row of these tables, in the order of their keys.
fn digest<'a>(db: &Connection, tables: impl Iterator<Item = &'a str>) -> Result<Hash, Broken> {
    let mut text = String::new();
    for table in tables {
        let mut statement = db.prepare(&format!("SELECT * FROM {table}"))?;
        let columns = statement.column_count();
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            text.push_str(table);
            for column in 0..columns {
                let value = row.get_ref(column)?;
                // Writing into a text cannot fail.
                let _ = write!(text, "|{value:?}");
            }
            text.push('\n');
        }
    }
    Ok(Hash::plain(text.as_bytes()))
}
