//! All state rows as text.

use super::write::TABLES;
use crate::error::Error;
use rusqlite::Connection;
use rusqlite::types::ValueRef;

/// One text a row, tables in a fixed order, rows in that of their key.
pub(crate) fn rows(db: &Connection) -> Result<Vec<String>, Error> {
    let mut found = Vec::new();
    for (table, key) in TABLES {
        let mut statement = db.prepare(&format!("SELECT * FROM {table} ORDER BY {key}"))?;
        let columns = statement.column_count();
        let mut rows = statement.query([])?;
        while let Some(row) = rows.next()? {
            let values = (0..columns).map(|at| row.get_ref(at).map(text)).collect::<Result<Vec<_>, _>>()?;
            found.push(format!("{table}|{}", values.join("|")));
        }
    }
    Ok(found)
}

fn text(value: ValueRef<'_>) -> String {
    match value {
        ValueRef::Null => "NULL".into(),
        ValueRef::Integer(number) => number.to_string(),
        ValueRef::Real(number) => number.to_string(),
        ValueRef::Text(text) => String::from_utf8_lossy(text).into_owned(),
        ValueRef::Blob(octets) => crate::acts::hex(octets),
    }
}
