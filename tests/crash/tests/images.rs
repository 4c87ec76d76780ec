//! A few images in every run of the tests; thousands in the part `crash`.

use crash::log::{Change, Log};
use crash::rehearse::{Images, rehearse};
use crash::session::{Acts, Plan, play};
use std::collections::BTreeMap;
use std::sync::Arc;

#[test]
fn what_was_told_is_there_after_a_power_cut() {
    let report = rehearse(Plan { seed: 1, acts: 25, of: Acts::All }, Images::About(120), 1).unwrap();
    for failure in &report.failures {
        println!("{failure}");
    }
    assert!(report.failures.is_empty());
    assert!(report.images > 60, "{report:?}");
}

/// Both streams of work stand in one log, and the folder's syncs of SQLite's own layer with them.
#[test]
fn the_log_has_all_that_a_session_does_to_the_disk() {
    let root = tempfile::tempdir().unwrap();
    let log = Arc::new(Log::of(root.path().to_path_buf()));
    play(&log, Plan { seed: 3, acts: 60, of: Acts::All }).unwrap();
    let mut made = BTreeMap::new();
    let mut folders = BTreeMap::new();
    let mut kinds = BTreeMap::new();
    for change in log.changes() {
        let kind = match change {
            Change::File { node, at } => {
                made.insert(node, at.name);
                "file"
            }
            Change::Folder { node, at } => {
                folders.insert(node, at.name);
                "folder"
            }
            Change::Write { node, .. } => {
                made.get(&node).map_or("", |name| if name.ends_with("-wal") { "log written" } else { "written" })
            }
            Change::Sync { node } if folders.get(&node).is_some_and(|name| name == "data") => "data folder synced",
            Change::Sync { .. } => "synced",
            Change::Rename { .. } => "renamed",
            Change::Remove { .. } => "removed",
            Change::Size { .. } => "cut",
            Change::Told(_) => "told",
        };
        *kinds.entry(kind).or_insert(0) += 1;
    }
    for kind in
        ["file", "folder", "log written", "written", "data folder synced", "synced", "renamed", "removed", "told"]
    {
        assert!(kinds.contains_key(kind), "nothing was {kind}: {kinds:?}");
    }
    for name in ["journal.sqlite", "journal.sqlite-wal", "marker"] {
        assert!(made.values().any(|made| made == name), "{name}");
    }
    // The content of every file that is there is what the log says, so nothing was done past it.
    let changes = log.changes();
    let mut disk = crash::model::Disk::new();
    for change in &changes {
        disk.apply(change);
    }
    let image = disk.image(crash::model::Fate::Kept, &mut crash::dice::Dice::new(0, 0));
    for (path, content) in image.files() {
        let there = std::fs::read(root.path().join(path)).unwrap();
        assert!(there == content, "{}", path.display());
    }
}
