//! What is kept and what is let go: back-ups of a serving station, its restore, coordinators' reviews, and erasure, from
//! phone to station and back.

use demo::Trouble;
use demo::compare::{Held, Line};
use demo::link::Wifi;
use demo::person::Person;
use demo::scenario::Phone;
use demo::station::Station;
use end_to_end::{Coordinator, folder, leafturn, person, station};
use handset::acts::{BeginVisit, Count, OpenPlant};
use std::path::{Path, PathBuf};
use std::process::{Command, Output};
use survey::check::{Extent, PhotoOf};
use survey::ids::{CheckId, SiteId, VisitId};
use survey::site::SiteDescription;
use survey::stage::{Stage, What};

const JPEG: &[u8] = include_bytes!("../../rust-core/handset/tests/fixtures/small.jpg");

fn run(data: &Path, arguments: &[&str]) -> Output {
    Command::new(leafturn()).args(arguments).arg("--data").arg(data).output().expect("the program runs")
}

fn site_of(person: &mut Person) -> Result<SiteId, Trouble> {
    let name = SiteDescription { name: Some("An invented bank".into()), ..SiteDescription::default() };
    Ok(person.handset.describe_site(None, name)?.site.id)
}

/// A visit with one plant on which so many eggs are counted, one tap each.
fn visit(person: &mut Person, site: SiteId, eggs: usize) -> Result<(VisitId, CheckId), Trouble> {
    let begin = BeginVisit { protocol: Some(demo::play::protocol(1, 50)), ..BeginVisit::default() };
    let visit = person.handset.begin_visit(site, begin)?.visit;
    let check = person.handset.open_plant(OpenPlant::default())?.check;
    for _ in 0..eggs {
        person.handset.count(Count::one(Stage::Egg))?;
    }
    person.handset.close_plant(Extent::Whole)?;
    person.handset.end_visit()?;
    Ok((visit, check))
}

fn lacks(station: &Station, person: &Person) -> Result<(u64, u64), Trouble> {
    let Line { missing, twice, .. } =
        Held::at_station(&station.database())?.compare(&person.journal(), person.handset.device())?;
    Ok((missing, twice))
}

#[test]
fn a_station_restored_from_a_back_up_made_while_it_served_agrees_with_its_phones_again() -> Result<(), Trouble> {
    let place = folder()?;
    let data = place.path().join("station");
    let to = place.path().join("back-up").display().to_string();
    let first = station(place.path())?;
    let (mut one, mut two) = (person(place.path(), Phone::Quarry)?, person(place.path(), Phone::Ferry)?);
    let site = site_of(&mut one)?;
    visit(&mut one, site, 3)?;
    let mut wifi = Wifi::to(&first.address);
    one.handset.take_photo(Some(site), PhotoOf::Site, JPEG)?;
    one.join_and_sync(&first.invite("One", &[])?, &mut wifi)?;
    two.join_and_sync(&first.invite("Two", &[site])?, &mut wifi)?;
    assert_eq!(one.handset.sync_status()?.photos.backed_up, 0);

    // The second phone pushes while the copy is made.
    let mut backing_up = Command::new(leafturn()).args(["back-up", &to, "--data"]).arg(&data).spawn()?;
    for eggs in 1..6 {
        visit(&mut two, site, eggs)?;
        two.sync(&mut wifi)?;
    }
    assert!(backing_up.wait()?.success());
    assert_eq!(run(&data, &["back-up", &to]).status.code(), Some(0), "and once more, over the one before");
    one.sync(&mut wifi)?;
    assert_eq!(one.handset.sync_status()?.photos.backed_up, 1, "the phone may let the photo go in its time");

    // More is counted and sent; then the station goes back to the back-up.
    visit(&mut one, site, 2)?;
    visit(&mut two, site, 4)?;
    for _ in 0..2 {
        one.sync(&mut wifi)?;
        two.sync(&mut wifi)?;
    }
    drop(first);
    let restored = run(&data, &["restore", &to, "--replace"]);
    assert!(restored.status.success(), "{restored:?}");
    let again = station(place.path())?;
    assert!(lacks(&again, &one)?.0 > 0 && lacks(&again, &two)?.0 > 0, "it lacks what came after the back-up");

    let mut wifi = Wifi::to(&again.address);
    visit(&mut two, site, 7)?;
    for _ in 0..2 {
        two.sync(&mut wifi)?;
        one.sync(&mut wifi)?;
    }
    assert_eq!((lacks(&again, &one)?, lacks(&again, &two)?), ((0, 0), (0, 0)));
    assert_eq!(one.handset.state_rows()?, two.handset.state_rows()?, "both phones show the same");
    again.check()?;
    Ok(())
}

#[test]
fn a_phone_shows_what_a_coordinator_reviewed_and_took_back() -> Result<(), Trouble> {
    let place = folder()?;
    let station = station(place.path())?;
    let mut one = person(place.path(), Phone::Quarry)?;
    let site = site_of(&mut one)?;
    let (visit, check) = visit(&mut one, site, 1)?;
    let mut wifi = Wifi::to(&station.address);
    one.join_and_sync(&station.invite("One", &[])?, &mut wifi)?;
    let shown = |one: &mut Person| -> Result<Vec<(What, u64)>, Trouble> {
        let totals = one.handset.review(visit)?.totals;
        Ok(totals.into_iter().flat_map(|total| total.living).filter(|(_, number)| *number > 0).collect())
    };
    assert_eq!(shown(&mut one)?, [(Stage::Egg.into(), 1)]);

    let desk = Coordinator::sign_in(&station.coordinator("Invented Ada")?)?;
    let page = format!("/sites/{site}/visits/{visit}");
    let plant = format!("{page}/plants/{check}");
    assert!(desk.get(&page)?.contains(&plant), "the visit's page leads to the plant");
    let text = desk.get(&plant)?;
    let count = field(&text, "count");
    desk.post(
        &plant,
        &text,
        &[("act", "count"), ("count", &count), ("n.larva1", "2"), ("n.egg", ""), ("reason", "photo")],
    )?;
    let seen = desk.get(&page)?;
    assert!(
        seen.contains("2 × larva 1") && seen.contains("reviewed; counted as 1 × egg"),
        "original and review: {seen}"
    );
    one.sync(&mut wifi)?;
    assert_eq!(shown(&mut one)?, [(Stage::Larva1.into(), 2)]);

    let text = desk.get(&plant)?;
    desk.post(&plant, &text, &[("act", "take-back"), ("entry", &field(&text, "entry"))])?;
    one.sync(&mut wifi)?;
    assert_eq!(shown(&mut one)?, [(Stage::Egg.into(), 1)]);
    station.check()?;
    Ok(())
}

/// Words and a name that occur nowhere else.
const WORDS: &str = "Zebulon Quillfeather keeps the key beside the ninth fencepost";
const NAME: &str = "Philippa Marrowgate";

#[test]
fn what_was_erased_is_in_no_file_of_anybody() -> Result<(), Trouble> {
    for erased_by in ["phone", "console", "page"] {
        let place = folder()?;
        let data = place.path().join("station");
        let station = station(place.path())?;
        let (mut one, mut two) = (person(place.path(), Phone::Quarry)?, person(place.path(), Phone::Ferry)?);
        let who = one.handset.add_observer(NAME)?;
        let site = site_of(&mut one)?;
        let begin = BeginVisit {
            protocol: Some(demo::play::protocol(1, 50)),
            observers: [who].into(),
            ..BeginVisit::default()
        };
        let visit = one.handset.begin_visit(site, begin)?.visit;
        let hash = one.handset.note(None, WORDS)?;
        let mut wifi = Wifi::to(&station.address);
        one.join_and_sync(&station.invite(NAME, &[])?, &mut wifi)?;
        two.join_and_sync(&station.invite("Two", &[site])?, &mut wifi)?;
        assert!(!holding(place.path(), WORDS)?.is_empty() && !holding(place.path(), NAME)?.is_empty());

        match erased_by {
            "phone" => one.handset.erase_text(hash)?,
            "console" => {
                let output = run(&data, &["erase", "blob", &hash.to_string()]);
                assert!(output.status.success(), "{output:?}");
            }
            _ => {
                let desk = Coordinator::sign_in(&station.coordinator("Invented Ada")?)?;
                let text = desk.get(&format!("/sites/{site}/visits/{visit}"))?;
                assert!(text.contains(WORDS), "the page shows the note");
                let fields = [("blob", hash.to_string()), ("visit", visit.to_string())];
                let fields = fields.each_ref().map(|(name, value)| (*name, value.as_str()));
                desk.post(&format!("/sites/{site}/erase"), &text, &fields)?;
            }
        }
        one.handset.forget_observer(who)?;
        assert!(run(&data, &["erase", "name", NAME]).status.success());
        for _ in 0..2 {
            one.sync(&mut wifi)?;
            two.sync(&mut wifi)?;
        }
        let to = place.path().join("back-up").display().to_string();
        assert_eq!(run(&data, &["back-up", &to]).status.code(), Some(0), "a back-up made afterwards");
        settled(|| holding(place.path(), WORDS).unwrap_or_default());
        assert_eq!(holding(place.path(), WORDS)?, Vec::<PathBuf>::new(), "erased by the {erased_by}");
        assert_eq!(holding(place.path(), NAME)?, Vec::<PathBuf>::new(), "erased by the {erased_by}");
        assert_eq!((one.handset.text(hash)?, one.handset.sync_status()?.texts_waiting), (None, 0));
        assert_eq!((lacks(&station, &one)?, lacks(&station, &two)?), ((0, 0), (0, 0)));
        one.handset.refold()?;
        station.check()?;
    }
    Ok(())
}

/// Waits until a serving station has done what it does in the background, half a minute at most.
fn settled(left: impl Fn() -> Vec<PathBuf>) {
    for _ in 0..300 {
        if left().is_empty() {
            return;
        }
        std::thread::sleep(std::time::Duration::from_millis(100));
    }
}

/// The files below a folder that hold these words.
fn holding(folder: &Path, words: &str) -> std::io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            found.extend(holding(&path, words)?);
        } else if std::fs::read(&path)?.windows(words.len()).any(|octets| octets == words.as_bytes()) {
            found.push(path);
        }
    }
    Ok(found)
}

/// The value of a hidden field.
fn field(page: &str, name: &str) -> String {
    let behind = page.split(&format!("name=\"{name}\" value=\"")).nth(1).unwrap_or_else(|| panic!("no {name}: {page}"));
    behind.split('"').next().unwrap_or_default().to_owned()
}
