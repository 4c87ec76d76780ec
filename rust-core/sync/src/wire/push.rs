//! The header line of a batch, and the answer to it. The frames behind the header are [`crate::framing`]'s.

use serde::{Deserialize, Serialize};
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::{DeviceId, Epoch};

/// The first line of a batch.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct PushHeader {
    /// The version of the batch, [`super::VERSION`].
    pub v: u32,
    /// Whose journal: in files only, elsewhere the path says it.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(value_type = Option<String>))]
    pub device: Option<DeviceId>,
    /// Since which database: in files only.
    #[serde(default, skip_serializing_if = "Option::is_none")]
    #[cfg_attr(feature = "openapi", schema(value_type = Option<String>))]
    pub epoch: Option<Epoch>,
    /// Number of the first entry.
    #[cfg_attr(feature = "openapi", schema(value_type = u64))]
    pub first: Seq,
    /// How many entries, 1 to 200.
    pub count: u32,
    /// Hash of the entry before the first.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub previous: Hash,
    /// Hash of the last entry.
    #[cfg_attr(feature = "openapi", schema(value_type = String))]
    pub last: Hash,
    /// What follows.
    #[serde(flatten)]
    pub purpose: Purpose,
    /// Hash of each entry: in files, so that the whole entries of a cut block can be told from altered ones.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(value_type = Vec<String>))]
    pub hashes: Vec<Hash>,
}

/// What stands behind a header line.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(tag = "purpose", rename_all = "kebab-case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum Purpose {
    /// The frames of `count` entries.
    Entries,
    /// The frame of one entry whose place was held by a placeholder.
    Fill,
    /// Nothing: the one entry stays on the phone, `last` is its hash, and its place is a hole in the chain.
    Placeholder {
        /// Why.
        reason: HoleReason,
    },
}

/// Why an entry does not come.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub enum HoleReason {
    /// The station refuses it.
    Refused,
    /// It, or the batch with it alone, is too large for something on the way.
    TooLarge,
    /// Its bytes on the phone do not match its hash.
    Damaged,
}

impl HoleReason {
    /// The reason of this name; one that is not known is a refusal.
    pub fn named(name: &str) -> Self {
        match name {
            "too-large" => Self::TooLarge,
            "damaged" => Self::Damaged,
            _ => Self::Refused,
        }
    }
}

/// The batch is stored.
#[derive(Debug, Clone, PartialEq, Eq, Serialize, Deserialize)]
#[cfg_attr(feature = "openapi", derive(utoipa::ToSchema))]
pub struct Pushed {
    /// The end of the branch that the batch is on: without a gap up to here.
    #[cfg_attr(feature = "openapi", schema(value_type = super::HeadSchema))]
    pub held: Head,
    /// Ends of other branches, where the stream has forked.
    #[serde(default, skip_serializing_if = "Vec::is_empty")]
    #[cfg_attr(feature = "openapi", schema(value_type = Vec<super::HeadSchema>))]
    pub branches: Vec<Head>,
}

impl PushHeader {
    /// The stream, where the header names it.
    pub fn stream(&self) -> Option<StreamId> {
        Some(StreamId { device: self.device?, epoch: self.epoch? })
    }

    /// The end of the stream behind this batch; `None` where the numbers run over.
    pub fn end(&self) -> Option<Head> {
        let seq = self.first.0.checked_add(u64::from(self.count.checked_sub(1)?))?;
        Some(Head { seq: Seq(seq), hash: self.last })
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::wire::samples::{head, stream};

    fn header(purpose: Purpose) -> PushHeader {
        PushHeader {
            v: super::super::VERSION,
            device: None,
            epoch: None,
            first: Seq(4),
            count: 1,
            previous: head(3).hash,
            last: head(4).hash,
            purpose,
            hashes: Vec::new(),
        }
    }

    #[test]
    fn headers_as_they_are_sent() {
        let in_file = PushHeader {
            device: Some(stream().device),
            epoch: Some(stream().epoch),
            hashes: vec![head(4).hash],
            ..header(Purpose::Entries)
        };
        let headers = [
            header(Purpose::Entries),
            header(Purpose::Fill),
            header(Purpose::Placeholder { reason: HoleReason::TooLarge }),
            in_file,
        ];
        insta::assert_json_snapshot!(headers);
        for header in headers {
            let again: PushHeader = serde_json::from_str(&serde_json::to_string(&header).unwrap()).unwrap();
            assert_eq!(again, header);
        }
    }

    #[test]
    fn the_answer_as_it_is_sent() {
        insta::assert_json_snapshot!([
            Pushed { held: head(4), branches: Vec::new() },
            Pushed { held: head(4), branches: vec![head(6)] },
        ]);
    }
}
