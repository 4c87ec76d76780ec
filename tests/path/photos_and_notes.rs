//! What lies beside the journal: a photo in parts and the text of a note, from a real phone to a real station, over a
//! link that drops, repeats and cuts.

use demo::Trouble;
use demo::link::{BadLink, Mishaps};
use demo::scenario::{Phone, season};
use end_to_end::{folder, person, station};
use handset::acts::{BeginVisit, Count, OpenPlant};
use rusqlite::{Connection, OpenFlags};
use std::path::Path;
use survey::check::PhotoOf;
use survey::site::SiteDescription;
use survey::stage::Stage;

/// A small picture with a comment and metadata that must not travel.
const JPEG: &[u8] = include_bytes!("../../rust-core/handset/tests/fixtures/small.jpg");
const WORDS: &str = "The gate was open; \"A7\" has lost its tag. 🌿";

#[test]
fn a_photo_and_a_note_arrive_whole_and_once() -> Result<(), Trouble> {
    let place = folder()?;
    let station = station(place.path())?;
    let mut person = person(place.path(), Phone::Quarry)?;
    let name = SiteDescription { name: Some(season(1)[0].name.into()), ..SiteDescription::default() };
    let site = person.handset.describe_site(None, name)?.site.id;
    let begin = BeginVisit { protocol: Some(demo::play::protocol(1, 50)), ..BeginVisit::default() };
    person.handset.begin_visit(site, begin)?;
    let plant = person.handset.open_plant(OpenPlant::default())?;
    person.handset.count(Count::one(Stage::Egg))?;
    person.handset.take_photo(None, PhotoOf::Check(plant.check), JPEG)?;
    person.handset.note(None, WORDS)?;

    let mut link = BadLink::to(&station.address, 3);
    person.join_and_sync(&station.invite("A phone", &[])?, &mut link)?;
    assert_ne!(link.mishaps, Mishaps::default(), "the link was meant to be bad");

    let database = Connection::open_with_flags(station.database(), OpenFlags::SQLITE_OPEN_READ_ONLY)?;
    let texts: Vec<String> =
        database.prepare("SELECT text FROM texts")?.query_map([], |row| row.get(0))?.collect::<Result<_, _>>()?;
    assert_eq!(texts, [WORDS]);
    let verified: u32 =
        database.query_row("SELECT count(*) FROM photos WHERE verified_ms IS NOT NULL", [], |row| row.get(0))?;
    assert_eq!(verified, 1);

    let files = files_below(&place.path().join("station").join("photos"))?;
    assert_eq!(files.len(), 1, "one photo, and no parts left over");
    assert!(files[0].starts_with(&[0xFF, 0xD8]) && files[0].ends_with(&[0xFF, 0xD9]));
    assert!(files[0].len() < JPEG.len(), "what is not needed to draw it stayed on the phone");
    Ok(())
}

fn files_below(folder: &Path) -> std::io::Result<Vec<Vec<u8>>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            found.extend(files_below(&path)?);
        } else {
            found.push(std::fs::read(path)?);
        }
    }
    Ok(found)
}
