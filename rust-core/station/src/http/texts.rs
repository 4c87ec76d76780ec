//! `PUT` and `GET /v1/texts/{hash}`: texts that entries name by a salted hash.

use super::app::App;
use super::body::{Answer, encoding, parse, read, require_type};
use super::phone::Phone;
use super::problem::Fault;
use crate::edge::clock;
use crate::store::blobs::{TextKept, TextRow};
use axum::extract::{Path, Request, State};
use axum::http::header;
use axum::response::{IntoResponse, Response};
use survey::chain::Hash;
use sync::framing::Encoding;
use sync::wire::content;
use sync::wire::problem::{Problem, ProblemType};
use sync::wire::text::{MOST_BYTES, TextError, TextStored, decode, encode};

/// Keeps the text that an accepted entry of this phone names.
#[utoipa::path(put, path = sync::wire::paths::TEXT, tag = "blobs", security(("token" = [])),
    params(("hash" = String, Path, description = "The salted hash that names the text, 64 hexadecimal digits")),
    request_body(content = Vec<u8>, content_type = sync::wire::content::TEXT, description = "16 octets of salt, then UTF-8; 64 KiB at most"),
    responses(
        (status = 200, description = "The text is kept", body = TextStored, content_type = sync::wire::content::JSON),
        (status = 400, description = "hash-mismatch, malformed", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 409, description = "not-named", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 422, description = "refused: it was erased", body = Problem, content_type = sync::wire::content::PROBLEM),
        (status = 507, description = "quota", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn put_text(
    State(app): State<App>,
    phone: Phone,
    Path(hash): Path<String>,
    request: Request,
) -> Result<Answer<TextStored>, Fault> {
    let hash: Hash = parse("hash", &hash)?;
    require_type(request.headers(), content::TEXT)?;
    if encoding(request.headers())? != Encoding::Identity {
        return Err(Fault::new(ProblemType::WrongContentType, "texts are not packed"));
    }
    let body = read(request, MOST_BYTES).await?;
    let kept = app
        .store(move |store| -> Result<TextKept, Fault> {
            let (salt, text) = decode(hash, &body).map_err(text_fault)?;
            Ok(store.put_text(phone.device, hash, salt, text, clock::now())?)
        })
        .await?;
    match kept {
        TextKept::Kept => Ok(Answer(TextStored { hash })),
        TextKept::NotNamed => Err(Fault::new(ProblemType::NotNamed, "no accepted entry of this phone names this text")),
        TextKept::Erased => Err(Fault::new(ProblemType::Refused, "this text was erased and is not taken again")),
        TextKept::OverQuota => Err(Fault::new(ProblemType::Quota, "the quota of texts of this phone is full")),
    }
}

/// A text of one's own, or of a site that one is a member of.
#[utoipa::path(get, path = sync::wire::paths::TEXT, tag = "blobs", security(("token" = [])),
    params(("hash" = String, Path, description = "The salted hash that names the text, 64 hexadecimal digits")),
    responses(
        (status = 200, description = "16 octets of salt, then UTF-8", body = Vec<u8>, content_type = sync::wire::content::TEXT),
        (status = 404, description = "not-found: not here, erased, or not for this phone", body = Problem, content_type = sync::wire::content::PROBLEM)))]
pub(super) async fn get_text(
    State(app): State<App>,
    phone: Phone,
    Path(hash): Path<String>,
) -> Result<Response, Fault> {
    let hash: Hash = parse("hash", &hash)?;
    match app.store(move |store| store.text_for(phone.device, hash)).await? {
        Some(TextRow::Text { salt, text }) => {
            Ok(([(header::CONTENT_TYPE, content::TEXT)], encode(salt, &text)).into_response())
        }
        Some(TextRow::Erased) => Err(Fault::new(ProblemType::NotFound, "this text was erased")),
        None => Err(Fault::new(ProblemType::NotFound, "this text is not here, or not for this phone")),
    }
}

#[expect(clippy::needless_pass_by_value, reason = "the shape that map_err wants")]
fn text_fault(error: TextError) -> Fault {
    let kind = match error {
        TextError::TooLarge { .. } => ProblemType::TooLarge,
        TextError::OtherHash => ProblemType::HashMismatch,
        TextError::NoSalt { .. } | TextError::NotUtf8 { .. } => ProblemType::Malformed,
    };
    Fault::new(kind, error.to_string())
}
