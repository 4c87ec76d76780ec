//! The messages, version 1. Unknown fields are passed over, so that fields can be added;
//! what changes a meaning gets another version in the content type.

pub mod content;
pub mod enrol;
pub mod hello;
pub mod paths;
pub mod photo;
pub mod problem;
pub mod push;
pub mod text;
pub mod verdict;

/// The version of the messages.
pub const VERSION: u32 = 1;

/// How [`survey::chain::Head`] stands in the `OpenAPI` document.
#[cfg(feature = "openapi")]
#[derive(utoipa::ToSchema)]
#[schema(as = Head)]
pub struct HeadSchema {
    /// Sequence number, 0 before the first entry.
    pub seq: u64,
    /// SHA-256 of the entry there, 64 lower-case hexadecimal digits.
    pub hash: String,
}

#[cfg(test)]
pub(crate) mod samples {
    use survey::chain::{Hash, Head, Seq, StreamId};
    use survey::ids::{DeviceId, Epoch, SiteId};

    pub(crate) fn stream() -> StreamId {
        StreamId { device: DeviceId::from_octets([1; 16]), epoch: Epoch::from_octets([2; 16]) }
    }

    pub(crate) fn site() -> SiteId {
        SiteId::from_octets([3; 16])
    }

    pub(crate) fn head(seq: u64) -> Head {
        Head { seq: Seq(seq), hash: Hash([u8::try_from(seq % 251).unwrap(); 32]) }
    }
}
