//! Real database files, damaged in every way that we could think of: set aside and kept as they were, read anew as far
//! as they can be, and counting goes on. What was counted is invented.

use crash::dice::Dice;
use crash::reopen::open;
use crash::session::{data, picture};
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::{Found, Handset};
use messages::{Arg, Language, knows, say};
use rusqlite::Connection;
use std::collections::{BTreeMap, BTreeSet};
use std::path::{Path, PathBuf};
use survey::check::PhotoOf;
use survey::ids::ProtocolId;
use survey::protocol::{GoalGroup, PlantChoice, Protocol, SearchRule, StopRule};
use survey::site::SiteDescription;
use survey::stage::Stage;

const PAGE: usize = 4096;

/// A phone's folder with what its journal holds: bytes of each entry by stream and number.
struct Counted {
    root: tempfile::TempDir,
    entries: BTreeMap<(Vec<u8>, i64), Vec<u8>>,
}

#[derive(Clone, Copy, PartialEq, Eq)]
enum Closed {
    Cleanly,
    /// With the log beside the database, as a kill leaves it.
    ByKill,
}

/// Two streams, notes, photos, a name; several hundred entries.
fn counted(closed: Closed) -> Counted {
    let living = tempfile::tempdir().unwrap();
    let mut phone = open(living.path(), 1).unwrap();
    phone.add_observer("Invented Person").unwrap();
    let description = SiteDescription { name: Some("Invented verge".into()), ..SiteDescription::default() };
    let site = phone.describe_site(None, description).unwrap().site.id;
    let protocol = Protocol {
        id: ProtocolId::from_octets([1; 16]),
        name: "All stems".into(),
        stages: BTreeSet::from(Stage::EGG_TO_LARVA5),
        choice: PlantChoice::All,
        units: BTreeMap::new(),
        search: SearchRule::Whole,
        audit_one_in: 0,
        stop: StopRule { goal: GoalGroup::Eggs, at_least: 1, at_most: 1000 },
    };
    phone.begin_visit(site, BeginVisit { protocol: Some(protocol), ..BeginVisit::default() }).unwrap();
    phone.open_plant(OpenPlant::default()).unwrap();
    for round in 0..2 {
        for at in 0..120 {
            phone.count(Count::one(Stage::EGG_TO_LARVA5[at % 6])).unwrap();
            if at % 10 == 9 {
                phone.next_plant(OpenPlant::default()).unwrap();
            }
            if at % 40 == 39 {
                phone.note(None, &format!("An invented note {round} {at}")).unwrap();
                let check = phone.visit().unwrap().open.unwrap();
                let picture = picture(1, &mut Dice::new(7, at as u64));
                phone.take_photo(None, PhotoOf::Check(check), &picture).unwrap();
            }
        }
        if round == 0 {
            drop(phone);
            std::fs::remove_file(crash::session::marker(living.path())).unwrap();
            phone = open(living.path(), 2).unwrap();
            assert_eq!(phone.opened().fresh_epoch, Some("marker-absent"));
        }
    }
    let root = if closed == Closed::ByKill { copy(living.path()) } else { living };
    drop(phone);
    let entries = entries(root.path());
    Counted { root, entries }
}

fn copy(from: &Path) -> tempfile::TempDir {
    let to = tempfile::tempdir().unwrap();
    copy_into(from, to.path());
    to
}

fn copy_into(from: &Path, to: &Path) {
    std::fs::create_dir_all(to).unwrap();
    for file in std::fs::read_dir(from).unwrap() {
        let file = file.unwrap();
        let to = to.join(file.file_name());
        if file.path().is_dir() {
            copy_into(&file.path(), &to);
        } else if file.file_name() != "journal.sqlite-shm" {
            std::fs::copy(file.path(), to).unwrap();
        }
    }
}

fn entries(root: &Path) -> BTreeMap<(Vec<u8>, i64), Vec<u8>> {
    // A copy, so that reading changes nothing of the files.
    let copy = copy(root);
    let db = Connection::open(data(copy.path()).join("journal.sqlite")).unwrap();
    let mut statement = db.prepare("SELECT epoch, seq, bytes FROM entry JOIN stream USING (stream)").unwrap();
    let rows = statement.query_map([], |row| Ok(((row.get(0)?, row.get(1)?), row.get(2)?))).unwrap();
    rows.collect::<Result<_, _>>().unwrap()
}

fn database(root: &Path) -> PathBuf {
    data(root).join("journal.sqlite")
}

fn log(root: &Path) -> PathBuf {
    data(root).join("journal.sqlite-wal")
}

/// What became of a damaged phone.
struct After {
    set_aside: bool,
    saved: usize,
}

/// Damages a copy of the phone, opens it, checks all of it, opens it again where damage was found, and holds it against
/// what was counted.
fn damaged(counted: &Counted, name: &str, damage: impl FnOnce(&Path)) -> After {
    let root = copy(counted.root.path());
    damage(root.path());
    let before = std::fs::read(database(root.path())).unwrap_or_default();
    let mut phone = open(root.path(), 3).unwrap_or_else(|error| panic!("{name}: {error}"));
    if check_all(&mut phone) == Found::Damage {
        assert!(phone.opened().set_aside.is_none(), "{name}: what was read anew is in order");
        drop(phone);
        phone = open(root.path(), 4).unwrap_or_else(|error| panic!("{name}, again: {error}"));
        assert!(phone.opened().set_aside.is_some(), "{name}: damage that was found sets the database aside");
        assert_eq!(check_all(&mut phone), Found::InOrder, "{name}");
    } else if let Some(place) = &phone.opened().set_aside {
        let kept = std::fs::read(data(root.path()).join(place).join("journal.sqlite")).unwrap_or_default();
        assert!(kept == before, "{name}: the file set aside is as it was");
    }
    let opened = phone.opened().clone();
    let here = entries(root.path());
    for (key, bytes) in &here {
        assert_eq!(counted.entries.get(key), Some(bytes), "{name}: an entry that nobody made, or another");
    }
    if let Some(salvage) = opened.salvage {
        assert_eq!(salvage.entries, here.len() as u64, "{name}");
        if salvage.end_known && here.keys().map(|key| &key.0).collect::<BTreeSet<_>>().len() == 2 {
            let lost = (counted.entries.len() - here.len()) as u64;
            assert!(salvage.lost <= lost, "{name}: {salvage:?}");
        }
        let report = salvage.messages();
        assert!(report.len() >= 3, "{name}");
    }
    while phone.refold_step().unwrap().left > 0 {}
    let rows = phone.state_rows().unwrap();
    phone.refold().unwrap();
    assert!(phone.state_rows().unwrap() == rows, "{name}: state rows are those of a refold");
    counting_goes_on(&mut phone, name);
    let last = phone.last_seq();
    drop(phone);
    let phone = open(root.path(), 5).unwrap();
    assert_eq!((phone.opened().set_aside.clone(), phone.opened().salvage), (None, None), "{name}: once is enough");
    assert_eq!(phone.last_seq(), last, "{name}");
    After { set_aside: opened.set_aside.is_some(), saved: here.len() }
}

fn check_all(phone: &mut Handset) -> Found {
    for _ in 0..1000 {
        let checked = phone.check_step().unwrap();
        if checked.found != Found::NothingYet {
            return checked.found;
        }
    }
    panic!("the check does not end");
}

fn counting_goes_on(phone: &mut Handset, name: &str) {
    let before = phone.last_seq();
    if phone.count(Count::one(Stage::Egg)).is_err() && phone.open_plant(OpenPlant::default()).is_err() {
        let description = SiteDescription { name: Some("Invented other verge".into()), ..SiteDescription::default() };
        phone.describe_site(None, description).unwrap_or_else(|error| panic!("{name}: {error}"));
    }
    assert!(phone.last_seq() > before, "{name}");
}

fn edit(path: &Path, change: impl FnOnce(&mut Vec<u8>)) {
    let mut octets = std::fs::read(path).unwrap();
    change(&mut octets);
    std::fs::write(path, octets).unwrap();
}

#[test]
fn what_is_not_damaged_is_left_in_place() {
    for closed in [Closed::Cleanly, Closed::ByKill] {
        let counted = counted(closed);
        let after = damaged(&counted, "nothing", |_| {});
        assert_eq!((after.set_aside, after.saved), (false, counted.entries.len()));
        let phone = open(counted.root.path(), 6).unwrap();
        assert_eq!(phone.opened().unclean_stop, closed == Closed::ByKill);
    }
}

#[test]
fn a_cut_file_gives_what_lies_before_the_cut() {
    let counted = counted(Closed::Cleanly);
    let whole = std::fs::metadata(database(counted.root.path())).unwrap().len();
    let mut saved = Vec::new();
    for tenths in [0, 1, 3, 5, 7, 9] {
        let name = format!("cut to {tenths} tenths");
        let after = damaged(&counted, &name, |root| {
            edit(&database(root), |octets| octets.truncate(usize::try_from(whole * tenths / 10).unwrap()));
        });
        assert!(after.set_aside || tenths == 0, "{name}");
        saved.push(after.saved);
    }
    println!("of {} entries, after cuts: {saved:?}", counted.entries.len());
    assert!(saved[5] * 2 > counted.entries.len(), "{saved:?}");
}

#[test]
fn zeros_in_a_page_lose_what_stood_in_that_page() {
    let counted = counted(Closed::Cleanly);
    let pages = usize::try_from(std::fs::metadata(database(counted.root.path())).unwrap().len()).unwrap() / PAGE;
    let mut worst = counted.entries.len();
    let mut much = 0;
    for page in 0..pages {
        let after = damaged(&counted, &format!("page {page} of zeros"), |root| {
            edit(&database(root), |octets| octets[page * PAGE..(page + 1) * PAGE].fill(0));
        });
        worst = worst.min(after.saved);
        much += usize::from(after.saved + 25 >= counted.entries.len());
    }
    println!("{pages} pages: {much} lose at most 25 of {} entries; the worst leaves {worst}", counted.entries.len());
    assert!(much * 10 >= pages * 9, "{much} of {pages}");
    for (name, from, to) in [("header", 0, 100), ("first page", 0, PAGE), ("first sector", 0, 512)] {
        let after = damaged(&counted, name, |root| edit(&database(root), |octets| octets[from..to].fill(0)));
        assert!(after.set_aside, "{name}");
        assert_eq!(after.saved, counted.entries.len(), "{name}");
    }
    let after = damaged(&counted, "all zeros", |root| edit(&database(root), |octets| octets.fill(0)));
    assert_eq!((after.set_aside, after.saved), (true, 0));
}

#[test]
fn a_flipped_bit_costs_few_entries() {
    let counted = counted(Closed::Cleanly);
    let whole = usize::try_from(std::fs::metadata(database(counted.root.path())).unwrap().len()).unwrap();
    let mut lost = Vec::new();
    for seed in 0..120 {
        let mut dice = Dice::new(seed, 9);
        let (at, bit) = (dice.below(whole), dice.below(8));
        let after = damaged(&counted, &format!("seed {seed}: bit {bit} of octet {at}"), |root| {
            edit(&database(root), |octets| octets[at] ^= 1 << bit);
        });
        lost.push(counted.entries.len() - after.saved);
    }
    lost.sort_unstable();
    println!("120 flips: entries lost, in order: {lost:?}");
    assert!(lost[107] <= 25, "nine in ten lose at most a page: {lost:?}");
}

#[test]
fn a_log_may_be_missing_foreign_or_all_that_is_left() {
    let counted = counted(Closed::ByKill);
    let all = counted.entries.len();
    let foreign = {
        let folder = tempfile::tempdir().unwrap();
        let path = folder.path().join("other.sqlite");
        let db = Connection::open(&path).unwrap();
        db.execute_batch(
            "PRAGMA journal_mode = WAL; CREATE TABLE recipes (words TEXT); INSERT INTO recipes VALUES ('milk')",
        )
        .unwrap();
        std::fs::read(folder.path().join("other.sqlite-wal")).unwrap()
    };
    let after = damaged(&counted, "log missing", |root| std::fs::remove_file(log(root)).unwrap());
    assert!(after.saved < all);
    let after = damaged(&counted, "log foreign", |root| std::fs::write(log(root), &foreign).unwrap());
    assert!(after.saved <= all);
    let after = damaged(&counted, "log cut", |root| edit(&log(root), |octets| octets.truncate(octets.len() / 2)));
    println!("log cut: {} of {all}", after.saved);
    assert!(after.saved > 0);
    for (name, keep) in [("database missing", false), ("database empty", true)] {
        let after = damaged(&counted, name, |root| {
            if keep {
                std::fs::write(database(root), b"").unwrap();
            } else {
                std::fs::remove_file(database(root)).unwrap();
            }
        });
        assert!(after.set_aside && after.saved > 0, "{name}: {} saved", after.saved);
    }
}

#[test]
fn what_is_not_ours_is_set_aside_or_left_alone() {
    let counted = counted(Closed::Cleanly);
    let foreign = |root: &Path| {
        std::fs::remove_file(database(root)).unwrap();
        let db = Connection::open(database(root)).unwrap();
        db.execute_batch(
            "PRAGMA application_id = 7; CREATE TABLE recipes (words TEXT); INSERT INTO recipes VALUES ('milk')",
        )
        .unwrap();
    };
    let after = damaged(&counted, "another application's", foreign);
    assert_eq!((after.set_aside, after.saved), (true, 0));
    let after = damaged(&counted, "a text", |root| std::fs::write(database(root), "milk, bread, string\n").unwrap());
    assert_eq!((after.set_aside, after.saved), (true, 0));
    let after = damaged(&counted, "an empty file", |root| std::fs::write(database(root), "").unwrap());
    assert_eq!((after.set_aside, after.saved), (false, 0));
    let root = copy(counted.root.path());
    let db = Connection::open(database(root.path())).unwrap();
    db.execute_batch("PRAGMA user_version = 99").unwrap();
    drop(db);
    let before = std::fs::read(database(root.path())).unwrap();
    assert_eq!(open(root.path(), 7).unwrap_err().kind, handset::Kind::Newer);
    assert!(std::fs::read(database(root.path())).unwrap() == before, "a newer file is left alone");
}

/// Rows that are gone without a trace in the pages.
#[test]
fn a_gap_in_a_stream_is_found_and_what_follows_it_is_kept() {
    let counted = counted(Closed::Cleanly);
    let all = counted.entries.len();
    let cases =
        [("the last rows but one", "seq > 100 AND seq < 110"), ("the first", "seq = 1"), ("some", "seq % 50 = 7")];
    for (name, gone) in cases {
        let mut missing = 0;
        let after = damaged(&counted, name, |root| {
            let db = Connection::open(database(root)).unwrap();
            db.execute_batch("DROP TRIGGER entry_is_never_deleted").unwrap();
            missing = db.execute(&format!("DELETE FROM entry WHERE {gone}"), []).unwrap();
        });
        assert!(after.set_aside, "{name}");
        assert_eq!(after.saved, all - missing, "{name}");
    }
}

#[test]
fn the_report_has_words_in_every_language() {
    let salvage = handset::Salvage {
        entries: 312,
        lost: 1,
        end_known: false,
        received: 7,
        texts: 2,
        names: 1,
        photos: 3,
        files: 1,
    };
    let mut lines = Vec::new();
    for language in Language::ALL {
        for message in salvage.messages() {
            assert!(knows(&message.id), "{}", message.id);
            let number = message.arguments.get("number").map(|number| match number {
                handset::views::Argument::Number(number) => ("number", Arg::from(*number)),
                other => panic!("{other:?}"),
            });
            let words = say(language, &message.id, &number.into_iter().collect::<Vec<_>>());
            assert!(!words.contains(['{', '}']), "{words}");
            lines.push(words);
        }
    }
    assert_eq!(lines.len(), 27);
    assert_eq!(lines[1], "312 entries of this phone were saved.");
    assert_eq!(lines[2], "1 entry could not be read. If it was sent before, the station has it.");
}
