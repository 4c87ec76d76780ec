//! `GET /v1/streams/{device}/{epoch}/verdicts`: what the station says of a stream's entries.

use super::app::App;
use super::body::{Answer, parse};
use super::phone::Phone;
use super::problem::Fault;
use crate::edge::clock;
use axum::extract::{Path, Query, State};
use serde::Deserialize;
use survey::chain::StreamId;
use sync::wire::problem::{Problem, ProblemType};
use sync::wire::verdict::VerdictPage;

/// Verdicts of a page at most.
const PAGE: usize = 200;

/// A place among the verdicts.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
pub(super) struct After {
    /// Number of the last verdict that the phone has, 0 for none.
    #[serde(default)]
    after: u64,
}

/// The verdicts on one's own stream behind a number.
#[utoipa::path(get, path = sync::wire::paths::VERDICTS, tag = "sync", security(("token" = [])),
    params(("device" = String, Path, description = "Whose journal, a UUID"), ("epoch" = String, Path, description = "Since which database, a UUID"), After),
    responses(
        (status = 200, description = "Verdicts, ascending", body = VerdictPage, content_type = sync::wire::content::JSON),
        (status = 403, description = "stream-not-yours", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn verdicts(
    State(app): State<App>,
    phone: Phone,
    Path((device, epoch)): Path<(String, String)>,
    query: Result<Query<After>, axum::extract::rejection::QueryRejection>,
) -> Result<Answer<VerdictPage>, Fault> {
    let stream = StreamId { device: parse("device", &device)?, epoch: parse("epoch", &epoch)? };
    let Query(After { after }) =
        query.map_err(|_| Fault::malformed("a field of the query has a value that it cannot have"))?;
    let judge = app.judge();
    app.store(move |store| -> Result<VerdictPage, Fault> {
        if !store.may_push(stream, phone.device, phone.token)? {
            return Err(Fault::new(ProblemType::StreamNotYours, "verdicts are for the phone whose stream it is"));
        }
        judge.bring_up_to_date(store, Some(stream), clock::now())?;
        Ok(store.verdicts_after(stream, after, PAGE)?)
    })
    .await
    .map(Answer)
}
