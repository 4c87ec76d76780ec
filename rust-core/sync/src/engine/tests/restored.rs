//! Stories: what restored and cloned phones do, and phones of a restored station.

use super::cases::synced;
use super::phone::{Db, Phone, at, holes};
use super::station::{Station, settle};
use crate::engine::*;
use crate::wire::push::HoleReason;
use survey::chain::{Seq, StreamId};
use survey::ids::Epoch;

#[test]
fn a_restored_station_is_filled_again() {
    let (mut phone, mut station) = synced(10);
    let backup = station.back_up();
    phone.count_many(5);
    phone.sync();
    settle(&mut phone, &mut station);
    station = backup;
    phone.sync();
    settle(&mut phone, &mut station);
    assert!(
        phone
            .events
            .iter()
            .any(|event| matches!(event, Event::AcknowledgedMovedBack { head, .. } if head.seq == Seq(10)))
    );
    assert_eq!(sealed(&phone), []);
    assert_eq!(station.streams[&phone.db.current].len(), 15);
    let first = |event: &Event| matches!(event, Event::Verdicts { verdicts, .. } if verdicts[0].number == 1);
    assert!(phone.events.iter().any(first), "verdicts are pulled from the beginning");
    let feed = |event: &Event| matches!(event, Event::FeedRestarted { .. });
    assert!(phone.events.iter().any(feed), "and so is the feed");
    assert_eq!(phone.db.acknowledged().seq, Seq(15));
}

#[test]
fn a_restored_phone_seals_and_begins_an_epoch_before_it_sends() {
    let (mut phone, mut station) = synced(10);
    let backup = phone.db.clone();
    phone.count_many(5);
    phone.sync();
    settle(&mut phone, &mut station);
    let old = phone.db.current;
    phone.db = Db { last_job: phone.db.last_job, ..backup };
    phone.restart();
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(sealed(&phone), [SealReason::HeldMore]);
    assert_eq!(phone.db.streams[&old].life, Life::Sealed);
    phone.count_many(3);
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(station.ends(old).len(), 1, "no fork");
    assert_eq!(station.streams[&phone.db.current].len(), 3);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
}

#[test]
fn a_clone_that_has_counted_on_sends_its_branch_and_begins_an_epoch() {
    let (mut one, mut station) = synced(10);
    let mut other = Phone::new(one.db.clone());
    one.count_many(700);
    other.count_many(300);
    other.count("only here");
    let old = one.db.current;
    for (phone, seals) in [(&mut one, 0), (&mut other, 1)] {
        phone.sync();
        settle(phone, &mut station);
        assert_eq!(sealed(phone).len(), seals);
        assert!(!moved_back(phone), "what was acknowledged before the fork stays so");
        assert_eq!(phone.events.last(), Some(&Event::AllSent));
    }
    let ends = station.ends(old);
    assert_eq!(ends.len(), 2, "both branches are kept");
    for phone in [&one, &other] {
        for link in &phone.db.journal[&old] {
            assert!(station.link(old, link.head()).is_some());
        }
    }
    // The first clone learns of the other from hello.
    one.sync();
    settle(&mut one, &mut station);
    assert_eq!(sealed(&one), [SealReason::HeldUnknown]);
    for phone in [&mut one, &mut other] {
        phone.events.clear();
        phone.sync();
        settle(phone, &mut station);
        assert_eq!(sealed(phone), [], "once is enough");
        assert_eq!(phone.events.last(), Some(&Event::AllSent));
    }
}

/// Where the fork lies behind what was acknowledged, the station answers a batch with the end of the other branch,
/// which this phone does not know.
#[test]
fn a_clone_gets_past_entries_that_the_other_has_sent_too() {
    let (mut one, mut station) = synced(10);
    station.most_entries = 8;
    one.count_many(60);
    let mut other = Phone::new(one.db.clone());
    let old = one.db.current;
    one.count_many(20);
    other.count_many(200);
    for phone in [&mut one, &mut other] {
        phone.sync();
        settle(phone, &mut station);
        assert_eq!(phone.events.last(), Some(&Event::AllSent));
    }
    assert_eq!(station.streams[&old].len(), 10 + 60 + 20 + 200);
}

#[test]
fn a_phone_restored_to_nothing_seals_before_it_counts() {
    let (mut phone, mut station) = synced(5);
    let old = phone.db.current;
    phone.db = Db { last_job: phone.db.last_job, ..Db::new(1) };
    phone.restart();
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(sealed(&phone), [SealReason::HeldMore]);
    phone.count_many(2);
    assert_ne!(phone.db.current, old);
}

#[test]
fn a_station_restored_to_before_a_hole_gets_the_entry_itself() {
    let (mut phone, mut station) = synced(5);
    phone.count("poison");
    phone.sync();
    settle(&mut phone, &mut station);
    assert_eq!(holes(&phone.db), [(6, HoleReason::Refused)]);
    station = Station { lenient: true, ..Station::new() };
    phone.sync();
    settle(&mut phone, &mut station);
    assert!(moved_back(&phone));
    assert_eq!(station.feed.len(), 6);
    assert_eq!(phone.events.last(), Some(&Event::AllSent));
}

#[test]
fn nothing_is_sent_between_sealing_and_the_next_epoch() {
    let (phone, mut station) = synced(10);
    let mut db = phone.db;
    let head = db.streams.get_mut(&db.current).unwrap();
    head.head.seq = Seq(9);
    head.acknowledged.seq = Seq(9);
    let link = db.link(db.current, Seq(9)).unwrap().clone();
    let current = db.streams.get_mut(&db.current).unwrap();
    (current.head, current.acknowledged) = (link.head(), link.head());
    let mut engine = Engine::new(db.known(), 1);
    let now = at(5_000);
    engine.handle(Input::SyncWanted { by: Asker::Person, metered: Metered::No }, now, &db);
    let hello = engine.next_job().unwrap();
    let answer = station.answer(&hello, hello.inline.as_deref().unwrap().as_bytes());
    engine.handle(Input::Outcome { job: hello.id, outcome: Outcome::Answered(answer) }, now, &db);
    engine.handle(Input::SyncWanted { by: Asker::Person, metered: Metered::No }, now, &db);
    engine.handle(Input::Timer, now, &db);
    assert_eq!(engine.next_job(), None);
    let stream = StreamId { epoch: Epoch::from_octets([7; 16]), ..db.current };
    engine.handle(Input::EpochStarted { stream }, now, &db);
    assert!(engine.next_job().is_some());
}

fn sealed(phone: &Phone) -> Vec<SealReason> {
    let why = |event: &Event| match event {
        Event::SealAndStartEpoch { why, .. } => Some(*why),
        _ => None,
    };
    phone.events.iter().filter_map(why).collect()
}

fn moved_back(phone: &Phone) -> bool {
    phone.events.iter().any(|event| matches!(event, Event::AcknowledgedMovedBack { .. }))
}
