//! What can be erased, and what never enters the journal. The people are invented.

mod common;

use common::{begin, egg, milkweed, open, script, site};
use handset::acts::OpenPlant;
use handset::{Kind, Why};
use survey::chain::{Head, Link, Seq};
use survey::check::PhotoOf;
use survey::ids::PhotoId;

#[test]
fn no_name_and_no_note_stands_in_an_entry_and_erasing_leaves_a_chain_that_verifies() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(1));
    let who = phone.add_observer("Odalys Made-Up").unwrap();
    let site = site(&mut phone, "Invented meadow");
    phone.begin_visit(site, begin(Some(who), 0)).unwrap();
    let hash = phone.note(None, "The owner's dog is called Imaginary").unwrap();
    assert_eq!(phone.text(hash).unwrap().as_deref(), Some("The owner's dog is called Imaginary"));
    assert_eq!(phone.visit().unwrap().observers[0].name.as_deref(), Some("Odalys Made-Up"));
    phone.erase_text(hash).unwrap();
    assert_eq!(phone.text(hash).unwrap(), None);
    let stream = phone.stream();
    let db = rusqlite::Connection::open(folder.path().join("journal.sqlite")).unwrap();
    let mut statement = db.prepare("SELECT seq, previous, hash, bytes FROM entry ORDER BY seq").unwrap();
    let links = statement.query_map([], |row| {
        Ok(Link {
            stream,
            seq: Seq(row.get::<_, i64>(0)?.cast_unsigned()),
            previous: survey::chain::Hash(row.get(1)?),
            hash: survey::chain::Hash(row.get(2)?),
            bytes: row.get(3)?,
        })
    });
    let mut head = Head::START;
    for link in links.unwrap() {
        let link = link.unwrap();
        link.verify_after(head).unwrap();
        head = link.head();
        let text = String::from_utf8(link.bytes).unwrap();
        assert!(!text.contains("Made-Up") && !text.contains("Imaginary"), "{text}");
    }
    assert_eq!(head.seq, phone.last_seq());
    let salts: i64 = db.query_row("SELECT count(*) FROM text", [], |row| row.get(0)).unwrap();
    assert_eq!(salts, 0);
}

#[test]
fn an_audit_is_asked_for_answered_and_gone_with_its_count() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(2));
    let site = site(&mut phone, "Invented meadow");
    phone.begin_visit(site, begin(None, 1)).unwrap();
    phone.open_plant(OpenPlant { host: Some(milkweed()), ..OpenPlant::default() }).unwrap();
    let asked = phone.count(egg()).unwrap().photo_asked.expect("one in one is asked for");
    phone.take_photo(None, PhotoOf::Count(asked), include_bytes!("fixtures/small.jpg")).unwrap();
    assert_eq!(phone.visit().unwrap().photo_asked, None);
    let again = phone.count(egg()).unwrap().photo_asked.expect("this one too");
    assert_ne!(again, asked);
    phone.take_back().unwrap();
    assert_eq!(phone.visit().unwrap().photo_asked, None);
}

#[test]
fn a_photo_that_is_lost_is_said_to_be_and_one_that_is_not_here_is_refused() {
    let folder = tempfile::tempdir().unwrap();
    let mut phone = open(folder.path(), &script(3));
    let site = site(&mut phone, "Invented meadow");
    let photo = phone.take_photo(Some(site), PhotoOf::Site, include_bytes!("fixtures/small.jpg")).unwrap();
    phone.lose_photo(photo).unwrap();
    assert!(phone.site(site).unwrap().site.photos[0].lost.is_some());
    assert_eq!(std::fs::read_dir(folder.path().join("photos")).unwrap().count(), 0);
    let unknown = phone.lose_photo(PhotoId::from_octets([1; 16])).unwrap_err();
    assert_eq!(unknown.kind, Kind::NotAllowed(Why::NotHere));
    let broken = phone.take_photo(Some(site), PhotoOf::Site, b"no picture").unwrap_err();
    assert_eq!(broken.kind, Kind::NotAllowed(Why::PictureNotUsable));
}
