//! The coordinator's pages, rendered here and readable without script.
//!
//! Every route of [`routes`] stands behind a session. Those of [`open_routes`] serve what strangers may see: the style sheet and
//! the way in. [`faults_as_pages`] turns problems into pages for whoever reads with a browser.

mod acts;
pub mod devices;
pub mod frame;
mod outlook;
pub mod plain;
pub mod reader;
pub mod review;
pub mod season;
pub mod sites;
pub mod time;
pub mod visit;

pub use frame::{Asked, Frame, ICON_PATH, STYLE_PATH, Who, stand_alone};
pub use plain::{SignIn, sign_in};
pub use reader::{Reader, Stranger, frame as frame_of};

use crate::http::{App, Fault, Route};
use crate::report::analysis::report;
use crate::report::load::{Loaded, load};
use crate::store::StoreError;
use crate::store::coordinators::Role;
use ::season::{Level, Refusal};
use axum::body::{Body, to_bytes};
use axum::extract::{Path, Query, Request};
use axum::http::{HeaderValue, StatusCode, header};
use axum::middleware::Next;
use axum::response::{Html, IntoResponse, Redirect, Response};
use axum::routing::{get, post};
use maud::Markup;
use serde::Deserialize;
use survey::ids::SiteId;
use sync::wire::content;
use sync::wire::problem::{Problem, ProblemType, TYPE_PREFIX};

/// Octets of a problem at most; ours are far smaller.
const MOST_PROBLEM_OCTETS: usize = 64 * 1024;

/// The pages that need a session. The list is what the table of access is held against: a page stands here or nowhere.
pub fn routes() -> Vec<Route> {
    vec![
        ("/", get(overview)),
        ("/sites/{site}", get(one_season)),
        ("/sites/{site}/visits/{visit}", get(acts::one_visit)),
        ("/sites/{site}/visits/{visit}/plants/{check}", get(acts::one_plant).post(acts::review_plant)),
        ("/sites/{site}/erase", post(acts::erase)),
        ("/devices", get(all_devices)),
        ("/cautions", get(cautions)),
    ]
}

/// The pages that need none.
pub fn open_routes() -> Vec<Route> {
    vec![(STYLE_PATH, get(style)), (ICON_PATH, get(icon)), ("/sign-in", get(way_in)), ("/signed-out", get(signed_out))]
}

/// Turns a problem into a page where the request wants one: browsers say that they accept HTML, phones do not.
pub async fn faults_as_pages(request: Request, next: Next) -> Response {
    let wants_page = request
        .headers()
        .get(header::ACCEPT)
        .and_then(|field| field.to_str().ok())
        .is_some_and(|field| field.contains("text/html"));
    if !wants_page {
        return next.run(request).await;
    }
    let frame = reader::frame(request.uri(), request.headers());
    let response = next.run(request).await;
    let is_problem =
        response.headers().get(header::CONTENT_TYPE).is_some_and(|own| own.as_bytes() == content::PROBLEM.as_bytes());
    if !is_problem {
        return response;
    }
    let (mut parts, body) = response.into_parts();
    let Ok(octets) = to_bytes(body, MOST_PROBLEM_OCTETS).await else {
        return Fault::internal(&"a problem that is too long").into_response();
    };
    let Ok(problem) = serde_json::from_slice::<Problem>(&octets) else {
        return Response::from_parts(parts, Body::from(octets));
    };
    let page = match &problem.kind {
        ProblemType::Other(uri) if uri.strip_prefix(TYPE_PREFIX) == Some("not-signed-in") => {
            let how = if frame.path.starts_with("/sign-in/") { SignIn::Wrong } else { SignIn::NoLink };
            plain::sign_in(&frame, &how)
        }
        _ => plain::error(&frame, &problem),
    };
    parts.headers.insert(header::CONTENT_TYPE, HeaderValue::from_static("text/html; charset=utf-8"));
    parts.headers.remove(header::CONTENT_LENGTH);
    Response::from_parts(parts, Body::from(page.into_string()))
}

async fn style() -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "text/css; charset=utf-8"), (header::CACHE_CONTROL, "max-age=3600")], frame::STYLE)
}

async fn icon() -> impl IntoResponse {
    ([(header::CONTENT_TYPE, "image/svg+xml"), (header::CACHE_CONTROL, "max-age=3600")], include_str!("icon.svg"))
}

#[derive(Debug, Deserialize)]
struct Code {
    code: Option<String>,
}

async fn way_in(Stranger(frame): Stranger, Query(Code { code }): Query<Code>) -> Response {
    // Somebody may paste the whole link.
    let code = code.as_deref().map(|code| code.trim().rsplit('/').next().unwrap_or_default());
    match code {
        Some(code)
            if !code.is_empty()
                && code.chars().all(|letter| letter.is_ascii_alphanumeric() || "-_".contains(letter)) =>
        {
            Redirect::to(&frame.link(&format!("/sign-in/{code}"))).into_response()
        }
        Some(_) => (StatusCode::BAD_REQUEST, shown(plain::sign_in(&frame, &SignIn::Wrong))).into_response(),
        None => shown(plain::sign_in(&frame, &SignIn::NoLink)).into_response(),
    }
}

async fn signed_out(Stranger(frame): Stranger) -> Html<String> {
    shown(plain::signed_out(&frame))
}

async fn cautions(reader: Reader) -> Html<String> {
    shown(plain::cautions(&reader.frame))
}

async fn overview(axum::extract::State(app): axum::extract::State<App>, reader: Reader) -> Result<Html<String>, Fault> {
    let coordinator = reader.signed.coordinator.clone();
    let known = app.lines();
    let may = move |site| coordinator.may(Role::Read, site);
    let lines = app.store(move |store| known.bring_up_to_date(store, may)).await?;
    Ok(shown(sites::page(&reader.frame, lines)))
}

async fn one_season(
    axum::extract::State(app): axum::extract::State<App>,
    reader: Reader,
    Path(site): Path<String>,
) -> Result<Html<String>, Fault> {
    let loaded = readable(&app, &reader, &site).await?;
    let report =
        report(&loaded.site, &loaded.verified, Level::P95).map_err(|refusal: Refusal| Fault::internal(&refusal))?;
    let report = report.with_unverified(loaded.unverified);
    Ok(shown(season::page(&reader.frame, &report, &loaded)))
}

async fn all_devices(
    axum::extract::State(app): axum::extract::State<App>,
    reader: Reader,
) -> Result<Html<String>, Fault> {
    reader.signed.require_everywhere(Role::Read)?;
    let (devices, streams) = app.store(|store| Ok::<_, StoreError>((store.devices()?, store.streams()?))).await?;
    Ok(shown(devices::page(&reader.frame, &devices, &streams)))
}

/// A site that the reader may see, joined sites with it.
async fn readable(app: &App, reader: &Reader, site: &str) -> Result<Loaded, Fault> {
    let site: SiteId = site.parse().map_err(|_| not_found())?;
    reader.signed.require(Role::Read, site)?;
    let loaded = app.store(move |store| load(store, site)).await?.ok_or_else(not_found)?;
    for &member in &loaded.site.members {
        reader.signed.require(Role::Read, member)?;
    }
    Ok(loaded)
}

fn not_found() -> Fault {
    Fault::new(ProblemType::NotFound, "no such site or visit")
}

fn shown(page: Markup) -> Html<String> {
    Html(page.into_string())
}

#[cfg(test)]
mod tests;
