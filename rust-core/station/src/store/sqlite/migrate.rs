//! Migrations by `user_version`. Each only adds, so its length does not depend on the number of rows.

use super::{StoreError, store_error};
use rusqlite::{Connection, TransactionBehavior};

/// The steps, from schema n to n + 1.
const STEPS: &[&str] = &[include_str!("schema.sql"), include_str!("schema_2.sql"), include_str!("schema_3.sql")];

/// Marks a file as this program's, from schema 2 on: "Leaf" in ASCII.
const APPLICATION: i64 = 0x4C65_6166;

/// Refuses a file that is not ours, or made by a newer version, before anything is written into it.
pub(super) fn look(t: &Connection) -> Result<(), StoreError> {
    let found: i64 = t.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(store_error)?;
    refuse_foreign(t, found)?;
    if usize::try_from(found).unwrap_or(usize::MAX) > STEPS.len() {
        return Err(StoreError::NewerSchema { found, known: i64::try_from(STEPS.len()).unwrap_or(i64::MAX) });
    }
    Ok(())
}

/// Brings the schema up to date.
pub(super) fn up(connection: &mut Connection) -> Result<(), StoreError> {
    let known = STEPS.len();
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(store_error)?;
    // Another process may have come first, also one of a newer version.
    look(&transaction)?;
    let found: i64 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(store_error)?;
    let at = usize::try_from(found).unwrap_or(usize::MAX).min(known);
    for step in &STEPS[at..] {
        transaction.execute_batch(step).map_err(store_error)?;
    }
    transaction.execute_batch(&format!("PRAGMA user_version = {known}")).map_err(store_error)?;
    transaction.commit().map_err(store_error)
}

/// A database of another program is left alone: nothing is made in it.
fn refuse_foreign(t: &Connection, version: i64) -> Result<(), StoreError> {
    let number = |sql: &str| t.query_row(sql, [], |row| row.get::<_, i64>(0)).map_err(store_error);
    let foreign = |reason: String| Err(StoreError::Foreign { reason });
    let application = number("PRAGMA application_id")?;
    match version {
        0 if application != 0 => foreign(format!("it is marked as application {application:#x}")),
        0 => match number("SELECT count(*) FROM sqlite_schema")? {
            0 => Ok(()),
            tables => foreign(format!("it has no version of ours, and {tables} tables and indexes")),
        },
        1 => match number(
            "SELECT count(*) FROM sqlite_schema WHERE type = 'table' AND name IN ('streams', 'entries', 'feed')",
        )? {
            3 => Ok(()),
            _ => foreign("it lacks the tables of a station".into()),
        },
        _ if application == APPLICATION => Ok(()),
        _ => foreign(format!("it is marked as application {application:#x}")),
    }
}
