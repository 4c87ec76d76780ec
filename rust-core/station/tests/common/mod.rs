//! A real station process on loopback, phones that speak to it, and invented entries.

#![allow(dead_code, reason = "each test file uses its own part")]

use serde_json::Value;
use std::io::{BufRead, BufReader, Read};
use std::path::Path;
use std::process::{Child, ChildStderr, Command, Output, Stdio};
use survey::chain::{Hash, Head, Link, StreamId};
use survey::entry::{Act, Entry, Scope, VisitEnded};
use survey::ids::{BootId, DeviceId, EntryId, Epoch, SiteId, VisitId};
use survey::time::{HybridTime, OffsetMinutes, SinceBoot, UnixMs};
use sync::framing::{Encoding, encode_batch};
use sync::wire::push::Purpose;
use sync::wire::{content, paths};
use tempfile::TempDir;

/// A moment in the invented season, 2026-07-01 10:00 UTC.
pub(crate) const SUMMER: i64 = 1_782_900_000_000;

pub(crate) struct Station {
    pub(crate) folder: TempDir,
    pub(crate) address: String,
    process: Child,
    log: Option<BufReader<ChildStderr>>,
}

pub(crate) struct Answer {
    pub(crate) status: u16,
    pub(crate) content_type: String,
    pub(crate) headers: ureq::http::HeaderMap,
    pub(crate) body: Vec<u8>,
}

#[derive(Clone)]
pub(crate) struct Phone {
    pub(crate) address: String,
    pub(crate) stream: StreamId,
    pub(crate) token: String,
}

pub(crate) fn leafturn(folder: &Path, args: &[&str]) -> Output {
    let mut command = Command::new(env!("CARGO_BIN_EXE_leafturn"));
    command.args(args).arg("--data").arg(folder).output().unwrap()
}

pub(crate) fn json(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {output:?}"))
}

impl Station {
    pub(crate) fn start() -> Self {
        Self::start_in(tempfile::tempdir().unwrap())
    }

    pub(crate) fn start_in(folder: TempDir) -> Self {
        Self::start_with(folder, &[])
    }

    /// With further arguments of `serve`.
    pub(crate) fn start_with(folder: TempDir, further: &[&str]) -> Self {
        let mut process = Command::new(env!("CARGO_BIN_EXE_leafturn"))
            .args(["serve", "--listen", "127.0.0.1:0", "--json"])
            .args(further)
            .arg("--data")
            .arg(folder.path())
            .stdout(Stdio::piped())
            .stderr(Stdio::piped())
            .spawn()
            .unwrap();
        let mut line = String::new();
        BufReader::new(process.stdout.take().unwrap()).read_line(&mut line).unwrap();
        let ready: Value = serde_json::from_str(&line).unwrap_or_else(|error| panic!("{error}: {line:?}"));
        let log = process.stderr.take().map(BufReader::new);
        Self { folder, address: ready["listening"].as_str().unwrap().into(), process, log }
    }

    /// SIGHUP, and what the station logs about its certificate then.
    pub(crate) fn hang_up(&mut self) -> String {
        let told = Command::new("kill").args(["-HUP", &self.process.id().to_string()]).status().unwrap();
        assert!(told.success());
        let log = self.log.as_mut().unwrap();
        loop {
            let mut line = String::new();
            assert!(log.read_line(&mut line).unwrap() > 0, "the station ended");
            if line.contains("certificate") {
                return line;
            }
        }
    }

    pub(crate) fn alive(&mut self) -> bool {
        self.process.try_wait().unwrap().is_none() && get(&format!("{}/v1/ready", self.address), &[]).status == 200
    }

    /// SIGTERM, then the exit code, the log and the folder.
    pub(crate) fn stop(mut self) -> (Option<i32>, String, TempDir) {
        let killed = Command::new("kill").arg(self.process.id().to_string()).status().unwrap();
        assert!(killed.success());
        let mut log = String::new();
        self.log.take().unwrap().read_to_string(&mut log).unwrap();
        let code = self.process.wait().unwrap().code();
        let folder = std::mem::replace(&mut self.folder, tempfile::tempdir().unwrap());
        (code, log, folder)
    }

    pub(crate) fn invite(&self, sites: &[SiteId]) -> String {
        let mut args = vec!["invite".to_owned(), "--json".into(), "--name".into(), "Invented Zebedee".into()];
        args.extend(sites.iter().flat_map(|site| ["--site".into(), site.to_string()]));
        let args: Vec<_> = args.iter().map(String::as_str).collect();
        json(&leafturn(self.folder.path(), &args))["code"].as_str().unwrap().into()
    }

    pub(crate) fn enrol(&self, code: &str, phone: &Phone) -> Answer {
        let enrol = serde_json::json!({
            "code": code, "device": phone.stream.device, "token_hash": Hash::plain(phone.token.as_bytes()),
        });
        post(&format!("{}{}", self.address, paths::ENROL), content::JSON, enrol.to_string().as_bytes(), &[])
    }

    /// A phone that has joined.
    pub(crate) fn phone(&self, n: u8, sites: &[SiteId]) -> Phone {
        let phone = self.stranger(n);
        let answer = self.enrol(&self.invite(sites), &phone);
        assert_eq!(answer.status, 200, "{}", answer.text());
        phone
    }

    pub(crate) fn stranger(&self, n: u8) -> Phone {
        let stream = StreamId { device: DeviceId::from_octets([n; 16]), epoch: Epoch::from_octets([n ^ 0xFF; 16]) };
        Phone { address: self.address.clone(), stream, token: format!("{n:02x}").repeat(32) }
    }
}

impl Drop for Station {
    fn drop(&mut self) {
        // Ended already where the test stopped it.
        let _ = self.process.kill();
        let _ = self.process.wait();
    }
}

impl Answer {
    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    pub(crate) fn json(&self) -> Value {
        assert!(content::is(&self.content_type, content::JSON), "{} {}", self.content_type, self.text());
        serde_json::from_slice(&self.body).unwrap()
    }

    /// The problem's type without its prefix, after checking that it is a problem.
    pub(crate) fn problem(&self) -> (u16, String) {
        assert!(
            content::is(&self.content_type, content::PROBLEM),
            "{} {} {}",
            self.status,
            self.content_type,
            self.text()
        );
        let problem: Value = serde_json::from_slice(&self.body).unwrap();
        assert_eq!(problem["status"], self.status);
        (self.status, problem["type"].as_str().unwrap().strip_prefix("urn:leafturn:problem:").unwrap().into())
    }
}

impl Phone {
    pub(crate) fn url(&self, path: &str) -> String {
        format!("{}{path}", self.address)
    }

    pub(crate) fn get(&self, path: &str) -> Answer {
        let bearer = format!("Bearer {}", self.token);
        get(&self.url(path), &with(&bearer, &[]))
    }

    pub(crate) fn head(&self, path: &str) -> Answer {
        let bearer = format!("Bearer {}", self.token);
        send(&ureq::http::Method::HEAD, &self.url(path), &[], &with(&bearer, &[]))
    }

    pub(crate) fn post(&self, path: &str, content_type: &str, body: &[u8], headers: &[(&str, &str)]) -> Answer {
        let bearer = format!("Bearer {}", self.token);
        post(&self.url(path), content_type, body, &with(&bearer, headers))
    }

    pub(crate) fn put(&self, path: &str, content_type: &str, body: &[u8], headers: &[(&str, &str)]) -> Answer {
        let bearer = format!("Bearer {}", self.token);
        let mut headers = with(&bearer, headers);
        headers.push(("content-type", content_type));
        send(&ureq::http::Method::PUT, &self.url(path), body, &headers)
    }

    pub(crate) fn push(&self, links: &[Link]) -> Answer {
        let (body, taken) = encode_batch(links, Purpose::Entries, Encoding::Gzip).unwrap();
        assert_eq!(taken, links.len());
        self.post(&paths::entries(links[0].stream), content::ENTRIES, &body, &[("content-encoding", "gzip")])
    }

    pub(crate) fn hello(&self, head: Head, marks: &[Head]) -> Value {
        let StreamId { device, epoch } = self.stream;
        let end =
            serde_json::json!({"device": device, "epoch": epoch, "seq": head.seq, "hash": head.hash, "marks": marks});
        let hello = serde_json::json!({"app": "test", "streams": [end], "cursors": []});
        let answer = self.post(paths::HELLO, content::JSON, hello.to_string().as_bytes(), &[]);
        assert_eq!(answer.status, 200, "{}", answer.text());
        answer.json()
    }
}

fn with<'h>(bearer: &'h str, headers: &[(&'h str, &'h str)]) -> Vec<(&'h str, &'h str)> {
    std::iter::once(("authorization", bearer)).chain(headers.iter().copied()).collect()
}

pub(crate) fn get(url: &str, headers: &[(&str, &str)]) -> Answer {
    send(&ureq::http::Method::GET, url, &[], headers)
}

pub(crate) fn post(url: &str, content_type: &str, body: &[u8], headers: &[(&str, &str)]) -> Answer {
    let headers: Vec<_> = headers.iter().copied().chain([("content-type", content_type)]).collect();
    send(&ureq::http::Method::POST, url, body, &headers)
}

pub(crate) fn send(method: &ureq::http::Method, url: &str, body: &[u8], headers: &[(&str, &str)]) -> Answer {
    let config = ureq::Agent::config_builder()
        .http_status_as_error(false)
        .max_redirects(0)
        .allow_non_standard_methods(true)
        .timeout_global(Some(std::time::Duration::from_secs(30)))
        .build();
    let mut request = ureq::http::Request::builder().method(method.clone()).uri(url);
    for (name, value) in headers {
        request = request.header(*name, *value);
    }
    let agent = ureq::Agent::new_with_config(config);
    let bare = matches!(*method, ureq::http::Method::GET | ureq::http::Method::HEAD);
    let answer = if bare { agent.run(request.body(()).unwrap()) } else { agent.run(request.body(body).unwrap()) };
    let mut answer = answer.unwrap();
    let content_type = answer.headers().get("content-type").map(|value| value.to_str().unwrap().to_owned());
    Answer {
        status: answer.status().as_u16(),
        content_type: content_type.unwrap_or_default(),
        headers: answer.headers().clone(),
        body: answer.body_mut().read_to_vec().unwrap(),
    }
}

pub(crate) fn site(n: u8) -> SiteId {
    SiteId::from_octets([n; 16])
}

pub(crate) fn in_visit(n: u8) -> Scope {
    Scope::Visit(site(n), VisitId::from_octets([n; 16]))
}

/// The bytes of an invented entry.
pub(crate) fn bytes(n: u32, scope: Scope, act: Act) -> Vec<u8> {
    let mut id = [0xA5; 16];
    id[..4].copy_from_slice(&n.to_be_bytes());
    Entry {
        id: EntryId::from_octets(id),
        hybrid: HybridTime(SUMMER + i64::from(n), 0),
        wall: UnixMs(SUMMER + i64::from(n)),
        offset: OffsetMinutes(0),
        since_boot: SinceBoot { boot: BootId::from_octets([1; 16]), ms: u64::from(n) },
        scope,
        replaces: Vec::new(),
        act,
    }
    .encode()
    .unwrap()
}

/// A chain of `count` entries behind a head.
pub(crate) fn chain(stream: StreamId, after: Head, first: u32, count: u32, scope: Scope) -> Vec<Link> {
    let mut head = after;
    let mut next = |n| {
        let link = head.extend(stream, bytes(n, scope, Act::VisitEnded(VisitEnded {})));
        head = link.head();
        link
    };
    (first..first + count).map(&mut next).collect()
}
