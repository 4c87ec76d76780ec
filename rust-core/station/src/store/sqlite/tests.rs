//! The SQLite store against the suite, and what is SQLite's own.

use super::{SqliteStore, StoreError};
use crate::store::Store;
use crate::store::conformance::{self, Place};
use crate::store::journal::{JournalStore, Offerer};
use crate::store::{CoordinatorStore, UpkeepStore};
use rusqlite::Connection;
use survey::chain::Head;
use tempfile::TempDir;

struct InFolder(TempDir);

impl Place for InFolder {
    type Store = SqliteStore;

    fn open(&self) -> SqliteStore {
        SqliteStore::open(&self.0.path().join("station.sqlite")).unwrap()
    }
}

fn fresh() -> InFolder {
    InFolder(tempfile::tempdir().unwrap())
}

mod suite {
    crate::store::conformance::conformance!(crate::store::sqlite::tests::fresh);
}

fn filled(place: &InFolder) -> SqliteStore {
    let store = place.open();
    let links = conformance::chain(conformance::stream(1), Head::START, 1, 3, conformance::in_visit(1));
    store.append(&conformance::push(Head::START, &links, Offerer::File)).unwrap();
    store
}

#[test]
fn nothing_in_the_journal_can_be_changed() {
    let place = fresh();
    drop(filled(&place));
    let bare = Connection::open(place.0.path().join("station.sqlite")).unwrap();
    // As the station opens it: without recursive triggers INSERT OR REPLACE deletes without asking.
    bare.execute_batch("PRAGMA recursive_triggers = ON").unwrap();
    for (sql, says) in [
        ("UPDATE entries SET bytes = x'00'", "never changed"),
        ("DELETE FROM entries", "never deleted"),
        (
            "INSERT OR REPLACE INTO entries SELECT device, epoch, seq, hash, previous, x'00', reading, site, visit, remark, received_ms FROM entries LIMIT 1",
            "written once",
        ),
        ("UPDATE feed SET number = number + 100", "never changed"),
        ("DELETE FROM feed", "never cut"),
    ] {
        let error = bare.execute(sql, []).unwrap_err().to_string();
        assert!(error.contains(says), "{sql}: {error}");
    }
}

#[test]
fn connections_are_set_up_for_durability() {
    let place = fresh();
    let store = filled(&place);
    let pragma = |name: &str| {
        let ask = |c: &Connection| c.query_row(&format!("PRAGMA {name}"), [], |row| row.get::<_, i64>(0)).unwrap();
        (ask(&super::lock(&store.writer)), store.read(|t| Ok(ask(t))).unwrap())
    };
    // 2 is FULL (sqlite.org/pragma.html#pragma_synchronous).
    for (name, value) in [
        ("synchronous", 2),
        ("foreign_keys", 1),
        ("recursive_triggers", 1),
        ("trusted_schema", 0),
        ("secure_delete", 1),
    ] {
        assert_eq!(pragma(name), (value, value), "{name}");
    }
    let mode: String = super::lock(&store.writer).query_row("PRAGMA journal_mode", [], |row| row.get(0)).unwrap();
    assert_eq!(mode, "wal");
    assert_eq!(store.faults().unwrap(), Vec::<String>::new());
    store.ready().unwrap();
    store.settle().unwrap();
}

#[test]
fn a_newer_schema_and_a_file_that_is_no_database_are_left_alone() {
    let place = fresh();
    drop(filled(&place));
    let path = place.0.path().join("station.sqlite");
    Connection::open(&path).unwrap().execute_batch("PRAGMA user_version = 99").unwrap();
    assert!(matches!(SqliteStore::open(&path), Err(StoreError::NewerSchema { found: 99, .. })));
    let other = place.0.path().join("letter.txt");
    std::fs::write(&other, "Dear coordinator, ".repeat(100)).unwrap();
    assert!(matches!(SqliteStore::open(&other), Err(StoreError::Damaged { .. })));
    assert!(std::fs::read_to_string(&other).unwrap().starts_with("Dear"));
}

#[test]
fn two_processes_write_side_by_side() {
    let place = fresh();
    let (one, two) = (place.open(), place.open());
    let push = |n: u8| {
        let links =
            conformance::chain(conformance::stream(n), Head::START, u32::from(n) * 100, 20, conformance::in_visit(1));
        conformance::push(Head::START, &links, conformance::by(n))
    };
    std::thread::scope(|scope| {
        for (store, streams) in [(&one, 1..11), (&two, 11..21)] {
            scope.spawn(move || streams.for_each(|n| assert_eq!(conformance::held(store, &push(n)).1, 20)));
        }
    });
    assert_eq!(one.sites().unwrap()[0].end.number, 400);
    assert_eq!(crate::command::check(&two).unwrap().problems, Vec::<String>::new());
}

#[test]
fn a_file_of_the_first_schema_is_brought_up() {
    let place = fresh();
    let path = place.0.path().join("station.sqlite");
    let old = Connection::open(&path).unwrap();
    old.execute_batch(include_str!("schema.sql")).unwrap();
    old.execute_batch("PRAGMA user_version = 1").unwrap();
    drop(old);
    drop(filled(&place));
    let ask = |name: &str| {
        let bare = Connection::open(&path).unwrap();
        bare.query_row(&format!("PRAGMA {name}"), [], |row| row.get::<_, i64>(0)).unwrap()
    };
    assert_eq!((ask("user_version"), ask("application_id")), (3, 0x4C65_6166));
    assert_eq!(place.open().backed_up().unwrap(), None);
}

#[test]
fn another_programs_database_is_left_alone() {
    let place = fresh();
    let cases = [
        "CREATE TABLE songs (title)",
        "PRAGMA application_id = 77",
        "CREATE TABLE songs (title); PRAGMA user_version = 1",
        "CREATE TABLE songs (title); PRAGMA user_version = 2",
    ];
    for (n, sql) in (0..).zip(cases) {
        let path = place.0.path().join(format!("{n}.sqlite"));
        Connection::open(&path).unwrap().execute_batch(sql).unwrap();
        let before = std::fs::read(&path).unwrap();
        assert!(matches!(SqliteStore::open(&path), Err(StoreError::Foreign { .. })), "{sql}");
        let tables: i64 = Connection::open(&path)
            .unwrap()
            .query_row("SELECT count(*) FROM sqlite_schema", [], |row| row.get(0))
            .unwrap();
        assert!(tables <= 1, "{sql}: {tables}");
        assert_eq!(before, std::fs::read(&path).unwrap(), "{sql}: not an octet changed");
    }
}

#[test]
fn a_copy_is_whole_and_holds_nothing_that_was_erased() {
    let place = fresh();
    let store = filled(&place);
    let id = survey::ids::ObserverId::from_octets([1; 16]);
    let link = crate::security::secret::SecretHash([5; 32]);
    store.add_coordinator(id, "Invented Quillfeather", &[], link, conformance::NOW).unwrap();
    let copy = place.0.path().join("copy.sqlite");
    store.copy_to(&copy).unwrap();
    assert_eq!(super::faults_of(&copy).unwrap(), Vec::<String>::new());
    let holds =
        |path: &std::path::Path| std::fs::read(path).unwrap().windows(12).any(|octets| octets == b"Quillfeather");
    assert!(holds(&copy), "the search finds what is there");
    assert_eq!(SqliteStore::open(&copy).unwrap().streams().unwrap(), store.streams().unwrap());
    store.forget_name("Invented Quillfeather").unwrap();
    store.scrub().unwrap();
    for name in ["station.sqlite", "station.sqlite-wal"] {
        assert!(!holds(&place.0.path().join(name)), "{name}");
    }
    let later = place.0.path().join("later.sqlite");
    store.copy_to(&later).unwrap();
    assert!(!holds(&later));
}
