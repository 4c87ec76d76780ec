//! A counting process that is killed.
//!
//! Alone in its file: while a process is being started it holds what this one has open, locks as well, and tests beside
//! it would find phones in use that they have just closed.

use std::io::{BufRead, BufReader};
use std::path::Path;
use std::process::{Command, Stdio};

/// This cannot prove durability, for the page cache survives a kill; it proves that no act is shown before its commit.
#[test]
fn every_act_that_was_shown_is_there_after_a_kill() {
    let folder = tempfile::tempdir().unwrap();
    let mut shown = 0;
    for round in 0..20_u64 {
        let mut child = Command::new(counter()).arg(folder.path()).stdout(Stdio::piped()).spawn().unwrap();
        let mut lines = BufReader::new(child.stdout.take().unwrap()).lines();
        for _ in 0..=round {
            shown = lines.next().expect("it counts until it is killed").unwrap().parse().unwrap();
        }
        child.kill().unwrap();
        for line in lines.map_while(Result::ok) {
            shown = line.parse().unwrap_or(shown);
        }
        child.wait().unwrap();
        let db = rusqlite::Connection::open(folder.path().join("data/journal.sqlite")).unwrap();
        let (last, streams): (u64, i64) = db
            .query_row("SELECT max(seq), count(DISTINCT stream) FROM entry", [], |row| {
                Ok((row.get::<_, i64>(0)?.cast_unsigned(), row.get(1)?))
            })
            .unwrap();
        assert!(last >= shown, "round {round}: {shown} was shown, {last} is there");
        assert_eq!(streams, 1, "a kill is no restore");
        let ok: String = db.query_row("PRAGMA integrity_check", [], |row| row.get(0)).unwrap();
        assert_eq!(ok, "ok");
    }
    assert!(shown > 200);
}

/// The example beside this test, which Cargo has built with it.
fn counter() -> std::path::PathBuf {
    let test = std::env::current_exe().unwrap();
    let built = test.parent().and_then(Path::parent).unwrap().join("examples").join("counter");
    assert!(built.is_file(), "build the example first: cargo build -p handset --examples");
    built
}
