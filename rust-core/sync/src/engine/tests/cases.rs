//! Stories: entries that are refused or damaged, photos, joining, restarts.

use super::phone::{Db, Phone, at, holes};
use super::station::{Station, json, problem, settle};
use crate::engine::*;
use crate::wire::enrol::Enrolled;
use crate::wire::problem::{Problem, ProblemType};
use crate::wire::push::HoleReason;
use survey::chain::{Hash, Seq};
use survey::ids::{BootId, DeviceId};

pub(super) fn synced(count: u64) -> (Phone, Station) {
    let (mut phone, mut station) = (Phone::new(Db::new(1)), Station::new());
    phone.count_many(count);
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
    phone.events.clear();
    station.requests.clear();
    (phone, station)
}

fn pushes(station: &Station) -> usize {
    station.requests.iter().filter(|path| path.ends_with("/entries")).count()
}

#[test]
fn an_ordinary_sync_is_hello_batches_and_what_hangs_on_them() {
    let (mut phone, mut station) = (Phone::new(Db::new(1)), Station::new());
    phone.count_many(450);
    let photo = phone.photograph(4, 3);
    let text = phone.note("gate locked");
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
    assert_eq!(station.requests[0], "/v1/hello");
    assert_eq!(pushes(&station), 3);
    assert_eq!(station.taken.values().copied().max(), Some(1));
    let first = |part: &str| station.requests.iter().position(|path| path.contains(part)).unwrap();
    let last_push = station.requests.iter().rposition(|path| path.ends_with("/entries")).unwrap();
    assert!(first("/photos/") > last_push && first("/texts/") > last_push);
    assert!(phone.db.photos[&photo].state.verified && station.texts.contains(&text));
    assert!(phone.events.contains(&Event::StationClock { ahead_ms: 500 - 1_000 }));
}

#[test]
fn a_refused_entry_is_found_by_halving_and_stays_as_a_hole() {
    let (mut phone, mut station) = (Phone::new(Db::new(1)), Station::new());
    phone.count_many(130);
    phone.count("poison");
    let photo = phone.photograph(1, 1);
    phone.count_many(69);
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(holes(&phone.db), [(131, HoleReason::Refused)]);
    assert_eq!(phone.db.acknowledged(), phone.db.head());
    assert!(phone.db.photos[&photo].state.verified);
    assert!(pushes(&station) < 30, "{} pushes", pushes(&station));
    let unsent = Unsent { holes: 1, ..Unsent::default() };
    assert_eq!(phone.events.last(), Some(&Event::Rested(unsent)));

    // The same version does not offer it again, another one does, once.
    for (app, lenient, offers) in [("0.1.0", false, 0), ("0.2.0", false, 1), ("0.2.0", false, 0), ("0.3.0", true, 1)] {
        phone.db.app = app.into();
        station.lenient = lenient;
        station.requests.clear();
        phone.restart();
        phone.sync();
        settle(&mut phone, &mut station);
        assert_eq!(pushes(&station), offers, "{app}");
    }
    assert_eq!(holes(&phone.db), []);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
}

#[test]
fn a_damaged_entry_goes_as_a_placeholder_and_the_rest_follows() {
    let (mut phone, mut station) = (Phone::new(Db::new(1)), Station::new());
    phone.count_many(50);
    phone.db.damaged.extend([(phone.db.current, Seq(1)), (phone.db.current, Seq(20)), (phone.db.current, Seq(50))]);
    phone.sync();
    settle(&mut phone, &mut station);
    let damaged = HoleReason::Damaged;
    assert_eq!(holes(&phone.db), [(1, damaged), (20, damaged), (50, damaged)]);
    assert_eq!(phone.db.acknowledged(), phone.db.head());
    assert_eq!(station.feed.len(), 47);

    // What hangs on an entry that the station does not have is not sent.
    phone.note("gate locked");
    phone.db.damaged.insert((phone.db.current, phone.db.head().seq));
    phone.photograph(3, 1);
    phone.db.damaged.insert((phone.db.current, phone.db.head().seq));
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(phone.db.acknowledged(), phone.db.head());
    assert!(!station.requests.iter().any(|path| path.contains("/texts/") || path.contains("/photos/")));
    let unsent = Unsent { entries: 0, holes: 5, photos: 1, texts: 1 };
    assert_eq!(phone.events.last(), Some(&Event::Rested(unsent)));
}

#[test]
fn batches_too_large_are_halved_and_a_single_entry_too_large_stays() {
    let (mut phone, mut station) = (Phone::new(Db::new(1)), Station::new());
    station.most_entries = 30;
    phone.count_many(100);
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
    assert_eq!(station.feed.len(), 100);

    station.most_entries = 0;
    phone.count_many(2);
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(holes(&phone.db), [(101, HoleReason::TooLarge), (102, HoleReason::TooLarge)]);
}

#[test]
fn a_stream_of_another_is_parked_alone_and_tried_when_a_person_asks() {
    let (mut phone, mut station) = (Phone::new(Db::new(1)), Station::new());
    phone.count_many(3);
    let parked = phone.db.current;
    station.foreign.insert(parked);
    let next = survey::chain::StreamId { epoch: survey::ids::Epoch::from_octets([7; 16]), ..parked };
    phone.db.streams.insert(next, KnownStream { id: next, ..phone.db.streams[&parked].clone() });
    let whole = phone.db.streams.get_mut(&next).unwrap();
    whole.head = survey::chain::Head::START;
    phone.db.journal.insert(next, Vec::new());
    phone.db.current = next;
    phone.restart();
    phone.tell(Input::EpochStarted { stream: next });
    phone.count_many(4);
    phone.sync();
    settle(&mut phone, &mut station);
    assert!(phone.events.contains(&Event::Parked { stream: parked }));
    assert_eq!(phone.events.last(), Some(&Event::Rested(Unsent { entries: 3, ..Unsent::default() })));
    assert_eq!(phone.db.streams[&next].acknowledged.seq, Seq(4));

    phone.restart();
    station.requests.clear();
    phone.tell(Input::SyncWanted { by: Asker::Network, metered: Metered::No });
    settle(&mut phone, &mut station);
    assert_eq!(pushes(&station), 0, "it is parked");
    station.foreign.clear();
    phone.sync();
    settle(&mut phone, &mut station);
    assert!(phone.events.contains(&Event::Unparked { stream: parked }));
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
}

#[test]
fn photos_wait_for_a_network_without_a_price_or_for_a_person() {
    let (mut phone, mut station) = synced(1);
    let photo = phone.photograph(3, 2);
    phone.tell(Input::SyncWanted { by: Asker::Network, metered: Metered::Yes });
    settle(&mut phone, &mut station);
    assert_eq!(phone.events.last(), Some(&Event::Rested(Unsent { photos: 1, ..Unsent::default() })));
    phone.tell(Input::SyncWanted { by: Asker::Person, metered: Metered::Yes });
    settle(&mut phone, &mut station);
    assert!(phone.db.photos[&photo].state.verified);
}

#[test]
fn a_spoilt_photo_is_sent_again_and_a_backed_up_one_is_let_go() {
    let (mut phone, mut station) = synced(1);
    let photo = phone.photograph(3, 3);
    station.spoilt.insert(photo);
    phone.sync();
    settle(&mut phone, &mut station);
    assert!(phone.events.contains(&Event::SendPhotoAgain { photo }));
    assert!(phone.db.photos[&photo].state.verified);
    let parts = |station: &Station| station.requests.iter().filter(|path| path.contains("/parts/")).count();
    assert_eq!(parts(&station), 6);
    drop(station.back_up());
    station.safe.insert(photo);
    phone.sync();
    settle(&mut phone, &mut station);
    assert!(phone.db.photos[&photo].state.backed_up.is_some());
    assert!(phone.db.known().photos.is_empty());
    assert_eq!(parts(&station), 6);
}

#[test]
fn a_photo_that_never_matches_rests_and_the_others_go() {
    let (mut phone, mut station) = synced(1);
    let hopeless = phone.photograph(1, 2);
    let other = phone.photograph(2, 2);
    station.hopeless.insert(hopeless);
    phone.sync();
    settle(&mut phone, &mut station);
    let again = phone.events.iter().filter(|event| matches!(event, Event::SendPhotoAgain { .. })).count();
    assert_eq!(again, 3);
    assert!(phone.db.photos[&other].state.verified);
    assert_eq!(phone.events.last(), Some(&Event::Rested(Unsent { photos: 1, ..Unsent::default() })));
}

#[test]
fn a_feed_that_always_begins_again_rests() {
    let (mut phone, mut station) = synced(1);
    station.forgets_feeds = true;
    phone.count_many(3);
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(station.requests.iter().filter(|path| path.contains("/feed")).count(), 2);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
}

#[test]
fn time_since_boot_means_nothing_after_another_boot() {
    let (mut phone, _) = synced(1);
    phone.up_ms = 1_000_000_000;
    phone.sync();
    let (hello, _) = phone.job().unwrap();
    phone.tell(Input::Outcome { job: hello.id, outcome: Outcome::Failed });
    assert!(phone.engine.next_job().is_none());
    let mut now = at(10);
    now.since_boot.boot = BootId::from_octets([9; 16]);
    phone.engine.handle(Input::Timer, now, &phone.db);
    assert!(phone.engine.next_job().is_some());
}

#[test]
fn joining_repeats_itself_until_it_is_answered() {
    let mut db = Db::new(1);
    db.joined = Joined::No;
    let mut phone = Phone::new(db);
    phone.sync();
    assert_eq!(phone.events, [Event::NeedsJoining]);
    assert_eq!(phone.job(), None);

    let enrol = |phone: &mut Phone| phone.tell(Input::Enrol { code: "BCDFGHJK".into(), token_hash: Hash::ZERO });
    let answered = |response| Outcome::Answered(response);
    let joined = |device| Enrolled { device, sites: Vec::new(), station: None };
    enrol(&mut phone);
    let (first, body) = phone.job().unwrap();
    phone.tell(Input::Outcome { job: first.id, outcome: Outcome::Failed });
    phone.up_ms = phone.engine.next_wake().unwrap();
    phone.tell(Input::Timer);
    let (second, again) = phone.job().unwrap();
    assert_eq!(body, again, "a lost answer spends nothing");
    let stranger = joined(DeviceId::from_octets([66; 16]));
    phone.tell(Input::Outcome { job: second.id, outcome: answered(json(&stranger)) });
    assert_eq!(phone.db.joined, Joined::No);
    phone.up_ms = phone.engine.next_wake().unwrap();
    phone.tell(Input::Timer);
    let (third, _) = phone.job().unwrap();
    phone.tell(Input::Outcome { job: third.id, outcome: answered(json(&joined(phone.db.device))) });
    assert_eq!(phone.db.joined, Joined::Yes);

    for kind in [ProblemType::WrongCode, ProblemType::CodeUsed, ProblemType::CodeDead, ProblemType::UpdateNeeded] {
        enrol(&mut phone);
        let (job, _) = phone.job().unwrap();
        phone.tell(Input::Outcome { job: job.id, outcome: answered(problem(&Problem::new(kind))) });
        assert_eq!(phone.job(), None);
        assert_eq!(phone.engine.next_wake(), None);
    }
}

#[test]
fn after_a_restart_small_jobs_are_forgotten_and_bulk_ones_waited_for() {
    let (mut phone, mut station) = synced(1);
    let photo = phone.photograph(3, 1);
    phone.sync();
    let part = loop {
        let (job, body) = phone.job().unwrap();
        if matches!(job.work, Work::Part { .. }) {
            break job;
        }
        let answer = station.answer(&job, &body);
        phone.tell(Input::Outcome { job: job.id, outcome: Outcome::Answered(answer) });
    };
    phone.count_many(1);
    phone.restart();
    phone.sync();
    assert!(!phone.events.contains(&Event::JobForgotten(part.id)));
    let (hello, _) = phone.job().unwrap();
    phone.restart();
    phone.sync();
    assert!(phone.events.contains(&Event::JobForgotten(hello.id)));
    assert!(!phone.db.jobs.contains_key(&hello.id));
    settle_but(&mut phone, &mut station, part.id);
    let answer = station.answer(&part, &[]);
    phone.tell(Input::Outcome { job: part.id, outcome: Outcome::Answered(answer) });
    assert!(phone.db.photos[&photo].state.verified);
    assert_eq!(station.requests.iter().filter(|path| path.contains("/parts/")).count(), 1);
}

#[test]
fn a_job_without_an_outcome_is_given_up_in_time() {
    let (mut phone, mut station) = synced(1);
    phone.count_many(1);
    phone.sync();
    let (hello, _) = phone.job().unwrap();
    let wake = phone.engine.next_wake().unwrap();
    assert_eq!(wake - phone.up_ms, 5 * 60 * 1000);
    phone.up_ms = wake;
    phone.tell(Input::Timer);
    assert!(phone.events.contains(&Event::JobForgotten(hello.id)));
    settle(&mut phone, &mut station);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
}

#[test]
fn without_a_network_nothing_is_tried() {
    let (mut phone, _) = synced(1);
    phone.count_many(1);
    assert_eq!(phone.job(), None, "counting alone begins no sync");
    phone.sync();
    phone.tell(Input::NetworkLost);
    assert_eq!(phone.job(), None);
    assert_eq!(phone.engine.next_wake(), None);
}

/// Works until nothing is left but to wait for this job.
fn settle_but(phone: &mut Phone, station: &mut Station, but: JobId) {
    while let Some((job, body)) = phone.job() {
        assert_ne!(job.id, but);
        let answer = station.answer(&job, &body);
        phone.tell(Input::Outcome { job: job.id, outcome: Outcome::Answered(answer) });
    }
}
