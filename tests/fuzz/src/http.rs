//! The station's whole router, in process, against a real store: any method, path, header and body.

use crate::batches::gzip;
use crate::damage::{Damage, damaged, described};
use crate::story::{START, Story, photo, site, stream, visit};
use arbitrary::Arbitrary;
use axum::body::{Body, to_bytes};
use axum::http::{Request, StatusCode, header};
use axum::{Router, response::Response};
use serde_json::{Value, json};
use station::command::Folder;
use station::http::App;
use station::http::app::{Cookies, Setting};
use station::intake;
use station::security::hosts::Hosts;
use station::security::secret::{Secret, SecretHash};
use station::store::coordinators::{Grant, Role};
use station::store::journal::{Kept, Offerer};
use station::store::sqlite::SqliteStore;
use station::store::{AccessStore, CoordinatorStore, JournalStore, Store};
use std::cell::RefCell;
use std::sync::Arc;
use survey::chain::{Hash, Head, Link, blob_hash};
use survey::check::{PhotoOf, PhotoTaken};
use survey::entry::{Act, Entry, Scope, VisitEnded};
use survey::ids::{BootId, EntryId, ObserverId};
use survey::site::{Note, SiteDescription};
use survey::time::{HybridTime, OffsetMinutes, SinceBoot, UnixMs};
use sync::framing::{Encoding, decode_batch, encode_batch};
use sync::wire::problem::{Problem, TYPE_PREFIX};
use sync::wire::push::Purpose;
use sync::wire::{content, paths};
use tempfile::TempDir;
use tower::ServiceExt;

/// The most octets of an answer: a page of the feed with its packing, or a page for people.
const MOST_ANSWER: usize = 2 * 1024 * 1024;

const PHOTO: &[u8] = b"\xFF\xD8 an invented photo";
const NOTE: &[u8] = b"gate locked, invented";
const SALT: [u8; 16] = [9; 16];

#[derive(Debug, Arbitrary)]
struct Input {
    requests: Vec<Asked>,
}

#[derive(Debug, Arbitrary)]
struct Asked {
    method: u8,
    route: Route,
    host: u8,
    token: Token,
    cookie: Cookie,
    origin: u8,
    content_type: u8,
    accept: u8,
    headers: Vec<(u8, Vec<u8>)>,
    query: Option<String>,
    body: Content,
    packed: bool,
    damages: Vec<Damage>,
}

#[derive(Debug, Arbitrary)]
enum Route {
    Enrol,
    Hello,
    Entries(u8),
    Verdicts(u8),
    Feed { site: u8, after: u64 },
    Photo(u8, u8),
    Part(u8, u8, u32),
    Text(bool),
    Page { page: u8, site: u8, visit: u8 },
    Any(String),
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Arbitrary)]
enum Token {
    None,
    Living,
    Revoked,
    Unknown,
    Cut,
}

#[derive(Debug, Clone, Copy, PartialEq, Eq, Arbitrary)]
enum Cookie {
    None,
    Session,
    Unknown,
}

#[derive(Debug, Arbitrary)]
enum Content {
    Nothing,
    Octets(Vec<u8>),
    Batch { story: Story, behind: bool },
    Hello { seq: u64, hash: u8, marks: Vec<(u64, u8)>, cursor: Option<(u64, u8)>, other: bool },
    Enrol { code: String, device: u8, hash: u8 },
    Text(bool),
    Part(bool),
    Form(Vec<(String, String)>),
    Deep(u16),
}

/// A station with some content, and those who know it.
struct World {
    folder: TempDir,
    store: Arc<SqliteStore>,
    router: Router,
    end: Head,
    living: String,
    revoked: String,
    session: Secret,
    runtime: tokio::runtime::Runtime,
}

thread_local! {
    static WORLD: RefCell<Option<World>> = const { RefCell::new(None) };
}

/// Reads octets as a few requests and sends them one behind the other. The station is made afresh where they changed it,
/// so that an input does the same whatever came before it.
pub fn hold(octets: &[u8]) {
    let Some(input) = described::<Input>(octets) else { return };
    WORLD.with_borrow_mut(|slot| {
        let world = slot.get_or_insert_with(World::new);
        let changed = input.requests.iter().take(6).filter(|asked| world.ask(asked) == Changed::Maybe).count();
        if changed > 0 {
            world.check();
            *slot = None;
        }
    });
}

#[derive(PartialEq, Eq)]
enum Changed {
    No,
    Maybe,
}

impl World {
    fn new() -> Self {
        let folder = tempfile::tempdir().expect("a folder for one station");
        let open = Folder::open(folder.path()).expect("a fresh folder opens");
        let (photos, key) = (open.photos(), open.key.clone());
        let desk = open.desk().expect("a fresh stream of the station's own");
        let store = Arc::new(open.store);
        let (living, revoked) = ("a1".repeat(32), "b2".repeat(32));
        let links = links();
        let end = links.last().map_or(Head::START, Link::head);
        for (phone, token) in [(0, &living), (1, &revoked)] {
            joined(&store, phone, token);
        }
        let (body, count) = encode_batch(&links, Purpose::Entries, Encoding::Identity).expect("a batch");
        assert_eq!(count, links.len());
        let batch = decode_batch(stream(0), &body[..], Encoding::Identity).expect("a right batch");
        let by = Offerer::Token { device: stream(0).device, token: SecretHash::of_token(&living) };
        store.append(&intake::push_of(batch, by, UnixMs(START))).expect("the store writes");
        store.revoke(stream(1).device).expect("the store writes");
        let (link, session) = (Secret::from_octets([3; 32]), Secret::from_octets([4; 32]));
        let grants = [Grant { role: Role::Read, site: Some(site(0)) }];
        let now = station::edge::clock::now();
        store
            .add_coordinator(ObserverId::from_octets([5; 16]), "An invented name", &grants, link.hash(), now)
            .expect("the store writes");
        assert!(store.sign_in(link.hash(), session.hash(), now).expect("the store writes"));
        let (hosts, cookies) = (Hosts::new(&[]), Cookies::Plain);
        let setting = Setting { photos, key, hosts, behind_proxy: None, cookies, desk };
        let app = App::new(Arc::clone(&store) as Arc<dyn Store>, setting);
        let runtime = tokio::runtime::Builder::new_current_thread().enable_time().build().expect("a runtime");
        Self { folder, store, router: station::http::router(app), end, living, revoked, session, runtime }
    }

    fn ask(&self, asked: &Asked) -> Changed {
        let Some(request) = asked.request(self) else { return Changed::No };
        let (method, path) = (request.method().clone(), request.uri().path().to_owned());
        let writes = !matches!(method.as_str(), "GET" | "HEAD");
        let (parts, octets) = self.runtime.block_on(async {
            let response: Response = match self.router.clone().oneshot(request).await {
                Ok(response) => response,
                Err(never) => match never {},
            };
            let (parts, body) = response.into_parts();
            (parts, to_bytes(body, MOST_ANSWER).await.expect("an answer has an end and a bound"))
        });
        let told =
            format!("{method} {path}: {} {}", parts.status, String::from_utf8_lossy(&octets[..octets.len().min(400)]));
        assert!(!parts.status.is_server_error() || parts.status == StatusCode::INSUFFICIENT_STORAGE, "{told}");
        for name in [header::X_CONTENT_TYPE_OPTIONS, header::CONTENT_SECURITY_POLICY, header::X_FRAME_OPTIONS] {
            assert!(parts.headers.contains_key(&name), "{name} is missing: {told}");
        }
        for secret in [&self.living, &self.revoked, &self.session.reveal(), "An invented name"] {
            let shown = octets.windows(secret.len()).any(|window| window == secret.as_bytes());
            assert!(!shown || (secret == "An invented name" && asked.cookie == Cookie::Session), "{told}");
        }
        if parts.status.is_client_error() {
            told_as_a_problem(&parts, &octets, &told, method.as_str() == "HEAD");
        }
        asked.allowed(parts.status, &path, &told);
        if writes && !parts.status.is_client_error() { Changed::Maybe } else { Changed::No }
    }

    /// Whatever was taken: the store is sound, every octet in it fits its hash, and all of it can be judged.
    fn check(&self) {
        assert_eq!(self.store.faults(), Ok(Vec::new()));
        station::judge::bring_up_to_date(self.store.as_ref(), UnixMs(START)).expect("whatever is held can be judged");
        for row in self.store.streams().expect("the store reads") {
            for item in self.store.kept(row.stream, Head::START, 10_000).expect("the store reads") {
                if let Kept::Entry(link) = item {
                    link.verify().expect("what is held is unaltered");
                }
            }
        }
        assert!(self.folder.path().exists());
    }
}

/// A refusal is a problem that says its status, its type and what to do, or a page that does.
fn told_as_a_problem(parts: &axum::http::response::Parts, octets: &[u8], told: &str, bare: bool) {
    let content_type =
        parts.headers.get(header::CONTENT_TYPE).and_then(|field| field.to_str().ok()).unwrap_or_default();
    if content_type.starts_with("text/html") || (bare && octets.is_empty()) {
        return;
    }
    assert!(content::is(content_type, content::PROBLEM), "{content_type:?}: {told}");
    let problem: Problem = serde_json::from_slice(octets).unwrap_or_else(|error| panic!("{error}: {told}"));
    assert_eq!(problem.status, parts.status.as_u16(), "{told}");
    let value: Value = serde_json::from_slice(octets).expect("it was read above");
    assert!(value["type"].as_str().is_some_and(|name| name.starts_with(TYPE_PREFIX)), "{told}");
    assert!(problem.detail.is_some_and(|detail| detail.len() > 8), "{told}");
}

impl Asked {
    /// Nobody gets in: without the right host, a living token or a session nothing is answered that is not for all.
    fn allowed(&self, status: StatusCode, path: &str, told: &str) {
        let good = status.is_success() || status.is_redirection();
        if self.host % 8 == 7 || self.host % 8 == 6 {
            assert_eq!(status, StatusCode::MISDIRECTED_REQUEST, "{told}");
        }
        let open = ["/v1/health", "/v1/ready", "/v1/openapi.json", paths::ENROL];
        if path.starts_with("/v1/") && !open.contains(&path) && self.token != Token::Living {
            assert!(!good, "without a living token: {told}");
        }
        let for_all = path.starts_with("/sign-in")
            || path.starts_with("/signed-out")
            || path.starts_with("/style")
            || path.starts_with("/icon")
            || path.starts_with("/v1/")
            || path.starts_with("/favicon");
        if !for_all && self.cookie != Cookie::Session {
            assert!(!good, "without a session: {told}");
        }
        if path.starts_with(&format!("/sites/{}", site(1))) || path == "/devices" {
            assert!(!good || self.cookie == Cookie::Session, "{told}");
        }
    }

    fn request(&self, world: &World) -> Option<Request<Body>> {
        let method =
            ["GET", "POST", "PUT", "HEAD", "DELETE", "OPTIONS", "PATCH", "TRACE"][usize::from(self.method % 8)];
        let mut path = self.route.path(world);
        if let Some(query) = &self.query {
            path.push(if path.contains('?') { '&' } else { '?' });
            path.push_str(query);
        }
        let mut request = Request::builder().method(method).uri(path);
        request = match self.host % 8 {
            7 => request,
            6 => request.header(header::HOST, "evil.example"),
            _ => request.header(header::HOST, "127.0.0.1:8787"),
        };
        let living = format!("Bearer {}", world.living);
        request = match self.token {
            Token::None => request,
            Token::Living => request.header(header::AUTHORIZATION, living),
            Token::Revoked => request.header(header::AUTHORIZATION, format!("Bearer {}", world.revoked)),
            Token::Unknown => request.header(header::AUTHORIZATION, format!("bearer {}", "c3".repeat(32))),
            Token::Cut => request.header(header::AUTHORIZATION, &living[..living.len() - 1]),
        };
        request = match self.cookie {
            Cookie::None => request,
            Cookie::Session => {
                request.header(header::COOKIE, format!("a=b; leafturn-session={}", world.session.reveal()))
            }
            Cookie::Unknown => request.header(header::COOKIE, format!("leafturn-session={}", "d4".repeat(32))),
        };
        request = match self.origin % 4 {
            0 => request,
            1 => request.header(header::ORIGIN, "http://127.0.0.1:8787"),
            2 => request.header(header::ORIGIN, "https://evil.example"),
            _ => request.header("sec-fetch-site", "cross-site"),
        };
        if let Some(content_type) = self.content_type() {
            request = request.header(header::CONTENT_TYPE, content_type);
        }
        if self.accept % 2 == 1 {
            request = request.header(header::ACCEPT, "text/html").header(header::ACCEPT_ENCODING, "gzip");
        }
        let body = damaged(&self.body.octets(world), &self.damages);
        let body = if self.packed { gzip(&body) } else { body };
        if self.packed {
            request = request.header(header::CONTENT_ENCODING, "gzip");
        }
        if let Content::Part(_) = self.body {
            request = request
                .header(content::PART_HASH_HEADER, Hash::plain(&body).to_string())
                .header(content::PHOTO_SALT_HEADER, "09".repeat(16));
        }
        for (name, value) in self.headers.iter().take(6) {
            request = request.header(HEADERS[usize::from(*name) % HEADERS.len()], &value[..value.len().min(300)]);
        }
        request.body(Body::from(body)).ok()
    }

    fn content_type(&self) -> Option<&'static str> {
        match self.content_type % 8 {
            6 => Some("text/plain"),
            7 => None,
            _ => match self.body {
                Content::Nothing => None,
                Content::Octets(_) | Content::Hello { .. } | Content::Enrol { .. } | Content::Deep(_) => {
                    Some(content::JSON)
                }
                Content::Batch { .. } => Some(content::ENTRIES),
                Content::Text(_) => Some(content::TEXT),
                Content::Part(_) => Some(content::PART),
                Content::Form(_) => Some("application/x-www-form-urlencoded"),
            },
        }
    }
}

/// Headers that something reads, and one that nothing does.
const HEADERS: [&str; 12] = [
    "accept",
    "accept-language",
    "accept-encoding",
    "content-encoding",
    "cookie",
    "origin",
    "sec-fetch-site",
    "x-forwarded-for",
    "leafturn-salt",
    "leafturn-sha256",
    "range",
    "x-unknown",
];

impl Route {
    fn path(&self, world: &World) -> String {
        let device = |n: u8| stream(n).device;
        match self {
            Self::Enrol => paths::ENROL.into(),
            Self::Hello => paths::HELLO.into(),
            Self::Entries(n) => paths::entries(stream(*n)),
            Self::Verdicts(n) => paths::verdicts(stream(*n), u64::from(*n / 4)),
            Self::Feed { site: of, after } => paths::feed(site(*of), *after, Hash::ZERO),
            Self::Photo(n, of) => paths::photo(device(*n), photo(*of)),
            Self::Part(n, of, part) => paths::photo_part(device(*n), photo(*of), if *part > 8 { *part } else { 0 }),
            Self::Text(right) => paths::text(if *right { blob_hash(SALT, NOTE) } else { Hash([1; 32]) }),
            Self::Page { page, site: of, visit: on } => match page % 12 {
                0 => "/".into(),
                1 => format!("/sites/{}", site(*of)),
                2 => format!("/sites/{}/visits/{}", site(*of), visit(*on)),
                3 => "/devices".into(),
                4 => "/cautions".into(),
                5 => "/sign-in".into(),
                6 => format!("/sign-in/{}", world.end.hash),
                7 => "/sign-out".into(),
                8 => "/signed-out".into(),
                9 => "/v1/health".into(),
                10 => "/v1/ready".into(),
                _ => "/v1/openapi.json".into(),
            },
            Self::Any(text) => format!("/{text}"),
        }
    }
}

impl Content {
    fn octets(&self, world: &World) -> Vec<u8> {
        match self {
            Self::Nothing => Vec::new(),
            Self::Octets(octets) => octets.clone(),
            Self::Batch { story, behind } => {
                let mut head = if *behind { world.end } else { Head::START };
                let own = story.told().into_iter().filter(|told| told.link.stream == stream(0));
                let chain: Vec<Link> = own
                    .map(|told| {
                        let link = head.extend(stream(0), told.link.bytes);
                        head = link.head();
                        link
                    })
                    .collect();
                encode_batch(&chain, Purpose::Entries, Encoding::Identity).map_or_else(Vec::new, |(body, _)| body)
            }
            Self::Hello { seq, hash, marks, cursor, other } => {
                let stream = stream(u8::from(*other));
                let marks: Vec<Value> = marks
                    .iter()
                    .take(80)
                    .map(|(seq, hash)| json!({ "seq": seq, "hash": Hash([*hash; 32]) }))
                    .chain([json!(world.end)])
                    .collect();
                let end = json!({
                    "device": stream.device, "epoch": stream.epoch, "seq": seq, "hash": Hash([*hash; 32]), "marks": marks,
                });
                let cursors: Vec<Value> = cursor
                    .iter()
                    .map(|(n, hash)| json!({ "site": site(0), "number": n, "feed_hash": Hash([*hash; 32]) }))
                    .collect();
                json!({ "app": "fuzz", "streams": [end], "cursors": cursors }).to_string().into_bytes()
            }
            Self::Enrol { code, device, hash } => json!({
                "code": code, "device": stream(*device).device, "token_hash": Hash([*hash; 32]),
            })
            .to_string()
            .into_bytes(),
            Self::Text(right) => [&SALT[..], if *right { NOTE } else { b"\xFF" }].concat(),
            Self::Part(right) => if *right { PHOTO } else { &PHOTO[1..] }.to_vec(),
            Self::Form(fields) => {
                let fields: Vec<String> =
                    fields.iter().take(8).map(|(name, value)| format!("{name}={value}")).collect();
                fields.join("&").into_bytes()
            }
            Self::Deep(levels) => format!("{{\"app\":{}", "[".repeat(usize::from(*levels))).into_bytes(),
        }
    }
}

fn joined(store: &SqliteStore, phone: u8, token: &str) {
    use station::store::access::{Invitation, Joining, Redeemed};
    let code = station::security::codes::Code::draw(&[phone + 1; 64]).expect("enough octets");
    let (digest, prefix) = (code.digest(&[6; 32]), code.prefix());
    let (made, expires) = (UnixMs(START), UnixMs(START + 1_000));
    let invitation = Invitation { digest, prefix, sites: vec![site(0)], name: None, made, expires };
    store.invite(&invitation).expect("the store writes");
    let token = SecretHash::of_token(token);
    let joining = Joining { digest, prefix, device: stream(phone).device, token, at: made };
    assert!(matches!(store.redeem(&joining), Ok(Redeemed::Joined { .. })));
}

/// A site with a name, a photo, a note and a visit that ended.
fn links() -> Vec<Link> {
    let site_wide = Scope::Site(site(0));
    let photo =
        PhotoTaken { photo: photo(0), length: PHOTO.len() as u64, hash: blob_hash(SALT, PHOTO), of: PhotoOf::Site };
    let name = Some("Invented meadow".to_owned());
    let acts = [
        (site_wide, Act::SiteDescribed(SiteDescription { name, ..SiteDescription::default() })),
        (site_wide, Act::PhotoTaken(photo)),
        (site_wide, Act::Noted(Note { text: blob_hash(SALT, NOTE) })),
        (Scope::Visit(site(0), visit(0)), Act::VisitEnded(VisitEnded {})),
    ];
    let mut head = Head::START;
    (1_u8..)
        .zip(acts)
        .map(|(n, (scope, act))| {
            let at = START + i64::from(n);
            let entry = Entry {
                id: EntryId::from_octets([n; 16]),
                hybrid: HybridTime(at, 0),
                wall: UnixMs(at),
                offset: OffsetMinutes(0),
                since_boot: SinceBoot { boot: BootId::from_octets([1; 16]), ms: n.into() },
                scope,
                replaces: Vec::new(),
                act,
            };
            let link = head.extend(stream(0), entry.encode().expect("a small entry"));
            head = link.head();
            link
        })
        .collect()
}
