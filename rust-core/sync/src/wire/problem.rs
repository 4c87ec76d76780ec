//! Problem details (RFC 9457) with stable types.

use serde::{Deserialize, Deserializer, Serialize, Serializer};
use std::fmt;
use survey::chain::Head;

/// Stands in front of every type. The URIs are names to compare, with nothing behind them to fetch
/// (RFC 9457 section 3.1.1 allows that); the name space is not registered.
pub const TYPE_PREFIX: &str = "urn:leafturn:problem:";

/// Why a request was not done.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Problem {
    /// What kind of problem; all that a program may decide by.
    #[serde(rename = "type")]
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub kind: ProblemType,
    /// The kind in a few English words, for whoever reads logs.
    pub title: String,
    /// The status of the answer, again.
    pub status: u16,
    /// What and where, in English.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub detail: Option<String>,
    /// Names this occurrence in the station's log.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub instance: Option<String>,
    /// With `gap`: the end of what is held.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(value_type = Option<super::HeadSchema>))]
    pub held: Option<Head>,
    /// Seconds to wait, the same as in `Retry-After`.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub retry_after: Option<u32>,
}

macro_rules! problem_types {
    ($($(#[$doc:meta])* $variant:ident = $name:literal, $status:literal, $title:literal;)*) => {
        /// The kinds of problem.
        #[derive(Debug, Clone, PartialEq, Eq, Hash)]
        pub enum ProblemType {
            $($(#[$doc])* $variant,)*
            /// A type of a newer station, or of something that is not ours: the whole URI.
            Other(String),
        }

        impl ProblemType {
            /// Every kind of this version.
            pub const ALL: &[Self] = &[$(Self::$variant),*];

            /// The name behind [`TYPE_PREFIX`], or the whole URI where it is not ours.
            pub fn name(&self) -> &str {
                match self { $(Self::$variant => $name,)* Self::Other(uri) => uri }
            }

            /// The status that goes with it.
            pub const fn status(&self) -> u16 {
                match self { $(Self::$variant => $status,)* Self::Other(_) => 500 }
            }

            /// A few English words.
            pub const fn title(&self) -> &'static str {
                match self { $(Self::$variant => $title,)* Self::Other(_) => "Unknown problem" }
            }

            fn from_uri(uri: &str) -> Self {
                match uri.strip_prefix(TYPE_PREFIX) {
                    $(Some($name) => Self::$variant,)*
                    _ => Self::Other(uri.into()),
                }
            }
        }
    };
}

problem_types! {
    /// A batch begins beyond what is held; `held` says what is. Normal: the phone goes on from there.
    Gap = "gap", 409, "Entries are missing before this batch";
    /// A hash does not match the octets: an error of transport, to be sent again.
    HashMismatch = "hash-mismatch", 400, "The octets do not match their hash";
    /// Over a limit: a batch is halved.
    TooLarge = "too-large", 413, "The request is too large";
    /// No token, or none that is known.
    NotJoined = "not-joined", 401, "This phone has not joined";
    /// The stream is claimed by another.
    StreamNotYours = "stream-not-yours", 403, "The stream belongs to another phone";
    /// The cursor is not of this feed: pull from 0.
    FeedRestarted = "feed-restarted", 409, "The feed began again";
    /// The station does not speak so old a version.
    UpdateNeeded = "update-needed", 426, "The app needs an update";
    /// Too many requests.
    SlowDown = "slow-down", 429, "Too many requests";
    /// Not at the moment.
    TryLater = "try-later", 503, "The station cannot do this at the moment";
    /// Not understood.
    Malformed = "malformed", 400, "The request is not understood";
    /// Understood and not taken: a batch is halved, a single entry becomes a placeholder.
    Refused = "refused", 422, "The entries are refused";
    /// The whole photo does not match what was declared: all parts are dropped.
    SendAgain = "send-again", 409, "The photo does not match and must be sent again";
    /// No accepted entry names this photo or text.
    NotNamed = "not-named", 409, "No accepted entry names this";
    /// The code is not valid, or no longer.
    WrongCode = "wrong-code", 403, "The code is not valid";
    /// The code was used by another phone.
    CodeUsed = "code-used", 409, "The code is used up";
    /// The code is too old, or was guessed at too often.
    CodeDead = "code-dead", 410, "The code is dead";
    /// Not a member of this site.
    NotAMember = "not-a-member", 403, "This phone is not a member of the site";
    /// Nothing there.
    NotFound = "not-found", 404, "There is nothing here";
    /// The path takes other methods.
    WrongMethod = "wrong-method", 405, "The method does not apply here";
    /// The content type or encoding is not taken.
    WrongContentType = "wrong-content-type", 415, "The content type is not taken";
    /// The quota of this phone is full.
    Quota = "quota", 507, "The quota of this phone is full";
    /// An error of the station's own.
    Internal = "internal", 500, "The station failed";
}

impl Problem {
    /// A problem of this kind with its usual title and status.
    pub fn new(kind: ProblemType) -> Self {
        let (title, status) = (kind.title().into(), kind.status());
        Self { kind, title, status, detail: None, instance: None, held: None, retry_after: None }
    }

    /// The same with a sentence that says what and where.
    #[must_use]
    pub fn detail(self, detail: impl Into<String>) -> Self {
        Self { detail: Some(detail.into()), ..self }
    }

    /// The same with what is held.
    #[must_use]
    pub fn held(self, held: Head) -> Self {
        Self { held: Some(held), ..self }
    }

    /// The same with a time to wait, in seconds.
    #[must_use]
    pub fn retry_after(self, seconds: u32) -> Self {
        Self { retry_after: Some(seconds), ..self }
    }
}

impl fmt::Display for ProblemType {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        match self {
            Self::Other(uri) => f.write_str(uri),
            ours => write!(f, "{TYPE_PREFIX}{}", ours.name()),
        }
    }
}

impl Serialize for ProblemType {
    fn serialize<S: Serializer>(&self, serializer: S) -> Result<S::Ok, S::Error> {
        serializer.collect_str(self)
    }
}

impl<'de> Deserialize<'de> for ProblemType {
    fn deserialize<D: Deserializer<'de>>(deserializer: D) -> Result<Self, D::Error> {
        let uri = std::borrow::Cow::<'de, str>::deserialize(deserializer)?;
        Ok(Self::from_uri(&uri))
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::samples::head;
    use std::collections::HashSet;

    #[test]
    fn problems_as_they_are_sent() {
        insta::assert_json_snapshot!([
            Problem::new(ProblemType::Gap).held(head(7)),
            Problem::new(ProblemType::SlowDown)
                .retry_after(30)
                .detail("40 requests in the last minute, 30 are the most"),
        ]);
        insta::assert_json_snapshot!(
            ProblemType::ALL.iter().map(|kind| (kind, kind.status(), kind.title())).collect::<Vec<_>>()
        );
    }

    #[test]
    fn types_survive_the_way_and_unknown_ones_are_kept() {
        let names: HashSet<_> = ProblemType::ALL.iter().map(ProblemType::name).collect();
        assert_eq!(names.len(), ProblemType::ALL.len());
        for kind in ProblemType::ALL.iter().cloned().chain([ProblemType::Other("about:blank".into())]) {
            let text = serde_json::to_string(&kind).unwrap();
            assert_eq!(serde_json::from_str::<ProblemType>(&text).unwrap(), kind);
        }
    }
}
