//! Folding everything again: the visit in hand first, the rest in slices that can be interrupted.

use super::group::{Group, is_unfolded};
use super::memory::Memory;
use super::{FOLD_VERSION, write};
use crate::error::Error;
use crate::journal::rows;
use rusqlite::{Connection, OptionalExtension, TransactionBehavior, params};
use serde::Serialize;
use survey::ids::{DeviceId, VisitId};

/// How far a refold went.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Progress {
    /// Visits that are still to be folded; their numbers are marked on screens until then.
    pub left: u64,
}

/// The fold version that the tables were made with, 0 where none was.
pub(crate) fn version(db: &Connection) -> Result<i64, Error> {
    let found =
        db.query_row("SELECT value FROM setting WHERE name = 'fold-version'", [], |row| row.get(0)).optional()?;
    Ok(found.unwrap_or(0))
}

/// Drops every state row and remembers all visits as unfolded.
pub(crate) fn begin(db: &mut Connection, memory: &mut Memory) -> Result<(), Error> {
    let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    for (table, _) in write::TABLES {
        transaction.execute_batch(&format!("DELETE FROM {table}"))?;
    }
    for visit in rows::visits(&transaction)? {
        transaction
            .prepare_cached("INSERT INTO unfolded (visit) VALUES (?1) ON CONFLICT DO NOTHING")?
            .execute([visit.octets()])?;
    }
    memory.write_all_sites(&transaction)?;
    transaction.execute(
        "INSERT INTO setting (name, value) VALUES ('fold-version', ?1) \
         ON CONFLICT (name) DO UPDATE SET value = excluded.value",
        params![FOLD_VERSION],
    )?;
    Ok(transaction.commit()?)
}

/// Folds so many visits: the one named first, then those that wait. One transaction, which is not synced: what a power
/// cut takes of it is rows of a cache and the note that they are still to be made, both or neither.
pub(crate) fn step(
    db: &mut Connection,
    device: DeviceId,
    memory: &Memory,
    first: Option<VisitId>,
    visits: usize,
) -> Result<Progress, Error> {
    let synced: i64 = db.pragma_query_value(None, "synchronous", |row| row.get(0))?;
    db.pragma_update(None, "synchronous", "NORMAL")?;
    let progress = fold_some(db, device, memory, first, visits);
    // No transaction is open whatever came of it, so that this cannot be refused.
    db.pragma_update(None, "synchronous", synced)?;
    progress
}

fn fold_some(
    db: &mut Connection,
    device: DeviceId,
    memory: &Memory,
    first: Option<VisitId>,
    visits: usize,
) -> Result<Progress, Error> {
    let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    for _ in 0..visits {
        let Some(visit) = waiting(&transaction, first)? else { break };
        let mut group = Group::load(&transaction, device, &memory.sites, visit)?;
        write::replace_visit(&transaction, &group.members, group.state.as_mut())?;
    }
    let left = left(&transaction)?;
    transaction.commit()?;
    Ok(left)
}

/// A visit that waits: this one, or else the first.
fn waiting(db: &Connection, first: Option<VisitId>) -> Result<Option<VisitId>, Error> {
    if let Some(first) = first
        && is_unfolded(db, first)?
    {
        return Ok(Some(first));
    }
    let mut statement = db.prepare_cached("SELECT visit FROM unfolded ORDER BY visit LIMIT 1")?;
    Ok(statement.query_row([], |row| Ok(VisitId::from_octets(row.get(0)?))).optional()?)
}

/// Folds the visit after this one again although its rows are there, and says which it was: what is cached cannot be
/// held against a hash, so a check makes it anew. After the last one come the sites, and rows that belong to nothing go.
pub(crate) fn again(
    db: &mut Connection,
    device: DeviceId,
    memory: &Memory,
    after: Option<VisitId>,
) -> Result<Option<VisitId>, Error> {
    let transaction = db.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let next: Option<[u8; 16]> = transaction
        .prepare_cached(
            "SELECT min(visit) FROM (SELECT min(visit) AS visit FROM entry WHERE visit > ?1 \
             UNION ALL SELECT min(visit) FROM received WHERE visit > ?1)",
        )?
        .query_row([after.map_or(Vec::new(), |visit| visit.octets().to_vec())], |row| row.get(0))?;
    let next = next.map(VisitId::from_octets);
    if let Some(visit) = next {
        let mut group = Group::load(&transaction, device, &memory.sites, visit)?;
        write::replace_visit(&transaction, &group.members, group.state.as_mut())?;
    } else {
        transaction.execute_batch(
            "DELETE FROM visit WHERE visit NOT IN (SELECT visit FROM entry WHERE visit IS NOT NULL \
                 UNION SELECT visit FROM received WHERE visit IS NOT NULL);
             DELETE FROM plant_check WHERE visit NOT IN (SELECT visit FROM visit);
             DELETE FROM tally WHERE visit NOT IN (SELECT visit FROM visit);
             DELETE FROM finding WHERE visit NOT IN (SELECT visit FROM visit);
             DELETE FROM site",
        )?;
        memory.write_all_sites(&transaction)?;
    }
    transaction.commit()?;
    Ok(next)
}

/// How many visits wait.
pub(crate) fn left(db: &Connection) -> Result<Progress, Error> {
    let left: i64 = db.query_row("SELECT count(*) FROM unfolded", [], |row| row.get(0))?;
    Ok(Progress { left: u64::try_from(left).unwrap_or(0) })
}
