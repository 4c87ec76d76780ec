//! Links in and out of their tables.

use crate::error::Error;
use rusqlite::{Connection, Row, params};
use survey::chain::{Hash, Head, Link, Seq, StreamId};
use survey::entry::Scope;
use survey::ids::{DeviceId, Epoch, VisitId};

/// Appends a link to this device's journal.
pub(crate) fn append(db: &Connection, stream: i64, link: &Link, scope: Scope) -> Result<(), Error> {
    let mut statement = db.prepare_cached(
        "INSERT INTO entry (stream, seq, previous, hash, site, visit, bytes) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
    )?;
    statement.execute(params![
        stream,
        number(link.seq),
        link.previous.0,
        link.hash.0,
        scope.site().map(|site| site.octets()),
        scope.visit().map(|visit| visit.octets()),
        link.bytes,
    ])?;
    Ok(())
}

/// Stores a link of another device; `scope` is that of the feed where the bytes give none. Repeating changes nothing.
pub(crate) fn receive(db: &Connection, link: &Link, scope: Scope) -> Result<Stored, Error> {
    if is_received(db, link)? {
        return Ok(Stored::Already);
    }
    let (device, epoch) = (link.stream.device.octets(), link.stream.epoch.octets());
    let mut statement = db.prepare_cached(
        "INSERT INTO received (device, epoch, seq, hash, previous, site, visit, bytes) \
         VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
    )?;
    statement.execute(params![
        device,
        epoch,
        number(link.seq),
        link.hash.0,
        link.previous.0,
        scope.site().map(|site| site.octets()),
        scope.visit().map(|visit| visit.octets()),
        link.bytes,
    ])?;
    Ok(Stored::Fresh)
}

/// Whether a received link was stored before.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(crate) enum Stored {
    /// It was not.
    Fresh,
    /// It was.
    Already,
}

/// Hands over the bytes of every entry of this device that concerns the device alone, in the order of its streams.
pub(crate) fn each_of_device(db: &Connection, mut each: impl FnMut(&[u8])) -> Result<(), Error> {
    let mut statement =
        db.prepare_cached("SELECT bytes FROM entry WHERE site IS NULL AND visit IS NULL ORDER BY stream, seq")?;
    let mut rows = statement.query([])?;
    while let Some(row) = rows.next()? {
        each(row.get_ref(0)?.as_blob().map_err(rusqlite::Error::from)?);
    }
    Ok(())
}

/// Links of one of this device's streams, from a sequence number on.
pub(crate) fn own_links(db: &Connection, stream: i64, id: StreamId, first: Seq, most: u64) -> Result<Vec<Link>, Error> {
    let mut statement = db.prepare_cached(
        "SELECT seq, previous, hash, bytes FROM entry WHERE stream = ?1 AND seq >= ?2 ORDER BY seq LIMIT ?3",
    )?;
    let rows = statement.query_map(params![stream, number(first), i64::try_from(most).unwrap_or(i64::MAX)], |row| {
        Ok(Link {
            stream: id,
            seq: seq(row, 0)?,
            previous: Hash(row.get(1)?),
            hash: Hash(row.get(2)?),
            bytes: row.get(3)?,
        })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Where an entry stands that salvage could not read, although later ones of its stream are here. The hash of one whose
/// follower is here is what that follower names; of others none is known, and one that nothing can have stands for it,
/// always the same.
pub(crate) fn head_of_lost(db: &Connection, stream: i64, id: StreamId, seq: Seq) -> Result<Option<Head>, Error> {
    if seq == Seq(0) {
        return Ok(None);
    }
    let next = own_links(db, stream, id, seq, 1)?;
    Ok(match next.first() {
        None => None,
        Some(link) if link.seq == seq => None,
        Some(link) if link.seq.0 == seq.0 + 1 => Some(Head { seq, hash: link.previous }),
        Some(_) => {
            let octets = [LOST_TAG, &id.device.octets(), &id.epoch.octets(), &seq.0.to_be_bytes()].concat();
            Some(Head { seq, hash: Hash::plain(&octets) })
        }
    })
}

const LOST_TAG: &[u8] = b"leafturn lost 1\0";

/// The links from a number on that stand there without a gap.
pub(crate) fn without_gap(mut links: Vec<Link>, first: Seq) -> Vec<Link> {
    let whole = (first.0..).zip(&links).take_while(|(seq, link)| link.seq.0 == *seq).count();
    links.truncate(whole);
    links
}

/// Every link whose scope is this visit, this device's and others'.
pub(crate) fn links_of_visit(db: &Connection, device: DeviceId, visit: VisitId) -> Result<Vec<Link>, Error> {
    links(db, device, Some(visit), OF_VISIT)
}

/// Every link whose scope is a site as a whole, this device's and others'.
pub(crate) fn links_of_sites(db: &Connection, device: DeviceId) -> Result<Vec<Link>, Error> {
    links(db, device, None, OF_SITES)
}

/// Every visit that any link's scope names.
pub(crate) fn visits(db: &Connection) -> Result<Vec<VisitId>, Error> {
    let mut statement = db.prepare_cached(
        "SELECT visit FROM entry WHERE visit IS NOT NULL UNION SELECT visit FROM received WHERE visit IS NOT NULL",
    )?;
    let rows = statement.query_map([], |row| Ok(VisitId::from_octets(row.get(0)?)))?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// Sequence numbers stay far below 2^63: SQLite's integers hold them.
pub(crate) fn number(seq: Seq) -> i64 {
    i64::try_from(seq.0).unwrap_or(i64::MAX)
}

/// Reads a sequence number.
pub(crate) fn seq(row: &Row<'_>, column: usize) -> rusqlite::Result<Seq> {
    let number: i64 = row.get(column)?;
    u64::try_from(number).map(Seq).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, number))
}

const OF_VISIT: &str = "SELECT NULL, stream.epoch, seq, hash, previous, bytes \
     FROM entry JOIN stream USING (stream) WHERE visit = ?1 \
     UNION ALL SELECT device, epoch, seq, hash, previous, bytes FROM received WHERE visit = ?1";
const OF_SITES: &str = "SELECT NULL, stream.epoch, seq, hash, previous, bytes \
     FROM entry JOIN stream USING (stream) WHERE site IS NOT NULL AND visit IS NULL AND ?1 IS NULL \
     UNION ALL SELECT device, epoch, seq, hash, previous, bytes \
     FROM received WHERE site IS NOT NULL AND visit IS NULL";

fn links(db: &Connection, own: DeviceId, visit: Option<VisitId>, sql: &str) -> Result<Vec<Link>, Error> {
    let mut statement = db.prepare_cached(sql)?;
    let rows = statement.query_map([visit.map(|visit| visit.octets())], |row| {
        let device = row.get::<_, Option<[u8; 16]>>(0)?.map_or(own, DeviceId::from_octets);
        Ok(Link {
            stream: StreamId { device, epoch: Epoch::from_octets(row.get(1)?) },
            seq: seq(row, 2)?,
            hash: Hash(row.get(3)?),
            previous: Hash(row.get(4)?),
            bytes: row.get(5)?,
        })
    })?;
    Ok(rows.collect::<Result<_, _>>()?)
}

/// The visit to a site that started last by its state row, with its start.
pub(crate) fn latest_visit(db: &Connection, site: survey::ids::SiteId) -> Result<Option<(i64, VisitId)>, Error> {
    use rusqlite::OptionalExtension;
    let mut statement = db.prepare_cached(
        "SELECT started_ms, visit FROM visit WHERE site = ?1 AND started_ms IS NOT NULL \
         ORDER BY started_ms DESC, visit DESC LIMIT 1",
    )?;
    let found =
        statement.query_row([site.octets()], |row| Ok((row.get(0)?, VisitId::from_octets(row.get(1)?)))).optional()?;
    Ok(found)
}

/// Whether this link is among the received ones.
pub(crate) fn is_received(db: &Connection, link: &Link) -> Result<bool, Error> {
    let mut known = db.prepare_cached(
        "SELECT EXISTS (SELECT 1 FROM received WHERE device = ?1 AND epoch = ?2 AND seq = ?3 AND hash = ?4)",
    )?;
    let (device, epoch) = (link.stream.device.octets(), link.stream.epoch.octets());
    Ok(known.query_row(params![device, epoch, number(link.seq), link.hash.0], |row| row.get(0))?)
}
