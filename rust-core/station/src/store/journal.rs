//! Streams, entries and feeds.

use super::StoreError;
use crate::security::secret::SecretHash;
use survey::chain::{Hash, Head, Link, Seq, StreamId};
use survey::check::PhotoTaken;
use survey::ids::{DeviceId, SiteId, VisitId};
use survey::time::UnixMs;
use sync::wire::hello::HoleHeld;

/// Entries of one stream, each following the one before, offered for keeping.
#[derive(Debug, Clone)]
pub struct Push {
    /// The stream.
    pub stream: StreamId,
    /// The head that the first item follows.
    pub after: Head,
    /// The items, in order.
    pub items: Vec<Offered>,
    /// Who offers them.
    pub by: Offerer,
    /// When they came.
    pub received: UnixMs,
}

/// Who offers entries.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Offerer {
    /// A phone with its token.
    Token {
        /// Its device.
        device: DeviceId,
        /// The hash of its token.
        token: SecretHash,
    },
    /// A file taken in by hand: claims nothing.
    File,
    /// The station itself.
    Station,
}

/// One item of a push.
#[derive(Debug, Clone)]
pub struct Offered {
    /// Its place.
    pub seq: Seq,
    /// Its hash.
    pub hash: Hash,
    /// The hash before it.
    pub previous: Hash,
    /// What is there.
    pub content: Content,
}

/// What stands at a place of a stream.
#[derive(Debug, Clone)]
pub enum Content {
    /// An entry.
    Whole {
        /// Its exact bytes.
        bytes: Vec<u8>,
        /// What was read in them.
        reading: Reading,
    },
    /// A hole: the phone could not hand the entry over.
    Hole {
        /// Why: `refused`, `too-large` or `damaged`.
        reason: String,
    },
}

/// What the station read in an entry's bytes.
#[derive(Debug, Clone, PartialEq)]
pub enum Reading {
    /// Not an entry to this version: kept and acknowledged, never fed.
    Undecodable {
        /// What the reader says.
        reason: String,
    },
    /// Concerns its own device only: kept, never fed.
    Device,
    /// Concerns a site: fed to its members.
    Site {
        /// Which.
        site: SiteId,
        /// Which visit, where there is one.
        visit: Option<VisitId>,
        /// What it names outside the journal.
        names: Named,
    },
}

/// What an entry names that lies outside the journal.
#[derive(Debug, Clone, PartialEq)]
pub enum Named {
    /// Nothing.
    Nothing,
    /// A photo that will come.
    Photo(PhotoTaken),
    /// A text that will come.
    Text(Hash),
    /// A blob that is to go.
    Erased(Hash),
}

/// What became of a push.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Appended {
    /// All of it is held.
    Held {
        /// Where its branch ends.
        held: Held,
        /// Entries that were not held before.
        added: usize,
    },
    /// It begins beyond what is held.
    Gap(Held),
    /// The stream is claimed by another token, or is the station's own.
    NotYours,
}

/// What is held of a stream.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Held {
    /// The end of the branch in question, [`Head::START`] if nothing is held.
    pub head: Head,
    /// The last place that both sides are known to hold, [`Head::START`] if there is none.
    pub common: Head,
    /// Every branch's end, in order of (seq, hash).
    pub heads: Vec<Head>,
}

impl Held {
    /// Nothing is held.
    pub const fn nothing() -> Self {
        Self { head: Head::START, common: Head::START, heads: Vec::new() }
    }

    /// The ends of the other branches.
    pub fn branches(&self) -> Vec<Head> {
        self.heads.iter().copied().filter(|head| *head != self.head).collect()
    }
}

/// An item of a site's feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Fed {
    /// Its number in the feed, from 1 without gaps.
    pub number: u64,
    /// The feed's hash with it.
    pub feed_hash: Hash,
    /// The entry.
    pub link: Link,
    /// When the station received it.
    pub received: UnixMs,
    /// Whether its stream may enter estimates.
    pub standing: Standing,
}

/// Whether a stream may enter estimates.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Standing {
    /// Claimed by a token, or confirmed by a coordinator.
    Verified,
    /// Taken in from a file and claimed by nobody: out of estimates.
    Unverified,
}

/// A place in a site's feed.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct FeedCursor {
    /// Number of the last item, 0 before the first.
    pub number: u64,
    /// The feed's hash there, [`Hash::ZERO`] before the first.
    pub hash: Hash,
}

/// A page of a feed.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum FeedPage {
    /// The items after the cursor.
    Items {
        /// In order.
        items: Vec<Fed>,
        /// Where the feed ends.
        end: FeedCursor,
    },
    /// The cursor is not of this feed: pull from 0.
    Restarted,
}

/// What the station knows of a stream.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct StreamRow {
    /// Which.
    pub stream: StreamId,
    /// Whether it may enter estimates.
    pub standing: Standing,
    /// The ends of its branches.
    pub heads: Vec<Head>,
    /// Entries held, holes not counted.
    pub entries: u64,
    /// Holes.
    pub holes: u64,
    /// Entries that this version cannot read.
    pub undecodable: u64,
    /// The highest number that the phone has said it has, by `hello` or push; missing = this − `heads`' highest.
    pub announced: u64,
    /// When something first came.
    pub first_received: UnixMs,
    /// When something last came, or the phone last said hello.
    pub last_seen: UnixMs,
}

/// What the station knows of a site without folding.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct SiteRow {
    /// Which.
    pub site: SiteId,
    /// Whose entries made it known.
    pub author: DeviceId,
    /// Since when.
    pub since: UnixMs,
    /// Where its feed ends.
    pub end: FeedCursor,
}

/// An item of a chain as it is kept.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Kept {
    /// An entry.
    Entry(Link),
    /// A hole.
    Hole {
        /// Its place.
        seq: Seq,
        /// Its hash.
        hash: Hash,
        /// The hash before it.
        previous: Hash,
        /// Why.
        reason: String,
    },
}

/// Streams, entries and feeds.
pub trait JournalStore {
    /// Keeps a push. Items held already are passed over; an entry that fits a hole fills it; an entry beside another of
    /// the same number begins a branch. Entries about a site enter its feed in the same transaction. A site first heard of
    /// makes the offering device (of a file: the stream's device) a member of it.
    ///
    /// # Errors
    /// Where the store cannot.
    fn append(&self, push: &Push) -> Result<Appended, StoreError>;

    /// What is held of a stream. The first of `marks` (the phone's end, then earlier places, latest first) that is held is
    /// `common`, and its branch the one in question; of several such branches, or where no mark is held, the longest.
    ///
    /// # Errors
    /// Where the store cannot.
    fn held(&self, stream: StreamId, marks: &[Head]) -> Result<Held, StoreError>;

    /// Whether this token may push the stream: it holds the claim, nobody does, or it is linked with the one that does.
    /// No token may push a stream of the station's own device.
    ///
    /// # Errors
    /// Where the store cannot.
    fn may_push(&self, stream: StreamId, device: DeviceId, token: SecretHash) -> Result<bool, StoreError>;

    /// Notes that a phone said hello with this head of a stream that it may push. A stream of that very device which
    /// only a file brought, and which nobody has claimed, is then claimed: where all of it is here, no push would.
    ///
    /// # Errors
    /// Where the store cannot.
    fn announce(&self, stream: StreamId, head: Head, by: Offerer, at: UnixMs) -> Result<(), StoreError>;

    /// Places of a stream of which there is a placeholder only, in order; at most `most`.
    ///
    /// # Errors
    /// Where the store cannot.
    fn holes(&self, stream: StreamId, most: usize) -> Result<Vec<HoleHeld>, StoreError>;

    /// The feed of a site after a cursor: at most `most` items and about `most_bytes` bytes, at least one item if there is any.
    ///
    /// # Errors
    /// Where the store cannot.
    fn feed_after(
        &self,
        site: SiteId,
        cursor: FeedCursor,
        most: usize,
        most_bytes: usize,
    ) -> Result<FeedPage, StoreError>;

    /// The items of a site's feed after a number, whatever its hash: for folding and checking.
    ///
    /// # Errors
    /// Where the store cannot.
    fn feed_from(&self, site: SiteId, after: u64, most: usize) -> Result<Vec<Fed>, StoreError>;

    /// Where the feed of a site ends; number 0 where there is none.
    ///
    /// # Errors
    /// Where the store cannot.
    fn feed_end(&self, site: SiteId) -> Result<FeedCursor, StoreError>;

    /// The streams that may not enter estimates yet, in order.
    ///
    /// # Errors
    /// Where the store cannot.
    fn unverified_streams(&self) -> Result<Vec<StreamId>, StoreError>;

    /// Every stream, in order.
    ///
    /// # Errors
    /// Where the store cannot.
    fn streams(&self) -> Result<Vec<StreamRow>, StoreError>;

    /// Every site with entries, in order.
    ///
    /// # Errors
    /// Where the store cannot.
    fn sites(&self) -> Result<Vec<SiteRow>, StoreError>;

    /// What is kept of a stream in the order of (seq, hash), after such a place; at most `most`.
    ///
    /// # Errors
    /// Where the store cannot.
    fn kept(&self, stream: StreamId, after: Head, most: usize) -> Result<Vec<Kept>, StoreError>;

    /// Lets an unclaimed stream into estimates. `false` if there is no such stream.
    ///
    /// # Errors
    /// Where the store cannot.
    fn confirm(&self, stream: StreamId) -> Result<bool, StoreError>;

    /// Lets the tokens of `by` push the streams of `of`: "this phone replaces that one".
    ///
    /// # Errors
    /// Where the store cannot.
    fn link(&self, of: DeviceId, by: DeviceId, at: UnixMs) -> Result<(), StoreError>;
}
