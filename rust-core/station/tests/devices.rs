//! Phones against a real station: joining, pushing, forks, feeds, verdicts, photos, texts.

mod common;

use common::{Phone, Station, bytes, chain, in_visit, json, leafturn, site};
use survey::chain::{Hash, Head, Link, blob_hash};
use survey::check::{PhotoOf, PhotoTaken};
use survey::entry::{Act, Erased, TakenBack};
use survey::ids::{EntryId, PhotoId};
use survey::site::Note;
use sync::framing::{Encoding, decode_feed, encode_hole};
use sync::wire::hello::FeedCursor;
use sync::wire::push::HoleReason;
use sync::wire::{content, paths};

fn feed(phone: &Phone, n: u8) -> Vec<Link> {
    let before = FeedCursor::start(site(n));
    let answer = phone.get(&paths::feed(site(n), 0, Hash::ZERO));
    assert_eq!((answer.status, answer.content_type.as_str()), (200, content::FEED), "{}", answer.text());
    decode_feed(before, &answer.body[..], Encoding::sniff(&answer.body))
        .unwrap()
        .items
        .into_iter()
        .map(|item| item.link)
        .collect()
}

#[test]
fn a_phone_joins_and_everything_it_counted_arrives_once() {
    let station = Station::start();
    let code = station.invite(&[]);
    let phone = station.stranger(1);
    assert_eq!(phone.get(paths::HELLO).problem(), (405, "wrong-method".into()));
    assert_eq!(phone.post(paths::HELLO, content::JSON, b"{}", &[]).problem(), (401, "not-joined".into()));
    // A lost answer spends nothing; another phone finds the code used.
    for spelled in [code.clone(), code.to_lowercase(), code.replace('-', " ")] {
        assert_eq!(station.enrol(&spelled, &phone).status, 200);
    }
    assert_eq!(station.enrol(&code, &station.stranger(2)).problem(), (409, "code-used".into()));

    assert_eq!(phone.hello(Head::START, &[])["streams"][0]["seq"], 0);
    let links = chain(phone.stream, Head::START, 1, 250, in_visit(1));
    assert_eq!(phone.push(&links[200..]).problem(), (409, "gap".into()));
    for _ in 0..2 {
        let pushed = phone.push(&links[..200]);
        assert_eq!(pushed.json()["held"]["hash"], links[199].hash.to_string());
    }
    assert_eq!(phone.push(&links[150..]).json()["held"]["seq"], 250);
    let hello = phone.hello(links[249].head(), &[]);
    assert_eq!(hello["streams"][0]["seq"], 250);
    assert_eq!(hello["streams"][0]["common"]["hash"], links[249].hash.to_string());
    assert_eq!(hello["sites"][0]["number"], 250, "who brought a site reads it");
    assert_eq!(feed(&phone, 1), links[..200]);
    let (folder, report) = (station.folder.path(), leafturn(station.folder.path(), &["check", "--json"]));
    assert_eq!((report.status.code(), &json(&report)["entries"]), (Some(0), &250.into()), "{folder:?} {report:?}");
}

#[test]
fn streams_belong_to_their_phone_and_sites_to_their_members() {
    let station = Station::start();
    let (one, two) = (station.phone(1, &[]), station.phone(2, &[]));
    let links = chain(one.stream, Head::START, 1, 2, in_visit(1));
    one.push(&links[..1]);
    assert_eq!(two.push(&links[1..]).problem(), (403, "stream-not-yours".into()));
    assert_eq!(two.get(&paths::verdicts(one.stream, 0)).problem(), (403, "stream-not-yours".into()));
    let theirs = chain(two.stream, Head::START, 10, 3, in_visit(1));
    assert_eq!(two.push(&theirs).json()["held"]["seq"], 3, "accepted first");
    for n in [1, 99] {
        let answer = two.get(&paths::feed(site(n), 0, Hash::ZERO));
        assert_eq!(answer.problem(), (403, "not-a-member".into()), "{n}: what exists is not told");
    }
    assert_eq!(feed(&one, 1).len(), 4);
    let three = station.phone(3, &[site(1)]);
    assert_eq!(feed(&three, 1), feed(&one, 1));
    assert_eq!(three.get(&paths::feed(site(1), 2, Hash([1; 32]))).problem(), (409, "feed-restarted".into()));
    // Nobody joins as a phone that has a living token.
    let mut thief = station.stranger(1);
    thief.token = "ab".repeat(32);
    assert_eq!(station.enrol(&station.invite(&[]), &thief).problem(), (409, "device-taken".into()));
    let revoked = leafturn(station.folder.path(), &["device", "revoke", &three.stream.device.to_string()]);
    assert_eq!(revoked.status.code(), Some(0));
    assert_eq!(three.get(&paths::feed(site(1), 0, Hash::ZERO)).problem(), (401, "not-joined".into()));
}

#[test]
fn forks_and_holes_are_acknowledged_for_what_they_are() {
    let station = Station::start();
    let phone = station.phone(1, &[]);
    let trunk = chain(phone.stream, Head::START, 1, 3, in_visit(1));
    let (left, right) = (
        chain(phone.stream, trunk[2].head(), 10, 2, in_visit(1)),
        chain(phone.stream, trunk[2].head(), 20, 1, in_visit(1)),
    );
    phone.push(&trunk);
    phone.push(&left);
    let forked = phone.push(&right).json();
    assert_eq!(
        (&forked["held"]["hash"], &forked["branches"][0]["hash"]),
        (&right[0].hash.to_string().into(), &left[1].hash.to_string().into())
    );
    let unknown = chain(phone.stream, right[0].head(), 30, 1, in_visit(1))[0].head();
    let held = &phone.hello(unknown, &[right[0].head(), trunk[2].head()])["streams"][0];
    assert_eq!((&held["common"]["seq"], &held["seq"], &held["branches"][0]["seq"]), (&4.into(), &4.into(), &5.into()));

    let rest = chain(phone.stream, right[0].head(), 40, 2, in_visit(1));
    let hole = encode_hole(right[0].head(), rest[0].head(), HoleReason::TooLarge, Encoding::Identity);
    let placed = phone.post(&paths::entries(phone.stream), content::ENTRIES, &hole, &[]).json();
    assert_eq!(placed["held"]["hash"], rest[0].hash.to_string());
    assert_eq!(phone.push(&rest[1..]).json()["held"]["seq"], 6);
    assert_eq!(phone.push(&rest[..1]).json()["held"]["seq"], 6, "the entry fills its hole");
    let report = json(&leafturn(station.folder.path(), &["check", "--json"]));
    assert_eq!(
        (&report["holes"], &report["forked"], &report["problems"]),
        (&0.into(), &1.into(), &serde_json::json!([]))
    );
}

#[test]
fn verdicts_say_what_has_no_effect_and_what_cannot_be_read() {
    let station = Station::start();
    let (one, two) = (station.phone(1, &[]), station.phone(2, &[]));
    let own = chain(one.stream, Head::START, 1, 1, in_visit(1));
    one.push(&own);
    let mut target = [0xA5; 16];
    target[..4].copy_from_slice(&1_u32.to_be_bytes());
    let taken = Act::TakenBack(TakenBack { target: EntryId::from_octets(target) });
    let foreign = Head::START.extend(two.stream, bytes(9, in_visit(1), taken));
    let unread = foreign.head().extend(two.stream, b"{\"kind\":\"counted\"}".to_vec());
    two.push(&[foreign, unread]);
    let page = two.get(&paths::verdicts(two.stream, 0)).json();
    let mut said: Vec<_> = page["verdicts"]
        .as_array()
        .unwrap()
        .iter()
        .map(|verdict| (verdict["seq"].as_u64().unwrap(), verdict["reason"].as_str().unwrap()))
        .collect();
    said.sort_unstable();
    assert_eq!(said, [(1, "finding.takes-back-not-own"), (2, "not-decodable")]);
    assert_eq!(two.hello(Head::START, &[])["streams"][0]["verdicts"], 2);
    assert_eq!(two.get(&paths::verdicts(two.stream, 2)).json()["verdicts"], serde_json::json!([]));
    let report = json(&leafturn(station.folder.path(), &["check", "--json"]));
    assert_eq!((&report["not_judged"], &report["problems"]), (&0.into(), &serde_json::json!([])));
}

#[test]
fn photos_come_in_parts_and_are_believed_only_whole() {
    let station = Station::start();
    let (phone, other) = (station.phone(1, &[]), station.phone(2, &[]));
    // An invented picture of two parts; only its beginning is a JPEG's.
    let picture: Vec<u8> = [0xFF, 0xD8, 0xFF].into_iter().chain((0..1_200_000_u32).map(|n| (n % 251) as u8)).collect();
    let (salt, id) = ([7; 16], PhotoId::from_octets([5; 16]));
    let hash = blob_hash(salt, &picture);
    let part = |phone: &Phone, n: usize, octets: &[u8], salt: &str| {
        let sha = Hash::plain(octets).to_string();
        let path = paths::photo_part(phone.stream.device, id, u32::try_from(n).unwrap());
        phone.put(&path, content::PART, octets, &[(content::PART_HASH_HEADER, &sha), ("leafturn-salt", salt)])
    };
    let salt_text = "07".repeat(16);
    let parts: Vec<_> = picture.chunks(1024 * 1024).collect();
    assert_eq!(part(&phone, 0, parts[0], &salt_text).problem(), (409, "not-named".into()));
    let taken = PhotoTaken { photo: id, length: picture.len() as u64, hash, of: PhotoOf::Site };
    phone.push(&[Head::START.extend(phone.stream, bytes(1, in_visit(1), Act::PhotoTaken(taken)))]);

    assert_eq!(part(&phone, 1, parts[1], &salt_text).json()["parts"], serde_json::json!([1]));
    assert_eq!(part(&phone, 2, b"x", &salt_text).problem(), (400, "malformed".into()));
    assert_eq!(part(&phone, 0, &parts[0][1..], &salt_text).problem(), (400, "malformed".into()));
    let path = paths::photo_part(phone.stream.device, id, 0);
    let wrong = [(content::PART_HASH_HEADER, &*"00".repeat(32)), ("leafturn-salt", &salt_text)];
    assert_eq!(phone.put(&path, content::PART, parts[0], &wrong).problem(), (400, "hash-mismatch".into()));
    // Parts that fit their own hashes and not the whole's are all dropped.
    assert_eq!(part(&phone, 0, parts[0], &"08".repeat(16)).problem(), (409, "send-again".into()));
    let state = |phone: &Phone| {
        phone.head(&paths::photo(phone.stream.device, id)).headers[content::PHOTO_HEADER].to_str().unwrap().to_owned()
    };
    assert_eq!(state(&phone), r#"{"parts":[],"verified":false}"#);
    part(&phone, 0, parts[0], &salt_text);
    for _ in 0..2 {
        assert_eq!(
            part(&phone, 1, parts[1], &salt_text).json(),
            serde_json::json!({"parts": [0, 1], "verified": true})
        );
    }
    let place = station.folder.path().join("photos").join(phone.stream.device.to_string()).join(id.to_string());
    assert_eq!(std::fs::read(place.join("whole.jpg")).unwrap(), picture);
    assert_eq!(std::fs::read_dir(&place).unwrap().count(), 1, "parts are gone");
    assert_eq!(other.head(&paths::photo(phone.stream.device, id)).status, 404);
}

#[test]
fn texts_are_for_members_until_they_are_erased() {
    let station = Station::start();
    let (phone, other) = (station.phone(1, &[]), station.phone(2, &[]));
    let (salt, words) = ([9; 16], "gate locked \u{0} \u{1F98B}");
    let (hash, body) = (blob_hash(salt, words.as_bytes()), sync::wire::text::encode(salt, words));
    let put = |body: &[u8]| phone.put(&paths::text(hash), content::TEXT, body, &[]);
    assert_eq!(put(&body).problem(), (409, "not-named".into()));
    let noted = Head::START.extend(phone.stream, bytes(1, in_visit(1), Act::Noted(Note { text: hash })));
    phone.push(std::slice::from_ref(&noted));
    assert_eq!(put(&body[..20]).problem(), (400, "hash-mismatch".into()));
    assert_eq!(put(&body).json()["hash"], hash.to_string());
    assert_eq!(phone.get(&paths::text(hash)).body, body);
    assert_eq!(other.get(&paths::text(hash)).problem(), (404, "not-found".into()));
    phone.push(&[noted.head().extend(phone.stream, bytes(2, in_visit(1), Act::Erased(Erased { blob: hash })))]);
    assert_eq!(phone.get(&paths::text(hash)).problem(), (404, "not-found".into()));
    assert_eq!(put(&body).problem(), (422, "refused".into()));
}
