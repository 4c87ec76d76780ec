//! An invented station in this process: the real router on a real store, with everybody who may knock.

use crate::common::{bytes, in_visit, site};
use axum::Router;
use axum::body::{Body, to_bytes};
use axum::extract::ConnectInfo;
use axum::http::{HeaderMap, Method, Request, StatusCode, header};
use serde_json::Value;
use station::http::app::{App, Cookies, Setting};
use station::review::{Desk, FileMarker};
use station::security::codes::{Code, LIFE_MS};
use station::security::hosts::Hosts;
use station::security::key::StationKey;
use station::security::secret::{Secret, SecretHash};
use station::store::access::{AccessStore, Invitation, Invited};
use station::store::coordinators::{CoordinatorStore, Grant, IDLE_MS, Role};
use station::store::sqlite::SqliteStore;
use std::net::{IpAddr, SocketAddr};
use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};
use survey::chain::{Hash, Head, Link, StreamId, blob_hash};
use survey::check::{Counted, PhotoOf, PhotoTaken, PlantOpened};
use survey::entry::{Act, Entry, VisitEnded};
use survey::ids::{CheckId, DeviceId, Epoch, ObserverId, PhotoId, SiteId, VisitId};
use survey::protocol::Unit;
use survey::site::{Note, SiteDescription};
use survey::stage::{AnimalState, Stage};
use survey::time::UnixMs;
use sync::framing::{Encoding, encode_batch};
use sync::wire::push::Purpose;
use sync::wire::{content, paths};
use tempfile::TempDir;
use tower::ServiceExt;

/// How the station is called here.
pub(crate) const HOST: &str = "127.0.0.1:8787";

/// What nobody without a right may read: names, words of a note, ids of people.
pub(crate) const PRIVATE: [&str; 4] = ["Invented Meadow", "the gate sticks", "Invented Zebedee", "Invented Ada"];

pub(crate) struct World {
    pub(crate) store: Arc<SqliteStore>,
    pub(crate) router: Router,
    pub(crate) key: StationKey,
    /// Removed with the world.
    _folder: TempDir,
    owner: Phone,
    stranger: Phone,
    next: AtomicU32,
    links: Vec<Link>,
}

#[derive(Clone)]
pub(crate) struct Phone {
    pub(crate) stream: StreamId,
    pub(crate) token: String,
}

/// A session as its browser knows it.
#[derive(Clone)]
pub(crate) struct Session {
    pub(crate) secret: String,
    pub(crate) form_token: String,
}

/// An answer, with the name of its problem where it is one.
#[derive(Debug, Clone)]
pub(crate) struct Answer {
    pub(crate) status: StatusCode,
    pub(crate) headers: HeaderMap,
    pub(crate) body: Vec<u8>,
}

/// The time at which the fixture's people did what they did: that of the machine, since the router uses it.
#[expect(clippy::disallowed_methods, reason = "sessions and codes are held against the station's wall clock")]
pub(crate) fn now() -> UnixMs {
    let since = std::time::SystemTime::now().duration_since(std::time::UNIX_EPOCH).unwrap();
    UnixMs(i64::try_from(since.as_millis()).unwrap())
}

pub(crate) fn the_site() -> SiteId {
    site(1)
}

pub(crate) fn another_site() -> SiteId {
    site(2)
}

/// The plant check on which something is counted.
fn check() -> CheckId {
    CheckId::from_octets([3; 16])
}

/// A note that may be erased again and again.
fn spare() -> Hash {
    blob_hash([8; 16], b"the gate sticks again")
}

impl World {
    pub(crate) async fn new() -> Self {
        Self::behind(None).await
    }

    /// A station behind a proxy, or not.
    pub(crate) async fn behind(behind_proxy: Option<IpAddr>) -> Self {
        let folder = tempfile::tempdir().unwrap();
        let photos = folder.path().join("photos");
        std::fs::create_dir(&photos).unwrap();
        let store = Arc::new(SqliteStore::open(&folder.path().join("station.sqlite")).unwrap());
        let key = StationKey::from_octets([7; 32]);
        let marker = Box::new(FileMarker::of(folder.path()));
        let desk = Desk::open(&*store, marker, &mut || Ok([9; 16])).unwrap();
        let cookies = Cookies::Plain;
        let setting = Setting { photos, key: key.clone(), hosts: Hosts::new(&[]), behind_proxy, cookies, desk };
        let router = station::http::router(App::new(store.clone(), setting));
        let mut world = Self {
            store,
            router,
            key,
            _folder: folder,
            owner: phone(1),
            stranger: phone(2),
            next: AtomicU32::new(1),
            links: Vec::new(),
        };
        for phone in [world.owner.clone(), world.stranger.clone()] {
            let code = world.code();
            assert_eq!(world.enrol(&code, &phone, None).await.status, StatusCode::OK);
        }
        world.fill().await;
        world
    }

    /// A site with a visit, a note and a photo, sent by the owner's phone.
    async fn fill(&mut self) {
        let (salt, words) = ([9; 16], "the gate sticks");
        let text = blob_hash(salt, words.as_bytes());
        let described = SiteDescription { name: Some("Invented Meadow".into()), ..SiteDescription::default() };
        let taken =
            PhotoTaken { photo: photo(), length: 3, hash: blob_hash([7; 16], &[0xFF, 0xD8, 0xFF]), of: PhotoOf::Site };
        let acts = [
            Act::SiteDescribed(described),
            Act::Noted(Note { text }),
            Act::PhotoTaken(taken),
            Act::VisitEnded(VisitEnded {}),
            Act::Noted(Note { text: spare() }),
            Act::PlantOpened(PlantOpened { check: check(), number: 1, unit: Unit::Stem, host: None, plant: None }),
            Act::Counted(Counted {
                check: check(),
                what: Stage::Egg.into(),
                number: 1,
                state: AnimalState::Alive,
                key: None,
            }),
        ];
        let mut head = Head::START;
        for (act, n) in acts.into_iter().zip(1..) {
            let link = head.extend(self.owner.stream, bytes(n, in_visit(1), act));
            head = link.head();
            self.links.push(link);
        }
        let request = self.request(&Method::POST, &paths::entries(self.owner.stream));
        let request = request.header(header::CONTENT_TYPE, content::ENTRIES);
        let pushed = self.send(bearer(request, &self.owner.token), self.batch()).await;
        assert_eq!(pushed.status, StatusCode::OK, "{}", pushed.text());
        let request = self.request(&Method::PUT, &paths::text(text)).header(header::CONTENT_TYPE, content::TEXT);
        let kept = self.send(bearer(request, &self.owner.token), sync::wire::text::encode(salt, words)).await;
        assert_eq!(kept.status, StatusCode::OK, "{}", kept.text());
    }

    /// The phone that owns the stream and reads the site.
    pub(crate) fn owner(&self) -> &Phone {
        &self.owner
    }

    /// A phone that has joined and has nothing to do with the site.
    pub(crate) fn stranger(&self) -> &Phone {
        &self.stranger
    }

    /// A code that nobody has used.
    pub(crate) fn code(&self) -> Code {
        self.code_made(now())
    }

    /// A code made at some time.
    pub(crate) fn code_made(&self, made: UnixMs) -> Code {
        loop {
            let random = [secret_octets(), secret_octets()].concat();
            let Some(code) = Code::draw(&random.try_into().unwrap()) else { continue };
            let invitation = Invitation {
                digest: code.digest(self.key.octets()),
                prefix: code.prefix(),
                sites: Vec::new(),
                name: Some("Invented Zebedee".into()),
                made,
                expires: UnixMs(made.0 + LIFE_MS),
            };
            if self.store.invite(&invitation).unwrap() == Invited::Kept {
                return code;
            }
        }
    }

    /// A sign-in link that nobody has used.
    pub(crate) fn link(&self, grant: Grant, at: UnixMs) -> Secret {
        let link = Secret::draw().unwrap();
        let name = format!("Invented Ada {:?} {:?}", grant.role, grant.site);
        let id = ObserverId::random(secret_octets()[..16].try_into().unwrap());
        self.store.add_coordinator(id, &name, &[grant], link.hash(), at).unwrap();
        link
    }

    /// A session of a coordinator with this grant, last used at this time.
    pub(crate) fn session(&self, role: Role, site: Option<SiteId>, at: UnixMs) -> Session {
        let session = Secret::draw().unwrap();
        let link = self.link(Grant { role, site }, at);
        assert!(self.store.sign_in(link.hash(), session.hash(), at).unwrap());
        Session { secret: session.reveal(), form_token: session.hash().form_token(self.key.octets()) }
    }

    /// A session that nobody has used for longer than sessions wait.
    pub(crate) fn expired_session(&self) -> Session {
        self.session(Role::Administer, None, UnixMs(now().0 - IDLE_MS - 1))
    }

    /// Whether a session still opens anything.
    pub(crate) fn lives(&self, session: &Session) -> bool {
        let hash = session.secret.parse::<Secret>().unwrap().hash();
        self.store.session(hash, now()).unwrap().is_some()
    }

    /// Joins by a code, from an address or from one of its own.
    pub(crate) async fn enrol(&self, code: &Code, phone: &Phone, from: Option<IpAddr>) -> Answer {
        let mut request = self.request(&Method::POST, paths::ENROL).header(header::CONTENT_TYPE, content::JSON);
        if let Some(from) = from {
            request = request.extension(ConnectInfo(SocketAddr::new(from, 1024)));
        }
        self.send(request, enrolment(&code.spelled(), phone)).await
    }

    /// Tries a code from a peer that says it forwards for somebody.
    pub(crate) async fn enrol_forwarded(&self, code: &Code, peer: IpAddr, claimed: &str) -> Answer {
        let mut request = self.request(&Method::POST, paths::ENROL).header(header::CONTENT_TYPE, content::JSON);
        request = request.header("x-forwarded-for", claimed).extension(ConnectInfo(SocketAddr::new(peer, 1024)));
        self.send(request, enrolment(&code.spelled(), &phone(9))).await
    }

    /// A request from an address that no other request comes from, to the station's own name.
    pub(crate) fn request(&self, method: &Method, path: &str) -> axum::http::request::Builder {
        let n = self.next.fetch_add(1, Ordering::Relaxed);
        // Shared address space, RFC 6598.
        let from = SocketAddr::from(((0x6440_0000 + n).to_be_bytes(), 1024));
        Request::builder().method(method.clone()).uri(path).header(header::HOST, HOST).extension(ConnectInfo(from))
    }

    pub(crate) async fn send(&self, request: axum::http::request::Builder, body: Vec<u8>) -> Answer {
        let answer = self.router.clone().oneshot(request.body(Body::from(body)).unwrap()).await.unwrap();
        let (parts, body) = answer.into_parts();
        let body = to_bytes(body, 4 * 1024 * 1024).await.unwrap().to_vec();
        Answer { status: parts.status, headers: parts.headers, body }
    }

    /// The owner's entries as a batch.
    pub(crate) fn batch(&self) -> Vec<u8> {
        encode_batch(&self.links, Purpose::Entries, Encoding::Identity).unwrap().0
    }

    /// A path with its places filled by what there is.
    pub(crate) fn fill_in(&self, template: &str) -> String {
        let fills = [
            ("{site}", the_site().to_string()),
            ("{visit}", VisitId::from_octets([1; 16]).to_string()),
            ("{device}", self.owner.stream.device.to_string()),
            ("{epoch}", self.owner.stream.epoch.to_string()),
            ("{photo}", photo().to_string()),
            ("{n}", "0".into()),
            ("{hash}", blob_hash([9; 16], b"the gate sticks").to_string()),
            ("{entry}", self.links[3].hash.to_string()),
            ("{check}", check().to_string()),
            ("{count}", Entry::decode(&self.links[6].bytes).unwrap().id.to_string()),
            ("{spare}", spare().to_string()),
            ("{link}", self.link(Grant { role: Role::Read, site: None }, now()).reveal()),
        ];
        let path = fills.into_iter().fold(template.to_owned(), |path, (name, value)| path.replace(name, &value));
        assert!(!path.contains('{'), "{template}: say in World::fill_in what stands for its place");
        path
    }
}

impl Answer {
    pub(crate) fn text(&self) -> String {
        String::from_utf8_lossy(&self.body).into_owned()
    }

    /// The status, and the problem's name behind it where there is one.
    pub(crate) fn said(&self) -> String {
        let status = self.status.as_u16();
        let problem: Option<Value> = serde_json::from_slice(&self.body).ok();
        let kind = problem.as_ref().and_then(|problem| problem["type"].as_str());
        match kind.and_then(|kind| kind.strip_prefix("urn:leafturn:problem:")) {
            Some(name) => format!("{status} {name}"),
            None => status.to_string(),
        }
    }
}

/// A phone that nobody knows yet.
pub(crate) fn phone(n: u8) -> Phone {
    let stream = StreamId { device: DeviceId::from_octets([n; 16]), epoch: Epoch::from_octets([n; 16]) };
    Phone { stream, token: Secret::draw().unwrap().reveal() }
}

pub(crate) fn enrolment(code: &str, phone: &Phone) -> Vec<u8> {
    let hash = Hash(SecretHash::of_token(&phone.token).0);
    serde_json::json!({"code": code, "device": phone.stream.device, "token_hash": hash}).to_string().into_bytes()
}

pub(crate) fn bearer(request: axum::http::request::Builder, token: &str) -> axum::http::request::Builder {
    request.header(header::AUTHORIZATION, format!("Bearer {token}"))
}

pub(crate) fn photo() -> PhotoId {
    PhotoId::from_octets([5; 16])
}

fn secret_octets() -> [u8; 32] {
    station::edge::random::octets().unwrap()
}
