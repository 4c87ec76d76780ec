//! Laws over random acts: rows after acts are rows after a refold, and those of another phone that received the same
//! entries in another order.

mod common;
#[path = "common/station.rs"]
mod station;

use common::{begin, milkweed, open, protocol, script, site};
use handset::Handset;
use handset::acts::{BeginVisit, Count, OpenPlant};
use proptest::prelude::*;
use station::{Net, Station, play};
use survey::check::{CheckDescription, Extent, RefusedFor};
use survey::ids::SiteId;
use survey::stage::{AnimalState, Stage, What};
use survey::visit::{AdultAct, AdultEffort, AdultsCounted, Weather};

#[derive(Debug, Clone, Copy)]
enum Step {
    Open,
    Next,
    Empty,
    Close(u8),
    Count(u8, u8, u32),
    Describe(u16),
    TakeBack,
    Redo,
    Weather(i16),
    Adults,
    End,
    Begin(bool),
    Clock(i32),
    Reboot,
    Sync,
}

fn steps() -> impl Strategy<Value = Vec<(bool, Step)>> {
    let step = prop_oneof![
        2 => Just(Step::Open),
        2 => Just(Step::Next),
        3 => Just(Step::Empty),
        1 => any::<u8>().prop_map(Step::Close),
        8 => (any::<u8>(), any::<u8>(), 1..300_u32).prop_map(|(what, state, number)| Step::Count(what, state, number)),
        1 => (1..200_u16).prop_map(Step::Describe),
        3 => Just(Step::TakeBack),
        2 => Just(Step::Redo),
        1 => (-10..400_i16).prop_map(Step::Weather),
        1 => Just(Step::Adults),
        1 => Just(Step::End),
        1 => any::<bool>().prop_map(Step::Begin),
        1 => any::<i32>().prop_map(Step::Clock),
        1 => Just(Step::Reboot),
        1 => Just(Step::Sync),
    ];
    prop::collection::vec((any::<bool>(), step), 1..50)
}

/// Plays a step; one that is refused as things stand changes nothing, which is part of what is tested.
fn play_step(phone: &mut Handset, other_visit: Option<survey::ids::VisitId>, site: SiteId, step: Step) {
    let _ = match step {
        Step::Open => phone.open_plant(OpenPlant { host: Some(milkweed()), ..OpenPlant::default() }).map(drop),
        Step::Next => phone.next_plant(OpenPlant::default()).map(drop),
        Step::Empty => phone.empty_plant().map(drop),
        Step::Close(extent) => {
            let extents = [Extent::Whole, Extent::Part, Extent::Refused(RefusedFor::Danger)];
            phone.close_plant(extents[usize::from(extent) % 3]).map(drop)
        }
        Step::Count(what, state, number) => {
            let whats: [What; 4] = [
                Stage::Egg.into(),
                Stage::Larva5.into(),
                Stage::Pupa.into(),
                "egg+none".parse().expect("two outcomes"),
            ];
            let states = [AnimalState::Alive, AnimalState::Alive, AnimalState::Collapsed];
            let what = whats[usize::from(what) % whats.len()].clone();
            let state = states[usize::from(state) % states.len()];
            phone.count(Count { what, state, number, key: None, check: None }).map(drop)
        }
        Step::Describe(height) => phone
            .describe_plant(None, CheckDescription { height_cm: Some(height), ..CheckDescription::default() })
            .map(drop),
        Step::TakeBack => phone.take_back().map(drop),
        Step::Redo => phone.redo().map(drop),
        Step::Weather(air) => {
            phone.note_weather(Weather { air_decicelsius: Some(air), ..Weather::default() }).map(drop)
        }
        Step::Adults => phone
            .count_adults(AdultsCounted { effort: AdultEffort::Noted, seen: [(AdultAct::Laying, 1)].into() })
            .map(drop),
        Step::End => phone.end_visit().map(drop),
        Step::Begin(linked) => {
            let beside = other_visit.filter(|_| linked);
            let begin = BeginVisit { protocol: Some(protocol(4)), beside, ..BeginVisit::default() };
            phone.begin_visit(site, begin).map(drop)
        }
        Step::Clock(_) | Step::Reboot | Step::Sync => Ok(()),
    };
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 24, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn rows_follow_from_the_set_of_entries_alone(steps in steps()) {
        let folders = [tempfile::tempdir().unwrap(), tempfile::tempdir().unwrap()];
        let scripts = [script(1), script(2)];
        let mut phones = [open(folders[0].path(), &scripts[0]), open(folders[1].path(), &scripts[1])];
        let mut station = Station::default();
        let site = site(&mut phones[0], "Invented slope");
        for (at, phone) in phones.iter_mut().enumerate() {
            phone.join("BCDFGHJKL").unwrap();
            play(phone, &mut station, folders[at].path(), &mut |_| Net::Good);
            phone.begin_visit(site, begin(None, 4)).unwrap();
        }
        for (second, step) in steps {
            let at = usize::from(second);
            let other = phones[1 - at].visit().ok().map(|visit| visit.visit);
            match step {
                Step::Clock(ms) => scripts[at].set_wall_by(i64::from(ms)),
                Step::Reboot => scripts[at].reboot(),
                Step::Sync => drop(play(&mut phones[at], &mut station, folders[at].path(), &mut |_| Net::Good)),
                step => play_step(&mut phones[at], other, site, step),
            }
            scripts[at].pass(700);
        }
        for at in [0, 1, 0] {
            play(&mut phones[at], &mut station, folders[at].path(), &mut |_| Net::Good);
        }
        let rows = phones[0].state_rows().unwrap();
        prop_assert_eq!(&rows, &phones[1].state_rows().unwrap());
        for (at, phone) in phones.into_iter().enumerate() {
            let shown = phone.visit().unwrap();
            drop(phone);
            let mut phone = open(folders[at].path(), &scripts[at]);
            prop_assert_eq!(&phone.visit().unwrap(), &shown);
            phone.refold().unwrap();
            prop_assert_eq!(&phone.state_rows().unwrap(), &rows);
            prop_assert_eq!(&phone.visit().unwrap(), &shown);
        }
    }
}
