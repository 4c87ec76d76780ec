//! The phone's side of the sync as a state machine: inputs and the time in, jobs and events out.
//!
//! Only the station's word moves what is acknowledged, and hello may move it back. No item can block the rest:
//! batches are halved down to the entry that is refused, which then goes as a placeholder; whatever else fails
//! waits by itself. Nothing here is kept: after a restart the handset gives what it stored as [`Known`].

mod agree;
mod apply;
mod choose;
mod job;
mod known;
mod outcome;
mod pause;
mod refuse;
mod state;
mod talk;

#[cfg(test)]
mod tests;

pub use job::{Class, Job, JobId, Method, Work};
pub use known::{Hole, Joined, Journal, Known, KnownPhoto, KnownStream, KnownText, Life, Parking};
pub use pause::{Dice, FIRST_MS, MOST_ASKED_MS, MOST_MS, asked_ms, ceiling};
pub use talk::{Asker, Event, Input, Metered, NotMade, Outcome, Response, SealReason, Unsent, WaitReason};

use crate::wire::enrol::Enrol;
use choose::View;
use state::{Hold, Item, Pending, PendingJobs, Session, Stock, Stream};
use std::collections::{BTreeMap, BTreeSet, VecDeque};
use survey::chain::{Hash, Head, StreamId};
use survey::ids::{BootId, DeviceId};
use survey::time::Now;

/// The most bulk jobs in flight at once. Each has a file of up to 1 MiB on the phone.
pub const MOST_BULK: usize = 2;

/// The engine.
pub struct Engine {
    app: String,
    device: DeviceId,
    joined: Joined,
    outdated: bool,
    stock: Stock,
    session: Option<Session>,
    enrol: Option<(String, Hash)>,
    /// The stream to be sealed before anything is sent.
    sealing: Option<StreamId>,
    pending: PendingJobs,
    last_job: JobId,
    jobs: VecDeque<Job>,
    events: VecDeque<Event>,
    wait: Wait,
    holds: BTreeMap<Item, Hold>,
    dice: Dice,
    now: Option<Now>,
    boot: Option<BootId>,
}

/// Why nothing at all is tried.
#[derive(Default)]
struct Wait {
    failures: u32,
    /// Time since boot.
    until: Option<u64>,
    /// Whether the station asked for it, so that nobody else may end it.
    asked: bool,
}

impl Engine {
    /// Begins with what the database holds. The seed is for jitter only.
    pub fn new(known: Known, seed: u64) -> Self {
        let stock = Stock::of(&known);
        let pending = known.in_flight.iter().map(|job| (job.id, Pending::restored(job.work)));
        let highest = known.in_flight.iter().map(|job| job.id).max();
        Self {
            stock,
            pending: pending.collect(),
            last_job: highest.max(Some(known.last_job)).unwrap_or(known.last_job),
            app: known.app,
            device: known.device,
            joined: known.joined,
            outdated: false,
            session: None,
            enrol: None,
            sealing: None,
            jobs: VecDeque::new(),
            events: VecDeque::new(),
            wait: Wait::default(),
            holds: BTreeMap::new(),
            dice: Dice::new(seed),
            now: None,
            boot: None,
        }
    }

    /// Takes an input. What [`Engine::next_event`] then gives is stored in one transaction with it.
    pub fn handle(&mut self, input: Input, now: Now, journal: &impl Journal) {
        self.tell_time(now);
        match input {
            Input::SyncWanted { by, metered } => self.wanted(by, metered),
            Input::NetworkLost => self.network_lost(),
            Input::Enrol { code, token_hash } => self.enrol_with(code, token_hash),
            Input::LocalCommit { stream, head } => self.committed(stream, head),
            Input::EpochStarted { stream } => self.epoch_started(stream),
            Input::PhotoAdded(photo) => drop(self.stock.photos.insert(photo.id, photo)),
            Input::PhotoGone(photo) => drop(self.stock.photos.remove(&photo)),
            Input::TextAdded(text) => drop(self.stock.texts.insert(text.hash, text)),
            Input::TextGone(hash) => drop(self.stock.texts.remove(&hash)),
            Input::Outcome { job, outcome } => self.ended(job, &outcome, journal),
            Input::NotMade { job, why } => self.not_made(job, why),
            Input::Timer => {}
        }
        self.forget_overdue();
        self.plan(journal);
    }

    /// The next job to make, store and hand out.
    pub fn next_job(&mut self) -> Option<Job> {
        self.jobs.pop_front()
    }

    /// The next event to store or show.
    pub fn next_event(&mut self) -> Option<Event> {
        self.events.pop_front()
    }

    /// The time since boot, in milliseconds, at which [`Input::Timer`] is next due; `None` where nothing waits for a
    /// time.
    pub fn next_wake(&self) -> Option<u64> {
        let now = self.up_ms();
        let deadlines = self.pending.values().filter_map(|pending| pending.deadline);
        let active = self.session.is_some() || self.enrol.is_some();
        let resume = self.wait.until.filter(|_| active);
        let free = self.view(&[]).and_then(|view| view.next_free());
        deadlines.chain(resume).chain(free).filter(|at| *at > now).min()
    }

    fn tell_time(&mut self, now: Now) {
        if self.boot.replace(now.since_boot.boot).is_some_and(|boot| boot != now.since_boot.boot) {
            self.wait = Wait::default();
            self.holds.values_mut().for_each(|hold| hold.until = None);
            self.pending.values_mut().for_each(|pending| pending.deadline = None);
        }
        self.now = Some(now);
        for pending in self.pending.values_mut() {
            pending.deadline.get_or_insert(now.since_boot.ms + Pending::wait_ms(pending.work.class()));
        }
    }

    fn up_ms(&self) -> u64 {
        self.now.map_or(0, |now| now.since_boot.ms)
    }

    fn wanted(&mut self, by: Asker, metered: Metered) {
        self.holds.clear();
        if !self.wait.asked {
            self.wait = Wait::default();
        }
        if self.joined == Joined::No {
            return self.events.push_back(Event::NeedsJoining);
        }
        if by == Asker::Person {
            self.outdated = false;
            self.stock.streams.values_mut().for_each(|stream| stream.tried_again = true);
        }
        if self.outdated {
            return self.events.push_back(Event::UpdateNeeded);
        }
        self.session = Some(Session { by, metered, greeted: false, asked: BTreeSet::new() });
        self.forget(|pending| pending.restored && pending.work.class() == Class::Small);
    }

    fn network_lost(&mut self) {
        self.session = None;
        if !self.wait.asked {
            self.wait = Wait::default();
        }
        for job in std::mem::take(&mut self.jobs) {
            self.pending.remove(&job.id);
        }
    }

    fn enrol_with(&mut self, code: String, token_hash: Hash) {
        if !self.wait.asked {
            self.wait = Wait::default();
        }
        self.enrol = Some((code, token_hash));
    }

    fn committed(&mut self, stream: StreamId, head: Head) {
        self.stock.streams.entry(stream).or_insert_with(Stream::begun).head = head;
    }

    fn epoch_started(&mut self, id: StreamId) {
        self.sealing = None;
        self.stock.streams.values_mut().for_each(|stream| stream.life = Life::Sealed);
        self.stock.streams.entry(id).or_insert_with(Stream::begun).life = Life::Current;
    }

    fn forget_overdue(&mut self) {
        let now = self.up_ms();
        self.forget(|pending| pending.deadline.is_some_and(|deadline| deadline <= now));
    }

    fn forget(&mut self, which: impl Fn(&Pending) -> bool) {
        let forgotten: Vec<JobId> =
            self.pending.iter().filter(|(_, pending)| which(pending)).map(|(id, _)| *id).collect();
        for id in forgotten {
            self.pending.remove(&id);
            self.jobs.retain(|job| job.id != id);
            self.events.push_back(Event::JobForgotten(id));
        }
    }

    fn view<'a>(&'a self, in_flight: &'a [Work]) -> Option<View<'a>> {
        let session = self.session.as_ref().filter(|_| self.sealing.is_none())?;
        Some(View { stock: &self.stock, session, holds: &self.holds, in_flight, app: &self.app, up_ms: self.up_ms() })
    }

    /// Makes the jobs that may go, and ends the session where there is nothing left to do in it.
    fn plan(&mut self, journal: &impl Journal) {
        if self.wait.until.is_some_and(|until| until > self.up_ms()) {
            return;
        }
        let in_flight: Vec<Work> = self.pending.values().map(|pending| pending.work).collect();
        let of = |class| in_flight.iter().filter(|work| work.class() == class).count();
        if of(Class::Small) == 0 {
            let enrol = self.enrol.is_some().then_some(Work::Enrol);
            if let Some(work) = enrol.or_else(|| self.view(&in_flight)?.small()) {
                self.make(work, journal);
            }
        }
        for _ in of(Class::Bulk)..MOST_BULK {
            let in_flight: Vec<Work> = self.pending.values().map(|pending| pending.work).collect();
            let greeted = self.session.as_ref().is_some_and(|session| session.greeted);
            match self.view(&in_flight).and_then(|view| view.bulk()).filter(|_| greeted) {
                Some(work) => self.make(work, journal),
                None => break,
            }
        }
        let idle = self.pending.is_empty() && self.view(&[]).is_some_and(|view| view.next_free().is_none());
        if idle {
            let unsent = self.stock.unsent();
            self.session = None;
            let all = unsent == Unsent::default();
            self.events.push_back(if all { Event::AllSent } else { Event::Rested(unsent) });
        }
    }

    fn make(&mut self, work: Work, journal: &impl Journal) {
        self.last_job = JobId(self.last_job.0 + 1);
        let inline = match work {
            Work::Enrol => {
                self.enrol.clone().map(|(code, token_hash)| json(&Enrol { code, device: self.device, token_hash }))
            }
            Work::Hello => Some(json(&agree::hello(&self.app, &self.stock, journal))),
            _ => None,
        };
        let deadline = Some(self.up_ms() + Pending::wait_ms(work.class()));
        self.pending.insert(self.last_job, Pending { work, restored: false, deadline });
        self.jobs.push_back(Job { inline, ..work.job(self.last_job, self.device) });
    }
}

fn json(message: &impl serde::Serialize) -> String {
    serde_json::to_string(message).expect("messages hold nothing that JSON has no shape for")
}
