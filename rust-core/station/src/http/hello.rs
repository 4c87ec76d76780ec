//! `POST /v1/hello`: what both sides hold.

use super::app::App;
use super::body::{Answer, Json};
use super::phone::Phone;
use super::problem::Fault;
use crate::edge::clock;
use crate::store::journal::{Held, Offerer};
use crate::store::{Store, StoreError};
use axum::extract::State;
use survey::time::UnixMs;
use sync::wire::hello::{
    FeedCursor, Hello, HelloAnswer, MOST_HOLES, MOST_MARKS, MOST_STREAMS, MOST_WANTED, StreamEnd, StreamHeld,
};
use sync::wire::problem::{Problem, ProblemType};

/// Begins a sync: compares what the phone holds with what the station holds.
#[utoipa::path(post, path = sync::wire::paths::HELLO, tag = "sync", security(("token" = [])),
    request_body(content = Hello, content_type = sync::wire::content::JSON),
    responses(
        (status = 200, description = "What the station holds", body = HelloAnswer, content_type = sync::wire::content::JSON),
        (status = 401, description = "not-joined", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 413, description = "too-large", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn hello(
    State(app): State<App>,
    phone: Phone,
    Json(hello): Json<Hello>,
) -> Result<Answer<HelloAnswer>, Fault> {
    if hello.streams.len() > MOST_STREAMS || hello.cursors.len() > MOST_STREAMS {
        return Err(Fault::new(ProblemType::TooLarge, format!("{MOST_STREAMS} streams and cursors are the most")));
    }
    if let Some(end) = hello.streams.iter().find(|end| end.marks.len() > MOST_MARKS) {
        let detail = format!("{MOST_MARKS} marks are the most, stream {}/{} has more", end.device, end.epoch);
        return Err(Fault::new(ProblemType::TooLarge, detail));
    }
    let now = clock::now();
    app.store(move |store| answer(store, phone, &hello, now)).await.map(Answer)
}

fn answer(store: &dyn Store, phone: Phone, hello: &Hello, now: UnixMs) -> Result<HelloAnswer, StoreError> {
    let streams = hello.streams.iter().map(|end| stream(store, phone, end, now)).collect::<Result<_, _>>()?;
    let cursor = |site| {
        let end = store.feed_end(site)?;
        Ok(FeedCursor { site, number: end.number, feed_hash: end.hash })
    };
    let sites = store.memberships(phone.device)?.into_iter().map(cursor).collect::<Result<_, StoreError>>()?;
    let wanted = store.texts_wanted(phone.device, MOST_WANTED)?;
    let station = store.own_stream()?.map(|stream| stream.device);
    Ok(HelloAnswer { station_ms: now, streams, sites, wanted, station })
}

fn stream(store: &dyn Store, phone: Phone, end: &StreamEnd, now: UnixMs) -> Result<StreamHeld, StoreError> {
    let stream = end.stream();
    let mine = store.may_push(stream, phone.device, phone.token)?;
    let (held, verdicts, holes) = if mine {
        let by = Offerer::Token { device: phone.device, token: phone.token };
        store.announce(stream, end.head(), by, now)?;
        let marks: Vec<_> = std::iter::once(end.head()).chain(end.marks.iter().copied()).collect();
        (store.held(stream, &marks)?, store.last_verdict(stream)?, store.holes(stream, MOST_HOLES)?)
    } else {
        // What others hold is not told; a push gets 403.
        (Held::nothing(), 0, Vec::new())
    };
    Ok(StreamHeld {
        device: stream.device,
        epoch: stream.epoch,
        seq: held.head.seq,
        hash: held.head.hash,
        common: held.common,
        branches: held.branches(),
        verdicts,
        holes,
    })
}
