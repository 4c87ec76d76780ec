//! Migrations by `user_version`. Each only adds, so its length does not depend on the number of rows.

use super::{StoreError, store_error};
use rusqlite::{Connection, TransactionBehavior};

/// The steps, from schema n to n + 1.
const STEPS: &[&str] = &[include_str!("schema.sql")];

/// Brings the schema up to date.
pub(super) fn up(connection: &mut Connection) -> Result<(), StoreError> {
    let known = STEPS.len();
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate).map_err(store_error)?;
    let found: i64 = transaction.query_row("PRAGMA user_version", [], |row| row.get(0)).map_err(store_error)?;
    let at = usize::try_from(found).unwrap_or(usize::MAX);
    if at > known {
        return Err(StoreError::NewerSchema { found, known: i64::try_from(known).unwrap_or(i64::MAX) });
    }
    for step in &STEPS[at..] {
        transaction.execute_batch(step).map_err(store_error)?;
    }
    transaction.execute_batch(&format!("PRAGMA user_version = {known}")).map_err(store_error)?;
    transaction.commit().map_err(store_error)
}
