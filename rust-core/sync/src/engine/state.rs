//! The engine's memory.

use super::job::{Class, JobId, Work};
use super::known::{Hole, Known, KnownPhoto, KnownStream, KnownText, Life, Parking};
use super::talk::{Asker, Metered, Unsent};
use crate::framing::MOST_ENTRIES;
use crate::wire::hello::FeedCursor;
use crate::wire::push::HoleReason;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Hash, Head, Seq, StreamId};
use survey::ids::{PhotoId, SiteId};

/// A stream, and how it is being sent.
pub(super) struct Stream {
    pub(super) head: Head,
    pub(super) acknowledged: Head,
    pub(super) life: Life,
    pub(super) parked: Parking,
    /// Whether a parked stream is tried all the same.
    pub(super) tried_again: bool,
    pub(super) holes: BTreeMap<Seq, Hole>,
    pub(super) verdicts: u64,
    /// Number of the last verdict at the station, as of hello.
    pub(super) verdicts_there: u64,
    /// How many entries go into the next batch at most.
    pub(super) most: usize,
    /// Entries beyond `acknowledged` that can only go as placeholders.
    pub(super) bad: BTreeMap<Seq, HoleReason>,
}

/// A site's feed.
pub(super) struct Site {
    pub(super) cursor: FeedCursor,
    /// Whether the station has more, as far as is known.
    pub(super) more: bool,
}

/// From hello to the end of what there is to do.
pub(super) struct Session {
    pub(super) by: Asker,
    pub(super) metered: Metered,
    pub(super) greeted: bool,
    /// Photos whose back-up has been asked about.
    pub(super) asked: BTreeSet<PhotoId>,
}

/// A job whose outcome is waited for.
pub(super) struct Pending {
    pub(super) work: Work,
    pub(super) restored: bool,
    /// Time since boot from which it is no longer waited for; `None` until the engine knows the time.
    pub(super) deadline: Option<u64>,
}

/// What can fail by itself while the rest goes on.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord)]
pub(super) enum Item {
    /// Enrolment and hello: nothing goes on without them.
    Whole,
    Stream(StreamId),
    Fill(StreamId, Seq),
    Verdicts(StreamId),
    Site(SiteId),
    Text(Hash),
    Photo(PhotoId),
}

/// Why an item waits.
#[derive(Debug, Clone, Copy, Default)]
pub(super) struct Hold {
    pub(super) failures: u32,
    /// How often a feed or a photo had to begin again in this sync.
    pub(super) restarts: u32,
    /// Time since boot.
    pub(super) until: Option<u64>,
    /// Until the next sync.
    pub(super) rests: bool,
}

/// Everything that can be sent.
#[derive(Default)]
pub(super) struct Stock {
    pub(super) streams: BTreeMap<StreamId, Stream>,
    pub(super) sites: BTreeMap<SiteId, Site>,
    pub(super) photos: BTreeMap<PhotoId, KnownPhoto>,
    pub(super) texts: BTreeMap<Hash, KnownText>,
}

impl Item {
    pub(super) const fn of(work: &Work) -> Self {
        match *work {
            Work::Enrol | Work::Hello => Self::Whole,
            Work::Push { stream, .. } | Work::Hole { stream, .. } => Self::Stream(stream),
            Work::Fill { stream, seq } => Self::Fill(stream, seq),
            Work::Feed { after } => Self::Site(after.site),
            Work::Verdicts { stream, .. } => Self::Verdicts(stream),
            Work::Text { hash } => Self::Text(hash),
            Work::Part { photo, .. } | Work::PhotoState { photo } => Self::Photo(photo),
        }
    }
}

impl Stream {
    pub(super) fn begun() -> Self {
        Self {
            head: Head::START,
            acknowledged: Head::START,
            life: Life::Current,
            parked: Parking::Free,
            tried_again: false,
            holes: BTreeMap::new(),
            verdicts: 0,
            verdicts_there: 0,
            most: MOST_ENTRIES,
            bad: BTreeMap::new(),
        }
    }

    /// Moves the end of what is acknowledged, and with it what is said of entries beyond or before it.
    pub(super) fn acknowledge(&mut self, head: Head) {
        self.acknowledged = head;
        self.holes.retain(|seq, _| *seq <= head.seq);
        self.bad.retain(|seq, _| *seq > head.seq);
    }

    /// Whether the station has this entry itself.
    pub(super) fn has(&self, seq: Seq) -> bool {
        seq <= self.acknowledged.seq && !self.holes.contains_key(&seq)
    }

    /// What to send next.
    pub(super) fn next(&self, stream: StreamId) -> Option<Work> {
        if (self.parked == Parking::NotYours && !self.tried_again) || self.acknowledged.seq >= self.head.seq {
            return None;
        }
        let first = Seq(self.acknowledged.seq.0 + 1);
        if let Some(&reason) = self.bad.get(&first) {
            return Some(Work::Hole { stream, seq: first, reason });
        }
        let end = self.bad.keys().next().map_or(self.head.seq.0, |bad| bad.0 - 1).min(self.head.seq.0);
        let most = usize::try_from(end - self.acknowledged.seq.0).unwrap_or(usize::MAX).min(self.most);
        Some(Work::Push { stream, first, most })
    }
}

impl From<KnownStream> for Stream {
    fn from(known: KnownStream) -> Self {
        Self {
            head: known.head,
            acknowledged: known.acknowledged,
            life: known.life,
            parked: known.parked,
            holes: known.holes.into_iter().map(|hole| (hole.seq, hole)).collect(),
            verdicts: known.verdicts,
            ..Self::begun()
        }
    }
}

impl Stock {
    pub(super) fn of(known: &Known) -> Self {
        Self {
            streams: known.streams.iter().cloned().map(|stream| (stream.id, stream.into())).collect(),
            sites: known.cursors.iter().map(|&cursor| (cursor.site, Site { cursor, more: false })).collect(),
            photos: known.photos.iter().cloned().map(|photo| (photo.id, photo)).collect(),
            texts: known.texts.iter().map(|text| (text.hash, *text)).collect(),
        }
    }

    /// Whether the station has the entry at this place.
    pub(super) fn has(&self, stream: StreamId, seq: Seq) -> bool {
        self.streams.get(&stream).is_some_and(|stream| stream.has(seq))
    }

    pub(super) fn unsent(&self) -> Unsent {
        let holes = self.streams.values().map(|stream| stream.holes.len() as u64).sum();
        let behind = |stream: &Stream| stream.head.seq.0.saturating_sub(stream.acknowledged.seq.0);
        Unsent {
            entries: self.streams.values().map(behind).sum(),
            holes,
            photos: self.photos.values().filter(|photo| !photo.state.verified).count() as u64,
            texts: self.texts.len() as u64,
        }
    }
}

impl Pending {
    pub(super) const fn restored(work: Work) -> Self {
        Self { work, restored: true, deadline: None }
    }

    pub(super) const fn wait_ms(class: Class) -> u64 {
        match class {
            Class::Small => 5 * 60 * 1000,
            Class::Bulk => 24 * 60 * 60 * 1000,
        }
    }
}

/// Jobs by id.
pub(super) type PendingJobs = BTreeMap<JobId, Pending>;
