//! Batches, feed pages and files as octets: a header line of JSON, then entries with their length before them.
//!
//! One encoding, one pass. Every limit counts octets after decompression and holds while they stream in,
//! so that a small body which unpacks to a huge one costs no more than a whole batch.

mod batch;
mod feed;
mod file;
mod stream;

pub use batch::{Batch, decode_batch, encode_batch, encode_hole};
pub use feed::{FeedItem, FeedPage, FeedPageHeader, MoreBehind, decode_feed, encode_feed};
pub use file::{Cut, FileReader, FileWriter};

#[cfg(test)]
mod tests;

use survey::chain::Hash;

/// The most entries in a batch or a page.
pub const MOST_ENTRIES: usize = 200;
/// The most octets of a batch or a page after decompression, header and lengths included: 1 MiB.
pub const MOST_BATCH_BYTES: usize = 1024 * 1024;
/// The most octets of an entry: 64 KiB.
pub const MOST_ENTRY_BYTES: usize = survey::entry::MOST_BYTES;
/// The most octets of a header line with its end: 32 KiB.
pub const MOST_HEADER_BYTES: usize = 32 * 1024;

/// How a body is packed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Encoding {
    /// Not at all.
    Identity,
    /// gzip (RFC 1952), one member.
    Gzip,
}

impl Encoding {
    /// What a body is packed with, by its first octets: a header line begins with a brace, a gzip member never does
    /// (RFC 1952 section 2.3.1). HTTP stacks may or may not have unpacked an answer already.
    pub fn sniff(body: &[u8]) -> Self {
        if body.starts_with(&[0x1F, 0x8B]) { Self::Gzip } else { Self::Identity }
    }
}

/// What is wrong with a batch, a page or a file. Octets count after decompression, entries from 1.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum FrameError {
    /// It ends too early.
    #[error("it ends in the middle, {whole} whole entries after the header")]
    Cut {
        /// Whole entries that were there.
        whole: usize,
    },
    /// The packing is damaged, or is none.
    #[error("it cannot be unpacked: {reason}")]
    Packing {
        /// What the reader says.
        reason: String,
    },
    /// The source of octets failed.
    #[error("it cannot be read: {reason}")]
    Read {
        /// What the source says.
        reason: String,
    },
    /// The first line is longer than [`MOST_HEADER_BYTES`].
    #[error("the header line is longer than {MOST_HEADER_BYTES} bytes")]
    HeaderTooLong,
    /// The first line is not a header.
    #[error("the header line is wrong: {reason}, at column {column}")]
    Header {
        /// What the reader says.
        reason: String,
        /// Column from 1, 0 where it is not known.
        column: usize,
    },
    /// Made by a newer version.
    #[error("version {found} is not known, {} is", crate::wire::VERSION)]
    Version {
        /// Which.
        found: u32,
    },
    /// No entries, or more than [`MOST_ENTRIES`].
    #[error("{count} entries, 1 to {MOST_ENTRIES} may stand in one batch")]
    Count {
        /// How many the header announces.
        count: u32,
    },
    /// A sequence number that does not exist: 0, or beyond 64 bits.
    #[error("the numbers of the entries run from {first} on, which cannot be")]
    Numbers {
        /// The first of them.
        first: u64,
    },
    /// An entry over [`MOST_ENTRY_BYTES`], or without any, or a feed item too short for its envelope.
    #[error("entry {entry} of the batch claims {bytes} bytes, which cannot be")]
    EntryLength {
        /// Which, from 1.
        entry: usize,
        /// What it claims.
        bytes: usize,
    },
    /// Over [`MOST_BATCH_BYTES`].
    #[error("more than {MOST_BATCH_BYTES} bytes in one batch, at entry {entry}")]
    TooLarge {
        /// Where, from 1.
        entry: usize,
    },
    /// The octets do not give the hash that was announced: an error of transport.
    #[error("entry {entry} of the batch has hash {found}, announced was {announced}")]
    HashMismatch {
        /// Which, from 1.
        entry: usize,
        /// The hash of what came.
        found: Hash,
        /// What the header says.
        announced: Hash,
    },
    /// Something stands behind the end.
    #[error("something stands behind the end")]
    Trailing,
    /// A file block that does not say whose it is, a batch that says it is another's, or the like.
    #[error("the header says {what}, which does not fit here")]
    Misplaced {
        /// What.
        what: &'static str,
    },
}
