//! Opening: the lock, restored copies, newer files.

mod common;

use common::{egg, first_plant, open, script};
use handset::{Handset, Kind, Next};
use std::path::Path;

#[test]
fn a_second_opening_fails_until_the_first_is_gone() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(1);
    let phone = open(folder.path(), &script);
    let second = Handset::open(folder.path(), script.surroundings()).unwrap_err();
    assert_eq!((second.kind, second.kind.next()), (Kind::AlreadyOpen, Next::UseTheOther));
    drop(phone);
    open(folder.path(), &script);
}

/// As before the first unlock of a phone: what cannot be opened is not damaged, and nothing is moved.
#[test]
fn what_cannot_be_reached_is_for_later() {
    let folder = tempfile::tempdir().unwrap();
    std::fs::create_dir(folder.path().join("journal.sqlite")).unwrap();
    let error = Handset::open(folder.path(), script(9).surroundings()).unwrap_err();
    assert_eq!((error.kind, error.kind.next()), (Kind::TryLater, Next::TryAgain));
    assert!(folder.path().join("journal.sqlite").is_dir());
    assert!(!folder.path().join("set-aside").exists());
}

/// A copy of the database from before some acts comes back, as a phone's backup does; the marker does not come with it.
#[test]
fn a_restored_older_copy_begins_a_fresh_epoch_and_keeps_what_it_has() {
    let (folder, backup) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let script = script(2);
    let mut phone = open(folder.path(), &script);
    first_plant(&mut phone);
    let old_epoch = phone.stream().epoch;
    drop(phone);
    copy(folder.path(), backup.path());
    let mut phone = open(folder.path(), &script);
    phone.count(egg()).unwrap();
    drop(phone);
    copy(backup.path(), folder.path());
    let mut phone = open(folder.path(), &script);
    assert_eq!(phone.opened().fresh_epoch, Some("marker-ahead"));
    assert_ne!(phone.stream().epoch, old_epoch);
    // The plant opened in the sealed stream is this device's own: it goes on, and is taken back, across epochs.
    assert_eq!(phone.count(egg()).unwrap().stages[0].living, 1);
    phone.take_back().unwrap();
    let Ok(handset::acts::Screen::Visit(visit)) = phone.take_back() else { panic!("the opening was taken back") };
    assert!(visit.plants.is_empty());
    let status = phone.sync_status().unwrap();
    assert_eq!(status.streams.len(), 2);
    assert_eq!(status.streams.iter().filter(|stream| stream.current).count(), 1);
}

#[test]
fn beside_a_newer_database_one_can_still_count() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(3);
    let phone = open(folder.path(), &script);
    let device = phone.device();
    drop(phone);
    let path = folder.path().join("journal.sqlite");
    let newer = rusqlite::Connection::open(&path).unwrap();
    newer.execute_batch("PRAGMA user_version = 99").unwrap();
    drop(newer);
    let before = std::fs::read(&path).unwrap();
    let error = Handset::open(folder.path(), script.surroundings()).unwrap_err();
    assert_eq!((error.kind, error.kind.next()), (Kind::Newer, Next::OpenBeside));
    let mut beside = Handset::open_beside(folder.path(), script.surroundings()).unwrap();
    assert_eq!(beside.device(), device);
    first_plant(&mut beside);
    beside.count(egg()).unwrap();
    assert_eq!(std::fs::read(&path).unwrap(), before);
}

fn copy(from: &Path, to: &Path) {
    for name in ["journal.sqlite", "journal.sqlite-wal", "journal.sqlite-shm"] {
        let _ = std::fs::remove_file(to.join(name));
        if from.join(name).exists() {
            std::fs::copy(from.join(name), to.join(name)).unwrap();
        }
    }
}
