//! Reading bodies within limits, and answering with our content types.

use super::problem::Fault;
use axum::body::Bytes;
use axum::extract::{FromRequest, Request};
use axum::http::{HeaderMap, HeaderName, header};
use axum::middleware::Next;
use axum::response::{IntoResponse, Response};
use serde::Serialize;
use serde::de::DeserializeOwned;
use serde_json::error::Category;
use std::str::FromStr;
use std::time::Duration;
use sync::framing::{Encoding, MOST_BATCH_BYTES};
use sync::wire::content;
use sync::wire::problem::ProblemType;

/// A body of this content type in JSON, 1 MiB at most and not packed.
pub(super) struct Json<T>(pub(super) T);

/// An answer in our JSON.
pub(super) struct Answer<T>(pub(super) T);

impl<S: Send + Sync, T: DeserializeOwned> FromRequest<S> for Json<T> {
    type Rejection = Fault;

    async fn from_request(request: Request, _: &S) -> Result<Self, Fault> {
        require_type(request.headers(), content::JSON)?;
        if encoding(request.headers())? != Encoding::Identity {
            return Err(Fault::new(ProblemType::WrongContentType, "messages in JSON are not packed"));
        }
        let body = read(request, MOST_BATCH_BYTES).await?;
        serde_json::from_slice(&body).map(Self).map_err(|error| Fault::malformed(said_of(&error)))
    }
}

impl<T: Serialize> IntoResponse for Answer<T> {
    fn into_response(self) -> Response {
        match serde_json::to_vec(&self.0) {
            Ok(body) => ([(header::CONTENT_TYPE, content::JSON)], body).into_response(),
            Err(error) => Fault::internal(&error).into_response(),
        }
    }
}

/// Takes in the whole body before anything is answered. A phone that is still sending when the answer comes sees a broken
/// connection instead of the answer, and would take a refusal for a bad network.
pub(super) async fn whole(request: Request, next: Next) -> Response {
    let (parts, body) = request.into_parts();
    // The largest body is a part of a photo or a batch; packing may add a few octets.
    match read(Request::from_parts(parts.clone(), body), MOST_BATCH_BYTES + 1024).await {
        Ok(body) => next.run(Request::from_parts(parts, body.into())).await,
        Err(fault) => fault.into_response(),
    }
}

/// How long a body may take: 1 MiB at 6 kB/s, slower than the slowest mobile network that still gets anything done.
const SLOWEST: Duration = Duration::from_mins(3);

/// Reads a body of at most so many octets, as they come over the wire, within [`SLOWEST`].
pub(super) async fn read(request: Request, most: usize) -> Result<Bytes, Fault> {
    let reading = axum::body::to_bytes(request.into_body(), most);
    let read = tokio::time::timeout(SLOWEST, reading).await.map_err(|_| Fault::too_slow())?;
    read.map_err(|error| {
        let mut cause: Option<&dyn std::error::Error> = Some(&error);
        while let Some(error) = cause {
            if error.to_string().contains("length limit") {
                return Fault::new(ProblemType::TooLarge, format!("a body of more than {most} octets"));
            }
            cause = error.source();
        }
        Fault::new(ProblemType::HashMismatch, "the body broke off on its way")
    })
}

/// Refuses another content type.
pub(super) fn require_type(headers: &HeaderMap, wanted: &str) -> Result<(), Fault> {
    let found = text(headers, &header::CONTENT_TYPE).unwrap_or_default();
    if content::is(found, wanted) {
        return Ok(());
    }
    Err(Fault::new(ProblemType::WrongContentType, format!("content type {wanted} is due here")))
}

/// What is said of JSON that is not understood: where and how, and nothing of what stood there, for it may be a secret
/// that went into the wrong field.
fn said_of(error: &serde_json::Error) -> String {
    let (line, column) = (error.line(), error.column());
    let what = match error.classify() {
        Category::Io | Category::Syntax => "this is not JSON",
        Category::Eof => "the JSON ends too early",
        Category::Data if error.to_string().starts_with("missing field") => "a field is missing",
        Category::Data => "a field has a value that it cannot have",
    };
    format!("{what}, at line {line} column {column}")
}

/// How the body is packed: not, or by gzip, once.
pub(super) fn encoding(headers: &HeaderMap) -> Result<Encoding, Fault> {
    match text(headers, &header::CONTENT_ENCODING) {
        None => Ok(Encoding::Identity),
        Some(name) if name.eq_ignore_ascii_case("identity") => Ok(Encoding::Identity),
        Some(name) if name.eq_ignore_ascii_case(content::GZIP) => Ok(Encoding::Gzip),
        Some(_) => Err(Fault::new(ProblemType::WrongContentType, "this content encoding is not taken, gzip once is")),
    }
}

/// Whether the answer may be packed by gzip.
pub(super) fn accepts_gzip(headers: &HeaderMap) -> bool {
    text(headers, &header::ACCEPT_ENCODING).is_some_and(|list| {
        list.split(',').any(|item| {
            let mut parts = item.split(';');
            let name = parts.next().unwrap_or_default().trim();
            let refused = parts
                .any(|part| matches!(part.trim().replace(' ', "").as_str(), "q=0" | "q=0.0" | "q=0.00" | "q=0.000"));
            name.eq_ignore_ascii_case(content::GZIP) && !refused
        })
    })
}

/// A header as text.
pub(super) fn text<'h>(headers: &'h HeaderMap, name: &HeaderName) -> Option<&'h str> {
    headers.get(name).and_then(|value| value.to_str().ok())
}

/// A part of the path, an id or a hash. What stood there instead is not repeated.
pub(super) fn parse<T: FromStr>(what: &str, text: &str) -> Result<T, Fault> {
    text.parse().map_err(|_| Fault::malformed(format!("the {what} in the path is not one")))
}
