//! Ids, hashes and numbers as they stand in columns.

use super::{StoreError, store_error};
use rusqlite::Row;
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::{DeviceId, Epoch, SiteId};

/// A number as a column holds it. Numbers of entries stay far below 2^63; one beyond is clamped and finds nothing.
pub(super) fn int(number: u64) -> i64 {
    i64::try_from(number).unwrap_or(i64::MAX)
}

/// A count of items as `LIMIT` takes it.
pub(super) fn limit(most: usize) -> i64 {
    i64::try_from(most).unwrap_or(i64::MAX)
}

pub(super) fn uint(row: &Row<'_>, column: usize) -> rusqlite::Result<u64> {
    let number: i64 = row.get(column)?;
    u64::try_from(number).map_err(|_| rusqlite::Error::IntegralValueOutOfRange(column, number))
}

pub(super) fn hash(row: &Row<'_>, column: usize) -> rusqlite::Result<Hash> {
    row.get(column).map(Hash)
}

pub(super) fn site(row: &Row<'_>, column: usize) -> rusqlite::Result<SiteId> {
    row.get(column).map(SiteId::from_octets)
}

pub(super) fn device(row: &Row<'_>, column: usize) -> rusqlite::Result<DeviceId> {
    row.get(column).map(DeviceId::from_octets)
}

/// A stream from two columns.
pub(super) fn stream(row: &Row<'_>, column: usize) -> rusqlite::Result<StreamId> {
    Ok(StreamId { device: device(row, column)?, epoch: Epoch::from_octets(row.get(column + 1)?) })
}

/// A head from two columns, number and hash.
pub(super) fn head(row: &Row<'_>, column: usize) -> rusqlite::Result<Head> {
    Ok(Head { seq: Seq(uint(row, column)?), hash: hash(row, column + 1)? })
}

/// Runs a query and collects its rows.
pub(super) fn rows<T>(
    t: &rusqlite::Connection,
    sql: &str,
    params: impl rusqlite::Params,
    read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> Result<Vec<T>, StoreError> {
    let mut statement = t.prepare_cached(sql).map_err(store_error)?;
    let rows = statement.query_map(params, read).map_err(store_error)?;
    rows.collect::<rusqlite::Result<_>>().map_err(store_error)
}

/// Runs a query for at most one row.
pub(super) fn one<T>(
    t: &rusqlite::Connection,
    sql: &str,
    params: impl rusqlite::Params,
    read: impl FnOnce(&Row<'_>) -> rusqlite::Result<T>,
) -> Result<Option<T>, StoreError> {
    use rusqlite::OptionalExtension;
    let mut statement = t.prepare_cached(sql).map_err(store_error)?;
    statement.query_row(params, read).optional().map_err(store_error)
}

/// Runs a statement and says how many rows it touched.
pub(super) fn run(t: &rusqlite::Connection, sql: &str, params: impl rusqlite::Params) -> Result<usize, StoreError> {
    t.prepare_cached(sql).map_err(store_error)?.execute(params).map_err(store_error)
}
