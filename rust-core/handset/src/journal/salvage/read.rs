//! Reading on past pages that cannot be read.

use rusqlite::types::Value;
use rusqlite::{Connection, Params, Row};
use std::collections::BTreeMap;

/// A direction of reading.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Order {
    Up,
    Down,
}

/// How far reading may go.
#[derive(Debug, Clone, Copy)]
pub(super) struct Limit {
    /// No key is higher.
    highest: i64,
    /// Queries, each of which fails within microseconds where it fails.
    queries: u32,
}

impl Order {
    pub(super) const fn sql(self) -> &'static str {
        match self {
            Self::Up => "ASC",
            Self::Down => "DESC",
        }
    }
}

impl Limit {
    /// For files of so many octets: the least entry takes more than 128 of them.
    pub(super) fn of(octets: usize) -> Self {
        Self { highest: i64::try_from(octets / 128 + 1).unwrap_or(i64::MAX), queries: 50_000 }
    }
}

/// The rows up to the first that cannot be read, and whether there was one.
pub(super) fn until_error<T>(
    db: &Connection,
    sql: &str,
    params: impl Params,
    mut read: impl FnMut(&Row<'_>) -> rusqlite::Result<T>,
) -> (Vec<T>, bool) {
    let mut found = Vec::new();
    let Ok(mut statement) = db.prepare_cached(sql) else { return (found, true) };
    let Ok(mut rows) = statement.query(params) else { return (found, true) };
    loop {
        match rows.next() {
            // A row of which a value cannot be is passed over.
            Ok(Some(row)) => found.extend(read(row).ok()),
            Ok(None) => return (found, false),
            Err(_) => return (found, true),
        }
    }
}

/// Everything that can be read by ascending keys from 1, whatever cannot be in between: from both ends towards the
/// damage, then the same in halves of what lies between.
pub(super) fn around_damage<T>(
    range: impl Fn(i64, i64, Order) -> (Vec<(i64, T)>, bool),
    limit: Limit,
) -> BTreeMap<i64, T> {
    let mut found = BTreeMap::new();
    let mut open = vec![(1, limit.highest)];
    let mut queries = limit.queries;
    while let Some((mut first, mut last)) = open.pop() {
        let (rows, broken) = range(first, last, Order::Up);
        first = rows.last().map_or(first, |(key, _)| key + 1);
        found.extend(rows);
        queries = queries.saturating_sub(1);
        if !broken || queries == 0 {
            continue;
        }
        let (rows, broken) = range(first, last, Order::Down);
        last = rows.last().map_or(last, |(key, _)| key - 1);
        found.extend(rows);
        if broken && first < last {
            let middle = first + (last - first) / 2;
            open.push((first, middle));
            open.push((middle + 1, last));
        }
    }
    found
}

/// Rows of a table from both ends.
pub(super) fn both_ends(db: &Connection, table: &str, columns: &str) -> Vec<Vec<Value>> {
    let width = columns.split(", ").count();
    let key = columns_of_key(db, table);
    let read = |order: Order| {
        let order = key.iter().map(|column| format!("{column} {}", order.sql())).collect::<Vec<_>>().join(", ");
        let sql = format!("SELECT {columns} FROM {table} ORDER BY {order}");
        until_error(db, &sql, [], |row| (0..width).map(|at| row.get(at)).collect::<rusqlite::Result<Vec<Value>>>())
    };
    let (mut rows, broken) = read(Order::Up);
    if broken {
        let (behind, _) = read(Order::Down);
        rows.extend(behind.into_iter().rev());
    }
    rows
}

/// The columns of a table's key: the order in which its rows lie.
fn columns_of_key(db: &Connection, table: &str) -> Vec<String> {
    let sql = format!("SELECT name FROM pragma_table_info('{table}') WHERE pk > 0 ORDER BY pk");
    until_error(db, &sql, [], |row| row.get(0)).0
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Keys 1 to 100 of which reading breaks at some.
    fn keys(broken: &'static [i64]) -> Vec<i64> {
        let range = |first: i64, last: i64, order: Order| {
            let all = first.max(1)..=last.min(100);
            let all: Vec<i64> = if order == Order::Up { all.collect() } else { all.rev().collect() };
            let whole: Vec<_> = all.iter().take_while(|key| !broken.contains(key)).map(|&key| (key, ())).collect();
            let broken = whole.len() < all.len();
            (whole, broken)
        };
        around_damage(range, Limit { highest: 1000, queries: 10_000 }).into_keys().collect()
    }

    #[test]
    fn all_but_the_broken_keys_are_found() {
        for broken in [&[][..], &[1], &[100], &[50], &[1, 100], &[20, 21, 22, 60, 99], &[2, 4, 6, 8, 10]] {
            let expected: Vec<i64> = (1..=100).filter(|key| !broken.contains(key)).collect();
            assert_eq!(keys(broken), expected, "{broken:?}");
        }
    }
}
