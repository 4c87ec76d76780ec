//! Verdicts.

use super::value::{hash, head, int, limit, one, rows, run, site, stream, uint};
use super::{SqliteStore, StoreError};
use crate::store::judgements::{EntryRuling, Judged, JudgementStore};
use rusqlite::{Connection, Row, params};
use std::collections::BTreeMap;
use survey::chain::{Head, StreamId};
use survey::ids::SiteId;
use survey::time::UnixMs;
use sync::wire::verdict::{Ruling, Verdict, VerdictPage};

impl JudgementStore for SqliteStore {
    fn judge(&self, site: SiteId, judged: Judged, rulings: &[EntryRuling], at: UnixMs) -> Result<usize, StoreError> {
        self.write(|t| judge(t, site, judged, rulings, at))
    }

    fn due(&self, fold_version: u32, stream: Option<StreamId>) -> Result<Vec<SiteId>, StoreError> {
        self.read(|t| {
            let sql = "SELECT s.site FROM sites s LEFT JOIN judged j ON j.site = s.site
                 WHERE (j.site IS NULL OR j.fold_version <> ?1
                   OR j.upto < (SELECT number FROM feed f WHERE f.site = s.site ORDER BY number DESC LIMIT 1))
                 AND (?2 IS NULL
                   OR EXISTS (SELECT 1 FROM feed f WHERE f.site = s.site AND f.device = ?2 AND f.epoch = ?3))
                 ORDER BY s.site";
            let (device, epoch) = (stream.map(|own| own.device.octets()), stream.map(|own| own.epoch.octets()));
            rows(t, sql, params![fold_version, device, epoch], |row| site(row, 0))
        })
    }

    fn judged(&self, site: SiteId) -> Result<Option<Judged>, StoreError> {
        self.read(|t| {
            one(t, "SELECT upto, fold_version, summary FROM judged WHERE site = ?1", params![site.octets()], |row| {
                Ok(Judged { upto: uint(row, 0)?, fold_version: row.get(1)?, summary: hash(row, 2)? })
            })
        })
    }

    fn rulings(&self, site: SiteId) -> Result<Vec<EntryRuling>, StoreError> {
        self.read(|t| {
            let mut rulings = latest(t, site)?;
            rulings.retain(|ruling| ruling.ruling != Ruling::Accepted);
            Ok(rulings)
        })
    }

    fn verdicts_after(&self, stream: StreamId, after: u64, most: usize) -> Result<VerdictPage, StoreError> {
        self.read(|t| {
            let sql = "SELECT number, seq, hash, ruling FROM verdicts WHERE device = ?1 AND epoch = ?2 AND number > ?3
                 ORDER BY number LIMIT ?4";
            let key = params![stream.device.octets(), stream.epoch.octets(), int(after), limit(most.saturating_add(1))];
            let mut verdicts = rows(t, sql, key, |row| {
                let at = head(row, 1)?;
                Ok(Verdict { number: uint(row, 0)?, seq: at.seq, hash: at.hash, ruling: ruling(row, 3)? })
            })?;
            let more = verdicts.len() > most;
            verdicts.truncate(most);
            Ok(VerdictPage { verdicts, more })
        })
    }

    fn last_verdict(&self, stream: StreamId) -> Result<u64, StoreError> {
        self.read(|t| last(t, stream))
    }
}

fn judge(
    t: &Connection,
    site: SiteId,
    judged: Judged,
    rulings: &[EntryRuling],
    at: UnixMs,
) -> Result<usize, StoreError> {
    // Two processes may judge side by side; what was folded from less does not undo what was folded from more.
    let known = one(t, "SELECT upto FROM judged WHERE site = ?1", params![site.octets()], |row| uint(row, 0))?;
    if known.is_some_and(|upto| upto > judged.upto) {
        return Ok(0);
    }
    let mut standing: BTreeMap<_, _> = latest(t, site)?.into_iter().map(|row| (key(&row), row.ruling)).collect();
    let mut added = 0;
    for row in rulings {
        if standing.remove(&key(row)).as_ref() != Some(&row.ruling) {
            add(t, Some(site), row, at)?;
            added += 1;
        }
    }
    for ((stream, seq, hash), ruling) in standing {
        if ruling != Ruling::Accepted {
            let at_head = Head { seq, hash };
            add(t, Some(site), &EntryRuling { stream, at: at_head, ruling: Ruling::Accepted }, at)?;
            added += 1;
        }
    }
    run(
        t,
        "INSERT INTO judged (site, upto, fold_version, summary) VALUES (?1, ?2, ?3, ?4) ON CONFLICT (site)
         DO UPDATE SET upto = excluded.upto, fold_version = excluded.fold_version, summary = excluded.summary",
        params![site.octets(), int(judged.upto), judged.fold_version, judged.summary.0],
    )?;
    Ok(added)
}

/// Says of an entry that it cannot be read. It belongs to no site, and the site of its verdict is empty.
pub(super) fn refuse_unread(t: &Connection, stream: StreamId, at: Head, when: UnixMs) -> Result<(), StoreError> {
    let ruling = Ruling::Refused { reason: crate::judge::NOT_DECODABLE.into() };
    add(t, None, &EntryRuling { stream, at, ruling }, when)
}

type Key = (StreamId, survey::chain::Seq, survey::chain::Hash);

fn key(row: &EntryRuling) -> Key {
    (row.stream, row.at.seq, row.at.hash)
}

fn add(t: &Connection, site: Option<SiteId>, row: &EntryRuling, at: UnixMs) -> Result<(), StoreError> {
    let text = serde_json::to_string(&row.ruling).map_err(|error| StoreError::Damaged { reason: error.to_string() })?;
    let number = last(t, row.stream)? + 1;
    run(
        t,
        "INSERT INTO verdicts (device, epoch, number, seq, hash, site, ruling, at_ms) VALUES (?1, ?2, ?3, ?4, ?5, ?6, ?7, ?8)",
        params![
            row.stream.device.octets(),
            row.stream.epoch.octets(),
            int(number),
            int(row.at.seq.0),
            row.at.hash.0,
            site.map_or(Vec::new(), |site| site.octets().to_vec()),
            text,
            at.0
        ],
    )?;
    Ok(())
}

fn last(t: &Connection, stream: StreamId) -> Result<u64, StoreError> {
    let sql = "SELECT coalesce(max(number), 0) FROM verdicts WHERE device = ?1 AND epoch = ?2";
    Ok(one(t, sql, params![stream.device.octets(), stream.epoch.octets()], |row| uint(row, 0))?.unwrap_or(0))
}

/// The last ruling on each entry of a site that ever had one.
fn latest(t: &Connection, site: SiteId) -> Result<Vec<EntryRuling>, StoreError> {
    let sql = "SELECT device, epoch, seq, hash, ruling FROM verdicts v WHERE site = ?1 AND number =
           (SELECT max(number) FROM verdicts w WHERE w.site = ?1 AND w.device = v.device AND w.epoch = v.epoch
              AND w.seq = v.seq AND w.hash = v.hash)
         ORDER BY device, epoch, seq, hash";
    rows(t, sql, params![site.octets()], |row| {
        Ok(EntryRuling { stream: stream(row, 0)?, at: head(row, 2)?, ruling: ruling(row, 4)? })
    })
}

fn ruling(row: &Row<'_>, column: usize) -> rusqlite::Result<Ruling> {
    let text: String = row.get(column)?;
    serde_json::from_str(&text).map_err(|error| {
        rusqlite::Error::FromSqlConversionFailure(column, rusqlite::types::Type::Text, Box::new(error))
    })
}
