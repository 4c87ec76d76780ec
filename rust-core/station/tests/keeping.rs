//! Back-ups, restores, and what becomes of a damaged station: over real files and the real program.

mod common;

use common::{Phone, Station, chain, in_visit, json, leafturn, site};
use rusqlite::Connection;
use serde_json::Value;
use std::fs;
use std::os::unix::fs::PermissionsExt;
use std::path::{Path, PathBuf};
use std::process::Output;
use survey::chain::{Head, Link};
use tempfile::TempDir;

/// A station with two phones' entries, stopped cleanly.
fn stopped(entries: u32) -> (TempDir, Phone, Vec<Link>) {
    let station = Station::start();
    let phone = station.phone(1, &[]);
    let links = chain(phone.stream, Head::START, 1, entries, in_visit(1));
    for batch in links.chunks(200) {
        assert_eq!(phone.push(batch).status, 200);
    }
    let (code, _, folder) = station.stop();
    assert_eq!(code, Some(0));
    (folder, phone, links)
}

fn said(output: &Output) -> String {
    String::from_utf8_lossy(&output.stdout).into_owned() + &String::from_utf8_lossy(&output.stderr)
}

fn checked(folder: &Path) -> (Option<i32>, Value) {
    let output = leafturn(folder, &["check", "--json"]);
    (output.status.code(), json(&output))
}

/// Every file below a folder with its octets.
fn all(folder: &Path) -> Vec<(PathBuf, Vec<u8>)> {
    let mut found = Vec::new();
    for entry in fs::read_dir(folder).unwrap() {
        let path = entry.unwrap().path();
        if path.is_dir() { found.extend(all(&path)) } else { found.push((path.clone(), fs::read(&path).unwrap())) }
    }
    found.sort();
    found
}

#[test]
fn a_back_up_of_a_serving_station_is_whole_and_restores() {
    let station = Station::start();
    let phone = station.phone(1, &[]);
    let links = chain(phone.stream, Head::START, 1, 30, in_visit(1));
    assert_eq!(phone.push(&links[..20]).status, 200);
    let outside = tempfile::tempdir().unwrap();
    let to = outside.path().join("back-up");
    let name = to.display().to_string();
    let first = leafturn(station.folder.path(), &["back-up", "--json", &name]);
    assert_eq!(first.status.code(), Some(0), "{first:?}");
    assert_eq!((json(&first)["entries"].as_u64(), json(&first)["streams"].as_u64()), (Some(20), Some(1)));
    let again = leafturn(station.folder.path(), &["back-up", "--json", &name]);
    assert_eq!(again.status.code(), Some(0), "{again:?}");
    let databases = fs::read_dir(&to)
        .unwrap()
        .filter(|entry| entry.as_ref().unwrap().path().extension().is_some_and(|extension| extension == "sqlite"));
    assert_eq!(databases.count(), 1, "the database before has gone");

    // What came later is not in it, and is sent again after the restore.
    assert_eq!(phone.push(&links[20..]).status, 200);
    let refused = leafturn(station.folder.path(), &["restore", &name, "--replace"]);
    assert_eq!(refused.status.code(), Some(3), "{refused:?}");
    assert!(said(&refused).contains("in use"), "{}", said(&refused));
    let (_, _, folder) = station.stop();
    let refused = leafturn(folder.path(), &["restore", &name]);
    assert!(refused.status.code() == Some(3) && said(&refused).contains("not empty"), "{}", said(&refused));
    let before = all(folder.path());
    let restored = leafturn(folder.path(), &["restore", "--json", &name, "--replace"]);
    assert_eq!(restored.status.code(), Some(0), "{restored:?}");
    let aside = folder.path().join(json(&restored)["set_aside"].as_str().unwrap());
    let kept: Vec<_> = all(&aside).into_iter().map(|(_, octets)| octets).collect();
    let lock = |path: &Path| path.file_name().is_some_and(|name| name == "in-use");
    for (path, octets) in before.into_iter().filter(|(path, _)| !lock(path)) {
        assert!(kept.contains(&octets), "{} was set aside whole", path.display());
    }
    assert_eq!(checked(folder.path()).0, Some(0));

    let station = Station::start_in(folder);
    let phone = Phone { address: station.address.clone(), ..phone };
    let held = phone.hello(links[29].head(), &[links[19].head()]);
    assert_eq!(
        (held["streams"][0]["seq"].as_u64(), held["streams"][0]["common"]["seq"].as_u64()),
        (Some(20), Some(20))
    );
    assert_eq!(phone.push(&links[20..]).status, 200);
    let (_, _, folder) = station.stop();
    assert_eq!(checked(folder.path()), (Some(0), checked(folder.path()).1));
    assert_eq!(checked(folder.path()).1["entries"], 30);
}

#[test]
fn sessions_and_waiting_codes_do_not_come_back() {
    let (folder, ..) = stopped(3);
    let link = json(&leafturn(folder.path(), &["coordinator", "add", "Invented Ada", "--json"]))["link"].clone();
    let code = json(&leafturn(folder.path(), &["invite", "--json"]))["code"].clone();
    let outside = tempfile::tempdir().unwrap();
    let name = outside.path().join("b").display().to_string();
    assert_eq!(leafturn(folder.path(), &["back-up", &name]).status.code(), Some(0));
    let fresh = tempfile::tempdir().unwrap();
    assert_eq!(leafturn(fresh.path(), &["restore", &name]).status.code(), Some(0));
    let station = Station::start_in(fresh);
    let stranger = station.stranger(9);
    assert_eq!(station.enrol(code.as_str().unwrap(), &stranger).problem().1, "wrong-code");
    let path = link.as_str().unwrap().split("/sign-in/").nth(1).unwrap();
    let own = [("origin", station.address.as_str())];
    let url = format!("{}/sign-in/{path}", station.address);
    assert_eq!(common::send(&ureq::http::Method::POST, &url, &[], &own).problem().1, "not-signed-in");
}

#[test]
fn a_back_up_that_is_not_whole_restores_nothing() {
    let (folder, ..) = stopped(10);
    let outside = tempfile::tempdir().unwrap();
    let to = outside.path().join("b");
    let name = to.display().to_string();
    assert_eq!(leafturn(folder.path(), &["back-up", &name]).status.code(), Some(0));
    let fresh = tempfile::tempdir().unwrap();
    for (path, octets) in all(&to) {
        if ["manifest.json", "in-use"].iter().any(|own| path.ends_with(own)) {
            continue;
        }
        let mut altered = octets.clone();
        altered[octets.len() / 2] ^= 1;
        fs::write(&path, &altered).unwrap();
        let refused = leafturn(fresh.path(), &["restore", &name]);
        assert_eq!(refused.status.code(), Some(1), "{}", path.display());
        assert!(said(&refused).contains("nothing was touched"), "{}", said(&refused));
        assert_eq!(all(fresh.path()), []);
        fs::remove_file(&path).unwrap();
        assert!(said(&leafturn(fresh.path(), &["restore", &name])).contains("missing"));
        fs::write(&path, &octets).unwrap();
    }
    fs::write(to.join("manifest.json"), b"{}").unwrap();
    assert_eq!(leafturn(fresh.path(), &["restore", &name]).status.code(), Some(3));
    // Nor is a folder of other things taken for a place of back-ups, and one station's not for another's.
    let other = tempfile::tempdir().unwrap();
    fs::write(other.path().join("holiday.jpg"), b"sea").unwrap();
    let refused = leafturn(folder.path(), &["back-up", &other.path().display().to_string()]);
    assert!(refused.status.code() == Some(3) && all(other.path()).len() == 1, "{}", said(&refused));
    let inside = folder.path().join("inside").display().to_string();
    assert_eq!(leafturn(folder.path(), &["back-up", &inside]).status.code(), Some(3));
}

/// Damage to the database, by name.
type Harm = (&'static str, fn(&Path));

const HARMS: [Harm; 6] = [
    ("cut to a third", |path| harm(path, |octets| octets.truncate(octets.len() / 3))),
    ("cut within a page", |path| harm(path, |octets| octets.truncate(octets.len() - 1000))),
    ("emptied", |path| harm(path, Vec::clear)),
    ("zeros all over", |path| harm(path, |octets| octets.fill(0))),
    ("zeros in the middle", |path| {
        harm(path, |octets| {
            let third = octets.len() / 3;
            octets[third..2 * third].fill(0);
        });
    }),
    ("removed", |path| fs::remove_file(path).unwrap()),
];

fn harm(path: &Path, how: impl FnOnce(&mut Vec<u8>)) {
    let mut octets = fs::read(path).unwrap();
    how(&mut octets);
    fs::write(path, octets).unwrap();
}

fn copy(from: &Path) -> TempDir {
    let to = tempfile::tempdir().unwrap();
    for (path, octets) in all(from) {
        let place = to.path().join(path.strip_prefix(from).unwrap());
        fs::create_dir_all(place.parent().unwrap()).unwrap();
        fs::write(&place, octets).unwrap();
        fs::set_permissions(&place, fs::Permissions::from_mode(0o600)).unwrap();
    }
    to
}

#[test]
fn a_damaged_station_is_refused_restored_and_salvaged() {
    let (whole, phone, links) = stopped(600);
    let outside = tempfile::tempdir().unwrap();
    let back_up = outside.path().join("b").display().to_string();
    assert_eq!(leafturn(whole.path(), &["back-up", &back_up]).status.code(), Some(0));
    for (name, harm) in HARMS {
        let damaged = copy(whole.path());
        harm(&damaged.path().join("station.sqlite"));
        let before = all(damaged.path());
        let refused = leafturn(damaged.path(), &["serve", "--listen", "127.0.0.1:0"]);
        assert_eq!(refused.status.code(), Some(1), "{name}: {}", said(&refused));
        for word in ["damaged", "leafturn restore", "leafturn salvage", "Nothing was changed", "set-aside"] {
            assert!(said(&refused).contains(word), "{name}: no {word:?} in {}", said(&refused));
        }
        let checked = leafturn(damaged.path(), &["check"]);
        assert_eq!(checked.status.code(), Some(1), "{name}: {}", said(&checked));
        let database = |files: &[(PathBuf, Vec<u8>)]| {
            files.iter().find(|(path, _)| path.ends_with("station.sqlite")).map(|(_, octets)| octets.clone())
        };
        assert_eq!(database(&before), database(&all(damaged.path())), "{name}: not an octet changed");

        // Without a back-up: what can be read, in a new folder.
        let rescued = tempfile::tempdir().unwrap();
        let from = damaged.path().display().to_string();
        let output = leafturn(rescued.path(), &["salvage", "--json", &from]);
        assert_eq!(database(&before), database(&all(damaged.path())), "{name}: only read");
        if name == "removed" {
            assert_eq!(output.status.code(), Some(3), "{name}: {}", said(&output));
        } else {
            let report = json(&output);
            let held = report["entries"].as_u64().unwrap();
            // Where the damage hit an index alone, nothing is lost.
            let lost = held < 600 || !report["problems"].as_array().unwrap().is_empty();
            assert_eq!(output.status.code(), Some(i32::from(lost)), "{name}: it says what is lost: {report}");
            match name {
                "emptied" | "zeros all over" => assert_eq!(held, 0, "{name}: {report}"),
                "zeros in the middle" => assert!(held < 600, "{name}: {report}"),
                _ => assert!(held > 50, "{name}: {report}"),
            }
            assert_eq!(leafturn(rescued.path(), &["check"]).status.code(), Some(0), "{name}");
            // The phone joins again where its token was lost, and sends what is missing.
            let station = Station::start_in(rescued);
            let phone = Phone { address: station.address.clone(), ..phone.clone() };
            if !joined(&phone) {
                assert_eq!(station.enrol(&station.invite(&[site(1)]), &phone).status, 200);
            }
            let answer = phone.hello(links[599].head(), &[]);
            let from = usize::try_from(answer["streams"][0]["seq"].as_u64().unwrap()).unwrap();
            for batch in links[from..].chunks(200) {
                assert_eq!(phone.push(batch).status, 200, "{name}");
            }
            let (_, _, folder) = station.stop();
            let (code, report) = self::checked(folder.path());
            assert_eq!((code, report["entries"].as_u64()), (Some(0), Some(600)), "{name}: {report}");
        }

        // With one: in its place.
        let restored = leafturn(damaged.path(), &["restore", &back_up, "--replace"]);
        assert_eq!(restored.status.code(), Some(0), "{name}: {}", said(&restored));
        let (code, report) = self::checked(damaged.path());
        assert_eq!((code, report["entries"].as_u64()), (Some(0), Some(600)), "{name}: {report}");
    }
}

fn joined(phone: &Phone) -> bool {
    let hello = serde_json::json!({"app": "test", "streams": [], "cursors": []}).to_string();
    phone.post(sync::wire::paths::HELLO, sync::wire::content::JSON, hello.as_bytes(), &[]).status == 200
}

/// A flipped bit within an entry leaves the database's structure whole: serving goes on, `check` says where, and salvage
/// leaves that entry out and keeps those after it in a file.
#[test]
fn a_flipped_bit_is_found_by_its_hash() {
    let (folder, phone, links) = stopped(50);
    let needle = &links[30].bytes[..];
    harm(&folder.path().join("station.sqlite"), |octets| {
        let at = octets.windows(needle.len()).position(|window| window == needle).unwrap();
        octets[at + needle.len() / 2] ^= 1;
    });
    let (code, report) = checked(folder.path());
    assert_eq!(code, Some(1));
    let problems = report["problems"].to_string();
    assert!(problems.contains("do not match its hash"), "{problems}");

    let rescued = tempfile::tempdir().unwrap();
    let output = leafturn(rescued.path(), &["salvage", "--json", &folder.path().display().to_string()]);
    let report = json(&output);
    assert_eq!(
        (report["entries"].as_u64(), report["altered"].as_u64(), report["after_gaps"].as_u64()),
        (Some(30), Some(1), Some(19)),
        "{report}"
    );
    // The phone sends the lost one, and the file adds those that follow.
    let station = Station::start_in(rescued);
    let phone = Phone { address: station.address.clone(), ..phone };
    assert_eq!(phone.push(&links[30..31]).status, 200, "the phone's token was saved");
    let (_, _, rescued) = station.stop();
    let file = rescued.path().join("after-gaps.leafturn").display().to_string();
    assert_eq!(json(&leafturn(rescued.path(), &["take-in", "--json", &file]))["added"], 19);
    assert_eq!(checked(rescued.path()).1["entries"], 50);
}

#[test]
fn newer_and_foreign_databases_are_left_alone() {
    let (whole, ..) = stopped(5);
    for (sql, word) in [("PRAGMA user_version = 99", "newer"), ("PRAGMA application_id = 5", "another program")] {
        let folder = copy(whole.path());
        let path = folder.path().join("station.sqlite");
        Connection::open(&path).unwrap().execute_batch(sql).unwrap();
        let before = fs::read(&path).unwrap();
        for act in [&["serve", "--listen", "127.0.0.1:0"][..], &["check"]] {
            let refused = leafturn(folder.path(), act);
            assert_eq!(refused.status.code(), Some(3), "{sql}: {}", said(&refused));
            assert!(said(&refused).contains(word), "{sql}: {}", said(&refused));
        }
        assert_eq!(fs::read(&path).unwrap(), before, "{sql}");
    }
}
