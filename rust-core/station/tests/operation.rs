//! Running a station: signing in, logs, clean ends, restarts, check, and the interface document.

mod common;

use common::{Station, chain, get, in_visit, json, leafturn, send};
use survey::chain::Head;
use sync::wire::{content, paths};
use ureq::http::Method;

fn sign_in_link(station: &Station) -> String {
    let printed = leafturn(station.folder.path(), &["coordinator", "add", "Invented Ada", "--json"]);
    let link = json(&printed)["link"].as_str().unwrap().to_owned();
    assert!(link.starts_with(&format!("{}/sign-in/", station.address)), "{link}");
    link
}

#[test]
fn pages_need_a_session_that_one_link_opens_once() {
    let station = Station::start();
    let home = format!("{}/", station.address);
    let problem = get(&home, &[]).problem();
    assert_eq!(problem, (401, "not-signed-in".into()));
    let link = sign_in_link(&station);
    let own = [("origin", station.address.as_str())];
    // Looking at the link spends nothing; a foreign page cannot spend it.
    assert_eq!(get(&link, &[]).status, 200);
    assert_eq!(send(&Method::POST, &link, &[], &[]).problem(), (403, "foreign-form".into()));
    assert_eq!(
        send(&Method::POST, &link, &[], &[("origin", "http://evil.example")]).problem(),
        (403, "foreign-form".into())
    );
    let opened = send(&Method::POST, &link, &[], &own);
    assert_eq!(opened.status, 303);
    let cookie = opened.headers["set-cookie"].to_str().unwrap().to_owned();
    assert!(cookie.contains("; HttpOnly; SameSite=Strict") && !cookie.contains("Secure"), "{cookie}");
    assert_eq!(send(&Method::POST, &link, &[], &own).problem(), (401, "not-signed-in".into()), "once");

    let session = cookie.split(';').next().unwrap();
    let page = get(&home, &[("cookie", session)]);
    assert_eq!(page.status, 200);
    for (name, value) in
        [("x-content-type-options", "nosniff"), ("referrer-policy", "same-origin"), ("cache-control", "no-store")]
    {
        assert_eq!(page.headers[name], value);
    }
    assert_eq!(get(&home, &[("cookie", &format!("leafturn-session={}", "0".repeat(64)))]).status, 401);
    // Signing out is a form: it needs the token of this session.
    let out = format!("{}/sign-out", station.address);
    let form = |token: &str| {
        let headers = [("cookie", session), own[0], ("content-type", "application/x-www-form-urlencoded")];
        send(&Method::POST, &out, format!("form_token={token}").as_bytes(), &headers)
    };
    assert_eq!(form(&"0".repeat(64)).problem(), (403, "foreign-form".into()));
    let text = page.text();
    let token = text.split("name=\"form_token\" value=\"").nth(1).and_then(|rest| rest.split('"').next()).unwrap();
    assert_eq!(form(token).status, 303);
    assert_eq!(get(&home, &[("cookie", session)]).status, 401);
}

#[test]
fn a_stopped_station_leaves_one_file_and_a_log_without_secrets() {
    let station = Station::start();
    let code = station.invite(&[]);
    let phone = station.stranger(1);
    station.enrol(&code, &phone);
    let links = chain(phone.stream, Head::START, 1, 20, in_visit(1));
    phone.push(&links);
    let link = sign_in_link(&station);
    get(&link, &[]);
    let opened = send(&Method::POST, &link, &[], &[("origin", &station.address)]);
    let session = opened.headers["set-cookie"].to_str().unwrap().split(['=', ';']).nth(1).unwrap().to_owned();
    let (exit, log, folder) = station.stop();
    assert_eq!(exit, Some(0), "{log}");
    let logged: Vec<serde_json::Value> = log.lines().map(|line| serde_json::from_str(line).unwrap()).collect();
    let pushed = logged.iter().filter(|line| line["route"] == paths::ENTRIES && line["status"] == 200).count();
    assert_eq!(pushed, 1, "{log}");
    assert!(logged.iter().any(|line| line["message"] == "stopped"), "{log}");
    let bare = code.replace('-', "");
    let secret = link.rsplit('/').next().unwrap();
    for (what, needle) in [
        ("code", code.as_str()),
        ("code", &bare),
        ("token", &phone.token),
        ("token hash", &survey::chain::Hash::plain(phone.token.as_bytes()).to_string()),
        ("sign-in link", secret),
        ("session", &session),
        ("name", "Invented"),
        ("name", "Zebedee"),
        ("device", &phone.stream.device.to_string()),
    ] {
        assert!(!log.to_lowercase().contains(&needle.to_lowercase()), "the log holds a {what}");
    }
    let wal = folder.path().join("station.sqlite-wal");
    assert!(std::fs::metadata(&wal).map_or(0, |file| file.len()) == 0, "checkpointed");
    let database = std::fs::read(folder.path().join("station.sqlite")).unwrap();
    for secret in [phone.token.as_str(), &bare, secret, &session] {
        assert!(!database.windows(secret.len()).any(|octets| octets.eq_ignore_ascii_case(secret.as_bytes())));
    }

    let station = Station::start_in(folder);
    let phone = common::Phone { address: station.address.clone(), ..phone };
    assert_eq!(phone.hello(links[19].head(), &[])["streams"][0]["seq"], 20);
    assert_eq!(get(&station.address, &[("cookie", &format!("leafturn-session={session}"))]).status, 200);
}

#[test]
fn check_names_what_was_altered_behind_its_back() {
    let station = Station::start();
    let phone = station.phone(1, &[]);
    phone.push(&chain(phone.stream, Head::START, 1, 9, in_visit(1)));
    phone.get(&paths::verdicts(phone.stream, 0));
    let (_, _, folder) = station.stop();
    let check = || {
        let output = leafturn(folder.path(), &["check", "--json"]);
        (output.status.code(), json(&output)["problems"].to_string())
    };
    assert_eq!(check(), (Some(0), "[]".into()));
    let bare = rusqlite::Connection::open(folder.path().join("station.sqlite")).unwrap();
    let whole: Vec<u8> = bare.query_row("SELECT bytes FROM entries WHERE seq = 5", [], |row| row.get(0)).unwrap();
    let altered: Vec<u8> = String::from_utf8(whole.clone()).unwrap().replace("\"up\":5", "\"up\":6").into_bytes();
    assert_ne!(whole, altered);
    for (undo, sql, says) in [
        (
            "UPDATE entries SET bytes = ?1 WHERE seq = 5",
            "UPDATE entries SET bytes = ?1 WHERE seq = 5",
            "the bytes of entry 5 do not match its hash",
        ),
        (
            "UPDATE judged SET upto = 9",
            "UPDATE judged SET summary = zeroblob(32)",
            "its state is not the one that was judged",
        ),
    ] {
        bare.execute_batch("DROP TRIGGER IF EXISTS entries_stay; DROP TRIGGER IF EXISTS feed_stays").unwrap();
        let set = |sql: &str, bytes: &[u8]| {
            if sql.contains("?1") { bare.execute(sql, [bytes]).unwrap() } else { bare.execute(sql, []).unwrap() }
        };
        assert_eq!(set(sql, &altered), 1);
        let (code, problems) = check();
        assert_eq!(code, Some(1), "{sql}");
        assert!(problems.contains(says), "{sql}: {problems}");
        set(undo, &whole);
    }
    bare.execute("UPDATE feed SET feed_hash = zeroblob(32) WHERE number = 4", []).unwrap();
    let (code, problems) = check();
    assert!(code == Some(1) && problems.contains("item 4 is not chained"), "{problems}");
    std::fs::write(folder.path().join("station.sqlite"), "Dear coordinator, ".repeat(900)).unwrap();
    let _ = std::fs::remove_file(folder.path().join("station.sqlite-wal"));
    assert_eq!(leafturn(folder.path(), &["check"]).status.code(), Some(1));
}

#[test]
fn what_cannot_be_done_exits_with_3_and_says_why() {
    let folder = tempfile::tempdir().unwrap();
    let open = leafturn(folder.path(), &["serve", "--listen", "0.0.0.0:0"]);
    assert_eq!(open.status.code(), Some(3));
    let said = String::from_utf8_lossy(&open.stderr).into_owned();
    assert!(said.contains("TLS") && said.contains("--behind-proxy"), "{said}");
    let file = folder.path().join("a-file");
    std::fs::write(&file, "x").unwrap();
    assert_eq!(leafturn(&file, &["invite"]).status.code(), Some(3));
    assert_eq!(leafturn(folder.path(), &["brew"]).status.code(), Some(2));
    let help = std::process::Command::new(env!("CARGO_BIN_EXE_leafturn")).arg("--help").output().unwrap();
    let help = String::from_utf8(help.stdout).unwrap();
    for word in ["Exit codes", "serve", "take-in", "coordinator add Ada"] {
        assert!(help.contains(word), "{help}");
    }
}

#[test]
fn the_interface_document_is_served_and_known() {
    let station = Station::start();
    let served = get(&format!("{}/v1/openapi.json", station.address), &[]);
    assert_eq!((served.status, served.content_type.as_str()), (200, "application/json"));
    let document: serde_json::Value = serde_json::from_slice(&served.body).unwrap();
    for path in [
        paths::ENROL,
        paths::HELLO,
        paths::ENTRIES,
        paths::VERDICTS,
        paths::FEED,
        paths::PHOTO,
        paths::PHOTO_PART,
        paths::TEXT,
    ] {
        assert!(document["paths"][path].is_object(), "{path}");
    }
    insta::assert_json_snapshot!("openapi", document);
    let health = get(&format!("{}/v1/health", station.address), &[]);
    assert!(content::is(&health.content_type, content::JSON));
}
