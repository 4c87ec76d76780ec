//! Makes entries of one stream, one behind the other.

use crate::chain::{Head, Link, StreamId};
use crate::entry::{Act, Entry, EntryError, Scope};
use crate::ids::{EntryId, RandomOctets};
use crate::time::{HybridClock, HybridTime, Now};

/// The end of a stream and its clock: all that is needed to make the next entry.
#[derive(Debug, Clone, Copy)]
pub struct Recorder {
    stream: StreamId,
    head: Head,
    clock: HybridClock,
}

/// What is to be recorded.
#[derive(Debug, Clone, PartialEq)]
pub struct Deed {
    /// Whom it concerns.
    pub scope: Scope,
    /// The entries whose value it saw and takes the place of.
    pub replaces: Vec<EntryId>,
    /// What was done.
    pub act: Act,
}

impl Recorder {
    /// Goes on behind `head`; `last` is the highest hybrid time that the device has seen.
    pub fn after(stream: StreamId, head: Head, last: Option<HybridTime>) -> Self {
        Self { stream, head, clock: HybridClock::after(last) }
    }

    /// Makes the next entry. On an error nothing has changed.
    ///
    /// # Errors
    /// The entry would be too large or too deep.
    pub fn record(&mut self, deed: Deed, now: Now, random: RandomOctets) -> Result<(Entry, Link), EntryError> {
        let mut clock = self.clock;
        let entry = Entry {
            id: EntryId::timed(now.wall.0, random),
            hybrid: clock.tick(now.wall),
            wall: now.wall,
            offset: now.offset,
            since_boot: now.since_boot,
            scope: deed.scope,
            replaces: deed.replaces,
            act: deed.act,
        };
        let link = self.head.extend(self.stream, entry.encode()?);
        self.clock = clock;
        self.head = link.head();
        Ok((entry, link))
    }

    /// The clock, for merging times received from elsewhere.
    pub const fn clock(&mut self) -> &mut HybridClock {
        &mut self.clock
    }

    /// The end of the stream.
    pub const fn head(&self) -> Head {
        self.head
    }

    /// The stream.
    pub const fn stream(&self) -> StreamId {
        self.stream
    }
}
