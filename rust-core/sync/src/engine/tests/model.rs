//! Whatever has happened, a good network leads to everything sent, once.

use super::phone::{Db, Phone};
use super::station::{Station, settle};
use crate::engine::*;
use proptest::prelude::*;
use std::collections::BTreeSet;

/// What can happen.
#[derive(Debug, Clone, Copy)]
enum Step {
    Count(u8),
    Poison,
    Damage,
    Photo(u8),
    Note(u8),
    Sync(Asker, Metered),
    Lost,
    Wait(u16),
    Request(Net),
    LateOutcome(Net),
    PhoneKilled,
    PhoneBackedUp,
    PhoneRestored,
    StationBackedUp,
    StationRestored,
    Update,
}

/// What a network does to a request.
#[derive(Debug, Clone, Copy)]
enum Net {
    Good,
    Repeats,
    LosesRequest,
    LosesAnswer,
    Portal,
    Says(u16),
    CutsAnswer(u8),
}

struct World {
    phone: Phone,
    station: Station,
    flying: Vec<(Job, Vec<u8>)>,
    phone_backup: Db,
    station_backup: Station,
}

impl World {
    fn new() -> Self {
        let db = Db::new(1);
        Self {
            phone_backup: db.clone(),
            phone: Phone::new(db),
            station: Station::new(),
            flying: Vec::new(),
            station_backup: Station::new(),
        }
    }

    fn step(&mut self, step: Step) {
        let phone = &mut self.phone;
        match step {
            Step::Count(count) => phone.count_many(u64::from(count)),
            Step::Poison => phone.count(format!("poison {}", phone.db.head().seq)),
            Step::Damage => {
                phone.count_many(1);
                phone.db.damaged.insert((phone.db.current, phone.db.head().seq));
            }
            Step::Photo(octet) => drop(phone.photograph(octet, u64::from(octet % 4))),
            Step::Note(octet) => drop(phone.note(&format!("note {octet}"))),
            Step::Sync(by, metered) => phone.tell(Input::SyncWanted { by, metered }),
            Step::Lost => phone.tell(Input::NetworkLost),
            Step::Wait(ms) => {
                phone.up_ms += u64::from(ms) * 50;
                phone.tell(Input::Timer);
            }
            Step::Request(net) => {
                self.flying.extend(std::iter::from_fn(|| self.phone.job()));
                self.fly(0, net);
            }
            Step::LateOutcome(net) => self.fly(self.flying.len().saturating_sub(1), net),
            Step::PhoneKilled => phone.restart(),
            Step::PhoneBackedUp => self.phone_backup = phone.db.clone(),
            Step::PhoneRestored => {
                // The random epoch of a later database is not that of an earlier one.
                let epochs = phone.db.epochs;
                phone.db = Db { epochs, last_job: phone.db.last_job, ..self.phone_backup.clone() };
                phone.restart();
            }
            Step::StationBackedUp => self.station_backup = self.station.back_up(),
            Step::StationRestored => self.station = self.station_backup.clone(),
            Step::Update => {
                phone.db.app.push('1');
                phone.restart();
            }
        }
    }

    fn fly(&mut self, at: usize, net: Net) {
        if at >= self.flying.len() {
            return;
        }
        let (job, body) = self.flying.remove(at);
        if !matches!(net, Net::LosesRequest | Net::Portal | Net::Says(_)) {
            let first = self.station.answer(&job, &body);
            let answer = if matches!(net, Net::Repeats) { self.station.answer(&job, &body) } else { first };
            let outcome = match net {
                Net::LosesAnswer => Outcome::Failed,
                Net::CutsAnswer(octets) => {
                    let kept = answer.body.len() * usize::from(octets) / 256;
                    Outcome::Answered(Response { body: answer.body[..kept].to_vec(), photo: None, ..answer })
                }
                _ => Outcome::Answered(answer),
            };
            return self.phone.tell(Input::Outcome { job: job.id, outcome });
        }
        let html = |status| {
            let body = b"<html>{\"type\":\"urn:leafturn:problem:not-joined\"}</html>".to_vec();
            Outcome::Answered(Response { status, content_type: "text/html".into(), body, ..Response::default() })
        };
        let outcome = match net {
            Net::Portal => html(200),
            Net::Says(status) => html(status),
            _ => Outcome::Failed,
        };
        self.phone.tell(Input::Outcome { job: job.id, outcome });
    }

    /// A good network from here on. Jobs of a process that is gone never end, and time passes.
    fn good_network(&mut self) {
        for _ in 0..3 {
            for (job, _) in std::mem::take(&mut self.flying) {
                self.phone.tell(Input::Outcome { job: job.id, outcome: Outcome::Failed });
            }
            let jobs: Vec<JobId> = self.phone.db.jobs.keys().copied().collect();
            for job in jobs {
                self.phone.tell(Input::Outcome { job, outcome: Outcome::Failed });
            }
            self.phone.sync();
            settle(&mut self.phone, &mut self.station);
        }
    }

    fn check(&self) -> Result<(), TestCaseError> {
        let db = &self.phone.db;
        for (&id, links) in &db.journal {
            for link in links {
                let held = self.station.link(id, link.head());
                prop_assert!(held.is_some(), "entry {} of {:?} is missing", link.seq, id);
                let stays = link.bytes.starts_with(b"poison") || db.damaged.contains(&(id, link.seq));
                prop_assert!(held.is_some_and(Option::is_some) || stays, "entry {} is a hole only", link.seq);
            }
            let stream = &db.streams[&id];
            prop_assert_eq!(stream.acknowledged, stream.head);
            let held = self.station.streams.get(&id).map_or(0, std::collections::BTreeMap::len);
            // Nobody asks about a sealed stream of which nothing is left here.
            if !links.is_empty() {
                prop_assert_eq!(stream.verdicts, held as u64);
            }
        }
        let feed: BTreeSet<_> = self.station.feed.iter().map(|link| link.hash).collect();
        prop_assert_eq!(feed.len(), self.station.feed.len(), "an entry was taken in twice");
        prop_assert!(self.station.feed.iter().all(|link| db.feed.contains(&link.bytes)));
        for (hash, (_, _, sent)) in &db.texts {
            prop_assert!(*sent && self.station.texts.contains(hash), "a text is missing");
        }
        for photo in db.photos.values().filter(|photo| photo.parts() > 0) {
            prop_assert!(photo.state.verified, "a photo is missing");
            prop_assert_eq!(self.station.photos[&photo.id].len(), photo.parts() as usize);
        }
        Ok(())
    }
}

fn net() -> impl Strategy<Value = Net> {
    prop_oneof![
        4 => Just(Net::Good),
        1 => Just(Net::Repeats),
        1 => Just(Net::LosesRequest),
        1 => Just(Net::LosesAnswer),
        1 => Just(Net::Portal),
        2 => prop::sample::select(vec![302_u16, 400, 401, 403, 404, 407, 408, 409, 413, 426, 429, 500, 502, 503, 511]).prop_map(Net::Says),
        1 => any::<u8>().prop_map(Net::CutsAnswer),
    ]
}

fn step() -> impl Strategy<Value = Step> {
    let by = prop::sample::select(vec![Asker::Person, Asker::Network]);
    let metered = prop::sample::select(vec![Metered::Yes, Metered::No]);
    prop_oneof![
        4 => (1_u8..40).prop_map(Step::Count),
        1 => Just(Step::Poison),
        1 => Just(Step::Damage),
        2 => (1_u8..30).prop_map(Step::Photo),
        2 => any::<u8>().prop_map(Step::Note),
        6 => (by, metered).prop_map(|(by, metered)| Step::Sync(by, metered)),
        1 => Just(Step::Lost),
        2 => any::<u16>().prop_map(Step::Wait),
        16 => net().prop_map(Step::Request),
        1 => net().prop_map(Step::LateOutcome),
        1 => Just(Step::PhoneKilled),
        1 => Just(Step::PhoneBackedUp),
        1 => Just(Step::PhoneRestored),
        1 => Just(Step::StationBackedUp),
        1 => Just(Step::StationRestored),
        1 => Just(Step::Update),
    ]
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 500, max_shrink_iters: 4_000, ..ProptestConfig::default() })]

    #[test]
    fn a_good_network_leads_to_everything_sent_once(steps in prop::collection::vec(step(), 0..80)) {
        let mut world = World::new();
        for step in steps {
            world.step(step);
        }
        world.good_network();
        world.check()?;
        // After quiescence there is nothing to do.
        prop_assert!(world.phone.job().is_none());
        prop_assert!(world.phone.engine.next_wake().is_none());
        let requests = world.station.requests.len();
        world.phone.events.clear();
        world.phone.sync();
        settle(&mut world.phone, &mut world.station);
        let again = &world.station.requests[requests..];
        prop_assert!(again.iter().skip(1).all(|path| path.starts_with("/v1/photos/")), "{again:?}");
    }
}
