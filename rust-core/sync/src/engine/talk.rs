//! What goes into the engine and what comes out, beside jobs.

use super::job::{JobId, Work};
use super::known::{KnownPhoto, KnownText};
use crate::framing::FeedPage;
use crate::wire::enrol::Enrolled;
use crate::wire::photo::PhotoState;
use crate::wire::problem::ProblemType;
use crate::wire::push::HoleReason;
use crate::wire::verdict::Verdict;
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::{DeviceId, PhotoId, SiteId};

/// What the engine is told.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Input {
    /// A sync is wanted: a person asked, or there is a network again. Ends waiting, but for what the station asked for.
    SyncWanted {
        /// Who asks.
        by: Asker,
        /// What the network costs.
        metered: Metered,
    },
    /// There is no network.
    NetworkLost,
    /// An invitation was typed or scanned.
    Enrol {
        /// The code as typed.
        code: String,
        /// SHA-256 of the token that the shell made and keeps.
        token_hash: Hash,
    },
    /// An entry was stored.
    LocalCommit {
        /// In which stream.
        stream: StreamId,
        /// Its end behind it.
        head: Head,
    },
    /// A stream was begun, after [`Event::SealAndStartEpoch`] or for a reason of the handset's own; others are sealed.
    EpochStarted {
        /// Which.
        stream: StreamId,
    },
    /// A photo was stored.
    PhotoAdded(KnownPhoto),
    /// The file of a photo is gone.
    PhotoGone(PhotoId),
    /// A text was stored, or is to be sent again.
    TextAdded(KnownText),
    /// A text was erased before it was sent.
    TextGone(Hash),
    /// A job ended.
    Outcome {
        /// Which.
        job: JobId,
        /// How.
        outcome: Outcome,
    },
    /// The body of a job could not be made, so it was not handed out.
    NotMade {
        /// Which.
        job: JobId,
        /// Why.
        why: NotMade,
    },
    /// Time has passed.
    Timer,
}

/// Who asks for a sync.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Asker {
    /// A person.
    Person,
    /// The system, because there is a network.
    Network,
}

/// What a network costs.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Metered {
    /// By volume: photos wait unless a person asks.
    Yes,
    /// Nothing by volume.
    No,
}

/// How a job ended.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Outcome {
    /// With an answer, the station's or not.
    Answered(Response),
    /// Without one.
    Failed,
}

/// An answer as it came.
#[derive(Debug, Clone, PartialEq, Eq, Default)]
pub struct Response {
    /// The status.
    pub status: u16,
    /// `Content-Type`, empty where there was none.
    pub content_type: String,
    /// `Retry-After`, as it stood there.
    pub retry_after: Option<String>,
    /// [`crate::wire::content::PHOTO_HEADER`].
    pub photo: Option<String>,
    /// The body; at most 2 MiB need to be kept.
    pub body: Vec<u8>,
}

/// Why a body could not be made.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum NotMade {
    /// The bytes of this entry do not match its hash, or cannot be put into a batch.
    Damaged(Seq),
    /// Not readable at the moment.
    TryLater,
}

/// What the handset stores. All events between two inputs are stored in one transaction, together with the outcome
/// and the end of the job.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Event {
    /// Joined.
    Enrolled(Enrolled),
    /// The code was not taken: nothing more is tried with it.
    EnrolRefused(ProblemType),
    /// The station holds the stream up to here.
    Acknowledged {
        /// Which.
        stream: StreamId,
        /// Up to where.
        head: Head,
    },
    /// The station holds less than it said before: it was restored. Holes behind `head` are void.
    AcknowledgedMovedBack {
        /// Which.
        stream: StreamId,
        /// Up to where.
        head: Head,
    },
    /// This phone was restored or cloned: seal the stream, begin another, and say so by [`Input::EpochStarted`].
    /// Nothing is sent before that.
    SealAndStartEpoch {
        /// Which.
        stream: StreamId,
        /// How that is known.
        why: SealReason,
    },
    /// The station has a placeholder for this entry, which stays on the phone.
    HoleMade {
        /// In which stream.
        stream: StreamId,
        /// Which entry.
        seq: Seq,
        /// Why.
        reason: HoleReason,
    },
    /// The station says that it has a placeholder only for this entry, and this phone did not know. No version of the
    /// app has offered it since.
    HoleFound {
        /// In which stream.
        stream: StreamId,
        /// Which entry.
        seq: Seq,
        /// Why.
        reason: HoleReason,
    },
    /// The station has taken the entry into its hole.
    HoleFilled {
        /// In which stream.
        stream: StreamId,
        /// Which entry.
        seq: Seq,
    },
    /// This version has offered the entry for its hole, in vain.
    HoleOffered {
        /// In which stream.
        stream: StreamId,
        /// Which entry.
        seq: Seq,
    },
    /// The station says that the stream belongs to another phone.
    Parked {
        /// Which.
        stream: StreamId,
    },
    /// A parked stream has been taken after all.
    Unparked {
        /// Which.
        stream: StreamId,
    },
    /// Entries of others, and the cursor behind them.
    FeedPage(FeedPage),
    /// The feed began again: the cursor is at 0. Entries that are here already come again.
    FeedRestarted {
        /// Of which site.
        site: SiteId,
    },
    /// The sites that this phone is a member of.
    Memberships(Vec<SiteId>),
    /// Verdicts on own entries.
    Verdicts {
        /// Of which stream.
        stream: StreamId,
        /// The verdicts, ascending by number.
        verdicts: Vec<Verdict>,
    },
    /// The station has these parts of a photo.
    PhotoState {
        /// Which.
        photo: PhotoId,
        /// What it has.
        state: PhotoState,
    },
    /// The photo did not match and all parts were dropped: they are sent again.
    SendPhotoAgain {
        /// Which.
        photo: PhotoId,
    },
    /// The station lacks these texts: add those again that are still here, by [`Input::TextAdded`].
    TextsWanted(Vec<Hash>),
    /// The station has the text.
    TextStored {
        /// Which.
        hash: Hash,
    },
    /// By how many milliseconds the station's clock is ahead of the phone's.
    StationClock {
        /// Negative where it is behind.
        ahead_ms: i64,
    },
    /// The device of the station's own stream: what it erases is erased here too.
    StationIs(DeviceId),
    /// The phone must join (again). Counting goes on.
    NeedsJoining,
    /// The station asks for a newer app. Counting goes on.
    UpdateNeeded,
    /// The station did not do this; it is tried again with the next sync.
    SetAside {
        /// What.
        work: Work,
        /// Why.
        kind: ProblemType,
    },
    /// The outcome of this job is no longer waited for.
    JobForgotten(JobId),
    /// Nothing is tried before this time since boot, in milliseconds.
    WaitingUntil {
        /// Time since boot.
        up_ms: u64,
        /// Why.
        why: WaitReason,
    },
    /// The sync has ended and everything is at the station.
    AllSent,
    /// The sync has ended and something is left.
    Rested(Unsent),
}

/// How it is known that a phone was restored or cloned.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum SealReason {
    /// The station holds more than the phone.
    HeldMore,
    /// The station holds an entry that the phone does not know.
    HeldUnknown,
}

/// Why nothing is tried.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum WaitReason {
    /// No answer, or none of the station's.
    Network,
    /// The station has trouble.
    Station,
    /// The station asked for it.
    Asked,
}

/// What is left to send.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Default)]
pub struct Unsent {
    /// Entries behind what is acknowledged.
    pub entries: u64,
    /// Entries in holes.
    pub holes: u64,
    /// Photos not verified.
    pub photos: u64,
    /// Texts.
    pub texts: u64,
}
