//! What the engine is told of the handset's database when it starts.

use super::job::{Job, JobId};
use crate::wire::hello::FeedCursor;
use crate::wire::photo::PhotoState;
use crate::wire::push::HoleReason;
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::{DeviceId, PhotoId};

/// The journal as far as the engine asks about it.
pub trait Journal {
    /// The hash of the entry at `seq` of the stream, `None` where the handset has none there.
    /// Never asked about sequence number 0.
    fn hash_at(&self, stream: StreamId, seq: Seq) -> Option<Hash>;
}

/// What the handset's database holds.
#[derive(Debug, Clone)]
pub struct Known {
    /// Version of the app, as it is sent in hello.
    pub app: String,
    /// The phone.
    pub device: DeviceId,
    /// Whether it has joined a station.
    pub joined: Joined,
    /// Every stream of its own, sealed ones too.
    pub streams: Vec<KnownStream>,
    /// How far each site's feed has been stored.
    pub cursors: Vec<FeedCursor>,
    /// The photos that the station has not verified and backed up.
    pub photos: Vec<KnownPhoto>,
    /// The texts that the station has not.
    pub texts: Vec<KnownText>,
    /// Jobs handed out whose outcome has not been stored.
    pub in_flight: Vec<Job>,
    /// The highest job id ever given.
    pub last_job: JobId,
}

/// Whether the phone has joined a station.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Joined {
    /// It has a token that the station knew when last asked.
    Yes,
    /// It has not, or must again.
    No,
}

/// A stream on the phone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownStream {
    /// Which.
    pub id: StreamId,
    /// Its end.
    pub head: Head,
    /// The last entry that the station has acknowledged.
    pub acknowledged: Head,
    /// Whether entries are still added.
    pub life: Life,
    /// Whether the station refuses it.
    pub parked: Parking,
    /// Entries at or before `acknowledged` of which the station has a placeholder only.
    pub holes: Vec<Hole>,
    /// Number of the last verdict stored, 0 for none.
    pub verdicts: u64,
}

/// Whether entries are added to a stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Life {
    /// They are.
    Current,
    /// No more; what it holds is still sent.
    Sealed,
}

/// Whether the station takes a stream.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Parking {
    /// As far as is known.
    Free,
    /// It said that the stream belongs to another phone. Tried again when a person asks for a sync.
    NotYours,
}

/// An entry that stays on the phone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Hole {
    /// Its place.
    pub seq: Seq,
    /// Why.
    pub reason: HoleReason,
    /// The version of the app that offered it last. Another version offers it again.
    pub offered_by: String,
}

/// A photo on the phone.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct KnownPhoto {
    /// Which.
    pub id: PhotoId,
    /// The stream of the entry that names it.
    pub stream: StreamId,
    /// The place of that entry.
    pub seq: Seq,
    /// Its length.
    pub bytes: u64,
    /// What the station is known to have of it.
    pub state: PhotoState,
}

/// The text of a note on the phone.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct KnownText {
    /// The salted hash that names it.
    pub hash: Hash,
    /// The stream of the entry that names it.
    pub stream: StreamId,
    /// The place of that entry.
    pub seq: Seq,
}

impl KnownPhoto {
    /// How many parts it has.
    pub fn parts(&self) -> u32 {
        u32::try_from(crate::wire::photo::parts_of(self.bytes)).unwrap_or(u32::MAX)
    }
}
