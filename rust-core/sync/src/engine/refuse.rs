//! What follows from a problem, from trouble, and from no answer.

use super::Engine;
use super::job::Work;
use super::known::{Joined, Journal, Parking};
use super::outcome::problem_wait;
use super::state::Item;
use super::talk::{Event, WaitReason};
use crate::wire::hello::FeedCursor;
use crate::wire::photo::PhotoState;
use crate::wire::problem::{Problem, ProblemType};
use crate::wire::push::HoleReason;
use survey::chain::{Seq, StreamId};
use survey::ids::{PhotoId, SiteId};

/// After so many failures in a row an item waits by itself, so that others come before it.
const PATIENCE: u32 = 2;
/// After so many whole photos that did not match, the photo rests.
const PHOTO_TRIES: u32 = 3;

impl Engine {
    pub(super) fn refused(&mut self, work: Work, problem: &Problem, journal: &impl Journal) {
        match (problem.kind.clone(), work) {
            (ProblemType::SlowDown, _) => self.stumbled(work, WaitReason::Asked, problem_wait(problem)),
            (ProblemType::TryLater, _) => self.stumbled(work, WaitReason::Station, problem_wait(problem)),
            (ProblemType::HashMismatch, _) => self.stumbled(work, WaitReason::Network, None),
            (ProblemType::UpdateNeeded, _) => {
                self.outdated = true;
                self.enrol = None;
                self.session = None;
                self.events.push_back(Event::UpdateNeeded);
            }
            (kind, Work::Enrol) => self.enrol_refused(work, kind),
            (ProblemType::NotJoined, _) => {
                self.joined = Joined::No;
                self.session = None;
                self.events.push_back(Event::NeedsJoining);
            }
            // Without hello nothing goes on, so whatever is wrong with it has to pass.
            (_, Work::Hello) => self.stumbled(work, WaitReason::Station, None),
            (ProblemType::Internal, Work::Push { stream, most, .. }) => {
                self.halve(stream, most);
                self.hold(Item::of(&work));
            }
            (ProblemType::Internal, _) => self.hold(Item::of(&work)),
            (ProblemType::Gap, Work::Push { stream, .. } | Work::Hole { stream, .. }) => {
                self.gap(stream, problem, journal);
            }
            (ProblemType::TooLarge, Work::Push { stream, first, most }) => {
                self.too_much(stream, first, most, HoleReason::TooLarge);
            }
            (ProblemType::Refused | ProblemType::Malformed, Work::Push { stream, first, most }) => {
                self.too_much(stream, first, most, HoleReason::Refused);
            }
            (
                ProblemType::StreamNotYours,
                Work::Push { stream, .. } | Work::Hole { stream, .. } | Work::Fill { stream, .. },
            ) => {
                self.park(stream);
            }
            (ProblemType::FeedRestarted, Work::Feed { after }) => self.feed_restarted(after.site),
            (ProblemType::SendAgain, Work::Part { photo, .. }) => self.send_again(photo),
            (ProblemType::NotFound, Work::PhotoState { photo }) => self.photo_unknown(photo),
            (kind, Work::Fill { stream, seq }) => {
                if let Some(hole) = self.stock.streams.get_mut(&stream).and_then(|it| it.holes.get_mut(&seq)) {
                    hole.offered_by.clone_from(&self.app);
                    self.events.push_back(Event::HoleOffered { stream, seq });
                }
                self.set_aside(work, kind);
            }
            (kind, _) => self.set_aside(work, kind),
        }
    }

    /// Nothing of the station's came, or it cannot: everything waits, longer each time. What fails again and again
    /// also waits by itself, and its batch gets smaller: something on the way may not let it through.
    pub(super) fn stumbled(&mut self, work: Work, why: WaitReason, asked: Option<u64>) {
        let now = self.up_ms();
        let waits = self.wait.until.is_some_and(|until| until > now);
        if !waits {
            self.wait.failures = self.wait.failures.saturating_add(1);
        }
        let until = now + asked.unwrap_or_else(|| self.dice.back_off(self.wait.failures));
        self.wait.until = self.wait.until.filter(|_| waits).max(Some(until));
        self.wait.asked = asked.is_some() || (waits && self.wait.asked);
        let why = if asked.is_some() { WaitReason::Asked } else { why };
        self.events.push_back(Event::WaitingUntil { up_ms: self.wait.until.unwrap_or(until), why });

        let item = Item::of(&work);
        if item == Item::Whole {
            return;
        }
        let hold = self.holds.entry(item).or_default();
        hold.failures = hold.failures.saturating_add(1);
        if hold.failures >= PATIENCE {
            hold.until = Some(now + self.dice.back_off(hold.failures));
            if let Work::Push { stream, most, .. } = work {
                self.halve(stream, most);
            }
        }
    }

    /// This item waits, the others go on.
    pub(super) fn hold(&mut self, item: Item) {
        let now = self.up_ms();
        let hold = self.holds.entry(item).or_default();
        hold.failures = hold.failures.saturating_add(1);
        hold.until = Some(now + self.dice.back_off(hold.failures));
    }

    fn halve(&mut self, stream: StreamId, most: usize) {
        if let Some(stream) = self.stock.streams.get_mut(&stream) {
            stream.most = (most / 2).max(1);
        }
    }

    fn too_much(&mut self, id: StreamId, first: Seq, most: usize, reason: HoleReason) {
        let Some(stream) = self.stock.streams.get_mut(&id) else { return };
        if most > 1 {
            stream.most = most / 2;
        } else {
            stream.bad.insert(first, reason);
        }
    }

    fn gap(&mut self, id: StreamId, problem: &Problem, journal: &impl Journal) {
        let Some(before) = self.stock.streams.get(&id).map(|stream| stream.acknowledged) else { return };
        let known = problem.held.and_then(|held| self.compare(id, &[held], &[], journal));
        match known.filter(|known| *known != before) {
            Some(known) => self.acknowledge(id, known),
            None => self.greet_again(),
        }
        let hold = self.holds.entry(Item::Stream(id)).or_default();
        hold.failures = hold.failures.saturating_add(1);
        if hold.failures >= PATIENCE {
            self.hold(Item::Stream(id));
        }
    }

    fn park(&mut self, id: StreamId) {
        let Some(stream) = self.stock.streams.get_mut(&id) else { return };
        stream.tried_again = false;
        stream.parked = Parking::NotYours;
        self.events.push_back(Event::Parked { stream: id });
    }

    fn feed_restarted(&mut self, id: SiteId) {
        let Some(site) = self.stock.sites.get_mut(&id) else { return };
        site.cursor = FeedCursor::start(id);
        self.events.push_back(Event::FeedRestarted { site: id });
        let hold = self.holds.entry(Item::Site(id)).or_default();
        hold.restarts += 1;
        hold.rests = hold.restarts >= PATIENCE;
    }

    fn send_again(&mut self, id: PhotoId) {
        let Some(photo) = self.stock.photos.get_mut(&id) else { return };
        photo.state = PhotoState::default();
        self.events.push_back(Event::SendPhotoAgain { photo: id });
        let hold = self.holds.entry(Item::Photo(id)).or_default();
        hold.restarts += 1;
        hold.rests = hold.restarts >= PHOTO_TRIES;
    }

    fn photo_unknown(&mut self, id: PhotoId) {
        if let Some(session) = &mut self.session {
            session.asked.insert(id);
        }
        let Some(photo) = self.stock.photos.get_mut(&id) else { return };
        photo.state = PhotoState::default();
        self.events.push_back(Event::PhotoState { photo: id, state: PhotoState::default() });
    }

    fn enrol_refused(&mut self, work: Work, kind: ProblemType) {
        if kind == ProblemType::Internal {
            return self.stumbled(work, WaitReason::Station, None);
        }
        self.enrol = None;
        self.events.push_back(Event::EnrolRefused(kind));
    }

    fn set_aside(&mut self, work: Work, kind: ProblemType) {
        let hold = self.holds.entry(Item::of(&work)).or_default();
        hold.rests = true;
        self.events.push_back(Event::SetAside { work, kind });
    }
}
