//! Sessions of coordinators: who is signed in, and forms that only their own pages can send.

use super::app::{App, Cookies};
use super::body::{read, text};
use super::problem::Fault;
use crate::edge::clock;
use crate::security::origin;
use crate::security::secret::{Secret, SecretHash, same_text};
use crate::store::coordinators::{Coordinator, Role};
use axum::extract::{Form, FromRequest, FromRequestParts, Request, State};
use axum::http::{HeaderMap, HeaderName, Method, header, request::Parts};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde::de::DeserializeOwned;
use survey::ids::SiteId;

/// Name of the cookie on loopback without TLS.
const PLAIN_COOKIE: &str = "leafturn-session";

/// Name of the cookie over TLS. Browsers take a name with this prefix only with `Secure`, without `Domain` and for the
/// whole host, so that no neighbour can set it (IETF, Cookies: HTTP State Management Mechanism, RFC 6265bis).
const SECURE_COOKIE: &str = "__Host-leafturn-session";

/// Octets of a form at most: 256 KiB.
const MOST_FORM_OCTETS: usize = 256 * 1024;

/// The coordinator behind a page's request. Every handler of a page takes this.
#[derive(Debug, Clone)]
pub struct Signed {
    /// Who.
    pub coordinator: Coordinator,
    /// The token that every form of this session carries in a hidden field `form_token`.
    pub form_token: String,
    session: SecretHash,
}

/// A form sent from a page of this session: same origin, right token. Handlers that change state take this.
#[derive(Debug)]
pub struct SignedForm<T> {
    /// Who sent it.
    pub signed: Signed,
    /// Its fields.
    pub form: T,
}

impl Signed {
    /// Refuses whoever may not act as `role` on a site.
    ///
    /// # Errors
    /// `not-allowed`.
    pub fn require(&self, role: Role, site: SiteId) -> Result<(), Fault> {
        if self.coordinator.may(role, site) { Ok(()) } else { Err(Fault::not_allowed()) }
    }

    /// Refuses whoever may not act as `role` on every site.
    ///
    /// # Errors
    /// `not-allowed`.
    pub fn require_everywhere(&self, role: Role) -> Result<(), Fault> {
        if self.coordinator.may_everywhere(role) { Ok(()) } else { Err(Fault::not_allowed()) }
    }

    pub(super) const fn session(&self) -> SecretHash {
        self.session
    }
}

impl FromRequestParts<App> for Signed {
    type Rejection = Fault;

    async fn from_request_parts(parts: &mut Parts, app: &App) -> Result<Self, Fault> {
        if let Some(signed) = parts.extensions.get::<Self>() {
            return Ok(signed.clone());
        }
        let session = session_of(&parts.headers, app.setting().cookies).ok_or_else(Fault::not_signed_in)?;
        let found = app.store(move |store| store.session(session, clock::now())).await?;
        let coordinator = found.ok_or_else(Fault::not_signed_in)?;
        let signed = Self { coordinator, form_token: session.form_token(app.setting().key.octets()), session };
        parts.extensions.insert(signed.clone());
        Ok(signed)
    }
}

impl<T: DeserializeOwned> FromRequest<App> for SignedForm<T> {
    type Rejection = Fault;

    async fn from_request(request: Request, app: &App) -> Result<Self, Fault> {
        require_own(request.headers(), app.setting().cookies)?;
        let (mut parts, body) = request.into_parts();
        let signed = Signed::from_request_parts(&mut parts, app).await?;
        let body = read(Request::from_parts(parts.clone(), body), MOST_FORM_OCTETS).await?;
        let again = || Request::from_parts(parts.clone(), axum::body::Body::from(body.clone()));
        let fields: Vec<(String, String)> = form(again()).await?;
        let token = fields.iter().find(|(name, _)| name == "form_token").map(|(_, token)| token.as_str());
        if !token.is_some_and(|token| same_text(token, &signed.form_token)) {
            return Err(Fault::foreign_form());
        }
        Ok(Self { signed, form: form(again()).await? })
    }
}

/// Stands before every page: a session first, and for whatever is not a mere look the same-origin check.
pub(super) async fn require(State(app): State<App>, request: Request, next: Next) -> Response {
    let looks = matches!(*request.method(), Method::GET | Method::HEAD);
    let own = if looks { Ok(()) } else { require_own(request.headers(), app.setting().cookies) };
    let (mut parts, body) = request.into_parts();
    let signed = match own {
        Ok(()) => Signed::from_request_parts(&mut parts, &app).await.map(|_| ()),
        Err(fault) => Err(fault),
    };
    match signed {
        Ok(()) => next.run(Request::from_parts(parts, body)).await,
        Err(fault) => fault.into_response(),
    }
}

/// Refuses a request that no page of this station sent.
pub(super) fn require_own(headers: &HeaderMap, cookies: Cookies) -> Result<(), Fault> {
    let host = text(headers, &header::HOST).unwrap_or_default();
    let site = text(headers, &HeaderName::from_static("sec-fetch-site"));
    let scheme = match cookies {
        Cookies::Secure => "https",
        Cookies::Plain => "http",
    };
    if origin::is_own(site, text(headers, &header::ORIGIN), scheme, host) { Ok(()) } else { Err(Fault::foreign_form()) }
}

/// The cookie that opens a session. It goes when the browser closes; the station forgets it after 12 h without use.
pub(super) fn set_cookie(secret: &Secret, cookies: Cookies) -> String {
    let (name, secure) = (name(cookies), secure(cookies));
    format!("{name}={}; Path=/; HttpOnly; SameSite=Strict{secure}", secret.reveal())
}

/// The cookie that ends a session.
pub(super) fn clear_cookie(cookies: Cookies) -> String {
    format!("{}=; Path=/; HttpOnly; SameSite=Strict; Max-Age=0{}", name(cookies), secure(cookies))
}

const fn name(cookies: Cookies) -> &'static str {
    match cookies {
        Cookies::Secure => SECURE_COOKIE,
        Cookies::Plain => PLAIN_COOKIE,
    }
}

const fn secure(cookies: Cookies) -> &'static str {
    match cookies {
        Cookies::Secure => "; Secure",
        Cookies::Plain => "",
    }
}

/// The session that a request's cookie names, living or not.
pub(super) fn session_of(headers: &HeaderMap, cookies: Cookies) -> Option<SecretHash> {
    headers
        .get_all(header::COOKIE)
        .iter()
        .filter_map(|value| value.to_str().ok())
        .flat_map(|value| value.split(';'))
        .filter_map(|pair| pair.trim().split_once('='))
        .find(|(own, _)| *own == name(cookies))
        .and_then(|(_, secret)| secret.parse::<Secret>().ok())
        .map(|secret| secret.hash())
}

async fn form<T: DeserializeOwned>(request: Request) -> Result<T, Fault> {
    Form::from_request(request, &())
        .await
        .map(|Form(form)| form)
        .map_err(|_| Fault::malformed("a field of the form is missing or has a value that it cannot have"))
}
