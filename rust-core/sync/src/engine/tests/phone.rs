//! A phone without a screen: a journal, and what the engine's events have stored.

use crate::engine::*;
use crate::framing::{Encoding, encode_batch, encode_hole};
use crate::wire::hello::FeedCursor;
use crate::wire::photo::PhotoState;
use crate::wire::push::{HoleReason, Purpose};
use crate::wire::text;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Hash, Head, Link, Seq, StreamId, blob_hash};
use survey::ids::{BootId, DeviceId, Epoch, PhotoId, SiteId};
use survey::time::{Now, OffsetMinutes, SinceBoot, UnixMs};

pub(super) const SALT: [u8; 16] = [5; 16];

pub(super) fn site() -> SiteId {
    SiteId::from_octets([3; 16])
}

pub(super) fn at(up_ms: u64) -> Now {
    let wall = UnixMs(1_700_000_000_000 + i64::try_from(up_ms).unwrap());
    Now { wall, offset: OffsetMinutes(0), since_boot: SinceBoot { boot: BootId::from_octets([8; 16]), ms: up_ms } }
}

/// What a phone has stored.
#[derive(Clone)]
pub(super) struct Db {
    pub(super) device: DeviceId,
    pub(super) app: String,
    pub(super) joined: Joined,
    pub(super) streams: BTreeMap<StreamId, KnownStream>,
    pub(super) journal: BTreeMap<StreamId, Vec<Link>>,
    pub(super) current: StreamId,
    pub(super) damaged: BTreeSet<(StreamId, Seq)>,
    pub(super) cursors: BTreeMap<SiteId, FeedCursor>,
    pub(super) feed: BTreeSet<Vec<u8>>,
    pub(super) photos: BTreeMap<PhotoId, KnownPhoto>,
    pub(super) texts: BTreeMap<Hash, (KnownText, String, bool)>,
    pub(super) jobs: BTreeMap<JobId, Job>,
    pub(super) last_job: JobId,
    pub(super) verdicts: BTreeMap<StreamId, u64>,
    pub(super) epochs: u8,
}

impl Journal for Db {
    fn hash_at(&self, stream: StreamId, seq: Seq) -> Option<Hash> {
        self.link(stream, seq).map(|link| link.hash)
    }
}

impl Db {
    pub(super) fn new(device: u8) -> Self {
        let device = DeviceId::from_octets([device; 16]);
        let current = StreamId { device, epoch: Epoch::from_octets([1; 16]) };
        let mut db = Self {
            device,
            app: "0.1.0".into(),
            joined: Joined::Yes,
            streams: BTreeMap::new(),
            journal: BTreeMap::new(),
            current,
            damaged: BTreeSet::new(),
            cursors: BTreeMap::new(),
            feed: BTreeSet::new(),
            photos: BTreeMap::new(),
            texts: BTreeMap::new(),
            jobs: BTreeMap::new(),
            last_job: JobId(0),
            verdicts: BTreeMap::new(),
            epochs: 1,
        };
        db.begin(current);
        db
    }

    fn begin(&mut self, id: StreamId) {
        self.streams.values_mut().for_each(|stream| stream.life = Life::Sealed);
        self.current = id;
        self.journal.insert(id, Vec::new());
        let stream = KnownStream {
            id,
            head: Head::START,
            acknowledged: Head::START,
            life: Life::Current,
            parked: Parking::Free,
            holes: Vec::new(),
            verdicts: 0,
        };
        self.streams.insert(id, stream);
    }

    pub(super) fn link(&self, stream: StreamId, seq: Seq) -> Option<&Link> {
        self.journal.get(&stream)?.get(usize::try_from(seq.0.checked_sub(1)?).ok()?)
    }

    pub(super) fn head(&self) -> Head {
        self.streams[&self.current].head
    }

    pub(super) fn acknowledged(&self) -> Head {
        self.streams[&self.current].acknowledged
    }

    pub(super) fn known(&self) -> Known {
        let verified = |photo: &&KnownPhoto| !(photo.state.verified && photo.state.backed_up.is_some());
        Known {
            app: self.app.clone(),
            device: self.device,
            joined: self.joined,
            streams: self.streams.values().cloned().collect(),
            cursors: self.cursors.values().copied().collect(),
            photos: self.photos.values().filter(verified).cloned().collect(),
            texts: self.texts.values().filter(|(_, _, sent)| !sent).map(|(text, _, _)| *text).collect(),
            in_flight: self.jobs.values().cloned().collect(),
            last_job: self.last_job,
        }
    }

    fn append(&mut self, bytes: String) -> Input {
        let (stream, head) = (self.current, self.head());
        let link = head.extend(stream, bytes.into_bytes());
        let head = link.head();
        self.journal.get_mut(&stream).unwrap().push(link);
        self.streams.get_mut(&stream).unwrap().head = head;
        Input::LocalCommit { stream, head }
    }

    /// Makes the body of a job as the handset does.
    pub(super) fn body(&self, job: &Job) -> Result<Vec<u8>, NotMade> {
        let links = |stream: StreamId, first: Seq, most: usize| {
            let links: Vec<Link> =
                (first.0..).map_while(|seq| self.link(stream, Seq(seq)).cloned()).take(most).collect();
            match links.iter().find(|link| self.damaged.contains(&(stream, link.seq))) {
                Some(link) => Err(NotMade::Damaged(link.seq)),
                None => Ok(links),
            }
        };
        match job.work {
            Work::Push { stream, first, most } => {
                Ok(encode_batch(&links(stream, first, most)?, Purpose::Entries, Encoding::Gzip).unwrap().0)
            }
            Work::Fill { stream, seq } => {
                Ok(encode_batch(&links(stream, seq, 1)?, Purpose::Fill, Encoding::Gzip).unwrap().0)
            }
            Work::Hole { stream, seq, reason } => {
                let link = self.link(stream, seq).unwrap();
                let before = Head { seq: Seq(seq.0 - 1), hash: link.previous };
                Ok(encode_hole(before, link.head(), reason, Encoding::Gzip))
            }
            Work::Text { hash } => Ok(text::encode(SALT, &self.texts[&hash].1)),
            Work::Part { n, .. } => Ok(vec![u8::try_from(n).unwrap(); 9]),
            _ => Ok(job.inline.clone().unwrap_or_default().into_bytes()),
        }
    }
}

/// A phone that is switched on.
pub(super) struct Phone {
    pub(super) db: Db,
    pub(super) engine: Engine,
    pub(super) up_ms: u64,
    serial: u64,
    /// Every event since the phone was switched on.
    pub(super) events: Vec<Event>,
}

impl Phone {
    pub(super) fn new(db: Db) -> Self {
        Self { engine: Engine::new(db.known(), 42), db, up_ms: 1_000, serial: 0, events: Vec::new() }
    }

    /// Switches off and on again with what is stored.
    pub(super) fn restart(&mut self) {
        self.engine = Engine::new(self.db.known(), self.up_ms);
        self.events.clear();
    }

    pub(super) fn tell(&mut self, input: Input) {
        if let Input::Outcome { job, .. } | Input::NotMade { job, .. } = &input {
            self.db.jobs.remove(job);
        }
        self.engine.handle(input, at(self.up_ms), &self.db);
        while let Some(event) = self.engine.next_event() {
            self.events.push(event.clone());
            self.store(event);
        }
    }

    pub(super) fn sync(&mut self) {
        self.tell(Input::SyncWanted { by: Asker::Person, metered: Metered::No });
    }

    /// The next job with its body, stored.
    pub(super) fn job(&mut self) -> Option<(Job, Vec<u8>)> {
        loop {
            let job = self.engine.next_job()?;
            assert!(job.id > self.db.last_job, "ids are never given twice");
            self.db.last_job = job.id;
            match self.db.body(&job) {
                Ok(body) => {
                    self.db.jobs.insert(job.id, job.clone());
                    return Some((job, body));
                }
                Err(why) => self.tell(Input::NotMade { job: job.id, why }),
            }
        }
    }

    pub(super) fn count(&mut self, bytes: impl Into<String>) {
        // Entries carry a random id: no two are equal, not even those of a phone that was set back.
        self.serial += 1;
        let input = self.db.append(format!("{} #{}", bytes.into(), self.serial));
        self.tell(input);
    }

    pub(super) fn count_many(&mut self, count: u64) {
        (0..count).for_each(|n| self.count(format!("entry {} {n}", self.db.head().seq)));
    }

    pub(super) fn photograph(&mut self, octet: u8, parts: u64) -> PhotoId {
        let id = PhotoId::from_octets([octet; 16]);
        self.count(format!("photo {id} {parts}"));
        let photo = KnownPhoto {
            id,
            stream: self.db.current,
            seq: self.db.head().seq,
            bytes: parts * crate::wire::photo::PART_BYTES,
            state: PhotoState::default(),
        };
        self.db.photos.insert(id, photo.clone());
        self.tell(Input::PhotoAdded(photo));
        id
    }

    pub(super) fn note(&mut self, text: &str) -> Hash {
        let hash = blob_hash(SALT, text.as_bytes());
        self.count(format!("note {hash}"));
        let known = KnownText { hash, stream: self.db.current, seq: self.db.head().seq };
        self.db.texts.insert(hash, (known, text.into(), false));
        self.tell(Input::TextAdded(known));
        hash
    }

    fn store(&mut self, event: Event) {
        let db = &mut self.db;
        match event {
            Event::Enrolled(_) => db.joined = Joined::Yes,
            Event::NeedsJoining => db.joined = Joined::No,
            Event::Acknowledged { stream, head } => {
                let stream = db.streams.get_mut(&stream).unwrap();
                assert!(head.seq > stream.acknowledged.seq && head.seq <= stream.head.seq);
                stream.acknowledged = head;
            }
            Event::AcknowledgedMovedBack { stream, head } => {
                let stream = db.streams.get_mut(&stream).unwrap();
                stream.acknowledged = head;
                stream.holes.retain(|hole| hole.seq <= head.seq);
            }
            Event::SealAndStartEpoch { stream, .. } => {
                assert!(self.engine.next_job().is_none(), "nothing is sent before the stream is sealed");
                db.epochs += 1;
                let next = StreamId { epoch: Epoch::from_octets([db.epochs; 16]), ..stream };
                db.begin(next);
                self.tell(Input::EpochStarted { stream: next });
            }
            Event::HoleMade { stream, seq, reason } => {
                let hole = Hole { seq, reason, offered_by: db.app.clone() };
                db.streams.get_mut(&stream).unwrap().holes.push(hole);
            }
            Event::HoleFound { stream, seq, reason } => {
                let hole = Hole { seq, reason, offered_by: String::new() };
                db.streams.get_mut(&stream).unwrap().holes.push(hole);
            }
            Event::HoleFilled { stream, seq } => {
                db.streams.get_mut(&stream).unwrap().holes.retain(|hole| hole.seq != seq);
            }
            Event::HoleOffered { stream, seq } => {
                let app = db.app.clone();
                let holes = &mut db.streams.get_mut(&stream).unwrap().holes;
                holes.iter_mut().filter(|hole| hole.seq == seq).for_each(|hole| hole.offered_by.clone_from(&app));
            }
            Event::Parked { stream } => db.streams.get_mut(&stream).unwrap().parked = Parking::NotYours,
            Event::Unparked { stream } => db.streams.get_mut(&stream).unwrap().parked = Parking::Free,
            Event::FeedPage(page) => {
                db.cursors.insert(page.before.site, page.after);
                db.feed.extend(page.items.into_iter().map(|item| item.link.bytes));
            }
            Event::FeedRestarted { site } => {
                db.cursors.insert(site, FeedCursor::start(site));
            }
            Event::Verdicts { stream, verdicts } => {
                db.streams.get_mut(&stream).unwrap().verdicts = verdicts.last().unwrap().number;
                *db.verdicts.entry(stream).or_default() = verdicts.last().unwrap().number;
            }
            Event::PhotoState { photo, state } => db.photos.get_mut(&photo).unwrap().state = state,
            Event::SendPhotoAgain { photo } => db.photos.get_mut(&photo).unwrap().state = PhotoState::default(),
            Event::TextsWanted(hashes) => {
                let here: Vec<KnownText> = hashes.iter().filter_map(|hash| Some(db.texts.get(hash)?.0)).collect();
                for text in here {
                    self.db.texts.get_mut(&text.hash).unwrap().2 = false;
                    self.tell(Input::TextAdded(text));
                }
            }
            Event::TextStored { hash } => db.texts.get_mut(&hash).unwrap().2 = true,
            Event::JobForgotten(job) => drop(db.jobs.remove(&job)),
            Event::EnrolRefused(_)
            | Event::Memberships(_)
            | Event::StationClock { .. }
            | Event::StationIs(_)
            | Event::UpdateNeeded
            | Event::SetAside { .. }
            | Event::WaitingUntil { .. }
            | Event::AllSent
            | Event::Rested(_) => {}
        }
    }
}

/// Reasons of all holes, for comparing.
pub(super) fn holes(db: &Db) -> Vec<(u64, HoleReason)> {
    db.streams.values().flat_map(|stream| &stream.holes).map(|hole| (hole.seq.0, hole.reason)).collect()
}
