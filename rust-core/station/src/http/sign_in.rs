//! Signing in by a one-time link, and out. The link is spent by a button, not by looking at it: programs that fetch
//! links in advance would spend it otherwise.

use super::app::App;
use super::phone::Address;
use super::problem::Fault;
use super::router::Route;
use super::session::{SignedForm, clear_cookie, require_own, session_of, set_cookie};
use crate::edge::clock;
use crate::pages::{self, Stranger};
use crate::security::secret::Secret;
use axum::extract::{Path, State};
use axum::http::{HeaderMap, StatusCode, header};
use axum::response::{Html, IntoResponse, Response};
use axum::routing::{get, post};
use serde::Deserialize;

/// The pages of signing in and out.
pub(super) fn routes() -> Vec<Route> {
    vec![("/sign-in/{link}", get(offer).post(sign_in)), ("/sign-out", post(sign_out))]
}

async fn offer(Stranger(frame): Stranger) -> Html<String> {
    Html(pages::sign_in(&frame, &pages::SignIn::Link).into_string())
}

async fn sign_in(
    State(app): State<App>,
    Address(address): Address,
    Path(link): Path<String>,
    headers: HeaderMap,
) -> Result<Response, Fault> {
    require_own(&headers, app.setting().cookies)?;
    app.signing_in().take(address, clock::now())?;
    let link: Secret = link.parse().map_err(|_| Fault::not_signed_in())?;
    let session = Secret::draw()?;
    let (link, hash) = (link.hash(), session.hash());
    let before = session_of(&headers, app.setting().cookies);
    if !app.store(move |store| store.sign_in(link, hash, clock::now())).await? {
        return Err(Fault::not_signed_in());
    }
    // A browser has one session: what it came with ends, whoever had put it there.
    if let Some(before) = before {
        app.store(move |store| store.sign_out(before)).await?;
    }
    let cookie = set_cookie(&session, app.setting().cookies);
    Ok((StatusCode::SEE_OTHER, [(header::LOCATION, "/".to_owned()), (header::SET_COOKIE, cookie)]).into_response())
}

/// A form without fields of its own.
#[derive(Debug, Deserialize)]
struct Nothing {}

async fn sign_out(State(app): State<App>, form: SignedForm<Nothing>) -> Result<Response, Fault> {
    let SignedForm { signed, form: Nothing {} } = form;
    let session = signed.session();
    app.store(move |store| store.sign_out(session)).await?;
    let cookie = clear_cookie(app.setting().cookies);
    Ok((StatusCode::SEE_OTHER, [(header::LOCATION, "/signed-out".to_owned()), (header::SET_COOKIE, cookie)])
        .into_response())
}
