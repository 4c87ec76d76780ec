//! Hello and its answer: finding out what both sides hold, and whether this phone was restored or cloned.

use super::known::{Hole, Journal, Life};
use super::state::{Site, Stock, Stream};
use super::talk::{Event, SealReason};
use super::{Engine, Session};
use crate::wire::hello::{FeedCursor, Hello, HelloAnswer, HoleHeld, MOST_STREAMS, StreamEnd, mark_seqs};
use survey::chain::{Hash, Head, Seq, StreamId};

/// What the phone holds, as it is said to the station.
pub(super) fn hello(app: &str, stock: &Stock, journal: &impl Journal) -> Hello {
    // An empty current stream too: a restored phone may have forgotten everything of it.
    let said = |stream: &Stream| stream.head.seq.0 > 0 || stream.life == Life::Current;
    let mut streams: Vec<_> = stock.streams.iter().filter(|(_, stream)| said(stream)).collect();
    streams.sort_by_key(|(_, stream)| stream.acknowledged.seq >= stream.head.seq);
    let ends = streams.into_iter().take(MOST_STREAMS).map(|(&id, stream)| {
        let mut seqs: Vec<Seq> = mark_seqs(stream.head.seq).collect();
        seqs.extend(Some(stream.acknowledged.seq).filter(|seq| seq.0 > 0 && *seq < stream.head.seq));
        seqs.sort_unstable_by(|a, b| b.cmp(a));
        seqs.dedup();
        let marks = seqs.into_iter().filter_map(|seq| Some(Head { seq, hash: journal.hash_at(id, seq)? }));
        let Head { seq, hash } = stream.head;
        StreamEnd { device: id.device, epoch: id.epoch, seq, hash, marks: marks.collect() }
    });
    Hello { app: app.into(), streams: ends.collect(), cursors: stock.sites.values().map(|site| site.cursor).collect() }
}

impl Engine {
    pub(super) fn greeted(&mut self, answer: &HelloAnswer, journal: &impl Journal) {
        if let Some(now) = self.now {
            self.events.push_back(Event::StationClock { ahead_ms: answer.station_ms.0.saturating_sub(now.wall.0) });
        }
        if let Some(station) = answer.station {
            self.events.push_back(Event::StationIs(station));
        }
        self.memberships(&answer.sites);
        let wanted = answer.wanted.iter().copied().filter(|hash| !self.stock.texts.contains_key(hash));
        let wanted: Vec<Hash> = wanted.collect();
        if !wanted.is_empty() {
            self.events.push_back(Event::TextsWanted(wanted));
        }
        for held in &answer.streams {
            let id = held.stream();
            let Some(stream) = self.stock.streams.get_mut(&id) else { continue };
            stream.verdicts_there = held.verdicts;
            if stream.verdicts > held.verdicts {
                stream.verdicts = 0;
            }
            let known = self.compare(id, &[held.head(), held.common], &held.branches, journal);
            self.acknowledge(id, known.unwrap_or(Head::START));
            self.holes_there(id, &held.holes, journal);
        }
        if let Some(session) = &mut self.session {
            session.greeted = true;
        }
    }

    /// The latest of these ends that the phone knows. One that it does not know, other than in a sealed stream, means
    /// that the phone was restored or cloned.
    pub(super) fn compare(
        &mut self,
        id: StreamId,
        ends: &[Head],
        branches: &[Head],
        journal: &impl Journal,
    ) -> Option<Head> {
        let stream = self.stock.streams.get(&id)?;
        let ours = |end: &Head| knows(id, stream.head, *end, journal);
        let all = || ends.iter().chain(branches).copied();
        let known = all().filter(ours).max_by_key(|end| end.seq);
        let unknown = all().find(|end| !ours(end));
        if let Some(unknown) = unknown.filter(|_| stream.life == Life::Current) {
            let more = unknown.seq > stream.head.seq;
            let why = if more { SealReason::HeldMore } else { SealReason::HeldUnknown };
            if let Some(stream) = self.stock.streams.get_mut(&id) {
                stream.life = Life::Sealed;
            }
            self.sealing = Some(id);
            self.events.push_back(Event::SealAndStartEpoch { stream: id, why });
        }
        known
    }

    /// Notes placeholders that the station holds for entries that are here and that this phone does not know of: the
    /// answer to one was lost, or the phone was restored. They are offered as by another version.
    fn holes_there(&mut self, id: StreamId, holes: &[HoleHeld], journal: &impl Journal) {
        let Some(stream) = self.stock.streams.get_mut(&id) else { return };
        for hole in holes {
            let (seq, reason) = (hole.seq, hole.reason);
            let ours = seq.0 > 0 && seq <= stream.acknowledged.seq && journal.hash_at(id, seq) == Some(hole.hash);
            if ours && !stream.holes.contains_key(&seq) {
                stream.holes.insert(seq, Hole { seq, reason, offered_by: String::new() });
                self.events.push_back(Event::HoleFound { stream: id, seq, reason });
            }
        }
    }

    pub(super) fn acknowledge(&mut self, id: StreamId, head: Head) {
        let Some(stream) = self.stock.streams.get_mut(&id) else { return };
        let before = stream.acknowledged;
        if before == head {
            return;
        }
        stream.acknowledge(head);
        let back = head.seq <= before.seq;
        self.events.push_back(if back {
            Event::AcknowledgedMovedBack { stream: id, head }
        } else {
            Event::Acknowledged { stream: id, head }
        });
    }

    pub(super) fn greet_again(&mut self) {
        if let Some(Session { greeted, .. }) = &mut self.session {
            *greeted = false;
        }
    }

    fn memberships(&mut self, there: &[FeedCursor]) {
        self.stock.sites.values_mut().for_each(|site| site.more = false);
        self.events.push_back(Event::Memberships(there.iter().map(|cursor| cursor.site).collect()));
        for end in there {
            let begun = || Site { cursor: FeedCursor::start(end.site), more: false };
            let site = self.stock.sites.entry(end.site).or_insert_with(begun);
            let same_place = end.number == site.cursor.number;
            if end.number < site.cursor.number || (same_place && end.feed_hash != site.cursor.feed_hash) {
                site.cursor = FeedCursor::start(end.site);
                self.events.push_back(Event::FeedRestarted { site: end.site });
            }
            site.more = *end != site.cursor;
        }
    }
}

fn knows(id: StreamId, head: Head, end: Head, journal: &impl Journal) -> bool {
    match end.seq {
        Seq(0) => end.hash == Hash::ZERO,
        seq => seq <= head.seq && journal.hash_at(id, seq) == Some(end.hash),
    }
}
