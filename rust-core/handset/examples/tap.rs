//! Times a tap late in a long visit against the barest durable insert into a database of its own with the same
//! settings. Prints microseconds: median and 95th percentile of each.

#![expect(clippy::disallowed_methods, reason = "it measures")]

use handset::Handset;
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::surroundings::system::{LocalOffset, surroundings};
use std::collections::{BTreeMap, BTreeSet};
use std::path::PathBuf;
use std::time::Instant;
use survey::ids::ProtocolId;
use survey::protocol::{GoalGroup, PlantChoice, Protocol, SearchRule, StopRule};
use survey::site::SiteDescription;
use survey::stage::Stage;

const TAPS: usize = 400;

fn main() -> Result<(), Box<dyn std::error::Error>> {
    let folder = PathBuf::from(std::env::args_os().nth(1).ok_or("usage: tap FOLDER [PLANTS]")?);
    let plants: usize = std::env::args().nth(2).map_or(Ok(300), |plants| plants.parse())?;
    let around = surroundings(&folder.join("no-backup"), LocalOffset::default());
    let mut phone = Handset::open(folder.join("data"), around)?;
    let description = SiteDescription { name: Some("Invented field".into()), ..SiteDescription::default() };
    let site = phone.describe_site(None, description)?.site.id;
    let protocol = Protocol {
        id: ProtocolId::from_octets([1; 16]),
        name: "All stems".into(),
        stages: BTreeSet::from(Stage::EGG_TO_LARVA5),
        choice: PlantChoice::All,
        units: BTreeMap::new(),
        search: SearchRule::Whole,
        audit_one_in: 15,
        stop: StopRule { goal: GoalGroup::Eggs, at_least: 1, at_most: 1000 },
    };
    phone.begin_visit(site, BeginVisit { protocol: Some(protocol), ..BeginVisit::default() })?;
    phone.open_plant(OpenPlant::default())?;
    for _ in 0..plants {
        phone.count(Count::one(Stage::Egg))?;
        phone.next_plant(OpenPlant::default())?;
    }
    let bare = bare(&folder)?;
    let mut taps = Vec::new();
    for at in 0..TAPS {
        let start = Instant::now();
        phone.count(Count::one(Stage::EGG_TO_LARVA5[at % 6]))?;
        taps.push(start.elapsed().as_micros());
        if at % 4 == 3 {
            phone.next_plant(OpenPlant::default())?;
        }
    }
    let mut empties = Vec::new();
    phone.next_plant(OpenPlant::default())?;
    for _ in 0..TAPS {
        let start = Instant::now();
        phone.empty_plant()?;
        empties.push(start.elapsed().as_micros());
    }
    for (what, mut times) in [("bare insert", bare), ("tap", taps), ("empty plant", empties)] {
        times.sort_unstable();
        println!("{what}: median {} us, 95th percentile {} us", times[TAPS / 2], times[TAPS * 95 / 100]);
    }
    Ok(())
}

fn bare(folder: &std::path::Path) -> Result<Vec<u128>, rusqlite::Error> {
    let db = rusqlite::Connection::open(folder.join("bare.sqlite"))?;
    db.execute_batch(
        "PRAGMA journal_mode = WAL; PRAGMA synchronous = FULL; CREATE TABLE t (a INTEGER PRIMARY KEY, b BLOB)",
    )?;
    let entry = vec![7_u8; 450];
    let mut times = Vec::new();
    for _ in 0..TAPS {
        let start = Instant::now();
        db.prepare_cached("INSERT INTO t (b) VALUES (?1)")?.execute([&entry])?;
        times.push(start.elapsed().as_micros());
    }
    Ok(times)
}
