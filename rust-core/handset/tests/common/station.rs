//! A station in memory: as little as it takes to answer a phone by the rules.
#![allow(dead_code, reason = "each test file uses a part of it")]

use ::sync::framing::{Encoding, MoreBehind, decode_batch, encode_feed};
use ::sync::wire::content;
use ::sync::wire::enrol::{Enrol, Enrolled};
use ::sync::wire::hello::{FeedCursor, Hello, HelloAnswer, StreamHeld};
use ::sync::wire::photo::PhotoState;
use ::sync::wire::push::Pushed;
use ::sync::wire::text::TextStored;
use ::sync::wire::verdict::VerdictPage;
use handset::Handset;
use handset::sync::{Asker, Body, HttpJob, Metered, Method, Outcome, Response};
use std::collections::BTreeMap;
use std::path::Path;
use survey::chain::{Hash, Head, Link, Seq, StreamId, feed_hash};
use survey::entry::Entry;
use survey::ids::{DeviceId, Epoch, PhotoId, SiteId, VisitId};
use survey::time::UnixMs;

#[derive(Default)]
pub(crate) struct Station {
    streams: BTreeMap<StreamId, Vec<Link>>,
    feeds: BTreeMap<SiteId, Vec<Link>>,
    pub(crate) texts: BTreeMap<String, Vec<u8>>,
    pub(crate) photos: BTreeMap<PhotoId, Vec<u8>>,
}

/// What a network does to a request.
#[derive(Clone, Copy)]
pub(crate) enum Net {
    Good,
    Repeats,
    LosesRequest,
    LosesAnswer,
}

/// Syncs until the phone has no more jobs; returns what it sent.
pub(crate) fn play(
    phone: &mut Handset,
    station: &mut Station,
    folder: &Path,
    net: &mut dyn FnMut(&HttpJob) -> Net,
) -> Vec<HttpJob> {
    phone.sync_wanted(Asker::Person, Metered::No).unwrap();
    let mut sent = Vec::new();
    while let Some(job) = phone.next_job().unwrap() {
        let body = match &job.body {
            Body::None => Vec::new(),
            Body::Octets(octets) => octets.clone(),
            Body::File(name) => std::fs::read(folder.join(name)).unwrap(),
        };
        let outcome = match net(&job) {
            Net::Good => Outcome::Answered(station.answer(&job, &body)),
            Net::Repeats => {
                station.answer(&job, &body);
                Outcome::Answered(station.answer(&job, &body))
            }
            Net::LosesRequest => Outcome::Failed,
            Net::LosesAnswer => {
                station.answer(&job, &body);
                Outcome::Failed
            }
        };
        phone.job_done(job.id, outcome).unwrap();
        sent.push(job);
    }
    sent
}

impl Station {
    pub(crate) fn entries(&self) -> u64 {
        self.streams.values().map(|links| links.len() as u64).sum()
    }

    /// Feeds an entry of a kind that this version does not know.
    pub(crate) fn feed_newer(&mut self, site: SiteId, visit: VisitId) {
        let stream = StreamId { device: DeviceId::from_octets([77; 16]), epoch: Epoch::from_octets([78; 16]) };
        let bytes = serde_json::json!({
            "id": "0190a000-0000-7000-8000-000000000001", "kind": "leaf-weighed", "v": 1,
            "hybrid": [1_783_157_400_500_i64, 0], "wall": 1_783_157_400_500_i64, "offset": 0, "up": 5,
            "boot": "00000000-0000-4000-8000-000000000009", "scope": { "site": site, "visit": visit },
            "payload": { "milligrams": 12, "unheard": { "of": [] } }
        });
        let link = Head::START.extend(stream, serde_json::to_vec(&bytes).unwrap());
        self.feeds.entry(site).or_default().push(link);
    }

    pub(crate) fn answer(&mut self, job: &HttpJob, body: &[u8]) -> Response {
        let path = job.path.split('?').next().unwrap();
        let parts: Vec<&str> = path.trim_start_matches("/v1/").split('/').collect();
        match (job.method, parts.as_slice()) {
            (Method::Post, ["enrol"]) => {
                let enrol: Enrol = serde_json::from_slice(body).unwrap();
                let sites = self.feeds.keys().copied().collect();
                json(&Enrolled { device: enrol.device, sites, station: Some("Invented station".into()) })
            }
            (Method::Post, ["hello"]) => json(&self.hello(&serde_json::from_slice(body).unwrap())),
            (Method::Post, ["streams", device, epoch, "entries"]) => {
                let stream = StreamId { device: device.parse().unwrap(), epoch: epoch.parse().unwrap() };
                let batch = decode_batch(stream, body, Encoding::Gzip).unwrap();
                for link in batch.links {
                    let held = self.streams.entry(stream).or_default();
                    if held.len() as u64 + 1 == link.seq.0 {
                        if let Some(site) = Entry::decode(&link.bytes).unwrap().scope.site() {
                            self.feeds.entry(site).or_default().push(link.clone());
                        }
                        held.push(link);
                    } else {
                        assert_eq!(
                            held[usize::try_from(link.seq.0).unwrap() - 1],
                            link,
                            "nothing is sent twice otherwise"
                        );
                    }
                }
                json(&Pushed { held: self.end(stream), branches: Vec::new() })
            }
            (Method::Get, ["streams", ..]) => json(&VerdictPage { verdicts: Vec::new(), more: false }),
            (Method::Get, ["sites", site, "feed"]) => {
                let after = job.path.split("after=").nth(1).unwrap();
                let after: usize = after.split('&').next().unwrap().parse().unwrap();
                let site: SiteId = site.parse().unwrap();
                let (body, _) =
                    encode_feed(self.cursor(site, after), &self.feeds[&site][after..], MoreBehind::No, Encoding::Gzip);
                Response { status: 200, content_type: content::FEED.into(), body, ..Response::default() }
            }
            (Method::Put, ["photos", _, photo, "parts", _]) => {
                let header = job.headers.iter().find(|(name, _)| name == content::PART_HASH_HEADER).unwrap();
                assert_eq!(header.1, Hash::plain(body).to_string());
                self.photos.insert(photo.parse().unwrap(), body.to_vec());
                json(&PhotoState { parts: vec![0], verified: true, backed_up: None })
            }
            (Method::Head, [.., photo]) => {
                assert!(self.photos.contains_key(&photo.parse().unwrap()));
                let state = PhotoState { parts: vec![0], verified: true, backed_up: Some(UnixMs(1_783_200_000_000)) };
                let photo = Some(serde_json::to_string(&state).unwrap());
                Response { body: Vec::new(), photo, ..json(&()) }
            }
            (Method::Put, [.., hash]) => {
                let hash: Hash = hash.parse().unwrap();
                ::sync::wire::text::decode(hash, body).unwrap();
                self.texts.insert(hash.to_string(), body.to_vec());
                json(&TextStored { hash })
            }
            other => panic!("{other:?} is not known here"),
        }
    }

    fn end(&self, stream: StreamId) -> Head {
        self.streams.get(&stream).and_then(|links| links.last()).map_or(Head::START, Link::head)
    }

    fn cursor(&self, site: SiteId, number: usize) -> FeedCursor {
        let links = self.feeds.get(&site).map_or(&[][..], Vec::as_slice);
        (1..).zip(&links[..number]).fold(FeedCursor::start(site), |before, (number, link)| FeedCursor {
            site,
            number,
            feed_hash: feed_hash(site, number, before.feed_hash, link.hash),
        })
    }

    fn hello(&self, hello: &Hello) -> HelloAnswer {
        let streams = hello.streams.iter().map(|end| {
            let stream = end.stream();
            let held = self.end(stream);
            let known = |mark: &Head| {
                let links = self.streams.get(&stream).map_or(&[][..], Vec::as_slice);
                mark.seq == Seq(0) || links.iter().any(|link| link.head() == *mark)
            };
            let mut marks = std::iter::once(end.head()).chain(end.marks.iter().copied());
            let common = marks.find(known).unwrap_or(Head::START);
            StreamHeld {
                device: end.device,
                epoch: end.epoch,
                seq: held.seq,
                hash: held.hash,
                common,
                branches: Vec::new(),
                verdicts: 0,
                holes: Vec::new(),
            }
        });
        HelloAnswer {
            station_ms: UnixMs(1_783_157_500_000),
            streams: streams.collect(),
            sites: self.feeds.iter().map(|(&site, links)| self.cursor(site, links.len())).collect(),
            wanted: Vec::new(),
            station: None,
        }
    }
}

fn json(value: &impl serde::Serialize) -> Response {
    Response {
        status: 200,
        content_type: content::JSON.into(),
        body: serde_json::to_vec(value).unwrap(),
        ..Response::default()
    }
}
