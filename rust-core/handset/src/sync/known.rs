//! What the database knows, for the engine's start and its look-ups.

use super::{APP, JOINED, LAST_JOB};
use crate::error::Error;
use crate::journal::{rows, streams};
use crate::object::{Handset, setting};
use ::sync::engine::{Hole, Job, JobId, Joined, Journal, Known, KnownPhoto, KnownStream, KnownText, Life, Parking};
use ::sync::wire::hello::FeedCursor;
use ::sync::wire::photo::PhotoState;
use rusqlite::{Connection, OptionalExtension, params};
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::{DeviceId, Epoch, PhotoId, SiteId};

/// Looks hashes of this device's entries up.
pub(crate) struct Lookup<'a> {
    pub(crate) db: &'a Connection,
    pub(crate) device: DeviceId,
}

impl Journal for Lookup<'_> {
    fn hash_at(&self, stream: StreamId, seq: Seq) -> Option<Hash> {
        if stream.device != self.device {
            return None;
        }
        let mut statement = self
            .db
            .prepare_cached("SELECT hash FROM entry JOIN stream USING (stream) WHERE epoch = ?1 AND seq = ?2")
            .ok()?;
        let found = statement.query_row(params![stream.epoch.octets(), rows::number(seq)], |row| row.get(0)).optional();
        if let Some(hash) = found.ok()? {
            return Some(Hash(hash));
        }
        let row = streams::row_of(self.db, stream).ok()??;
        Some(rows::head_of_lost(self.db, row, stream, seq).ok()??.hash)
    }
}

/// Everything the engine starts with.
pub(crate) fn known(handset: &Handset) -> Result<Known, Error> {
    let db = &handset.db;
    let joined = setting::<i64>(db, JOINED)? == Some(1);
    Ok(Known {
        app: APP.into(),
        device: handset.device,
        joined: if joined { Joined::Yes } else { Joined::No },
        streams: known_streams(handset)?,
        cursors: cursors(db)?,
        photos: photos(db, handset.device)?,
        texts: texts(db, handset.device)?,
        in_flight: jobs(db)?,
        last_job: JobId(setting::<i64>(db, LAST_JOB)?.and_then(|id| u64::try_from(id).ok()).unwrap_or(0)),
    })
}

/// Every stream of this device with what the station has of it. Streams without an entry are nothing to speak of,
/// but for the one in use.
pub(crate) fn known_streams(handset: &Handset) -> Result<Vec<KnownStream>, Error> {
    let db = &handset.db;
    let all = streams::all(db, handset.device)?;
    let all = all.into_iter().filter(|stream| stream.head.seq > Seq(0) || stream.row == handset.stream.row);
    all.map(|stream| {
        let (acknowledged, parked) = acknowledged(db, stream.row)?;
        Ok(KnownStream {
            id: stream.id,
            head: stream.head,
            acknowledged,
            life: if stream.row == handset.stream.row { Life::Current } else { Life::Sealed },
            parked,
            holes: holes(db, stream.row)?,
            verdicts: last_verdict(db, stream.row)?,
        })
    })
    .collect()
}

/// Photos of this device that the station has not verified and backed up.
fn photos(db: &Connection, device: DeviceId) -> Result<Vec<KnownPhoto>, Error> {
    let mut statement = db.prepare_cached(
        "SELECT photo, epoch, seq, length, state FROM photo JOIN stream USING (stream) WHERE name IS NOT NULL",
    )?;
    let rows = statement.query_map([], |row| {
        let state: Option<String> = row.get(4)?;
        Ok(KnownPhoto {
            id: PhotoId::from_octets(row.get(0)?),
            stream: StreamId { device, epoch: Epoch::from_octets(row.get(1)?) },
            seq: rows::seq(row, 2)?,
            bytes: u64::try_from(row.get::<_, i64>(3)?).unwrap_or(0),
            state: state.and_then(|state| serde_json::from_str::<PhotoState>(&state).ok()).unwrap_or_default(),
        })
    })?;
    let all = rows.collect::<Result<Vec<_>, _>>()?;
    Ok(all.into_iter().filter(|photo| !(photo.state.verified && photo.state.backed_up.is_some())).collect())
}

fn texts(db: &Connection, device: DeviceId) -> Result<Vec<KnownText>, Error> {
    let mut statement = db.prepare_cached(
        "SELECT hash, epoch, entry_seq FROM text JOIN stream USING (stream) WHERE sent = 0 AND entry_seq IS NOT NULL",
    )?;
    let rows = statement.query_map([], |row| text(row, device))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// A text that is here.
pub(crate) fn known_text(db: &Connection, device: DeviceId, hash: Hash) -> Result<Option<KnownText>, Error> {
    let mut statement = db.prepare_cached(
        "SELECT hash, epoch, entry_seq FROM text JOIN stream USING (stream) WHERE hash = ?1 AND entry_seq IS NOT NULL",
    )?;
    Ok(statement.query_row([hash.0], |row| text(row, device)).optional()?)
}

fn text(row: &rusqlite::Row<'_>, device: DeviceId) -> rusqlite::Result<KnownText> {
    Ok(KnownText {
        hash: Hash(row.get(0)?),
        stream: StreamId { device, epoch: Epoch::from_octets(row.get(1)?) },
        seq: rows::seq(row, 2)?,
    })
}

fn acknowledged(db: &Connection, row: i64) -> Result<(Head, Parking), Error> {
    let mut statement = db.prepare_cached("SELECT seq, hash, parked FROM acknowledged WHERE stream = ?1")?;
    let found = statement
        .query_row([row], |row| {
            let parked = if row.get::<_, bool>(2)? { Parking::NotYours } else { Parking::Free };
            Ok((Head { seq: rows::seq(row, 0)?, hash: Hash(row.get(1)?) }, parked))
        })
        .optional()?;
    Ok(found.unwrap_or((Head::START, Parking::Free)))
}

fn holes(db: &Connection, row: i64) -> Result<Vec<Hole>, Error> {
    let mut statement = db.prepare_cached("SELECT seq, reason, offered_by FROM hole WHERE stream = ?1 ORDER BY seq")?;
    let found = statement
        .query_map([row], |row| Ok((rows::seq(row, 0)?, row.get::<_, String>(1)?, row.get::<_, String>(2)?)))?
        .collect::<Result<Vec<_>, _>>()?;
    found
        .into_iter()
        .map(|(seq, reason, offered_by)| Ok(Hole { seq, reason: serde_json::from_str(&reason)?, offered_by }))
        .collect()
}

fn last_verdict(db: &Connection, row: i64) -> Result<u64, Error> {
    let mut statement = db.prepare_cached("SELECT max(number) FROM verdict WHERE stream = ?1")?;
    let last: Option<i64> = statement.query_row([row], |row| row.get(0))?;
    Ok(last.and_then(|number| u64::try_from(number).ok()).unwrap_or(0))
}

fn cursors(db: &Connection) -> Result<Vec<FeedCursor>, Error> {
    let mut statement = db.prepare_cached("SELECT site, number, hash FROM feed_cursor")?;
    let rows = statement.query_map([], |row| {
        Ok(FeedCursor {
            site: SiteId::from_octets(row.get(0)?),
            number: u64::try_from(row.get::<_, i64>(1)?).unwrap_or(0),
            feed_hash: Hash(row.get(2)?),
        })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

fn jobs(db: &Connection) -> Result<Vec<Job>, Error> {
    let mut statement = db.prepare_cached("SELECT record FROM job ORDER BY job")?;
    let records = statement.query_map([], |row| row.get::<_, String>(0))?.collect::<Result<Vec<_>, _>>()?;
    records.iter().map(|record| Ok(serde_json::from_str(record)?)).collect()
}

/// Whether the database has a file for a photo.
pub(crate) fn is_here(db: &Connection, photo: PhotoId) -> Result<bool, Error> {
    let mut statement =
        db.prepare_cached("SELECT EXISTS (SELECT 1 FROM photo WHERE photo = ?1 AND name IS NOT NULL)")?;
    Ok(statement.query_row([photo.octets()], |row| row.get(0))?)
}
