//! What only the inside can provoke: a full disk, a hand in the journal, a damaged file.

#[path = "../tests/common/mod.rs"]
mod common;

use crate::journal::files::DATABASE;
use crate::surroundings::Marker;
use crate::{Kind, Next};
use common::{egg, first_plant, open, script};
use rusqlite::params;
use survey::ids::VisitId;

#[test]
fn the_journal_refuses_update_delete_and_writing_over() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(1));
    first_plant(&mut phone);
    for sql in [
        "UPDATE entry SET bytes = x'00'",
        "UPDATE entry SET seq = seq + 100",
        "DELETE FROM entry WHERE seq = 1",
        "INSERT OR REPLACE INTO entry SELECT stream, seq, previous, hash, site, visit, x'00' FROM entry WHERE seq = 1",
        "REPLACE INTO entry SELECT * FROM entry",
        "INSERT INTO entry SELECT * FROM entry ON CONFLICT DO UPDATE SET bytes = x'00'",
        "INSERT OR IGNORE INTO entry SELECT * FROM entry",
        "UPDATE stream SET epoch = zeroblob(16)",
        "DELETE FROM stream",
        "REPLACE INTO stream SELECT * FROM stream",
        "UPDATE received SET bytes = x'00'",
    ] {
        let before: Vec<Vec<u8>> = bytes(&phone);
        let result = phone.db.execute_batch(sql);
        // A statement that no row concerns has nothing to refuse.
        assert!(result.is_err() || sql.contains("received"), "{sql}");
        assert_eq!(bytes(&phone), before, "{sql}");
    }
}

#[test]
fn received_entries_are_as_fixed_as_own_ones() {
    let folder = tempfile::tempdir().unwrap();
    let phone = open(folder.path(), &script(2));
    let insert = "INSERT INTO received (device, epoch, seq, hash, previous, bytes) \
                  VALUES (zeroblob(16), zeroblob(16), 1, zeroblob(32), zeroblob(32), x'01')";
    phone.db.execute_batch(insert).unwrap();
    for sql in ["UPDATE received SET bytes = x'00'", "DELETE FROM received", &insert.replace("INSERT", "REPLACE")] {
        assert!(phone.db.execute_batch(sql).is_err(), "{sql}");
    }
}

#[test]
fn a_full_disk_refuses_the_act_and_loses_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(3);
    let mut phone = open(folder.path(), &script);
    first_plant(&mut phone);
    phone.count(egg()).unwrap();
    let pages: i64 = phone.db.pragma_query_value(None, "page_count", |row| row.get(0)).unwrap();
    phone.db.execute_batch(&format!("PRAGMA max_page_count = {}", pages + 2)).unwrap();
    let mut acknowledged = 1;
    let error = loop {
        match phone.count(egg()) {
            Ok(plant) => {
                acknowledged += 1;
                assert_eq!(plant.stages[0].living, acknowledged);
            }
            Err(error) => break error,
        }
        assert!(acknowledged < 10_000, "the disk is never full");
    };
    assert_eq!((error.kind, error.kind.next()), (Kind::Full, Next::FreeSpace));
    assert_eq!(phone.screen().unwrap(), phone.screen().unwrap());
    let check = phone.visit().unwrap().open.unwrap();
    assert_eq!(phone.plant(check).unwrap().stages[0].living, acknowledged);
    phone.db.execute_batch("PRAGMA max_page_count = 4294967294").unwrap();
    assert_eq!(phone.count(egg()).unwrap().stages[0].living, acknowledged + 1);
    let rows = phone.state_rows().unwrap();
    phone.refold().unwrap();
    assert_eq!(phone.state_rows().unwrap(), rows);
    drop(phone);
    let again = open(folder.path(), &script);
    assert_eq!(again.plant(check).unwrap().stages[0].living, acknowledged + 1);
}

#[test]
fn a_damaged_database_is_set_aside_and_what_verifies_is_taken_over() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(4);
    let mut phone = open(folder.path(), &script);
    first_plant(&mut phone);
    for _ in 0..20 {
        phone.count(egg()).unwrap();
    }
    let (device, epoch, seq) = (phone.device(), phone.stream().epoch, phone.last_seq());
    // A hand that goes past the triggers alters the last entry.
    phone.db.execute_batch("DROP TRIGGER entry_is_never_updated").unwrap();
    let altered = params![i64::try_from(seq.0).unwrap()];
    phone.db.execute("UPDATE entry SET bytes = x'7b7d' WHERE seq = ?1", altered).unwrap();
    drop(phone);
    let phone = open(folder.path(), &script);
    let opened = phone.opened().clone();
    assert_eq!(opened.salvaged, seq.0 - 1);
    let place = folder.path().join(opened.set_aside.unwrap());
    assert!(place.join(DATABASE).is_file());
    assert_eq!(phone.device(), device);
    assert_ne!(phone.stream().epoch, epoch);
    let left: i64 = phone.db.query_row("SELECT count(*) FROM unfolded", [], |row| row.get(0)).unwrap();
    assert_eq!(left, 1);
    let visit: [u8; 16] = phone.db.query_row("SELECT visit FROM unfolded", [], |row| row.get(0)).unwrap();
    let mut phone = phone;
    assert_eq!(phone.refold_step().unwrap().left, 0);
    let living = phone.visit_of(VisitId::from_octets(visit)).unwrap().plants[0].living.values().sum::<u64>();
    assert_eq!(living, 19);
}

#[test]
fn a_file_that_is_no_database_is_set_aside() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::write(folder.path().join(DATABASE), b"these are shopping notes, not a journal; milk, bread, string")
        .unwrap();
    let phone = open(folder.path(), &script(5));
    let place = phone.opened().set_aside.clone().unwrap();
    let kept = std::fs::read(folder.path().join(place).join(DATABASE)).unwrap();
    assert!(kept.starts_with(b"these are shopping notes"));
    assert_eq!(phone.opened().salvaged, 0);
}

#[test]
fn a_torn_marker_or_none_begins_a_fresh_epoch_and_one_behind_does_not() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(6);
    let mut phone = open(folder.path(), &script);
    first_plant(&mut phone);
    let (epoch, seq) = (phone.stream().epoch, phone.last_seq());
    drop(phone);
    let mark = script.marker().clone().read().unwrap().unwrap();
    assert_eq!((mark.epoch, mark.seq), (epoch, seq));
    let behind = crate::surroundings::Mark { seq: survey::chain::Seq(seq.0 - 1), ..mark };
    script.marker().clone().write(behind).unwrap();
    assert_eq!(open(folder.path(), &script).opened().fresh_epoch, None);
    script.marker().forget();
    let phone = open(folder.path(), &script);
    assert_eq!(phone.opened().fresh_epoch, Some("marker-absent"));
    assert_eq!(phone.last_seq().0, 0);
    // The visit in hand is still there, and counting goes on in the fresh epoch.
    let mut phone = phone;
    assert_eq!(phone.count(egg()).unwrap().stages[0].living, 1);
}

fn bytes(phone: &crate::Handset) -> Vec<Vec<u8>> {
    let mut statement = phone.db.prepare("SELECT bytes FROM entry ORDER BY stream, seq").unwrap();
    let rows = statement.query_map([], |row| row.get(0)).unwrap();
    rows.collect::<Result<_, _>>().unwrap()
}
