//! `GET /v1/sites/{site}/feed`: the entries of a site in the order in which they came.

use super::app::App;
use super::body::{accepts_gzip, parse};
use super::phone::Phone;
use super::problem::Fault;
use crate::store::journal::{FeedCursor, FeedPage};
use axum::extract::{Path, Query, State};
use axum::http::{HeaderMap, header};
use axum::response::{IntoResponse, Response};
use serde::Deserialize;
use survey::chain::Hash;
use survey::ids::SiteId;
use sync::framing::{Encoding, MOST_BATCH_BYTES, MOST_ENTRIES, MoreBehind, encode_feed};
use sync::wire::content;
use sync::wire::hello;
use sync::wire::problem::{Problem, ProblemType};

/// A cursor.
#[derive(Debug, Deserialize, utoipa::IntoParams)]
#[into_params(parameter_in = Query)]
pub(super) struct After {
    /// Number of the last item that the phone has, 0 for none.
    #[serde(default)]
    after: u64,
    /// Feed hash of that item, 64 hexadecimal digits; zeros or left out for none.
    #[param(value_type = Option<String>)]
    hash: Option<Hash>,
}

/// A page of a site's feed behind a cursor, for members.
#[utoipa::path(get, path = sync::wire::paths::FEED, tag = "sync", security(("token" = [])),
    params(("site" = String, Path, description = "The site, a UUID"), After),
    responses(
        (status = 200, description = "A header line of JSON, then each entry with its envelope", body = Vec<u8>, content_type = sync::wire::content::FEED),
        (status = 403, description = "not-a-member", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 409, description = "feed-restarted", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn feed(
    State(app): State<App>,
    phone: Phone,
    Path(site): Path<String>,
    query: Result<Query<After>, axum::extract::rejection::QueryRejection>,
    headers: HeaderMap,
) -> Result<Response, Fault> {
    let site: SiteId = parse("site", &site)?;
    let Query(after) = query.map_err(|_| Fault::malformed("a field of the query has a value that it cannot have"))?;
    let cursor = FeedCursor { number: after.after, hash: after.hash.unwrap_or(Hash::ZERO) };
    let page = app
        .store(move |store| -> Result<FeedPage, Fault> {
            if !store.memberships(phone.device)?.contains(&site) {
                return Err(Fault::new(ProblemType::NotAMember, "an invitation or the coordinator opens a site"));
            }
            Ok(store.feed_after(site, cursor, MOST_ENTRIES, MOST_BATCH_BYTES)?)
        })
        .await?;
    let FeedPage::Items { items, end } = page else {
        return Err(Fault::new(ProblemType::FeedRestarted, "this cursor is not of this feed: pull from 0"));
    };
    let last = items.last().map_or(cursor.number, |item| item.number);
    let more = if last < end.number { MoreBehind::Yes } else { MoreBehind::No };
    let links: Vec<_> = items.into_iter().map(|item| item.link).collect();
    let before = hello::FeedCursor { site, number: cursor.number, feed_hash: cursor.hash };
    let encoding = if accepts_gzip(&headers) { Encoding::Gzip } else { Encoding::Identity };
    let (body, _) = encode_feed(before, &links, more, encoding);
    let mut response =
        ([(header::CONTENT_TYPE, content::FEED), (header::VARY, "accept-encoding")], body).into_response();
    if encoding == Encoding::Gzip {
        response.headers_mut().insert(header::CONTENT_ENCODING, header::HeaderValue::from_static(content::GZIP));
    }
    Ok(response)
}
