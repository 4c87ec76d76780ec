//! Streams: what is held, who may push.

use super::value::{head, int, limit, one, rows, run, stream, uint};
use super::{SqliteStore, StoreError, entries, feed};
use crate::security::secret::SecretHash;
use crate::store::journal::{
    Appended, Content, Fed, FeedCursor, FeedPage, Held, JournalStore, Kept, Named, Offered, Offerer, Push, Reading,
    SiteRow, Standing, StreamRow,
};
use rusqlite::{Connection, params};
use std::sync::atomic::Ordering;
use survey::chain::{Head, Link, StreamId};
use survey::defect::{Defect, planted};
use survey::ids::{DeviceId, SiteId};
use survey::time::UnixMs;
use sync::wire::hello::HoleHeld;
use sync::wire::push::HoleReason;

impl JournalStore for SqliteStore {
    fn append(&self, push: &Push) -> Result<Appended, StoreError> {
        let appended = self.write(|t| entries::append(t, push))?;
        if push.items.iter().any(erases) {
            self.erased.store(true, Ordering::Release);
        }
        Ok(appended)
    }

    fn held(&self, stream: StreamId, marks: &[Head]) -> Result<Held, StoreError> {
        self.read(|t| held(t, stream, marks))
    }

    fn may_push(&self, stream: StreamId, device: DeviceId, token: SecretHash) -> Result<bool, StoreError> {
        self.read(|t| may_push(t, stream, device, token))
    }

    fn announce(&self, stream: StreamId, head: Head, by: Offerer, at: UnixMs) -> Result<(), StoreError> {
        let claim = match by {
            Offerer::Token { device, token } => (device == stream.device).then_some((token.0, device.octets())),
            Offerer::File | Offerer::Station => None,
        };
        let (token, device) = claim.unzip();
        self.write(|t| {
            run(
                t,
                "UPDATE streams SET announced = max(announced, ?3), seen_ms = max(seen_ms, ?4),
                   claim_device = CASE WHEN claimed_by IS NULL THEN ?6 ELSE claim_device END,
                   claimed_by = coalesce(claimed_by, ?5)
                 WHERE device = ?1 AND epoch = ?2",
                params![stream.device.octets(), stream.epoch.octets(), int(head.seq.0), at.0, token, device],
            )?;
            Ok(())
        })
    }

    fn holes(&self, stream: StreamId, most: usize) -> Result<Vec<HoleHeld>, StoreError> {
        self.read(|t| {
            let sql =
                "SELECT seq, hash, reason FROM holes WHERE device = ?1 AND epoch = ?2 ORDER BY seq, hash LIMIT ?3";
            rows(t, sql, params![stream.device.octets(), stream.epoch.octets(), limit(most)], |row| {
                let (at, reason) = (head(row, 0)?, row.get::<_, String>(2)?);
                Ok(HoleHeld { seq: at.seq, hash: at.hash, reason: HoleReason::named(&reason) })
            })
        })
    }

    fn feed_after(
        &self,
        site: SiteId,
        cursor: FeedCursor,
        most: usize,
        most_bytes: usize,
    ) -> Result<FeedPage, StoreError> {
        self.read(|t| feed::after(t, site, cursor, most, most_bytes))
    }

    fn feed_from(&self, site: SiteId, after: u64, most: usize) -> Result<Vec<Fed>, StoreError> {
        self.read(|t| feed::from(t, site, after, most))
    }

    fn feed_end(&self, site: SiteId) -> Result<FeedCursor, StoreError> {
        self.read(|t| feed::end(t, site))
    }

    fn unverified_streams(&self) -> Result<Vec<StreamId>, StoreError> {
        let sql = "SELECT device, epoch FROM streams WHERE claimed_by IS NULL AND NOT confirmed ORDER BY device, epoch";
        self.read(|t| rows(t, sql, [], |row| stream(row, 0)))
    }

    fn streams(&self) -> Result<Vec<StreamRow>, StoreError> {
        self.read(|t| {
            let sql = "SELECT device, epoch, claimed_by IS NOT NULL OR confirmed, announced, first_ms, seen_ms,
                 (SELECT count(*) FROM entries e WHERE e.device = s.device AND e.epoch = s.epoch),
                 (SELECT count(*) FROM holes h WHERE h.device = s.device AND h.epoch = s.epoch),
                 (SELECT count(*) FROM entries e WHERE e.device = s.device AND e.epoch = s.epoch AND e.reading = 'undecodable')
                 FROM streams s ORDER BY device, epoch";
            let mut streams = rows(t, sql, [], |row| {
                Ok(StreamRow {
                    stream: stream(row, 0)?,
                    standing: standing(row.get(2)?),
                    heads: Vec::new(),
                    announced: uint(row, 3)?,
                    first_received: UnixMs(row.get(4)?),
                    last_seen: UnixMs(row.get(5)?),
                    entries: uint(row, 6)?,
                    holes: uint(row, 7)?,
                    undecodable: uint(row, 8)?,
                })
            })?;
            for row in &mut streams {
                row.heads = heads(t, row.stream)?;
            }
            Ok(streams)
        })
    }

    fn sites(&self) -> Result<Vec<SiteRow>, StoreError> {
        self.read(feed::sites)
    }

    fn kept(&self, stream: StreamId, after: Head, most: usize) -> Result<Vec<Kept>, StoreError> {
        self.read(|t| {
            let sql = "SELECT seq, hash, previous, bytes, NULL FROM entries
                   WHERE device = ?1 AND epoch = ?2 AND (seq, hash) > (?3, ?4)
                 UNION ALL SELECT seq, hash, previous, NULL, reason FROM holes
                   WHERE device = ?1 AND epoch = ?2 AND (seq, hash) > (?3, ?4)
                 ORDER BY seq, hash LIMIT ?5";
            let key =
                params![stream.device.octets(), stream.epoch.octets(), int(after.seq.0), after.hash.0, limit(most)];
            rows(t, sql, key, |row| {
                let at = head(row, 0)?;
                let previous = super::value::hash(row, 2)?;
                let bytes: Option<Vec<u8>> = row.get(3)?;
                Ok(match bytes {
                    Some(bytes) => Kept::Entry(Link { stream, seq: at.seq, previous, hash: at.hash, bytes }),
                    None => Kept::Hole { seq: at.seq, hash: at.hash, previous, reason: row.get(4)? },
                })
            })
        })
    }

    fn confirm(&self, stream: StreamId) -> Result<bool, StoreError> {
        self.write(|t| {
            let sql = "UPDATE streams SET confirmed = 1 WHERE device = ?1 AND epoch = ?2";
            Ok(run(t, sql, params![stream.device.octets(), stream.epoch.octets()])? > 0)
        })
    }

    fn link(&self, of: DeviceId, by: DeviceId, at: UnixMs) -> Result<(), StoreError> {
        self.write(|t| {
            run(t, "INSERT OR IGNORE INTO links VALUES (?1, ?2, ?3)", params![of.octets(), by.octets(), at.0])?;
            Ok(())
        })
    }
}

/// Whether an item erases something.
const fn erases(item: &Offered) -> bool {
    matches!(item.content, Content::Whole { reading: Reading::Site { names: Named::Erased(_), .. }, .. })
}

/// What a stream's claim, or a coordinator's word, is worth.
pub(super) const fn standing(verified: bool) -> Standing {
    if verified { Standing::Verified } else { Standing::Unverified }
}

/// Whether this place of a stream is held, as an entry or a hole.
pub(super) fn is_held(t: &Connection, stream: StreamId, at: Head) -> Result<bool, StoreError> {
    if at == Head::START {
        return Ok(true);
    }
    let sql = "SELECT 1 FROM entries WHERE device = ?1 AND epoch = ?2 AND seq = ?3 AND hash = ?4
         UNION ALL SELECT 1 FROM holes WHERE device = ?1 AND epoch = ?2 AND seq = ?3 AND hash = ?4";
    let key = params![stream.device.octets(), stream.epoch.octets(), int(at.seq.0), at.hash.0];
    Ok(one(t, sql, key, |_| Ok(()))?.is_some())
}

/// What is held of a stream, seen from the phone's marks.
pub(super) fn held(t: &Connection, stream: StreamId, marks: &[Head]) -> Result<Held, StoreError> {
    let heads = heads(t, stream)?;
    let longest = heads.iter().copied().max_by_key(|head| (head.seq, head.hash)).unwrap_or(Head::START);
    let mut common = Head::START;
    for &mark in marks {
        if is_held(t, stream, mark)? {
            common = mark;
            break;
        }
    }
    let head = if common == Head::START || heads.len() < 2 { longest } else { branch_end(t, stream, common)? };
    let head = match heads.iter().find(|other| **other != head) {
        Some(other) if planted(Defect::WrongBranchAcknowledged) => *other,
        _ => head,
    };
    Ok(Held { head, common, heads })
}

/// The ends of a stream's branches, by number and hash.
pub(super) fn heads(t: &Connection, stream: StreamId) -> Result<Vec<Head>, StoreError> {
    let sql = "SELECT seq, hash FROM heads WHERE device = ?1 AND epoch = ?2 ORDER BY seq, hash";
    rows(t, sql, params![stream.device.octets(), stream.epoch.octets()], |row| head(row, 0))
}

/// Whether a stream is of the station's own device.
pub(super) fn is_own(t: &Connection, stream: StreamId) -> Result<bool, StoreError> {
    let sql = "SELECT 1 FROM own_stream WHERE device = ?1";
    Ok(one(t, sql, params![stream.device.octets()], |_| Ok(()))?.is_some())
}

/// Whether this token may push the stream.
pub(super) fn may_push(
    t: &Connection,
    stream: StreamId,
    device: DeviceId,
    token: SecretHash,
) -> Result<bool, StoreError> {
    if is_own(t, stream)? {
        return Ok(false);
    }
    let sql = "SELECT claimed_by, claim_device FROM streams WHERE device = ?1 AND epoch = ?2";
    let key = params![stream.device.octets(), stream.epoch.octets()];
    let claim = one(t, sql, key, |row| Ok((row.get::<_, Option<[u8; 32]>>(0)?, row.get::<_, Option<[u8; 16]>>(1)?)))?;
    let Some((Some(claim), owner)) = claim else {
        return Ok(true);
    };
    if SecretHash(claim) == token {
        return Ok(true);
    }
    let sql = "SELECT 1 FROM links WHERE of_device IN (?1, ?2) AND by_device = ?3";
    Ok(one(t, sql, params![stream.device.octets(), owner, device.octets()], |_| Ok(()))?.is_some())
}

/// The farthest place that can be reached from this one; of several the one with the largest number, then hash.
fn branch_end(t: &Connection, stream: StreamId, from: Head) -> Result<Head, StoreError> {
    let sql = "WITH RECURSIVE below (seq, hash) AS (
           VALUES (?3, ?4)
           UNION
           SELECT e.seq, e.hash FROM below b JOIN entries e
             ON e.device = ?1 AND e.epoch = ?2 AND e.seq = b.seq + 1 AND e.previous = b.hash
           UNION
           SELECT h.seq, h.hash FROM below b JOIN holes h
             ON h.device = ?1 AND h.epoch = ?2 AND h.seq = b.seq + 1 AND h.previous = b.hash)
         SELECT seq, hash FROM below ORDER BY seq DESC, hash DESC LIMIT 1";
    let key = params![stream.device.octets(), stream.epoch.octets(), int(from.seq.0), from.hash.0];
    Ok(one(t, sql, key, |row| head(row, 0))?.unwrap_or(from))
}
