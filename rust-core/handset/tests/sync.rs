//! Sync through the engine against a small station in memory, and what comes back by the feed.

mod common;
#[path = "common/station.rs"]
mod station;

use ::sync::framing::FileReader;
use common::{begin, egg, first_plant, larva, milkweed, open, script, site};
use handset::Handset;
use handset::acts::{BeginVisit, OpenPlant};
use handset::sync::{Asker, Metered, Outcome};
use station::{Net, Station, play};
use survey::check::{Extent, PhotoOf};
use survey::stage::Stage;
use survey::visit::Share;

#[test]
fn what_was_counted_without_a_network_is_at_the_station_after_a_sync() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(1));
    first_plant(&mut phone);
    for _ in 0..210 {
        phone.count(egg()).unwrap();
    }
    phone.note(None, "An invented note").unwrap();
    let token = phone.join("BCDFGHJKL").unwrap();
    assert_eq!(token.len(), 64);
    let mut station = Station::default();
    let jobs = play(&mut phone, &mut station, folder.path(), &mut |_| Net::Good);
    assert!(jobs.iter().all(|job| !format!("{job:?}").contains(&token)), "the token never stands in a job");
    assert_eq!(station.entries(), phone.last_seq().0);
    assert_eq!(station.texts.len(), 1);
    let status = phone.sync_status().unwrap();
    assert!(status.joined);
    assert_eq!(status.streams[0].waits, 0);
    insta::assert_json_snapshot!("synced", status);
}

#[test]
fn nothing_is_missing_and_nothing_doubled_over_a_network_that_drops_and_repeats() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(2);
    let mut phone = open(folder.path(), &script);
    first_plant(&mut phone);
    for _ in 0..450 {
        phone.count(larva(Stage::Larva2)).unwrap();
    }
    phone.join("BCDFGHJKL").unwrap();
    let mut station = Station::default();
    let mut turn = 0;
    for _ in 0..12 {
        play(&mut phone, &mut station, folder.path(), &mut |_| {
            turn += 1;
            [Net::LosesAnswer, Net::Good, Net::LosesRequest, Net::Repeats][turn % 4]
        });
        // Now and then the phone is switched off in the middle.
        drop(phone);
        phone = open(folder.path(), &script);
    }
    assert_eq!(station.entries(), phone.last_seq().0);
    assert_eq!(phone.sync_status().unwrap().streams[0].waits, 0);
}

#[test]
fn two_phones_in_one_visit_have_the_same_rows_after_both_synced() {
    let (one_folder, other_folder) = (tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap());
    let mut one = open(one_folder.path(), &script(3));
    let site = site(&mut one, "Invented bank");
    let mut station = Station::default();
    one.join("BCDFGHJKL").unwrap();
    play(&mut one, &mut station, one_folder.path(), &mut |_| Net::Good);
    let mut other = open(other_folder.path(), &script(4));
    other.join("CDFGHJKLM").unwrap();
    play(&mut other, &mut station, other_folder.path(), &mut |_| Net::Good);
    assert_eq!(other.site(site).unwrap().site.name.as_deref(), Some("Invented bank"));

    let odd = BeginVisit { share: Share::Odd, ..begin(None, 0) };
    let code = one.begin_visit(site, odd).unwrap().visit;
    let even = BeginVisit { share: Share::Even, beside: Some(code), ..begin(None, 0) };
    other.begin_visit(site, even).unwrap();
    for (phone, stage) in [(&mut one, Stage::Egg), (&mut other, Stage::Larva5)] {
        phone.open_plant(OpenPlant { host: Some(milkweed()), ..OpenPlant::default() }).unwrap();
        phone.count(larva(stage)).unwrap();
        phone.empty_plant().unwrap_err();
        phone.close_plant(Extent::Whole).unwrap();
        phone.end_visit().unwrap();
    }
    let phones = [(&mut one, &one_folder), (&mut other, &other_folder)];
    for (phone, folder) in phones {
        play(phone, &mut station, folder.path(), &mut |_| Net::Good);
    }
    play(&mut one, &mut station, one_folder.path(), &mut |_| Net::Good);
    let visit = one.visit().unwrap();
    assert_eq!((visit.phones, visit.plants.len()), (2, 2));
    assert_eq!(visit.plants.iter().map(|plant| plant.number).collect::<Vec<_>>(), [1, 2]);
    assert_eq!(one.state_rows().unwrap(), other.state_rows().unwrap());
    let rows = one.state_rows().unwrap();
    one.refold().unwrap();
    assert_eq!(one.state_rows().unwrap(), rows);
}

#[test]
fn entries_of_a_newer_version_are_kept_and_shown_as_such() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(5));
    let site = first_plant(&mut phone);
    phone.join("BCDFGHJKL").unwrap();
    let mut station = Station::default();
    play(&mut phone, &mut station, folder.path(), &mut |_| Net::Good);
    let visit = phone.visit().unwrap().visit;
    station.feed_newer(site, visit);
    play(&mut phone, &mut station, folder.path(), &mut |_| Net::Good);
    assert_eq!(phone.visit().unwrap().from_newer_version, 1);
    let db = rusqlite::Connection::open(folder.path().join("journal.sqlite")).unwrap();
    let kept: Vec<u8> = db.query_row("SELECT bytes FROM received", [], |row| row.get(0)).unwrap();
    assert!(String::from_utf8(kept).unwrap().contains("leaf-weighed"));
}

#[test]
fn a_photo_goes_in_parts_from_files_that_are_gone_afterwards() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(6);
    let mut phone = open(folder.path(), &script);
    first_plant(&mut phone);
    let check = phone.visit().unwrap().open.unwrap();
    let photo = phone.take_photo(None, PhotoOf::Check(check), SMALL_JPEG).unwrap();
    phone.join("BCDFGHJKL").unwrap();
    let mut station = Station::default();
    play(&mut phone, &mut station, folder.path(), &mut |_| Net::Good);
    let sent = &station.photos[&photo];
    let kept = std::fs::read(folder.path().join(format!("photos/{photo}.jpg"))).unwrap();
    assert_eq!(*sent, kept);
    assert_eq!(phone.sync_status().unwrap().photos.verified, 1);
    assert_eq!(std::fs::read_dir(folder.path().join("outgoing")).unwrap().count(), 0);

    // Verified is not backed up, and backed up is not long ago.
    let day = 24 * 60 * 60 * 1000;
    script.pass(31 * day);
    assert_eq!(phone.let_go_of_photos().unwrap(), 0);
    play(&mut phone, &mut station, folder.path(), &mut |_| Net::Good);
    assert_eq!(phone.sync_status().unwrap().photos.backed_up, 1);
    let young = phone.take_photo(None, PhotoOf::Check(check), SMALL_JPEG).unwrap();
    for _ in 0..2 {
        play(&mut phone, &mut station, folder.path(), &mut |_| Net::Good);
    }
    assert_eq!(phone.let_go_of_photos().unwrap(), 1);
    assert!(!folder.path().join(format!("photos/{photo}.jpg")).exists());
    assert!(folder.path().join(format!("photos/{young}.jpg")).exists());
    assert_eq!(phone.sync_status().unwrap().photos.backed_up, 2);
}

#[test]
fn an_export_is_read_whole_by_the_other_side() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(7));
    first_plant(&mut phone);
    for _ in 0..250 {
        phone.count(egg()).unwrap();
    }
    let file = folder.path().join("handed-over.leafturn");
    let exported = phone.export_to(&file).unwrap();
    assert_eq!((exported.streams, exported.entries, exported.holes), (1, phone.last_seq().0, 0));
    let reader = FileReader::new(std::fs::File::open(&file).unwrap());
    let batches: Vec<_> = reader.collect::<Result<_, _>>().unwrap();
    assert_eq!(batches.iter().map(|batch| batch.links.len() as u64).sum::<u64>(), phone.last_seq().0);
    assert_eq!(batches[0].stream, phone.stream());
}

#[test]
fn an_outcome_of_an_unknown_job_is_passed_over() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone: Handset = open(folder.path(), &script(8));
    phone.sync_wanted(Asker::Person, Metered::No).unwrap();
    let status = phone.job_done(handset::sync::JobId(99), Outcome::Failed).unwrap();
    assert!(status.needs_joining && !status.joined);
}

/// A grey picture of 8 x 8 pixels, written by hand after ITU-T T.81.
const SMALL_JPEG: &[u8] = include_bytes!("fixtures/small.jpg");
