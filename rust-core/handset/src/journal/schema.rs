//! The schema, and the steps from each version to the next. A step costs the same however many rows there are.

use crate::error::Error;
use rusqlite::{Connection, TransactionBehavior};

/// Marks a file as ours: "Leaf" in ASCII.
pub(crate) const APPLICATION_ID: i64 = 0x4C65_6166;

/// What brings a file from the version that is the index to the next.
const STEPS: &[&str] = &[include_str!("schema_1.sql"), include_str!("schema_2.sql")];

/// The version of a file that went through all steps.
pub(crate) const VERSION: i64 = 2;

/// Brings the file to this version, or says why not. All steps are one transaction.
pub(crate) fn migrate(connection: &mut Connection) -> Result<(), Error> {
    let found = version(connection)?;
    if found > VERSION {
        return Err(Error::Newer { found, known: VERSION });
    }
    if found == VERSION {
        return Ok(());
    }
    let transaction = connection.transaction_with_behavior(TransactionBehavior::Immediate)?;
    let done = usize::try_from(version(&transaction)?).map_err(|_| Error::Damaged("a version below 0".into()))?;
    for step in STEPS.iter().skip(done) {
        transaction.execute_batch(step)?;
    }
    transaction.execute_batch(&format!("PRAGMA application_id = {APPLICATION_ID}; PRAGMA user_version = {VERSION}"))?;
    Ok(transaction.commit()?)
}

/// Whether the file is one of ours, or a fresh one.
pub(crate) fn is_ours(connection: &Connection) -> Result<bool, Error> {
    let id: i64 = connection.pragma_query_value(None, "application_id", |row| row.get(0))?;
    Ok(id == APPLICATION_ID || (id == 0 && version(connection)? == 0))
}

fn version(connection: &Connection) -> Result<i64, Error> {
    Ok(connection.pragma_query_value(None, "user_version", |row| row.get(0))?)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::journal::connection;

    fn objects(connection: &Connection) -> Vec<(String, String, Option<String>)> {
        let mut statement =
            connection.prepare("SELECT type, name, sql FROM sqlite_schema ORDER BY type, name").unwrap();
        let rows = statement.query_map([], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?))).unwrap();
        rows.collect::<Result<_, _>>().unwrap()
    }

    /// A file of version 1 with rows in it, as `sqlite3 .dump` writes it.
    const VERSION_1: &str = include_str!("../../tests/fixtures/version-1.sql");

    #[test]
    fn a_file_of_version_1_becomes_what_a_fresh_one_is() {
        let folder = tempfile::tempdir().unwrap();
        let mut old = connection::writer(&folder.path().join("old.sqlite"), None).unwrap();
        old.execute_batch(VERSION_1).unwrap();
        assert_eq!(version(&old).unwrap(), 1);
        let rows = |connection: &Connection| -> i64 {
            connection.query_row("SELECT count(*) FROM entry", [], |row| row.get(0)).unwrap()
        };
        let before = rows(&old);
        assert!(before > 0);
        migrate(&mut old).unwrap();
        let mut fresh = connection::writer(&folder.path().join("fresh.sqlite"), None).unwrap();
        migrate(&mut fresh).unwrap();
        assert_eq!(objects(&old), objects(&fresh));
        assert_eq!(version(&old).unwrap(), VERSION);
        assert_eq!(rows(&old), before);
    }

    #[test]
    fn every_version_has_its_step() {
        assert_eq!(i64::try_from(STEPS.len()), Ok(VERSION));
    }

    #[test]
    fn a_newer_file_is_left_alone() {
        let folder = tempfile::tempdir().unwrap();
        let mut newer = connection::writer(&folder.path().join("newer.sqlite"), None).unwrap();
        newer.execute_batch(&format!("PRAGMA user_version = {}", VERSION + 1)).unwrap();
        assert!(matches!(migrate(&mut newer), Err(Error::Newer { .. })));
        assert!(objects(&newer).is_empty());
    }
}
