//! Jobs: requests as data, which outlive the process.

use crate::wire::hello::FeedCursor;
use crate::wire::push::HoleReason;
use crate::wire::{content, paths};
use serde::{Deserialize, Serialize};
use survey::chain::{Hash, Seq, StreamId};
use survey::ids::{DeviceId, PhotoId};

/// Names a job. Never given twice.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(transparent)]
pub struct JobId(pub u64);

/// A request to perform. The handset makes the body where [`Job::work`] says so, stores the job, and only then hands
/// it out; the shell adds the token (but to [`Work::Enrol`]) and reports the outcome.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
pub struct Job {
    /// Which.
    pub id: JobId,
    /// How it travels.
    pub class: Class,
    /// The method.
    pub method: Method,
    /// Path and query, to be put behind the station's address.
    pub path: String,
    /// Fields to send, names in lower case.
    pub headers: Vec<(String, String)>,
    /// The body, where it stands here.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    pub inline: Option<String>,
    /// What it is for.
    pub work: Work,
}

/// How a job travels.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Class {
    /// In the session of the foreground; dies with the process.
    Small,
    /// May be left to the system, which reports later, maybe to another process.
    Bulk,
}

/// A method of HTTP.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "UPPERCASE")]
pub enum Method {
    /// GET.
    Get,
    /// HEAD.
    Head,
    /// POST.
    Post,
    /// PUT.
    Put,
}

/// What a job is for, and so how its body is made.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "work", rename_all = "kebab-case")]
pub enum Work {
    /// Join. Body inline.
    Enrol,
    /// Compare. Body inline.
    Hello,
    /// Send entries: [`crate::framing::encode_batch`] over at most `most` entries from `first` on, packed with gzip.
    Push {
        /// Of which stream.
        stream: StreamId,
        /// From where.
        first: Seq,
        /// How many at most, 1 to 200.
        most: usize,
    },
    /// Send a placeholder: [`crate::framing::encode_hole`], packed with gzip.
    Hole {
        /// In which stream.
        stream: StreamId,
        /// For which entry.
        seq: Seq,
        /// Why.
        reason: HoleReason,
    },
    /// Offer an entry for its hole again: [`crate::framing::encode_batch`] of that one with
    /// [`crate::wire::push::Purpose::Fill`], packed with gzip.
    Fill {
        /// In which stream.
        stream: StreamId,
        /// Which entry.
        seq: Seq,
    },
    /// Pull a page of a feed. No body.
    Feed {
        /// Behind which item.
        after: FeedCursor,
    },
    /// Pull verdicts. No body.
    Verdicts {
        /// Of which stream.
        stream: StreamId,
        /// Behind which number.
        after: u64,
    },
    /// Send a text: [`crate::wire::text::encode`].
    Text {
        /// Which.
        hash: Hash,
    },
    /// Send a part of a photo: its octets, and their SHA-256 in [`content::PART_HASH_HEADER`].
    Part {
        /// Which photo.
        photo: PhotoId,
        /// Which part, from 0.
        n: u32,
    },
    /// Ask for the state of a photo. No body.
    PhotoState {
        /// Which.
        photo: PhotoId,
    },
}

impl Work {
    /// The job that does this, without its inline body.
    pub(super) fn job(self, id: JobId, device: DeviceId) -> Job {
        let (method, path, sends) = match self {
            Self::Enrol => (Method::Post, paths::ENROL.into(), Some(content::JSON)),
            Self::Hello => (Method::Post, paths::HELLO.into(), Some(content::JSON)),
            Self::Push { stream, .. } | Self::Hole { stream, .. } | Self::Fill { stream, .. } => {
                (Method::Post, paths::entries(stream), Some(content::ENTRIES))
            }
            Self::Feed { after } => (Method::Get, paths::feed(after.site, after.number, after.feed_hash), None),
            Self::Verdicts { stream, after } => (Method::Get, paths::verdicts(stream, after), None),
            Self::Text { hash } => (Method::Put, paths::text(hash), Some(content::TEXT)),
            Self::Part { photo, n } => (Method::Put, paths::photo_part(device, photo, n), Some(content::PART)),
            Self::PhotoState { photo } => (Method::Head, paths::photo(device, photo), None),
        };
        let packed = sends == Some(content::ENTRIES);
        let accepts = format!("{}, {}", self.expects(), content::PROBLEM);
        let headers = [
            Some(("accept", accepts)),
            sends.map(|sends| ("content-type", sends.into())),
            packed.then(|| ("content-encoding", content::GZIP.into())),
        ];
        let headers = headers.into_iter().flatten().map(|(name, value)| (name.to_owned(), value)).collect();
        Job { id, class: self.class(), method, path, headers, inline: None, work: self }
    }

    /// How it travels.
    pub const fn class(&self) -> Class {
        match self {
            Self::Part { .. } => Class::Bulk,
            Self::Enrol
            | Self::Hello
            | Self::Push { .. }
            | Self::Hole { .. }
            | Self::Fill { .. }
            | Self::Feed { .. }
            | Self::Verdicts { .. }
            | Self::Text { .. }
            | Self::PhotoState { .. } => Class::Small,
        }
    }

    /// The content type of a success.
    pub const fn expects(&self) -> &'static str {
        match self {
            Self::Feed { .. } => content::FEED,
            Self::Enrol
            | Self::Hello
            | Self::Push { .. }
            | Self::Hole { .. }
            | Self::Fill { .. }
            | Self::Verdicts { .. }
            | Self::Text { .. }
            | Self::Part { .. }
            | Self::PhotoState { .. } => content::JSON,
        }
    }
}
