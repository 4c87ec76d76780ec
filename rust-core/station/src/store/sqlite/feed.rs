//! Feeds: each site's entries in the order in which they were committed, hash-chained.

use super::StoreError;
use super::journal::standing;
use super::value::{device, hash, int, limit, one, rows, run, site, stream, uint};
use crate::store::journal::{Fed, FeedCursor, FeedPage, SiteRow};
use rusqlite::{Connection, Row, params};
use survey::chain::{Hash, Head, Link, Seq, StreamId, feed_hash};
use survey::ids::SiteId;
use survey::time::UnixMs;

const FED: &str = "SELECT f.number, f.feed_hash, f.device, f.epoch, f.seq, f.hash, e.previous, e.bytes, e.received_ms,
       s.claimed_by IS NOT NULL OR s.confirmed
     FROM feed f
     JOIN entries e ON e.device = f.device AND e.epoch = f.epoch AND e.seq = f.seq AND e.hash = f.hash
     JOIN streams s ON s.device = f.device AND s.epoch = f.epoch
     WHERE f.site = ?1 AND f.number > ?2 ORDER BY f.number";

/// Puts an entry behind the end of a site's feed, and says where it ends then.
pub(super) fn add(
    t: &Connection,
    site: SiteId,
    end: FeedCursor,
    stream: StreamId,
    at: Head,
) -> Result<FeedCursor, StoreError> {
    let number = end.number + 1;
    let chained = feed_hash(site, number, end.hash, at.hash);
    run(
        t,
        "INSERT INTO feed (site, number, feed_hash, device, epoch, seq, hash) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7)",
        params![
            site.octets(),
            int(number),
            chained.0,
            stream.device.octets(),
            stream.epoch.octets(),
            int(at.seq.0),
            at.hash.0
        ],
    )?;
    Ok(FeedCursor { number, hash: chained })
}

/// Where a site's feed ends.
pub(super) fn end(t: &Connection, site: SiteId) -> Result<FeedCursor, StoreError> {
    let sql = "SELECT number, feed_hash FROM feed WHERE site = ?1 ORDER BY number DESC LIMIT 1";
    let end = one(t, sql, params![site.octets()], |row| Ok(FeedCursor { number: uint(row, 0)?, hash: hash(row, 1)? }))?;
    Ok(end.unwrap_or(FeedCursor { number: 0, hash: Hash::ZERO }))
}

/// A page after a cursor.
pub(super) fn after(
    t: &Connection,
    site: SiteId,
    cursor: FeedCursor,
    most: usize,
    most_bytes: usize,
) -> Result<FeedPage, StoreError> {
    if cursor.number > 0 {
        let sql = "SELECT feed_hash FROM feed WHERE site = ?1 AND number = ?2";
        let known = one(t, sql, params![site.octets(), int(cursor.number)], |row| hash(row, 0))?;
        if known != Some(cursor.hash) {
            return Ok(FeedPage::Restarted);
        }
    }
    let mut statement = t.prepare_cached(FED).map_err(super::store_error)?;
    let fed = statement.query_map(params![site.octets(), int(cursor.number)], read_fed).map_err(super::store_error)?;
    let (mut items, mut bytes) = (Vec::new(), 0);
    for item in fed.take(most) {
        let item = item.map_err(super::store_error)?;
        bytes += item.link.bytes.len();
        if bytes > most_bytes && !items.is_empty() {
            break;
        }
        items.push(item);
    }
    Ok(FeedPage::Items { items, end: end(t, site)? })
}

/// Items after a number, whatever the hash there.
pub(super) fn from(t: &Connection, site: SiteId, after: u64, most: usize) -> Result<Vec<Fed>, StoreError> {
    rows(t, &format!("{FED} LIMIT ?3"), params![site.octets(), int(after), limit(most)], read_fed)
}

/// Every site with entries.
pub(super) fn sites(t: &rusqlite::Transaction<'_>) -> Result<Vec<SiteRow>, StoreError> {
    let nowhere = FeedCursor { number: 0, hash: Hash::ZERO };
    let mut sites = rows(t, "SELECT site, author, since_ms FROM sites ORDER BY site", [], |row| {
        Ok(SiteRow { site: site(row, 0)?, author: device(row, 1)?, since: UnixMs(row.get(2)?), end: nowhere })
    })?;
    for row in &mut sites {
        row.end = end(t, row.site)?;
    }
    Ok(sites)
}

fn read_fed(row: &Row<'_>) -> rusqlite::Result<Fed> {
    Ok(Fed {
        number: uint(row, 0)?,
        feed_hash: hash(row, 1)?,
        link: Link {
            stream: stream(row, 2)?,
            seq: Seq(uint(row, 4)?),
            hash: hash(row, 5)?,
            previous: hash(row, 6)?,
            bytes: row.get(7)?,
        },
        received: UnixMs(row.get(8)?),
        standing: standing(row.get(9)?),
    })
}
