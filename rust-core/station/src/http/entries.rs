//! `POST /v1/streams/{device}/{epoch}/entries`: a batch of entries.

use super::app::App;
use super::body::{Answer, encoding, parse, read, require_type};
use super::phone::Phone;
use super::problem::Fault;
use crate::edge::clock;
use crate::intake;
use crate::store::journal::{Appended, Offerer};
use axum::extract::{Path, Request, State};
use survey::chain::StreamId;
use sync::framing::{MOST_BATCH_BYTES, decode_batch};
use sync::wire::content;
use sync::wire::problem::{Problem, ProblemType};
use sync::wire::push::Pushed;

/// Keeps a batch: first accepted, later judged. A batch that repeats what is held succeeds again.
#[utoipa::path(post, path = sync::wire::paths::ENTRIES, tag = "sync", security(("token" = [])),
    params(("device" = String, Path, description = "Whose journal, a UUID"), ("epoch" = String, Path, description = "Since which database, a UUID")),
    request_body(content = Vec<u8>, content_type = sync::wire::content::ENTRIES,
        description = "A header line of JSON, then each entry with its length as 4 octets before it; gzip by Content-Encoding"),
    responses(
        (status = 200, description = "The batch is held", body = Pushed, content_type = sync::wire::content::JSON),
        (status = 400, description = "hash-mismatch, malformed", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 401, description = "not-joined", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 403, description = "stream-not-yours", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 409, description = "gap, with what is held", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 413, description = "too-large", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 415, description = "wrong-content-type", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn push(
    State(app): State<App>,
    phone: Phone,
    Path((device, epoch)): Path<(String, String)>,
    request: Request,
) -> Result<Answer<Pushed>, Fault> {
    let stream = StreamId { device: parse("device", &device)?, epoch: parse("epoch", &epoch)? };
    require_type(request.headers(), content::ENTRIES)?;
    let encoding = encoding(request.headers())?;
    // Packed octets are fewer than unpacked ones but for a few of gzip's own.
    let body = read(request, MOST_BATCH_BYTES + 1024).await?;
    let received = clock::now();
    let done = app
        .store(move |store| {
            let batch = decode_batch(stream, &body[..], encoding)?;
            let by = Offerer::Token { device: phone.device, token: phone.token };
            store.append(&intake::push_of(batch, by, received)).map_err(Fault::from)
        })
        .await?;
    match done {
        Appended::Held { held, added } => {
            if added > 0 {
                app.wake_judge();
            }
            Ok(Answer(Pushed { branches: held.branches(), held: held.head }))
        }
        Appended::Gap(held) => {
            let detail = "the batch begins behind what is held";
            Err(Problem::new(ProblemType::Gap).detail(detail).held(held.head).into())
        }
        Appended::NotYours => {
            Err(Fault::new(ProblemType::StreamNotYours, "this stream was first pushed with another phone's token"))
        }
    }
}
