//! Input that is wrong in every way: a clear error naming what and where, the rest kept, the process alive.

mod common;

use common::{Station, chain, get, in_visit, json, leafturn, post, send, site};
use std::io::{Read, Write};
use std::net::TcpStream;
use survey::chain::Head;
use sync::framing::{Encoding, FileWriter, encode_batch};
use sync::wire::push::Purpose;
use sync::wire::{content, paths};

#[test]
fn requests_that_are_wrong_are_told_how_and_change_nothing() {
    let mut station = Station::start();
    let phone = station.phone(1, &[]);
    let links = chain(phone.stream, Head::START, 1, 3, in_visit(1));
    let (batch, _) = encode_batch(&links, Purpose::Entries, Encoding::Identity).unwrap();
    let header_end = batch.iter().position(|&octet| octet == b'\n').unwrap();
    let header = std::str::from_utf8(&batch[..header_end]).unwrap();
    let with = |from: &str, to: &str| {
        assert!(header.contains(from), "{header}");
        [header.replace(from, to).as_bytes(), &batch[header_end..]].concat()
    };
    let deep = format!("{{\"app\":{}1{}}}", "[".repeat(5_000), "]".repeat(5_000));
    let bomb = {
        let mut packer = flate2::write::GzEncoder::new(Vec::new(), flate2::Compression::best());
        packer.write_all(&vec![b' '; 64 * 1024 * 1024]).unwrap();
        packer.finish().unwrap()
    };
    let entries = paths::entries(phone.stream);
    let (hello, push): (&str, &str) = (paths::HELLO, &entries);
    let gzip = [("content-encoding", "gzip")];
    let none: [(&str, &str); 0] = [];
    for (what, path, content_type, body, headers, status, kind) in [
        ("malformed JSON", hello, content::JSON, b"{\"app\":".to_vec(), &none[..], 400, "malformed"),
        ("not UTF-8", hello, content::JSON, b"{\"app\":\"\xFF\"}".to_vec(), &none, 400, "malformed"),
        (
            "a lone surrogate",
            hello,
            content::JSON,
            br#"{"app":"\ud800","streams":[],"cursors":[]}"#.to_vec(),
            &none,
            400,
            "malformed",
        ),
        ("deep nesting", hello, content::JSON, deep.into_bytes(), &none, 400, "malformed"),
        ("another content type", hello, "text/plain", b"{}".to_vec(), &none, 415, "wrong-content-type"),
        (
            "another encoding",
            hello,
            content::JSON,
            b"{}".to_vec(),
            &[("content-encoding", "br")],
            415,
            "wrong-content-type",
        ),
        ("a body without end", hello, content::JSON, vec![b' '; 2 * 1024 * 1024], &none, 413, "too-large"),
        ("too many streams", hello, content::JSON, many_streams(), &none, 413, "too-large"),
        ("entries as JSON", push, content::JSON, batch.clone(), &none, 415, "wrong-content-type"),
        ("an unknown version", push, content::ENTRIES, with("\"v\":1", "\"v\":99"), &none, 400, "malformed"),
        ("a negative count", push, content::ENTRIES, with("\"count\":3", "\"count\":-3"), &none, 400, "malformed"),
        ("a huge count", push, content::ENTRIES, with("\"count\":3", "\"count\":4000000000"), &none, 413, "too-large"),
        ("a first number of 0", push, content::ENTRIES, with("\"first\":1", "\"first\":0"), &none, 400, "malformed"),
        ("cut in half", push, content::ENTRIES, batch[..batch.len() / 2].to_vec(), &none, 400, "hash-mismatch"),
        ("an altered octet", push, content::ENTRIES, altered(&batch), &none, 400, "hash-mismatch"),
        ("octets behind the end", push, content::ENTRIES, [&batch[..], b"more"].concat(), &none, 400, "malformed"),
        ("a bomb", push, content::ENTRIES, bomb, &gzip, 413, "too-large"),
        ("not gzip at all", push, content::ENTRIES, batch.clone(), &gzip, 400, "hash-mismatch"),
        (
            "no such stream",
            "/v1/streams/kitchen/table/entries",
            content::ENTRIES,
            batch.clone(),
            &none,
            400,
            "malformed",
        ),
    ] {
        let answer = phone.post(path, content_type, &body, headers);
        assert_eq!(answer.problem(), (status, kind.into()), "{what}: {}", answer.text());
        let problem: serde_json::Value = serde_json::from_slice(&answer.body).unwrap();
        assert!(problem["detail"].as_str().is_some_and(|detail| detail.len() > 10), "{what}: {problem}");
    }
    let url = |path: &str| format!("{}{path}", station.address);
    assert_eq!(get(&url("/v1/nowhere"), &[]).problem(), (404, "not-found".into()));
    assert_eq!(send(&ureq::http::Method::DELETE, &url(hello), &[], &[]).problem(), (405, "wrong-method".into()));
    assert_eq!(phone.get(&format!("/v1/sites/{}/feed?after=-1", site(1))).problem(), (400, "malformed".into()));
    let wrong_codes = ["BCD", "AAA-AAA-AAA", "\u{0}", "BCD-FGH-JKB"];
    for code in wrong_codes {
        assert_eq!(station.enrol(code, &station.stranger(7)).problem(), (403, "wrong-code".into()), "{code:?}");
    }
    assert_eq!(phone.hello(Head::START, &[])["streams"][0]["seq"], 0, "nothing of it was kept");
    assert_eq!(phone.push(&links).json()["held"]["seq"], 3, "and the good batch is");
    assert!(station.alive());
}

/// Entries that this version cannot make sense of are kept like any other.
#[test]
fn odd_entries_are_kept_and_the_queue_goes_on() {
    let mut station = Station::start();
    let phone = station.phone(1, &[]);
    let good = String::from_utf8(chain(phone.stream, Head::START, 1, 1, in_visit(1)).remove(0).bytes).unwrap();
    let year_9999 = good.replace("\"wall\":1782900000001", "\"wall\":253402300799000");
    assert_ne!(good, year_9999);
    let bodies: Vec<Vec<u8>> = vec![
        b"{\"id\":".to_vec(),
        b"\0\0\0".to_vec(),
        good.replace("\"v\":1", "\"v\":-1").into_bytes(),
        good.replace("\"v\":1", "\"v\":4000000000").into_bytes(),
        good.replace("visit-ended", "\\ud800").into_bytes(),
        good.replace("visit-ended", "tea-brewed").into_bytes(),
        format!("{}1{}", "[".repeat(4_000), "]".repeat(4_000)).into_bytes(),
        year_9999.into_bytes(),
        good.into_bytes(),
    ];
    let count = bodies.len() as u64;
    let mut head = Head::START;
    let links: Vec<_> = bodies
        .into_iter()
        .map(|body| {
            let link = head.extend(phone.stream, body);
            head = link.head();
            link
        })
        .collect();
    assert_eq!(phone.push(&links).json()["held"]["seq"], count);
    let report = leafturn(station.folder.path(), &["check", "--json"]);
    let found = json(&report);
    assert_eq!(
        (report.status.code(), &found["entries"], &found["undecodable"]),
        (Some(0), &count.into(), &5.into()),
        "{found}"
    );
    assert!(station.alive());
}

#[test]
fn only_the_stations_own_names_are_answered_and_wild_octets_harm_nothing() {
    let mut station = Station::start();
    let host = station.address.strip_prefix("http://").unwrap().to_owned();
    let raw = |request: &[u8]| {
        let mut stream = TcpStream::connect(&host).unwrap();
        stream.set_read_timeout(Some(std::time::Duration::from_secs(10))).unwrap();
        stream.write_all(request).unwrap();
        let mut answer = Vec::new();
        // The station may close the connection on what is no request at all.
        let _ = stream.read_to_end(&mut answer);
        String::from_utf8_lossy(&answer).into_owned()
    };
    let with_host =
        |name: &str| raw(format!("GET /v1/health HTTP/1.1\r\nHost: {name}\r\nConnection: close\r\n\r\n").as_bytes());
    assert!(with_host(&host).starts_with("HTTP/1.1 200"));
    let answer = with_host("evil.example");
    assert!(answer.starts_with("HTTP/1.1 421") && answer.contains("urn:leafturn:problem:wrong-host"), "{answer}");
    raw(&[0, 0xFF, 0x16, 3, 1, b'\r', b'\n', b'\r', b'\n']);
    raw(b"GET / HTTP/9.9\r\n\r\n");
    assert!(station.alive());
}

#[test]
fn files_are_taken_in_as_far_as_they_are_whole() {
    let station = Station::start();
    let phone = station.stranger(4);
    let links = chain(phone.stream, Head::START, 1, 450, in_visit(4));
    let mut writer = FileWriter::new(Vec::new());
    let mut rest = &links[..];
    while !rest.is_empty() {
        let taken = writer.write(rest).unwrap();
        assert!(taken > 0);
        rest = &rest[taken..];
    }
    let file = writer.finish().unwrap();
    let folder = station.folder.path();
    let take = |name: &str, octets: &[u8]| {
        let path = folder.join(name);
        std::fs::write(&path, octets).unwrap();
        let output = leafturn(folder, &["take-in", "--json", path.to_str().unwrap()]);
        (output.status.code(), json(&output))
    };
    let (code, half) = take("half", &file[..file.len() / 2]);
    let kept = half["added"].as_u64().unwrap();
    assert!((1..450).contains(&kept), "{half}");
    assert_eq!((code, &half["entries"]), (Some(1), &kept.into()));
    let problem = half["problems"][0].as_str().unwrap();
    assert!(problem.starts_with(&format!("{kept} whole entries kept")), "{problem}");

    let (code, whole) = take("whole", &file);
    assert_eq!((code, &whole["entries"], whole["added"].as_u64()), (Some(0), &450.into(), Some(450 - kept)));
    let (code, again) = take("again", &file);
    assert_eq!((code, &again["added"], &again["problems"]), (Some(0), &0.into(), &serde_json::json!([])));
    let mut altered_file = file.clone();
    let at = altered_file.len() / 2;
    altered_file[at] ^= 0x55;
    for (name, octets) in [("altered", &altered_file[..]), ("letter", b"Dear coordinator"), ("empty", b"")] {
        let (code, report) = take(name, octets);
        assert_eq!((code, &report["added"]), (Some(1), &0.into()), "{name}: {report}");
    }
    let missing = leafturn(folder, &["take-in", "no-such-file"]);
    assert_eq!(missing.status.code(), Some(3));
    assert!(String::from_utf8_lossy(&missing.stderr).contains("no-such-file"));
    assert_eq!(leafturn(folder, &["take-in", "--nonsense"]).status.code(), Some(2));
    // A file that begins in the middle of a stream is named, and left out.
    let mut tail = FileWriter::new(Vec::new());
    let elsewhere = chain(station.stranger(5).stream, Head::START, 900, 4, in_visit(4));
    tail.write(&elsewhere[2..]).unwrap();
    let (code, report) = take("tail", &tail.finish().unwrap());
    assert_eq!((code, &report["left_out"]), (Some(1), &2.into()));
    assert!(report["problems"][0].as_str().unwrap().contains("entries 3 to 4"), "{report}");

    let check = leafturn(folder, &["check", "--json"]);
    assert_eq!((check.status.code(), &json(&check)["entries"]), (Some(0), &450.into()));
    // The phone joins later: it claims the stream, and sends nothing twice.
    let phone = station.phone(4, &[]);
    assert_eq!(phone.hello(links[449].head(), &[])["streams"][0]["seq"], 450);
    assert_eq!(post(&phone.url(paths::HELLO), content::JSON, b"{}", &[]).status, 401);
}

fn altered(batch: &[u8]) -> Vec<u8> {
    let mut octets = batch.to_vec();
    let last = octets.len() - 3;
    octets[last] ^= 1;
    octets
}

fn many_streams() -> Vec<u8> {
    let end = r#"{"device":"00000000-0000-0000-0000-000000000000","epoch":"00000000-0000-0000-0000-000000000000","seq":0,"hash":"0000000000000000000000000000000000000000000000000000000000000000"}"#;
    format!("{{\"app\":\"\",\"streams\":[{}],\"cursors\":[]}}", vec![end; 257].join(",")).into_bytes()
}
