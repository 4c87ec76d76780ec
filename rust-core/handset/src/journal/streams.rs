//! The streams of this device: which one is written, and when it is sealed.

use super::rows;
use crate::error::Error;
use crate::surroundings::{Mark, Surroundings};
use rusqlite::{Connection, OptionalExtension, Transaction, TransactionBehavior, params};
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::defect::{Defect, planted};
use survey::ids::{DeviceId, Epoch};
use survey::time::UnixMs;

/// How many links at the end of the stream are checked at every opening.
pub(crate) const CHECKED_AT_OPENING: u64 = 100;

/// The stream that is being written.
#[derive(Debug, Clone, Copy)]
pub(crate) struct Current {
    /// Its row.
    pub(crate) row: i64,
    /// Its identity.
    pub(crate) id: StreamId,
    /// Its end.
    pub(crate) head: Head,
}

/// Why a stream was sealed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Sealed {
    /// There was no mark outside the database.
    MarkerAbsent,
    /// The mark named another epoch.
    MarkerDifferent,
    /// The mark was ahead of the database: an older copy was restored.
    MarkerAhead,
    /// The station holds what this database does not know.
    StationAhead,
}

impl Sealed {
    pub(crate) const fn name(self) -> &'static str {
        match self {
            Self::MarkerAbsent => "marker-absent",
            Self::MarkerDifferent => "marker-different",
            Self::MarkerAhead => "marker-ahead",
            Self::StationAhead => "station-ahead",
        }
    }
}

/// The stream to write, after comparing its end with the mark outside the database; begins one where that is due.
pub(crate) fn settle(
    db: &mut Connection,
    device: DeviceId,
    around: &mut Surroundings,
) -> Result<(Current, Option<Sealed>), Error> {
    let Some(current) = current(db, device)? else {
        return Ok((begin(db, device, around, None)?, None));
    };
    check_end(db, current)?;
    let sealed = match around.marker.read().map_err(Error::Marker)? {
        None => Some(Sealed::MarkerAbsent),
        Some(mark) if mark.epoch != current.id.epoch => Some(Sealed::MarkerDifferent),
        Some(mark) if mark.seq > current.head.seq => Some(Sealed::MarkerAhead),
        Some(_) => None,
    };
    match sealed.filter(|_| !planted(Defect::MarkerUnchecked)) {
        None => Ok((current, None)),
        Some(why) => Ok((begin(db, device, around, Some((current, why)))?, Some(why))),
    }
}

/// Begins a stream in a fresh epoch, after sealing the one before.
pub(crate) fn begin(
    db: &mut Connection,
    device: DeviceId,
    around: &mut Surroundings,
    before: Option<(Current, Sealed)>,
) -> Result<Current, Error> {
    let id = StreamId { device, epoch: Epoch::random(around.random.octets()) };
    let at = around.clock.now().wall;
    let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    if let Some((current, why)) = before {
        transaction.execute("UPDATE stream SET sealed = ?2 WHERE stream = ?1", params![current.row, why.name()])?;
    }
    let row = insert(&transaction, id.epoch, at)?;
    transaction.commit()?;
    around.marker.write(Mark { epoch: id.epoch, seq: Seq(0) }).map_err(Error::Marker)?;
    Ok(Current { row, id, head: Head::START })
}

/// Every stream of this device with its row and its end, in order of their beginning.
pub(crate) fn all(db: &Connection, device: DeviceId) -> Result<Vec<Current>, Error> {
    let mut statement = db.prepare_cached("SELECT stream, epoch FROM stream ORDER BY stream")?;
    let rows = statement.query_map([], |row| Ok((row.get::<_, i64>(0)?, row.get::<_, [u8; 16]>(1)?)))?;
    let rows = rows.collect::<Result<Vec<_>, _>>()?;
    rows.into_iter()
        .map(|(row, epoch)| {
            let id = StreamId { device, epoch: Epoch::from_octets(epoch) };
            Ok(Current { row, id, head: end(db, row)? })
        })
        .collect()
}

fn current(db: &Connection, device: DeviceId) -> Result<Option<Current>, Error> {
    let found = db
        .query_row("SELECT stream, epoch FROM stream WHERE sealed IS NULL ORDER BY stream DESC LIMIT 1", [], |row| {
            Ok((row.get::<_, i64>(0)?, row.get::<_, [u8; 16]>(1)?))
        })
        .optional()?;
    let Some((row, epoch)) = found else { return Ok(None) };
    let id = StreamId { device, epoch: Epoch::from_octets(epoch) };
    Ok(Some(Current { row, id, head: end(db, row)? }))
}

fn end(db: &Connection, row: i64) -> Result<Head, Error> {
    let end = db
        .query_row("SELECT seq, hash FROM entry WHERE stream = ?1 ORDER BY seq DESC LIMIT 1", [row], |row| {
            Ok(Head { seq: rows::seq(row, 0)?, hash: Hash(row.get(1)?) })
        })
        .optional()?;
    Ok(end.unwrap_or(Head::START))
}

/// Checks that the last links of the stream hold.
fn check_end(db: &Connection, current: Current) -> Result<(), Error> {
    let first = current.head.seq.0.saturating_sub(CHECKED_AT_OPENING) + 1;
    let mut before: Option<Head> = (first == 1).then_some(Head::START);
    for link in rows::own_links(db, current.row, current.id, Seq(first), CHECKED_AT_OPENING)? {
        let checked = match before {
            Some(head) => link.verify_after(head),
            None => link.verify(),
        };
        checked.map_err(|error| Error::Damaged(error.to_string()))?;
        before = Some(link.head());
    }
    Ok(())
}

fn insert(transaction: &Transaction<'_>, epoch: Epoch, at: UnixMs) -> Result<i64, Error> {
    transaction.execute("INSERT INTO stream (epoch, begun_ms) VALUES (?1, ?2)", params![epoch.octets(), at.0])?;
    Ok(transaction.last_insert_rowid())
}

/// The row of a stream of this device.
pub(crate) fn row_of(db: &Connection, stream: StreamId) -> Result<Option<i64>, Error> {
    let mut statement = db.prepare_cached("SELECT stream FROM stream WHERE epoch = ?1")?;
    Ok(statement.query_row([stream.epoch.octets()], |row| row.get(0)).optional()?)
}
