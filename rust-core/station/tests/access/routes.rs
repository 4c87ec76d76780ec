//! Every route × everybody who may knock → the answer that `routes.md` states. A route that stands in no row fails.

use crate::world::{Answer, HOST, PRIVATE, Session, World, another_site, bearer, enrolment, now, phone, the_site};
use axum::http::{Method, header};
use station::store::access::AccessStore;
use station::store::coordinators::Role;
use std::collections::BTreeSet;
use survey::chain::Hash;
use sync::wire::{content, paths};

const TABLE: &str = include_str!("routes.md");

/// The columns, in their order.
const COLUMNS: [Knock; 9] = [
    Knock::Right,
    Knock::NoToken,
    Knock::Foreign,
    Knock::OtherSite,
    Knock::ReadOnly,
    Knock::Expired,
    Knock::WrongOrigin,
    Knock::WrongHost,
    Knock::Revoked,
];

/// Who knocks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
enum Knock {
    /// The phone whose data they are, or a coordinator who may administer everything.
    Right,
    /// Nobody in particular: without anything, with nonsense, and with what is for the other kind of route.
    NoToken,
    /// Another phone that has joined.
    Foreign,
    /// A coordinator who administers another site.
    OtherSite,
    /// A coordinator who may only read.
    ReadOnly,
    /// A coordinator whose session has ended.
    Expired,
    /// The right one, made to ask by a page of another site.
    WrongOrigin,
    /// The right one under another name of the station.
    WrongHost,
    /// The right phone, whose token was revoked. Comes last: there is no way back.
    Revoked,
}

struct Row {
    method: Method,
    path: String,
    expected: Vec<String>,
    form: String,
}

/// What a request carries besides its body.
#[derive(Clone)]
struct Carried {
    host: &'static str,
    origin: Vec<(&'static str, String)>,
    token: Option<String>,
    session: Option<Session>,
}

fn rows() -> Vec<Row> {
    let lines = TABLE.lines().filter(|line| line.starts_with("| `"));
    lines
        .map(|line| {
            let cells: Vec<&str> = line.trim_matches('|').split('|').map(str::trim).collect();
            assert_eq!(cells.len(), COLUMNS.len() + 2, "{line}");
            let (method, path) = cells[0].trim_matches('`').split_once(' ').unwrap();
            Row {
                method: method.parse().unwrap(),
                path: path.to_owned(),
                expected: cells[1..=COLUMNS.len()].iter().map(|&cell| cell.to_owned()).collect(),
                form: cells[COLUMNS.len() + 1].trim_matches('`').to_owned(),
            }
        })
        .collect()
}

#[tokio::test]
async fn every_route_stands_in_the_table_and_nothing_else_does() {
    let world = World::new().await;
    let listed: BTreeSet<String> = rows().iter().map(|row| format!("{} {}", row.method, row.path)).collect();
    assert_eq!(listed.len(), rows().len(), "a row stands twice");
    let mut found = BTreeSet::new();
    for template in station::http::templates() {
        let mut here = Vec::new();
        for method in [Method::GET, Method::POST, Method::PUT, Method::PATCH, Method::DELETE] {
            if world.probe(&method, &template).await.status != 405 {
                here.push(method);
            }
        }
        // Where there is GET, HEAD is answered as GET without its body.
        if !here.contains(&Method::GET) && world.probe(&Method::HEAD, &template).await.status != 405 {
            here.push(Method::HEAD);
        }
        assert!(!here.is_empty(), "{template}");
        found.extend(here.into_iter().map(|method| format!("{method} {template}")));
        for method in [Method::OPTIONS, Method::TRACE, Method::CONNECT] {
            let answer = world.probe(&method, &template).await;
            assert!(answer.status.is_client_error(), "{method} {template}: {}", answer.said());
        }
    }
    assert_eq!(found, listed, "left: the router; right: routes.md");
}

/// The lists that the router is made of are the only places where a path is bound to an answer.
#[test]
fn no_route_is_bound_beside_the_lists() {
    let mut bound = Vec::new();
    let mut folders = vec![std::path::PathBuf::from(concat!(env!("CARGO_MANIFEST_DIR"), "/src"))];
    while let Some(folder) = folders.pop() {
        for entry in std::fs::read_dir(folder).unwrap() {
            let path = entry.unwrap().path();
            if path.is_dir() {
                folders.push(path);
            } else if path.extension().is_some_and(|kind| kind == "rs") {
                let source = std::fs::read_to_string(&path).unwrap();
                let calls = [".route(", ".nest(", ".nest_service(", ".route_service(", ".merge("];
                let count: usize = calls.iter().map(|call| source.matches(call).count()).sum();
                if count > 0 {
                    bound.push((path.file_name().unwrap().to_str().unwrap().to_owned(), count));
                }
            }
        }
    }
    // One `.route` for the interface document, one for the lists, and three lists merged.
    assert_eq!(bound, [("router.rs".to_owned(), 5)]);
}

#[tokio::test]
async fn every_knock_gets_the_answer_in_the_table() {
    let world = World::new().await;
    let mut wrong = Vec::new();
    for (column, knock) in COLUMNS.into_iter().enumerate() {
        if knock == Knock::Revoked {
            world.store.revoke(world.owner().stream.device).unwrap();
        }
        for row in rows() {
            for carried in world.carried(knock, &row) {
                let answer = world.knock(&row, &carried).await;
                let (said, expected) = (answer.said(), &row.expected[column]);
                if said != *expected {
                    wrong.push(format!("{} {} {knock:?}: {said}, not {expected}", row.method, row.path));
                }
                stands_around(&row, &answer);
                let may_read = matches!(knock, Knock::Right | Knock::ReadOnly | Knock::WrongOrigin | Knock::Revoked);
                if answer.status.is_client_error() || !may_read {
                    for private in PRIVATE {
                        // A coordinator of another site still sees their own name on their own pages.
                        let own = private == "Invented Ada" && knock == Knock::OtherSite && answer.status == 200;
                        assert!(own || !answer.text().contains(private), "{} {} {knock:?}", row.method, row.path);
                    }
                }
            }
        }
    }
    assert!(wrong.is_empty(), "{}", wrong.join("\n"));
}

/// What every answer carries, whoever asks.
fn stands_around(row: &Row, answer: &Answer) {
    let header = |name: &str| answer.headers.get(name).map_or("", |value| value.to_str().unwrap()).to_owned();
    let what = format!("{} {}", row.method, row.path);
    assert_eq!(header("x-content-type-options"), "nosniff", "{what}");
    assert_eq!(header("x-frame-options"), "DENY", "{what}");
    assert_eq!(header("referrer-policy"), "same-origin", "{what}");
    let policy = header("content-security-policy");
    for part in ["default-src 'none'", "frame-ancestors 'none'", "base-uri 'none'", "form-action 'self'"] {
        assert!(policy.contains(part), "{what}: {policy}");
    }
    assert!(!policy.contains("script-src") && !policy.contains("unsafe"), "{what}: {policy}");
    let (cached, fixed) = (header("cache-control"), ["/style.css", "/icon.svg"].contains(&row.path.as_str()));
    assert!(cached == "no-store" || (fixed && answer.status == 200), "{what}: {cached}");
    for name in ["access-control-allow-origin", "access-control-allow-credentials", "server", "x-powered-by"] {
        assert!(!answer.headers.contains_key(name), "{what}: {name}");
    }
}

impl World {
    /// Whether a method is answered on a path at all, asked so that nothing is done.
    async fn probe(&self, method: &Method, template: &str) -> Answer {
        let request = self.request(method, &self.fill_in(template));
        let session = self.session(Role::Administer, None, now());
        self.send(bearer(cookie(request, &session), &self.owner().token), Vec::new()).await
    }

    /// What this knock carries; several variants where several must get the same answer.
    fn carried(&self, knock: Knock, row: &Row) -> Vec<Carried> {
        let device = row.path.starts_with("/v1/");
        let own_origin = vec![("origin", format!("http://{HOST}"))];
        let nobody = Carried { host: HOST, origin: own_origin, token: None, session: None };
        let signed = |role, site, at| Carried { session: Some(self.session(role, site, at)), ..nobody.clone() };
        let token = |token: &str| Carried { token: Some(token.to_owned()), ..nobody.clone() };
        let administrator = || signed(Role::Administer, None, now());
        let right = || if device { token(&self.owner().token) } else { administrator() };
        let from = |pairs: &[(&'static str, &str)]| Carried {
            origin: pairs.iter().map(|&(name, value)| (name, value.to_owned())).collect(),
            ..right()
        };
        let reads = row.method == Method::GET || row.method == Method::HEAD || device;
        match knock {
            Knock::Right | Knock::Revoked => vec![right()],
            Knock::NoToken => {
                let nonsense = Session { secret: "0".repeat(64), form_token: "0".repeat(64) };
                let other_kind = if device { administrator() } else { token(&self.owner().token) };
                let wrong = if device {
                    vec![token(&"0".repeat(64)), token(""), token(&self.owner().token[..32])]
                } else {
                    let half =
                        Session { secret: administrator().session.unwrap().secret[..32].into(), ..nonsense.clone() };
                    [nonsense, half].map(|session| Carried { session: Some(session), ..nobody.clone() }).into()
                };
                [vec![nobody.clone(), other_kind], wrong].concat()
            }
            Knock::Foreign => vec![token(&self.stranger().token)],
            Knock::OtherSite => vec![signed(Role::Administer, Some(another_site()), now())],
            Knock::ReadOnly => vec![signed(Role::Read, None, now()), signed(Role::Read, Some(the_site()), now())]
                .into_iter()
                .take(if row.path == "/devices" { 1 } else { 2 })
                .collect(),
            Knock::Expired => vec![Carried { session: Some(self.expired_session()), ..nobody }],
            Knock::WrongOrigin => {
                let mut all = vec![
                    from(&[("origin", "http://elsewhere.example")]),
                    from(&[("origin", "null")]),
                    from(&[("origin", "http://127.0.0.1:8788")]),
                    from(&[("origin", &format!("http://{HOST}")), ("sec-fetch-site", "cross-site")]),
                    from(&[("origin", &format!("http://{HOST}")), ("sec-fetch-site", "same-site")]),
                ];
                if !reads {
                    all.push(from(&[]));
                }
                all
            }
            Knock::WrongHost => ["elsewhere.example", "127.0.0.1.elsewhere.example", "", "127.0.0.1@elsewhere.example"]
                .map(|host| Carried { host, ..right() })
                .into(),
        }
    }

    async fn knock(&self, row: &Row, carried: &Carried) -> Answer {
        let mut request = self.request(&row.method, &self.fill_in(&row.path));
        request.headers_mut().unwrap().insert(header::HOST, carried.host.parse().unwrap());
        for (name, value) in &carried.origin {
            request = request.header(*name, value);
        }
        if let Some(token) = &carried.token {
            request = bearer(request, token);
        }
        if let Some(session) = &carried.session {
            request = cookie(request, session);
        }
        let (body, kind) = self.body(row, carried);
        if let Some(kind) = kind {
            request = request.header(header::CONTENT_TYPE, kind);
        }
        if row.path == paths::PHOTO_PART {
            let hash = Hash::plain(&body).to_string();
            request = request.header(content::PART_HASH_HEADER, hash);
            request = request.header(content::PHOTO_SALT_HEADER, "07".repeat(16));
        }
        self.send(request, body).await
    }

    /// A body that the right one is thanked for.
    fn body(&self, row: &Row, carried: &Carried) -> (Vec<u8>, Option<&'static str>) {
        let form_token = carried.session.as_ref().map_or("", |session| session.form_token.as_str());
        match (row.method.as_str(), row.path.as_str()) {
            ("GET" | "HEAD" | "DELETE", _) => (Vec::new(), None),
            (_, paths::ENROL) => {
                // Each a phone of its own: one that has joined is told so.
                let octets = station::edge::random::octets::<1>().unwrap();
                let stream = survey::chain::StreamId {
                    device: survey::ids::DeviceId::from_octets(station::edge::random::octets().unwrap()),
                    ..phone(octets[0]).stream
                };
                let fresh = crate::world::Phone { stream, ..phone(0) };
                (enrolment(&self.code().spelled(), &fresh), Some(content::JSON))
            }
            (_, paths::HELLO) => (br#"{"app":"test","streams":[],"cursors":[]}"#.to_vec(), Some(content::JSON)),
            (_, paths::ENTRIES) => (self.batch(), Some(content::ENTRIES)),
            (_, paths::PHOTO_PART) => (vec![0xFF, 0xD8, 0xFF], Some(content::PART)),
            (_, paths::TEXT) => (sync::wire::text::encode([9; 16], "the gate sticks"), Some(content::TEXT)),
            _ => {
                let form = self.fill_in(&row.form);
                (format!("form_token={form_token}&{form}").into_bytes(), Some("application/x-www-form-urlencoded"))
            }
        }
    }
}

fn cookie(request: axum::http::request::Builder, session: &Session) -> axum::http::request::Builder {
    request.header(header::COOKIE, format!("leafturn-session={}", session.secret))
}
