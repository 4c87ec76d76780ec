//! Every error as problem details (RFC 9457) with a stable type.

use crate::edge::random;
use crate::security::limits::TooMany;
use crate::store::StoreError;
use axum::http::{HeaderValue, StatusCode, header};
use axum::response::{IntoResponse, Response};
use std::fmt::Display;
use sync::framing::FrameError;
use sync::wire::content;
use sync::wire::problem::{Problem, ProblemType, TYPE_PREFIX};

/// A request that was not done.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fault(Box<Problem>);

impl Fault {
    /// A problem of this kind, with a sentence that says what and where.
    pub fn new(kind: ProblemType, detail: impl Into<String>) -> Self {
        Self(Box::new(Problem::new(kind).detail(detail)))
    }

    /// Not understood.
    pub fn malformed(detail: impl Display) -> Self {
        Self::new(ProblemType::Malformed, detail.to_string())
    }

    /// A problem of the station's own, logged under a name that the answer carries; the answer says no more.
    pub fn internal(cause: &dyn Display) -> Self {
        let instance = occurrence();
        tracing::error!(%instance, %cause, "request failed");
        let problem = Problem::new(ProblemType::Internal).detail("the station's log says more under this instance");
        Self(Box::new(Problem { instance: Some(instance), ..problem }))
    }

    /// A problem that phones never meet in their protocol, by name and status.
    fn own(name: &str, status: StatusCode, title: &str, detail: &str) -> Self {
        Self(Box::new(Problem {
            title: title.into(),
            status: status.as_u16(),
            ..Problem::new(ProblemType::Other(format!("{TYPE_PREFIX}{name}"))).detail(detail)
        }))
    }

    /// The device has a living token, and this is another.
    pub fn device_taken() -> Self {
        let detail = "this device has joined with another token; ask the coordinator to revoke that one first";
        Self::own("device-taken", StatusCode::CONFLICT, "The device has joined already", detail)
    }

    /// The body came too slowly.
    pub fn too_slow() -> Self {
        let detail = "the body did not come to its end in time; send it again";
        Self::own("too-slow", StatusCode::REQUEST_TIMEOUT, "The request came too slowly", detail)
    }

    /// The `Host` header is not on the list.
    pub fn wrong_host() -> Self {
        let detail = "the Host header names none of this station's names; add it with serve --host NAME";
        Self::own("wrong-host", StatusCode::MISDIRECTED_REQUEST, "This station has another name", detail)
    }

    /// Pages need a session.
    pub fn not_signed_in() -> Self {
        let detail = "open a sign-in link, which `leafturn coordinator add NAME` prints";
        Self::own("not-signed-in", StatusCode::UNAUTHORIZED, "Sign in first", detail)
    }

    /// The coordinator's role does not reach so far.
    pub fn not_allowed() -> Self {
        Self::own(
            "not-allowed",
            StatusCode::FORBIDDEN,
            "Your role does not allow this",
            "ask whoever administers the station",
        )
    }

    /// A form that was not sent from a page of this session.
    pub fn foreign_form() -> Self {
        let detail = "the form was not sent from a page of this station in this session; open the page again";
        Self::own("foreign-form", StatusCode::FORBIDDEN, "The form is not from here", detail)
    }

    /// The problem.
    pub fn problem(&self) -> &Problem {
        &self.0
    }
}

impl From<Problem> for Fault {
    fn from(problem: Problem) -> Self {
        Self(Box::new(problem))
    }
}

impl From<StoreError> for Fault {
    fn from(error: StoreError) -> Self {
        match error {
            StoreError::Busy => Problem::new(ProblemType::TryLater).detail("the store is busy").retry_after(2).into(),
            StoreError::Unavailable { .. } => {
                tracing::error!(%error, "store unavailable");
                Problem::new(ProblemType::TryLater).detail("the store cannot be reached").retry_after(30).into()
            }
            StoreError::Damaged { .. } | StoreError::Foreign { .. } | StoreError::NewerSchema { .. } => {
                Self::internal(&error)
            }
        }
    }
}

impl From<random::NoRandom> for Fault {
    fn from(error: random::NoRandom) -> Self {
        Self::internal(&error)
    }
}

impl From<std::io::Error> for Fault {
    fn from(error: std::io::Error) -> Self {
        tracing::error!(%error, "photo folder unavailable");
        Problem::new(ProblemType::TryLater).detail("the photo folder cannot be written or read").retry_after(30).into()
    }
}

impl From<TooMany> for Fault {
    fn from(error: TooMany) -> Self {
        Problem::new(ProblemType::SlowDown).detail(error.to_string()).retry_after(error.retry_after_s).into()
    }
}

impl From<FrameError> for Fault {
    fn from(error: FrameError) -> Self {
        let kind = match error {
            FrameError::TooLarge { .. }
            | FrameError::Count { .. }
            | FrameError::EntryLength { .. }
            | FrameError::HeaderTooLong => ProblemType::TooLarge,
            FrameError::HashMismatch { .. } | FrameError::Cut { .. } | FrameError::Packing { .. } => {
                ProblemType::HashMismatch
            }
            _ => ProblemType::Malformed,
        };
        Self::new(kind, error.to_string())
    }
}

impl IntoResponse for Fault {
    fn into_response(self) -> Response {
        let status = StatusCode::from_u16(self.0.status).unwrap_or(StatusCode::INTERNAL_SERVER_ERROR);
        let body = serde_json::to_vec(&self.0).unwrap_or_default();
        let mut response = (status, [(header::CONTENT_TYPE, content::PROBLEM)], body).into_response();
        let headers = response.headers_mut();
        if let Some(seconds) = self.0.retry_after {
            headers.insert(header::RETRY_AFTER, HeaderValue::from(seconds));
        }
        if self.0.kind == ProblemType::NotJoined {
            headers.insert(header::WWW_AUTHENTICATE, HeaderValue::from_static("Bearer"));
        }
        response
    }
}

/// A name for one occurrence, to find it in the log.
fn occurrence() -> String {
    let octets = random::octets::<8>().unwrap_or_default();
    format!("urn:leafturn:occurrence:{:016x}", u64::from_be_bytes(octets))
}
