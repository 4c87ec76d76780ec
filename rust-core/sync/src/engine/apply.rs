//! What follows from a success.

use super::job::{JobId, Work};
use super::known::{Hole, Joined, Journal, Parking};
use super::outcome::{Done, Said, said};
use super::state::{Hold, Item};
use super::talk::{Event, NotMade, Outcome, WaitReason};
use super::{Engine, Wait};
use crate::framing::FeedPage;
use crate::framing::MOST_ENTRIES;
use crate::wire::photo::PhotoState;
use crate::wire::push::{HoleReason, Pushed};
use crate::wire::verdict::VerdictPage;
use survey::chain::{Head, Seq, StreamId};
use survey::defect::{Defect, planted};
use survey::ids::PhotoId;

impl Engine {
    pub(super) fn ended(&mut self, job: JobId, outcome: &Outcome, journal: &impl Journal) {
        let Some(pending) = self.pending.remove(&job) else { return };
        self.jobs.retain(|queued| queued.id != job);
        let work = pending.work;
        match said(&work, outcome) {
            Said::Done(done) => self.done(work, done, journal),
            Said::Problem(problem) => self.refused(work, &problem, journal),
            Said::Trouble(asked) => self.stumbled(work, WaitReason::Station, asked),
            Said::Nothing => self.stumbled(work, WaitReason::Network, None),
        }
    }

    pub(super) fn not_made(&mut self, job: JobId, why: NotMade) {
        let Some(pending) = self.pending.remove(&job) else { return };
        self.jobs.retain(|queued| queued.id != job);
        match (why, pending.work) {
            (NotMade::Damaged(seq), Work::Push { stream, .. }) => {
                if let Some(stream) = self.stock.streams.get_mut(&stream) {
                    stream.bad.insert(seq, HoleReason::Damaged);
                }
            }
            (NotMade::Damaged(_), work) => self.holds.entry(Item::of(&work)).or_default().rests = true,
            (NotMade::TryLater, work) => self.hold(Item::of(&work)),
        }
    }

    fn done(&mut self, work: Work, done: Done, journal: &impl Journal) {
        self.wait = Wait::default();
        let item = Item::of(&work);
        let before = self.holds.remove(&item).unwrap_or_default();
        if before.restarts > 0 {
            self.holds.insert(item, Hold { restarts: before.restarts, ..Hold::default() });
        }
        let moved = match (done, work) {
            (Done::Enrolled(enrolled), _) if enrolled.device == self.device => {
                self.joined = Joined::Yes;
                self.enrol = None;
                self.stock.streams.values_mut().for_each(|stream| stream.tried_again = true);
                self.events.push_back(Event::Enrolled(enrolled));
                true
            }
            (Done::Hello(answer), _) => {
                self.greeted(&answer, journal);
                true
            }
            (Done::Pushed(pushed), Work::Push { stream, first, .. }) => self.pushed(stream, first, &pushed, journal),
            (Done::Pushed(pushed), Work::Hole { stream, seq, reason }) => {
                let moved = self.pushed(stream, seq, &pushed, journal);
                self.hole_made(stream, seq, reason);
                moved
            }
            (Done::Pushed(_), Work::Fill { stream, seq }) => {
                self.hole_filled(stream, seq);
                true
            }
            (Done::Feed(page), _) => self.page(page),
            (Done::Verdicts(page), Work::Verdicts { stream, .. }) => self.verdicts(stream, page),
            (Done::Text(stored), _) => {
                self.stock.texts.remove(&stored.hash);
                self.events.push_back(Event::TextStored { hash: stored.hash });
                true
            }
            (Done::Photo(state), Work::Part { photo, n }) => {
                let has = state.verified || state.parts.contains(&n);
                self.photo(photo, state);
                has
            }
            (Done::Photo(state), Work::PhotoState { photo }) => {
                self.asked(photo);
                self.photo(photo, state);
                true
            }
            // The shape follows from the work, so only an enrolment of another device comes here.
            (Done::Enrolled(_) | Done::Pushed(_) | Done::Verdicts(_) | Done::Photo(_), _) => {
                return self.stumbled(work, WaitReason::Network, None);
            }
        };
        if !moved {
            self.holds.insert(item, before);
            self.hold(item);
        }
    }

    /// Takes the answer to a batch that begins with `first`, and says whether the stream has come on.
    fn pushed(&mut self, id: StreamId, first: Seq, pushed: &Pushed, journal: &impl Journal) -> bool {
        let Some(before) = self.stock.streams.get(&id).map(|stream| stream.acknowledged) else { return true };
        let known = self.compare(id, &[pushed.held], &pushed.branches, journal);
        // Where all that the station names is the other branch's, its success still says that it has the first.
        let at_least = || journal.hash_at(id, first).map(|hash| Head { seq: first, hash });
        if let Some(head) = known.filter(|known| known.seq >= first || known == &pushed.held).or_else(at_least) {
            self.acknowledge(id, head);
        }
        let Some(stream) = self.stock.streams.get_mut(&id) else { return true };
        stream.most = (stream.most * 2).min(MOST_ENTRIES);
        if stream.parked == Parking::NotYours {
            stream.parked = Parking::Free;
            self.events.push_back(Event::Unparked { stream: id });
        }
        stream.acknowledged != before
    }

    fn hole_made(&mut self, id: StreamId, seq: Seq, reason: HoleReason) {
        let Some(stream) = self.stock.streams.get_mut(&id).filter(|stream| stream.acknowledged.seq >= seq) else {
            return;
        };
        stream.holes.insert(seq, Hole { seq, reason, offered_by: self.app.clone() });
        self.events.push_back(Event::HoleMade { stream: id, seq, reason });
    }

    fn hole_filled(&mut self, id: StreamId, seq: Seq) {
        if let Some(stream) = self.stock.streams.get_mut(&id) {
            stream.holes.remove(&seq);
        }
        self.events.push_back(Event::HoleFilled { stream: id, seq });
    }

    fn page(&mut self, page: FeedPage) -> bool {
        let Some(site) = self.stock.sites.get_mut(&page.before.site) else { return true };
        if site.cursor != page.before && !planted(Defect::FeedCursorUnchecked) {
            return true;
        }
        site.cursor = page.after;
        site.more = page.more;
        self.events.push_back(Event::FeedPage(page));
        true
    }

    fn verdicts(&mut self, id: StreamId, page: VerdictPage) -> bool {
        let Some(stream) = self.stock.streams.get_mut(&id) else { return true };
        stream.verdicts = page.verdicts.last().map_or(stream.verdicts, |verdict| verdict.number);
        if !page.more || page.verdicts.is_empty() {
            stream.verdicts_there = stream.verdicts;
        }
        if !page.verdicts.is_empty() {
            self.events.push_back(Event::Verdicts { stream: id, verdicts: page.verdicts });
        }
        true
    }

    fn asked(&mut self, photo: PhotoId) {
        if let Some(session) = &mut self.session {
            session.asked.insert(photo);
        }
    }

    fn photo(&mut self, id: PhotoId, state: PhotoState) {
        let Some(photo) = self.stock.photos.get_mut(&id) else { return };
        let fresh = state.verified && !photo.state.verified;
        photo.state = state.clone();
        if state.verified && state.backed_up.is_some() {
            self.stock.photos.remove(&id);
        }
        if fresh {
            self.asked(id);
        }
        self.events.push_back(Event::PhotoState { photo: id, state });
    }
}
