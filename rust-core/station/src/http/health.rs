//! Health, readiness and the interface document.

use super::app::App;
use super::body::Answer;
use super::problem::Fault;
use axum::extract::State;
use axum::http::header;
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use std::sync::Arc;
use sync::wire::problem::Problem;

/// How the station is.
#[derive(Debug, Serialize, utoipa::ToSchema)]
pub(super) struct Health {
    /// `ok`.
    status: &'static str,
}

/// The process answers.
#[utoipa::path(get, path = "/v1/health", tag = "operation",
    responses((status = 200, description = "The process answers", body = Health, content_type = sync::wire::content::JSON)))]
pub(super) async fn health() -> Answer<Health> {
    Answer(Health { status: "ok" })
}

/// The store can be read and written.
#[utoipa::path(get, path = "/v1/ready", tag = "operation",
    responses(
        (status = 200, description = "The store can be read and written", body = Health, content_type = sync::wire::content::JSON),
        (status = 503, description = "try-later", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn ready(State(app): State<App>) -> Result<Answer<Health>, Fault> {
    app.store(crate::store::Store::ready).await?;
    Ok(Answer(Health { status: "ok" }))
}

/// The interface document, made once.
pub(super) fn document(text: &Arc<str>) -> Response {
    ([(header::CONTENT_TYPE, "application/json")], text.to_string()).into_response()
}
