//! A station in memory: as little as it takes to answer by the rules.

use super::phone::{Phone, site};
use crate::engine::*;
use crate::framing::{Encoding, MoreBehind, decode_batch, encode_feed};
use crate::wire::content;
use crate::wire::hello::{FeedCursor, Hello, HelloAnswer, MOST_WANTED, StreamHeld};
use crate::wire::photo::PhotoState;
use crate::wire::problem::{Problem, ProblemType};
use crate::wire::push::{Purpose, Pushed};
use crate::wire::text::{self, TextStored};
use crate::wire::verdict::{Ruling, Verdict, VerdictPage};
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use survey::chain::{Hash, Head, Link, Seq, StreamId, feed_hash};
use survey::ids::PhotoId;
use survey::time::UnixMs;

/// An entry or a placeholder, by its place and hash.
type Held = BTreeMap<(u64, Hash), (Hash, Option<Link>)>;

#[derive(Clone, Default)]
pub(super) struct Station {
    pub(super) streams: BTreeMap<StreamId, Held>,
    pub(super) feed: Vec<Link>,
    pub(super) photos: BTreeMap<PhotoId, BTreeSet<u32>>,
    /// Photos whose first whole does not match.
    pub(super) spoilt: BTreeSet<PhotoId>,
    /// Photos that never match.
    pub(super) hopeless: BTreeSet<PhotoId>,
    pub(super) texts: BTreeSet<Hash>,
    /// Photos in the last back-up.
    pub(super) safe: BTreeSet<PhotoId>,
    /// Whether entries with "poison" in them are taken.
    pub(super) lenient: bool,
    /// Streams of other phones.
    pub(super) foreign: BTreeSet<StreamId>,
    pub(super) most_entries: usize,
    /// Whether no cursor is ever known.
    pub(super) forgets_feeds: bool,
    pub(super) requests: Vec<String>,
    /// Entries, by how often each was taken in.
    pub(super) taken: BTreeMap<Hash, u32>,
}

impl Station {
    pub(super) fn new() -> Self {
        Self { most_entries: 200, ..Self::default() }
    }

    pub(super) fn answer(&mut self, job: &Job, body: &[u8]) -> Response {
        self.requests.push(job.path.clone());
        match job.work {
            Work::Enrol => problem(&Problem::new(ProblemType::WrongCode)),
            Work::Hello => json(&self.hello(&serde_json::from_slice(body).unwrap())),
            Work::Push { stream, .. } | Work::Hole { stream, .. } | Work::Fill { stream, .. } => {
                self.push(stream, body).map_or_else(|refusal| problem(&refusal), |pushed| json(&pushed))
            }
            Work::Feed { after } => self.feed(after),
            Work::Verdicts { stream, after } => json(&self.verdicts(stream, after)),
            Work::Text { hash } => {
                text::decode(hash, body).unwrap();
                if !self.names(&format!("note {hash}")) {
                    return problem(&Problem::new(ProblemType::NotNamed));
                }
                self.texts.insert(hash);
                json(&TextStored { hash })
            }
            Work::Part { photo, n } => self.part(photo, n),
            Work::PhotoState { photo } => {
                if !self.photos.contains_key(&photo) {
                    return Response { body: Vec::new(), ..problem(&Problem::new(ProblemType::NotFound)) };
                }
                let state = serde_json::to_string(&self.photo(photo)).unwrap();
                Response { body: Vec::new(), photo: Some(state), ..json(&()) }
            }
        }
    }

    /// A copy from which the station can be restored.
    pub(super) fn back_up(&mut self) -> Self {
        self.safe = self.photos.keys().copied().filter(|photo| self.photo(*photo).verified).collect();
        self.clone()
    }

    pub(super) fn link(&self, stream: StreamId, head: Head) -> Option<&Option<Link>> {
        self.streams.get(&stream)?.get(&(head.seq.0, head.hash)).map(|(_, link)| link)
    }

    pub(super) fn ends(&self, stream: StreamId) -> Vec<Head> {
        let Some(held) = self.streams.get(&stream) else { return Vec::new() };
        let inner: BTreeSet<Hash> = held.values().map(|(previous, _)| *previous).collect();
        let ends = held.keys().filter(|(_, hash)| !inner.contains(hash));
        ends.map(|&(seq, hash)| Head { seq: Seq(seq), hash }).collect()
    }

    fn holds(&self, stream: StreamId, head: Head) -> bool {
        head == Head::START || self.link(stream, head).is_some()
    }

    /// Whether `end` lies on a branch through `through`.
    fn descends(&self, stream: StreamId, end: Head, through: Head) -> bool {
        let mut at = end;
        while at.seq > through.seq {
            let (previous, _) = self.streams[&stream][&(at.seq.0, at.hash)];
            at = Head { seq: Seq(at.seq.0 - 1), hash: previous };
        }
        at == through
    }

    fn longest(&self, stream: StreamId, through: Head) -> (Head, Vec<Head>) {
        let mut ends = self.ends(stream);
        let longest = ends.iter().copied().filter(|end| self.descends(stream, *end, through)).max_by_key(|end| end.seq);
        let longest = longest.unwrap_or(Head::START);
        ends.retain(|end| *end != longest);
        (longest, ends)
    }

    fn hello(&self, hello: &Hello) -> HelloAnswer {
        let streams = hello.streams.iter().map(|end| {
            let stream = end.stream();
            let mut marks = std::iter::once(end.head()).chain(end.marks.iter().copied());
            let common = marks.find(|mark| self.holds(stream, *mark)).unwrap_or(Head::START);
            let (Head { seq, hash }, branches) = self.longest(stream, common);
            let verdicts = self.streams.get(&stream).map_or(0, |held| held.len() as u64);
            StreamHeld {
                device: end.device,
                epoch: end.epoch,
                seq,
                hash,
                common,
                branches,
                verdicts,
                holes: Vec::new(),
            }
        });
        let number = self.feed.len();
        HelloAnswer {
            station_ms: UnixMs(1_700_000_000_500),
            streams: streams.collect(),
            sites: vec![FeedCursor { site: site(), number: number as u64, feed_hash: self.feed_hash(number) }],
            wanted: self.wanted(),
            station: None,
        }
    }

    fn wanted(&self) -> Vec<Hash> {
        let named = self.feed.iter().filter_map(|link| argument(link, "note "));
        named.map(|hash| hash.parse().unwrap()).filter(|hash| !self.texts.contains(hash)).take(MOST_WANTED).collect()
    }

    fn push(&mut self, stream: StreamId, body: &[u8]) -> Result<Pushed, Box<Problem>> {
        let batch = decode_batch(stream, body, Encoding::Gzip)
            .map_err(|_| Box::new(Problem::new(ProblemType::HashMismatch)))?;
        if self.foreign.contains(&stream) {
            return Err(Box::new(Problem::new(ProblemType::StreamNotYours)));
        }
        if batch.links.len() > self.most_entries {
            return Err(Box::new(Problem::new(ProblemType::TooLarge)));
        }
        if !self.holds(stream, batch.before) {
            let held = self.longest(stream, Head::START).0;
            return Err(Box::new(Problem::new(ProblemType::Gap).held(held)));
        }
        if !self.lenient && batch.links.iter().any(|link| link.bytes.starts_with(b"poison")) {
            return Err(Box::new(Problem::new(ProblemType::Refused)));
        }
        let held = self.streams.entry(stream).or_default();
        if let Purpose::Placeholder { .. } = batch.purpose {
            held.entry((batch.after.seq.0, batch.after.hash)).or_insert((batch.before.hash, None));
        }
        for link in batch.links {
            let place = held.entry((link.seq.0, link.hash)).or_insert((link.previous, None));
            if place.1.is_none() {
                place.1 = Some(link.clone());
                *self.taken.entry(link.hash).or_default() += 1;
                self.feed.push(link);
            }
        }
        let (held, branches) = self.longest(stream, batch.after);
        Ok(Pushed { held, branches })
    }

    fn feed(&self, after: FeedCursor) -> Response {
        let number = usize::try_from(after.number).unwrap();
        if self.forgets_feeds || number > self.feed.len() || self.feed_hash(number) != after.feed_hash {
            return problem(&Problem::new(ProblemType::FeedRestarted));
        }
        let page: Vec<Link> = self.feed[number..].iter().take(7).cloned().collect();
        let more = if number + page.len() < self.feed.len() { MoreBehind::Yes } else { MoreBehind::No };
        let (body, _) = encode_feed(after, &page, more, Encoding::Gzip);
        Response { status: 200, content_type: content::FEED.into(), body, ..Response::default() }
    }

    fn feed_hash(&self, number: usize) -> Hash {
        let links = (1..).zip(&self.feed[..number]);
        links.fold(Hash::ZERO, |hash, (number, link)| feed_hash(site(), number, hash, link.hash))
    }

    fn verdicts(&self, stream: StreamId, after: u64) -> VerdictPage {
        let entries = self.streams.get(&stream).into_iter().flat_map(BTreeMap::keys);
        let verdicts = (1..).zip(entries).map(|(number, &(seq, hash))| Verdict {
            number,
            seq: Seq(seq),
            hash,
            ruling: Ruling::Accepted,
        });
        let all: Vec<Verdict> = verdicts.skip_while(|verdict| verdict.number <= after).collect();
        VerdictPage { more: all.len() > 20, verdicts: all.into_iter().take(20).collect() }
    }

    fn part(&mut self, photo: PhotoId, n: u32) -> Response {
        if !self.names(&format!("photo {photo}")) {
            return problem(&Problem::new(ProblemType::NotNamed));
        }
        self.photos.entry(photo).or_default().insert(n);
        if self.photo(photo).verified && (self.hopeless.contains(&photo) || self.spoilt.remove(&photo)) {
            self.photos.remove(&photo);
            return problem(&Problem::new(ProblemType::SendAgain));
        }
        json(&self.photo(photo))
    }

    fn photo(&self, photo: PhotoId) -> PhotoState {
        let parts: Vec<u32> = self.photos[&photo].iter().copied().collect();
        let name = format!("photo {photo} ");
        let entry = self.feed.iter().find_map(|link| argument(link, &name));
        let all: usize = entry.map_or(usize::MAX, |count| count.parse().unwrap());
        let verified = parts.len() == all;
        PhotoState {
            parts,
            verified,
            backed_up: (verified && self.safe.contains(&photo)).then_some(UnixMs(1_700_000_001_000)),
        }
    }

    fn names(&self, prefix: &str) -> bool {
        self.feed.iter().any(|link| link.bytes.starts_with(prefix.as_bytes()))
    }
}

/// What stands between this beginning of an entry and its serial number.
fn argument<'a>(link: &'a Link, beginning: &str) -> Option<&'a str> {
    std::str::from_utf8(&link.bytes).unwrap().strip_prefix(beginning)?.split(" #").next()
}

pub(super) fn json(message: &impl Serialize) -> Response {
    let body = serde_json::to_vec(message).unwrap();
    Response { status: 200, content_type: content::JSON.into(), body, ..Response::default() }
}

pub(super) fn problem(problem: &Problem) -> Response {
    let body = serde_json::to_vec(problem).unwrap();
    Response { status: problem.status, content_type: content::PROBLEM.into(), body, ..Response::default() }
}

/// Works until nothing is left to do, over a network that is good; waits pass at once.
pub(super) fn settle(phone: &mut Phone, station: &mut Station) {
    for _ in 0..5_000 {
        if let Some((job, body)) = phone.job() {
            let response = station.answer(&job, &body);
            phone.tell(Input::Outcome { job: job.id, outcome: Outcome::Answered(response) });
        } else if let Some(wake) = phone.engine.next_wake() {
            phone.up_ms = wake;
            phone.tell(Input::Timer);
        } else {
            return;
        }
    }
    panic!("it never comes to rest: {:?}", station.requests.iter().rev().take(10).collect::<Vec<_>>());
}
