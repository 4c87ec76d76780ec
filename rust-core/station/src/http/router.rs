//! Routes and what stands around every one of them.

use super::app::{App, Cookies};
use super::problem::Fault;
use super::{body, enrol, entries, feed, health, hello, parts, sign_in, texts, verdicts};
use axum::Router;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderValue, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::{MethodRouter, get};
use std::any::Any;
use std::sync::Arc;
use sync::wire::problem::ProblemType;
use sync::wire::{content, paths};
use tower_http::catch_panic::CatchPanicLayer;
use utoipa::OpenApi;
use utoipa::openapi::security::{HttpAuthScheme, HttpBuilder, SecurityScheme};
use utoipa_axum::router::OpenApiRouter;
use utoipa_axum::routes;

/// What the interface document says of the whole.
#[derive(OpenApi)]
#[openapi(
    info(
        title = "Leafturn station, device interface",
        description = "What phones and the station say to each other. Every error is problem+json (RFC 9457) with a stable type.",
        license(name = "MIT OR Apache-2.0", identifier = "MIT OR Apache-2.0")
    ),
    tags(
        (name = "joining", description = "From a code to a token that the station knows"),
        (name = "sync", description = "Hello, push, feed, verdicts"),
        (name = "blobs", description = "Photos and texts"),
        (name = "operation", description = "Health and readiness"))
)]
struct Document;

/// A path template and what answers there.
pub type Route = (&'static str, MethodRouter<App>);

/// Where the interface document is served.
const DOCUMENT_PATH: &str = "/v1/openapi.json";

/// Everything the station answers, pages included.
pub fn router(app: App) -> Router {
    let (device, document) = device_interface().split_for_parts();
    let document: Arc<str> = document.to_json().unwrap_or_default().into();
    let behind_session = middleware::from_fn_with_state(app.clone(), super::session::require);
    let pages = together(crate::pages::routes()).route_layer(behind_session);
    device
        .route_layer(middleware::from_fn(body::whole))
        .route(DOCUMENT_PATH, get(move || async move { health::document(&document) }))
        .merge(together(sign_in::routes()))
        .merge(pages)
        .merge(together(crate::pages::open_routes()))
        .fallback(nothing_here)
        .method_not_allowed_fallback(wrong_method)
        .layer(middleware::from_fn_with_state(app.clone(), check_host))
        .layer(CatchPanicLayer::custom(panicked))
        .layer(middleware::from_fn(crate::pages::faults_as_pages))
        .layer(middleware::from_fn_with_state(app.clone(), secure))
        .layer(middleware::from_fn(log))
        .with_state(app)
}

/// The interface document, made from the handlers.
pub fn openapi() -> utoipa::openapi::OpenApi {
    device_interface().into_openapi()
}

/// The template of every path that the station answers, each once, in order. [`router`] is made from the same lists.
pub fn templates() -> Vec<String> {
    let device = openapi().paths.paths.into_keys();
    let pages = [crate::pages::routes(), crate::pages::open_routes(), sign_in::routes()];
    let pages = pages.into_iter().flatten().map(|(path, _)| path.to_owned());
    let mut all: Vec<_> = device.chain(pages).chain([DOCUMENT_PATH.to_owned()]).collect();
    all.sort();
    all.dedup();
    all
}

fn together(routes: Vec<Route>) -> Router<App> {
    routes.into_iter().fold(Router::new(), |router, (path, answers)| router.route(path, answers))
}

fn device_interface() -> OpenApiRouter<App> {
    let mut document = Document::openapi();
    let token = SecurityScheme::Http(
        HttpBuilder::new()
            .scheme(HttpAuthScheme::Bearer)
            .description(Some("The token that the phone made and whose hash it enrolled"))
            .build(),
    );
    document.components.get_or_insert_default().add_security_scheme("token", token);
    OpenApiRouter::with_openapi(document)
        .routes(routes!(enrol::enrol))
        .routes(routes!(hello::hello))
        .routes(routes!(entries::push))
        .routes(routes!(verdicts::verdicts))
        .routes(routes!(feed::feed))
        .routes(routes!(parts::head_photo))
        .routes(routes!(parts::put_part))
        .routes(routes!(texts::put_text, texts::get_text))
        .routes(routes!(health::health))
        .routes(routes!(health::ready))
}

async fn nothing_here() -> Fault {
    Fault::new(ProblemType::NotFound, "no such path")
}

async fn wrong_method() -> Fault {
    Fault::new(ProblemType::WrongMethod, "the path is here, the method is not for it")
}

async fn check_host(State(app): State<App>, request: Request, next: Next) -> Response {
    // HTTP/1.1 wants the header (RFC 9112 section 3.2); a request without one is turned away as well.
    let named = body::text(request.headers(), &header::HOST).is_some_and(|host| app.setting().hosts.allow(host));
    if named { next.run(request).await } else { Fault::wrong_host().into_response() }
}

#[expect(clippy::needless_pass_by_value, reason = "the shape that the layer wants")]
fn panicked(cause: Box<dyn Any + Send + 'static>) -> Response {
    let said =
        cause.downcast_ref::<&str>().map(|said| (*said).to_owned()).or_else(|| cause.downcast_ref::<String>().cloned());
    Fault::internal(&said.unwrap_or_else(|| "a panic without words".into())).into_response()
}

/// Headers that every answer carries. Pages need no script, no frame and nothing from elsewhere.
async fn secure(State(app): State<App>, request: Request, next: Next) -> Response {
    let joins = matches!(request.uri().path(), paths::ENROL | paths::HELLO);
    let mut response = next.run(request).await;
    let headers = response.headers_mut();
    if app.setting().cookies == Cookies::Secure {
        // RFC 6797; browsers pass it over where they do not trust the certificate, and for plain addresses.
        headers.insert(header::STRICT_TRANSPORT_SECURITY, HeaderValue::from_static("max-age=31536000"));
    }
    let identity = app.certificates().filter(|_| joins).map(|certificates| certificates.current());
    let announced = identity.and_then(|identity| identity.pins.next);
    if let Some(next_key) = announced.and_then(|next| HeaderValue::from_str(&next.to_string()).ok()) {
        headers.insert(content::NEXT_KEY_HEADER, next_key);
    }
    for (name, value) in [
        (header::X_CONTENT_TYPE_OPTIONS, "nosniff"),
        // `no-referrer` would make browsers send `Origin: null` with our own forms (Fetch, "append a request Origin header").
        (header::REFERRER_POLICY, "same-origin"),
        (header::X_FRAME_OPTIONS, "DENY"),
        (
            header::CONTENT_SECURITY_POLICY,
            "default-src 'none'; style-src 'self'; img-src 'self'; form-action 'self'; base-uri 'none'; frame-ancestors 'none'",
        ),
        (header::CACHE_CONTROL, "no-store"),
    ] {
        headers.entry(name).or_insert(HeaderValue::from_static(value));
    }
    response
}

/// One line for each request: the route's template, never the path, for paths hold ids and sign-in links.
async fn log(request: Request, next: Next) -> Response {
    let method = request.method().clone();
    let route =
        request.extensions().get::<MatchedPath>().map_or_else(|| "none".to_owned(), |path| path.as_str().to_owned());
    let response = next.run(request).await;
    tracing::info!(%method, route, status = response.status().as_u16(), "request");
    response
}
