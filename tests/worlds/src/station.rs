//! The real station, called in process: no socket, no process of its own.

use crate::trouble::Trouble;
use axum::Router;
use axum::body::Body;
use axum::extract::ConnectInfo;
use axum::http::{Request, header};
use handset::sync::Response;
use station::http::app::{App, Cookies, Setting};
use station::review::{Desk, FileMarker};
use station::security::codes::Code;
use station::security::hosts::Hosts;
use station::security::key::StationKey;
use station::store::access::{Invitation, Invited};
use station::store::sqlite::SqliteStore;
use station::store::{AccessStore, JournalStore, UpkeepStore};
use std::net::{IpAddr, Ipv4Addr, SocketAddr};
use std::path::Path;
use std::sync::Arc;
use survey::chain::Hash;
use survey::ids::{DeviceId, SiteId};
use survey::time::UnixMs;
use sync::engine::Dice;
use sync::wire::content::PHOTO_HEADER;
use tokio::runtime::Runtime;
use tower::ServiceExt;

/// A request as it lies on the wire.
#[derive(Debug, Clone)]
pub struct Wire {
    /// The method.
    pub method: &'static str,
    /// Path and query.
    pub path: String,
    /// Fields.
    pub headers: Vec<(String, String)>,
    /// The body.
    pub body: Vec<u8>,
}

/// The station.
pub struct Station {
    /// Its store.
    pub store: Arc<SqliteStore>,
    router: Router,
    key: StationKey,
    calls: u32,
}

/// When everything that the harness itself tells the station happens: no rule here depends on it.
const WHENEVER: UnixMs = UnixMs(1_783_157_400_000);

/// Invitations are good for ever, for the station reads a real clock.
const FOR_EVER: UnixMs = UnixMs(i64::MAX);

impl Station {
    /// Opens the station in this folder.
    ///
    /// # Errors
    /// The store does not open.
    pub fn open(folder: &Path) -> Result<Self, Trouble> {
        std::fs::create_dir_all(folder.join("photos"))?;
        let store = Arc::new(SqliteStore::open(&folder.join("station.sqlite"))?);
        let key = StationKey::from_octets([7; 32]);
        // The same in every run: a device, or the next epoch, follows from the epoch before.
        let mut last = store.own_stream()?.map_or([0xD5; 16], |stream| stream.epoch.octets());
        let mut draw = || {
            let next = Hash::plain(&last);
            last.copy_from_slice(&next.0[..16]);
            Ok(last)
        };
        let desk = Desk::open(&*store, Box::new(FileMarker::of(folder)), &mut draw)
            .map_err(|error| Trouble::new(format!("the station's own stream: {error}")))?;
        let setting = Setting {
            desk,
            photos: folder.join("photos"),
            key: key.clone(),
            hosts: Hosts::new(&[]),
            behind_proxy: None,
            cookies: Cookies::Plain,
        };
        let shared: Arc<dyn station::store::Store> = Arc::clone(&store) as _;
        let router = station::http::router(App::new(shared, setting));
        Ok(Self { store, router, key, calls: 0 })
    }

    /// Answers a request.
    ///
    /// # Errors
    /// The request cannot be put together, or the answer not read.
    pub fn call(&mut self, runtime: &Runtime, wire: &Wire) -> Result<Response, Trouble> {
        let odd = |error: &dyn std::fmt::Display| Trouble::new(format!("a request: {error}"));
        let mut request = Request::builder().method(wire.method).uri(&wire.path).header(header::HOST, "localhost");
        for (name, value) in &wire.headers {
            request = request.header(name, value);
        }
        let mut request = request.body(Body::from(wire.body.clone())).map_err(|error| odd(&error))?;
        // Each from an address of its own: the station's limits on tries follow a real clock, the worlds do not.
        self.calls += 1;
        let address = IpAddr::V4(Ipv4Addr::from(0x0A00_0000 | (self.calls & 0x00FF_FFFF)));
        request.extensions_mut().insert(ConnectInfo(SocketAddr::new(address, 4000)));
        let router = self.router.clone();
        let answer = async move {
            let response = router.oneshot(request).await.map_err(|never| match never {})?;
            let (parts, body) = response.into_parts();
            let body = axum::body::to_bytes(body, 4 * 1024 * 1024).await?;
            Ok::<_, axum::Error>((parts, body))
        };
        let (parts, body) = runtime.block_on(answer).map_err(|error| odd(&error))?;
        let field = |name: &str| parts.headers.get(name).and_then(|value| value.to_str().ok()).map(str::to_owned);
        Ok(Response {
            status: parts.status.as_u16(),
            content_type: field("content-type").unwrap_or_default(),
            retry_after: field("retry-after"),
            photo: field(PHOTO_HEADER),
            body: body.to_vec(),
        })
    }

    /// A code for one phone that opens these sites.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn invite(&self, sites: &[SiteId], dice: &mut Dice) -> Result<String, Trouble> {
        for _ in 0..100 {
            let mut octets = [0; 64];
            for eight in octets.chunks_exact_mut(8) {
                eight.copy_from_slice(&dice.roll().to_be_bytes());
            }
            let Some(code) = Code::draw(&octets) else { continue };
            let invitation = Invitation {
                digest: code.digest(self.key.octets()),
                prefix: code.prefix(),
                sites: sites.to_vec(),
                name: None,
                made: WHENEVER,
                expires: FOR_EVER,
            };
            if self.store.invite(&invitation)? == Invited::Kept {
                return Ok(code.spelled());
            }
        }
        Err(Trouble::new("no code could be drawn"))
    }

    /// Lets a phone join again: its tokens go, and the next may push what the last one did.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn welcome_again(&self, device: DeviceId) -> Result<(), Trouble> {
        self.store.revoke(device)?;
        Ok(self.store.link(device, device, WHENEVER)?)
    }

    /// Opens a site to a phone.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn grant(&self, device: DeviceId, site: SiteId) -> Result<(), Trouble> {
        Ok(self.store.grant(device, site, WHENEVER)?)
    }

    /// Notes that one phone replaces another.
    ///
    /// # Errors
    /// Where the store cannot.
    pub fn link(&self, of: DeviceId, by: DeviceId) -> Result<(), Trouble> {
        Ok(self.store.link(of, by, WHENEVER)?)
    }
}
