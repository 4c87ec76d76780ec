//! A whole visit, from the description of the site to the end, as a shell plays it.

mod common;

use common::{begin, egg, egg_or_not, first_plant, larva, milkweed, open, script, site};
use handset::acts::{OpenPlant, Screen};
use handset::{Kind, Why};
use survey::check::{CheckDescription, Extent, RefusedFor};
use survey::entry::Entry;
use survey::stage::Stage;
use survey::visit::Weather;

#[test]
fn a_visit_is_played_and_every_record_is_as_it_was() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(1);
    let mut phone = open(folder.path(), &script);
    let observer = phone.add_observer("Ines Made-Up").unwrap();
    let site = site(&mut phone, "Invented meadow");
    insta::assert_json_snapshot!("visit-begun", phone.begin_visit(site, begin(Some(observer), 1)).unwrap());
    phone.open_plant(OpenPlant { host: Some(milkweed()), ..OpenPlant::default() }).unwrap();
    script.pass(4_000);
    phone.count(egg()).unwrap();
    script.pass(1_000);
    phone.count(egg_or_not()).unwrap();
    insta::assert_json_snapshot!("plant-counted", phone.count(larva(Stage::Larva3)).unwrap());
    script.pass(9_000);
    phone.next_plant(OpenPlant::default()).unwrap();
    script.pass(5_000);
    insta::assert_json_snapshot!("plant-after-an-empty-one", phone.empty_plant().unwrap());
    script.pass(3_000);
    phone.count(egg()).unwrap();
    let Screen::Plant(taken_back) = phone.take_back().unwrap() else { panic!("a plant is open") };
    insta::assert_json_snapshot!("plant-after-take-back", taken_back);
    phone.describe_plant(None, CheckDescription { height_cm: Some(85), ..CheckDescription::default() }).unwrap();
    phone.close_plant(Extent::Part).unwrap();
    phone.note_weather(Weather { air_decicelsius: Some(245), ..Weather::default() }).unwrap();
    script.pass(60_000);
    let ended = phone.end_visit().unwrap();
    insta::assert_json_snapshot!("visit-ended", ended);
    insta::assert_json_snapshot!("visit-review", phone.review(ended.visit).unwrap());
    insta::assert_json_snapshot!("sites", phone.sites().unwrap());
    insta::assert_json_snapshot!("site", phone.site(site).unwrap());
    insta::assert_json_snapshot!("sync-status", phone.sync_status().unwrap());

    let rows = phone.state_rows().unwrap();
    phone.refold().unwrap();
    assert_eq!(phone.state_rows().unwrap(), rows);
    drop(phone);
    let again = open(folder.path(), &script);
    assert_eq!(again.visit().unwrap(), ended);
}

#[test]
fn an_empty_plant_is_one_act_and_one_press_takes_it_back() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(2));
    first_plant(&mut phone);
    let before = phone.last_seq();
    let rows = phone.state_rows().unwrap();
    let next = phone.empty_plant().unwrap();
    assert_eq!(next.number, 2);
    assert_eq!(phone.last_seq().0, before.0 + 2);
    let Screen::Plant(back) = phone.take_back().unwrap() else { panic!("the first plant is open again") };
    assert_eq!((back.number, back.extent), (1, None));
    assert_eq!(phone.state_rows().unwrap(), rows);
    let Screen::Plant(redone) = phone.redo().unwrap() else { panic!("the second plant is open again") };
    assert_eq!(redone.number, 2);
    assert!(redone.may_be_empty);
    phone.count(egg()).unwrap();
    let refused = phone.empty_plant().unwrap_err();
    assert_eq!(refused.kind, Kind::NotAllowed(Why::SomethingCounted));
}

#[test]
fn several_take_backs_are_redone_in_turn_and_an_act_ends_that() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(3));
    first_plant(&mut phone);
    let living = |screen: Screen| match screen {
        Screen::Plant(plant) => plant.stages.iter().map(|tile| tile.living).sum::<u64>(),
        Screen::Visit(_) => panic!("a plant is open"),
    };
    phone.count(egg()).unwrap();
    phone.count(larva(Stage::Larva1)).unwrap();
    assert_eq!(living(phone.take_back().unwrap()), 1);
    assert_eq!(living(phone.take_back().unwrap()), 0);
    assert_eq!(living(phone.redo().unwrap()), 1);
    assert_eq!(living(phone.redo().unwrap()), 2);
    assert_eq!(phone.redo().unwrap_err().kind, Kind::NotAllowed(Why::NothingToTakeBack));
    assert_eq!(living(phone.take_back().unwrap()), 1);
    phone.count(larva(Stage::Larva2)).unwrap();
    assert_eq!(phone.redo().unwrap_err().kind, Kind::NotAllowed(Why::NothingToTakeBack));
    assert_eq!(living(phone.take_back().unwrap()), 1);
}

#[test]
fn a_refused_act_changes_nothing() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(4));
    let kind = |error: handset::HandsetError| error.kind;
    assert_eq!(kind(phone.count(egg()).unwrap_err()), Kind::NotAllowed(Why::NoVisit));
    let site = first_plant(&mut phone);
    phone.count(egg()).unwrap();
    let (seq, rows) = (phone.last_seq(), phone.state_rows().unwrap());
    let mut many = egg();
    many.number = 10_000;
    assert_eq!(kind(phone.count(many).unwrap_err()), Kind::NotAllowed(Why::NumberOutOfRange));
    assert_eq!(kind(phone.open_plant(OpenPlant::default()).unwrap_err()), Kind::NotAllowed(Why::PlantOpen));
    assert_eq!(kind(phone.end_visit().unwrap_err()), Kind::NotAllowed(Why::PlantOpen));
    let refused = Extent::Refused(RefusedFor::Danger);
    assert_eq!(kind(phone.close_plant(refused).unwrap_err()), Kind::NotAllowed(Why::SomethingCounted));
    assert_eq!(kind(phone.note(Some(site), " \0 ").unwrap_err()), Kind::NotAllowed(Why::TextNotUsable));
    assert_eq!((phone.last_seq(), phone.state_rows().unwrap()), (seq, rows));
}

#[test]
fn a_clock_that_was_set_is_noted_and_durations_stay_true() {
    let folder = tempfile::tempdir().unwrap();
    let script = script(5);
    let mut phone = open(folder.path(), &script);
    first_plant(&mut phone);
    script.pass(2_500);
    script.set_wall_by(-7_200_000);
    phone.close_plant(Extent::Whole).unwrap();
    let bytes = journal(folder.path());
    let noted: Vec<_> = bytes
        .iter()
        .filter_map(|bytes| match Entry::decode(bytes).unwrap().act {
            survey::entry::Act::ClockNoted(noted) => Some(noted.jumped_ms),
            _ => None,
        })
        .collect();
    assert_eq!(noted, [-7_200_000]);
    let visit = phone.visit().unwrap();
    let review = phone.review(visit.visit).unwrap();
    assert!(review.findings.iter().any(|finding| finding.id == "finding.clock-jump"), "{:?}", review.findings);
    // The hybrid clock goes on although the wall clock went back.
    let hybrids: Vec<_> = bytes.iter().map(|bytes| Entry::decode(bytes).unwrap().hybrid).collect();
    assert!(hybrids.is_sorted());
}

#[test]
fn a_plant_opened_and_not_touched_does_not_stand_in_the_way_of_the_end() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(6));
    first_plant(&mut phone);
    phone.empty_plant().unwrap();
    let ended = phone.end_visit().unwrap();
    assert_eq!(ended.plants.len(), 1);
    assert_eq!(ended.whole_plants, 1);
    assert!(ended.own_part_ended.is_some());
    assert_eq!(phone.empty_plant().unwrap_err().kind, Kind::NotAllowed(Why::VisitEnded));
}

fn journal(folder: &std::path::Path) -> Vec<Vec<u8>> {
    let db = rusqlite::Connection::open(folder.join("journal.sqlite")).unwrap();
    let mut statement = db.prepare("SELECT bytes FROM entry ORDER BY stream, seq").unwrap();
    let rows = statement.query_map([], |row| row.get(0)).unwrap();
    rows.collect::<Result<_, _>>().unwrap()
}
