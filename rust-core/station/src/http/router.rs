//! Routes and what stands around every one of them.

use super::app::App;
use super::problem::Fault;
use super::{body, enrol, entries, feed, health, hello, parts, sign_in, texts, verdicts};
use axum::Router;
use axum::extract::{MatchedPath, Request, State};
use axum::http::{HeaderValue, header};
use axum::middleware::{self, Next};
use axum::response::{IntoResponse, Response};
use axum::routing::get;
use std::any::Any;
use std::sync::Arc;
use sync::wire::problem::ProblemType;
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

/// Everything the station answers, pages included.
pub fn router(app: App) -> Router {
    let (device, document) = device_interface().split_for_parts();
    let document: Arc<str> = document.to_json().unwrap_or_default().into();
    let pages =
        crate::pages::router().route_layer(middleware::from_fn_with_state(app.clone(), super::session::require));
    device
        .route_layer(middleware::from_fn(body::whole))
        .route("/v1/openapi.json", get(move || async move { health::document(&document) }))
        .merge(sign_in::router())
        .merge(pages)
        .merge(crate::pages::open_router())
        .fallback(nothing_here)
        .method_not_allowed_fallback(wrong_method)
        .layer(middleware::from_fn_with_state(app.clone(), check_host))
        .layer(CatchPanicLayer::custom(panicked))
        .layer(middleware::from_fn(crate::pages::faults_as_pages))
        .layer(middleware::map_response(secure))
        .layer(middleware::from_fn(log))
        .with_state(app)
}

/// The interface document, made from the handlers.
pub fn openapi() -> utoipa::openapi::OpenApi {
    device_interface().into_openapi()
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
async fn secure(mut response: Response) -> Response {
    let headers = response.headers_mut();
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
