//! Secrets stay where they belong. A station at its most talkative, phones, joining, signing in, requests that fail with
//! secrets in every place, an export, a report: afterwards every file of phones and station, and all that the station
//! printed, is searched for every secret. Only the columns that are meant to hold names hold them.

use demo::Trouble;
use demo::link::{BadLink, Wifi};
use demo::person::Person;
use demo::scenario::Phone;
use end_to_end::{folder, leafturn};
use flate2::read::MultiGzDecoder;
use handset::acts::{BeginVisit, Count, OpenPlant};
use memchr::memmem;
use rusqlite::{Connection, OpenFlags};
use serde_json::Value;
use std::collections::BTreeSet;
use std::fs::File;
use std::io::{BufRead, BufReader, Read};
use std::path::{Path, PathBuf};
use std::process::{Child, Command, Stdio};
use survey::check::PhotoOf;
use survey::site::SiteDescription;
use survey::stage::Stage;

const OBSERVER: &str = "Wilhelmina Invented-Observer";
const COORDINATOR: &str = "Theophila Invented-Coordinator";
const PHONE: &str = "Phone of Invented Zebedee";
const JPEG: &[u8] = include_bytes!("../../rust-core/handset/tests/fixtures/small.jpg");

/// A station that logs everything it can, and what it prints.
struct Talkative {
    address: String,
    data: PathBuf,
    ready: String,
    process: Child,
}

/// Something that must not be found, and the columns where it may be: file, table, column.
struct Secret {
    what: &'static str,
    text: String,
    may_stand: &'static [(&'static str, &'static str, &'static str)],
}

impl Talkative {
    fn start(place: &Path) -> Result<Self, Trouble> {
        let data = place.join("station");
        let mut process = Command::new(leafturn())
            .args(["serve", "--json", "--log", "debug", "--listen", "127.0.0.1:0", "--data"])
            .arg(&data)
            .stdout(Stdio::piped())
            .stderr(File::create(place.join("station.log"))?)
            .spawn()?;
        let mut ready = String::new();
        BufReader::new(process.stdout.take().expect("a pipe")).read_line(&mut ready)?;
        let said: Value = serde_json::from_str(&ready)?;
        Ok(Self { address: said["listening"].as_str().expect("an address").into(), data, ready, process })
    }

    fn command(&self, arguments: &[&str]) -> Result<Value, Trouble> {
        let output = Command::new(leafturn()).args(arguments).arg("--data").arg(&self.data).output()?;
        assert!(output.status.success(), "{output:?}");
        Ok(serde_json::from_slice(&output.stdout)?)
    }

    /// An answer, whatever it says.
    fn ask(
        &self,
        method: &str,
        path: &str,
        fields: &[(&str, &str)],
        body: &str,
    ) -> Result<(u16, String, String), Trouble> {
        let config = ureq::Agent::config_builder().http_status_as_error(false).max_redirects(0).build();
        let mut request = ureq::http::Request::builder().method(method).uri(format!("{}{path}", self.address));
        for (name, value) in fields {
            request = request.header(*name, *value);
        }
        let request = request.body(body.to_owned()).expect("a request");
        let mut answer = ureq::Agent::from(config).run(request)?;
        let cookie = answer.headers().get("set-cookie").and_then(|value| value.to_str().ok()).unwrap_or_default();
        let (status, cookie) = (answer.status().as_u16(), cookie.to_owned());
        Ok((status, cookie, answer.body_mut().read_to_string()?))
    }
}

impl Drop for Talkative {
    fn drop(&mut self) {
        // Ended already where the test stopped it.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

#[test]
#[expect(clippy::too_many_lines, reason = "one story, told in its order")]
fn no_secret_is_found_but_where_it_belongs() -> Result<(), Trouble> {
    let place = folder()?;
    let mut station = Talkative::start(place.path())?;
    let own = |name: &str| -> Result<PathBuf, Trouble> {
        let own = place.path().join(name);
        std::fs::create_dir_all(&own)?;
        Ok(own)
    };
    let mut one = Person::with_phone(Phone::Quarry, &own("one")?, OBSERVER)?;
    let mut other = Person::with_phone(Phone::Ferry, &own("other")?, OBSERVER)?;

    // Counting, with a note and a photo; joining over a link that loses and repeats; a second phone of the same site.
    let description = SiteDescription { name: Some("Invented Quarry".into()), ..SiteDescription::default() };
    let site = one.handset.describe_site(None, description)?.site.id;
    let observers = [one.observer].into();
    let begin = BeginVisit { protocol: Some(demo::play::protocol(1, 50)), observers, ..BeginVisit::default() };
    one.handset.begin_visit(site, begin)?;
    let plant = one.handset.open_plant(OpenPlant::default())?;
    one.handset.count(Count::one(Stage::Egg))?;
    one.handset.take_photo(None, PhotoOf::Check(plant.check), JPEG)?;
    one.handset.note(None, "The ditch is full.")?;
    let invite = |site: Option<String>| -> Result<String, Trouble> {
        let sites: Vec<String> = site.into_iter().flat_map(|site| ["--site".to_owned(), site]).collect();
        let arguments: Vec<&str> =
            ["invite", "--json", "--name", PHONE].into_iter().chain(sites.iter().map(String::as_str)).collect();
        Ok(station.command(&arguments)?["code"].as_str().expect("a code").to_owned())
    };
    let codes = [invite(None)?, invite(Some(site.to_string()))?, invite(None)?];
    one.join_and_sync(&codes[0], &mut BadLink::to(&station.address, 5))?;
    other.join_and_sync(&codes[1], &mut Wifi::to(&station.address))?;
    let tokens = [&one, &other].map(|person| person.token().expect("it has joined").to_owned());

    // Signing in, looking, and signing out of one of two sessions.
    let mut sessions = Vec::new();
    let mut links = Vec::new();
    for _ in 0..2 {
        let link = station.command(&["coordinator", "add", COORDINATOR, "--json"])?["link"]
            .as_str()
            .expect("a link")
            .to_owned();
        let path = link.strip_prefix(&station.address).expect("a link of this station").to_owned();
        assert_eq!(station.ask("GET", &path, &[("accept", "text/html")], "")?.0, 200);
        let (status, cookie, _) = station.ask("POST", &path, &[("origin", &station.address)], "")?;
        assert_eq!(status, 303);
        sessions.push(cookie.split(['=', ';']).nth(1).expect("a session").to_owned());
        links.push(path.rsplit('/').next().expect("a secret").to_owned());
    }
    let cookie = format!("leafturn-session={}", sessions[0]);
    let mut form_token = String::new();
    for path in ["/", "/devices", "/cautions", &format!("/sites/{site}")] {
        let (status, _, page) = station.ask("GET", path, &[("cookie", &cookie), ("accept", "text/html")], "")?;
        assert_eq!(status, 200, "{path}");
        page.split("name=\"form_token\" value=\"")
            .nth(1)
            .and_then(|rest| rest.split('"').next())
            .unwrap_or_default()
            .clone_into(&mut form_token);
    }
    assert_eq!(form_token.len(), 64);

    // Requests that fail, with secrets wherever somebody may put them by mistake.
    let bearer = format!("Bearer {}", tokens[0]);
    let json = sync::wire::content::JSON;
    let spoilt = format!("{{\"code\":\"{}\",\"device\":\"{}\",\"token_hash\":\"{}\"", codes[2], tokens[0], sessions[0]);
    let nowhere = format!("/v1/nowhere/{}?token={}&name={}", tokens[0], tokens[1], OBSERVER.replace(' ', "+"));
    let stream = format!("/v1/streams/{}/{}/entries", tokens[0], codes[2]);
    let odd_link = format!("/sign-in/{}x", links[0]);
    let form = format!("form_token={form_token}&name={COORDINATOR}");
    let url_encoded = "application/x-www-form-urlencoded";
    let mut answers = Vec::new();
    for (method, path, fields, body, expected) in [
        ("GET", nowhere.as_str(), vec![("authorization", bearer.as_str())], "", 404),
        ("POST", "/v1/enrol", vec![("content-type", json), ("x-forwarded-for", tokens[0].as_str())], &spoilt, 400),
        ("POST", "/v1/hello", vec![("authorization", &bearer), ("content-type", json)], &spoilt, 400),
        ("POST", "/v1/hello", vec![("authorization", &bearer), ("content-type", &tokens[1])], "{}", 415),
        (
            "POST",
            &stream,
            vec![("authorization", &bearer), ("content-type", sync::wire::content::ENTRIES)],
            &spoilt,
            400,
        ),
        ("GET", &format!("/v1/sites/{}/feed", codes[2]), vec![("authorization", &bearer)], "", 400),
        ("GET", "/v1/health", vec![("host", &tokens[0]), ("authorization", &bearer)], "", 421),
        ("DELETE", "/v1/hello", vec![("authorization", &bearer)], "", 405),
        ("POST", &odd_link, vec![("origin", &station.address)], "", 401),
        (
            "POST",
            "/sign-out",
            vec![("cookie", &cookie), ("origin", "http://elsewhere.example"), ("content-type", url_encoded)],
            &form,
            403,
        ),
        (
            "POST",
            "/sign-out",
            vec![("cookie", &cookie), ("origin", &station.address), ("content-type", url_encoded)],
            &form,
            303,
        ),
    ] {
        let (status, _, answer) = station.ask(method, path, &fields, body)?;
        assert_eq!(status, expected, "{method}: {answer}");
        answers.push(answer);
    }

    one.handset.export_to(place.path().join("export.leafturn"))?;
    station.command(&["report", "--all", "--json", "--out", &place.path().join("report").display().to_string()])?;
    drop((one, other));
    let stopped = Command::new("kill").arg(station.process.id().to_string()).status()?;
    assert!(stopped.success() && station.process.wait()?.success());
    std::fs::write(place.path().join("printed"), &station.ready)?;
    std::fs::write(place.path().join("answers"), answers.join("\n"))?;

    let nowhere: &[(&str, &str, &str)] = &[];
    let mut secrets = vec![
        Secret { what: "observer's name", text: OBSERVER.into(), may_stand: &[("journal.sqlite", "observer", "name")] },
        Secret {
            what: "coordinator's name",
            text: COORDINATOR.into(),
            may_stand: &[("station.sqlite", "people", "name")],
        },
        Secret {
            what: "phone's name",
            text: PHONE.into(),
            may_stand: &[("station.sqlite", "people", "name"), ("station.sqlite", "invitations", "name")],
        },
        Secret { what: "form token", text: form_token, may_stand: nowhere },
    ];
    let plain = |what, texts: &[String]| {
        texts.iter().map(move |text| Secret { what, text: text.clone(), may_stand: nowhere }).collect::<Vec<_>>()
    };
    secrets.extend(plain("token", &tokens));
    secrets.extend(plain("session", &sessions));
    secrets.extend(plain("sign-in link", &links));
    secrets.extend(plain("code", &codes));
    secrets.extend(plain("code", &codes.map(|code| code.replace('-', ""))));
    // What a phone writes stands in its write-ahead log until SQLite folds that into the file: the people's table, and the
    // code while it joins, which is spent and dead by then.
    let passing = |file: &Path, secret: &Secret| {
        file.file_name().is_some_and(|name| name == "journal.sqlite-wal")
            && ["observer's name", "code"].contains(&secret.what)
    };
    let log = std::fs::read_to_string(place.path().join("station.log"))?;
    assert!(log.matches("\"request\"").count() >= 30, "the log was meant to tell of every request: {log}");
    let found: Vec<String> = files_below(place.path())?
        .iter()
        .flat_map(|file| {
            secrets.iter().filter(|secret| !passing(file, secret)).flat_map(|secret| found_in(file, secret))
        })
        .collect();
    assert!(found.is_empty(), "{}", found.join("\n"));
    Ok(())
}

/// The search finds what is there: in a plain file, packed, and in a column that may not hold it.
#[test]
fn the_search_would_find_a_secret() -> Result<(), Trouble> {
    let place = folder()?;
    let secret = Secret { what: "secret", text: "BCD-FGH-JKL".into(), may_stand: &[("kept.sqlite", "right", "name")] };
    std::fs::write(place.path().join("log"), "code bcd-fgh-jkl tried")?;
    let mut packer =
        flate2::write::GzEncoder::new(File::create(place.path().join("packed"))?, flate2::Compression::best());
    std::io::Write::write_all(&mut packer, &b"BCD-FGH-JKL ".repeat(50))?;
    packer.finish()?;
    let database = Connection::open(place.path().join("kept.sqlite"))?;
    database.execute_batch("CREATE TABLE right (name TEXT); INSERT INTO right VALUES ('BCD-FGH-JKL')")?;
    let all = files_below(place.path())?;
    let hits = || all.iter().filter(|file| !found_in(file, &secret).is_empty()).count();
    assert_eq!(hits(), 2, "the right column may");
    database.execute_batch("CREATE TABLE wrong (name BLOB); INSERT INTO wrong VALUES (CAST('BCD-FGH-JKL' AS BLOB))")?;
    assert_eq!(hits(), 3, "the wrong one may not");
    Ok(())
}

/// Where a secret is found in a file and may not be.
fn found_in(file: &Path, secret: &Secret) -> Vec<String> {
    let octets = std::fs::read(file).expect("a file that was listed");
    let mut unpacked = Vec::new();
    // What is not packed gives nothing here.
    let _ = MultiGzDecoder::new(&octets[..]).read_to_end(&mut unpacked);
    if !holds(&octets, &secret.text) && !holds(&unpacked, &secret.text) {
        return Vec::new();
    }
    let name = file.file_name().and_then(|name| name.to_str()).unwrap_or_default();
    let columns =
        if octets.starts_with(b"SQLite format 3\0") { columns_with(file, &secret.text) } else { BTreeSet::new() };
    if columns.is_empty() {
        return vec![format!("{} holds a {}", file.display(), secret.what)];
    }
    let may = |column: &(String, String)| {
        secret.may_stand.iter().any(|&(own, table, named)| own == name && table == column.0 && named == column.1)
    };
    let wrong = columns.iter().filter(|column| !may(column));
    wrong.map(|(table, column)| format!("{}: {table}.{column} holds a {}", file.display(), secret.what)).collect()
}

/// The columns of a database in which a text stands, as text or as octets.
fn columns_with(file: &Path, text: &str) -> BTreeSet<(String, String)> {
    let database = Connection::open_with_flags(file, OpenFlags::SQLITE_OPEN_READ_ONLY).expect("a database");
    let list = |sql: &str| -> Vec<String> {
        let mut statement = database.prepare(sql).expect("a statement");
        statement.query_map([], |row| row.get(0)).expect("rows").collect::<Result<_, _>>().expect("names")
    };
    let mut found = BTreeSet::new();
    for table in list("SELECT name FROM sqlite_schema WHERE type = 'table'") {
        for column in list(&format!("SELECT name FROM pragma_table_info('{table}')")) {
            let sql = format!("SELECT CAST(\"{column}\" AS BLOB) FROM \"{table}\" WHERE \"{column}\" IS NOT NULL");
            let mut statement = database.prepare(&sql).expect("a statement");
            let mut values = statement.query_map([], |row| row.get::<_, Vec<u8>>(0)).expect("rows");
            if values.any(|value| holds(&value.expect("a value"), text)) {
                found.insert((table.clone(), column));
            }
        }
    }
    found
}

/// Whether octets hold a text in either case, or the octets that its hexadecimal digits stand for.
fn holds(octets: &[u8], text: &str) -> bool {
    let digits = text.len() == 64 && text.bytes().all(|digit| digit.is_ascii_hexdigit());
    let raw: Vec<u8> =
        (0..32).filter(|_| digits).filter_map(|at| u8::from_str_radix(&text[2 * at..2 * at + 2], 16).ok()).collect();
    memmem::find(&octets.to_ascii_lowercase(), text.to_ascii_lowercase().as_bytes()).is_some()
        || (!raw.is_empty() && memmem::find(octets, &raw).is_some())
}

fn files_below(folder: &Path) -> std::io::Result<Vec<PathBuf>> {
    let mut found = Vec::new();
    for entry in std::fs::read_dir(folder)? {
        let path = entry?.path();
        if path.is_dir() {
            found.extend(files_below(&path)?);
        } else {
            found.push(path);
        }
    }
    Ok(found)
}
