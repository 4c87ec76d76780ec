//! One story, told by Rust, Kotlin and Swift through the same library: `tests/story/story.json`. The journals are equal,
//! but for ids, times, and the audits that are asked for by lot.
//!
//! Rust tells it here. What the shells wrote is compared where `LEAFTURN_STORIES` names their files, separated by colons;
//! the parts of the tests that build the shells set it.

use end_to_end::folder;
use leafturn_phone::Leafturn;
use leafturn_phone::records::{Beginning, Beside, NewSite, Opening, Precision, ShareOfPlants};
use serde_json::Value;
use std::collections::{HashMap, HashSet};
use std::error::Error;
use std::fs::File;
use std::path::Path;
use sync::framing::FileReader;

#[test]
#[expect(
    clippy::disallowed_methods,
    reason = "a test takes no arguments; a shell's part hands its files over by this name"
)]
fn the_journals_of_all_shells_are_equal() -> Result<(), Box<dyn Error>> {
    let place = folder()?;
    let story: Value = serde_json::from_str(include_str!("../story/story.json"))?;
    let file = place.path().join("story-rust.gz");
    tell(&story, place.path(), &file)?;
    let own = journal(&file)?;
    let counted = own.iter().filter(|entry| entry["kind"] == "counted").count();
    let taps =
        story["plants"].as_array().into_iter().flatten().flat_map(|plant| plant.as_array().into_iter().flatten());
    assert_eq!(counted, taps.filter(|tap| *tap != "-").count(), "every count of the story is an entry");

    for shell in std::env::var("LEAFTURN_STORIES").unwrap_or_default().split(':').filter(|name| !name.is_empty()) {
        let theirs = journal(Path::new(shell))?;
        for (at, (own, theirs)) in own.iter().zip(&theirs).enumerate() {
            assert_eq!(own, theirs, "entry {at} of {shell}");
        }
        assert_eq!(own.len(), theirs.len(), "{shell}");
        println!("measured: {shell} has the same {} entries", own.len());
    }
    Ok(())
}

/// The story through the calls that shells make, and its journal in a file.
fn tell(story: &Value, place: &Path, file: &Path) -> Result<(), Box<dyn Error>> {
    let text = |value: &Value| value.as_str().unwrap_or_default().to_owned();
    let phone = Leafturn::open(Opening {
        folder: place.join("journal").display().to_string(),
        no_backup_folder: place.join("marker").display().to_string(),
        language: "en".into(),
        offset_minutes: 0,
        beside: Beside::Own,
    })?;
    let (name, latitude) = (text(&story["site"]["name"]), text(&story["site"]["latitude"]));
    let longitude = text(&story["site"]["longitude"]);
    let sites =
        phone.add_site(NewSite { name, latitude, longitude, accuracy_m: None, precision: Precision::Hundredth })?;
    let site = sites.sites[0].site.clone();
    let start = phone.add_observer(site.clone(), text(&story["observer"]))?;
    phone.begin_visit(Beginning {
        site,
        protocol: start.protocols[0].protocol.clone(),
        observers: start.observers.into_iter().map(|own| own.observer).collect(),
        share: ShareOfPlants::All,
        beside: String::new(),
    })?;
    phone.open_plant(text(&story["host"]))?;
    for plant in story["plants"].as_array().into_iter().flatten() {
        let acts: Vec<String> = plant.as_array().into_iter().flatten().map(text).collect();
        for act in &acts {
            if act == "-" {
                phone.take_back()?
            } else {
                phone.count(act.clone())?
            };
        }
        if acts.is_empty() {
            phone.empty_plant()?
        } else {
            phone.next_plant()?
        };
    }
    phone.export_to(file.display().to_string())?;
    Ok(())
}

/// The entries of a file, without times; ids are numbered in the order in which they come up.
fn journal(file: &Path) -> Result<Vec<Value>, Box<dyn Error>> {
    let (mut ids, mut asked) = (HashMap::new(), HashSet::new());
    let mut entries = Vec::new();
    for batch in FileReader::new(File::open(file)?) {
        for link in batch?.links {
            let mut entry: Value = serde_json::from_slice(&link.bytes)?;
            // Which counts are audited is drawn by lot, on each phone for itself; a take-back takes the asking back, too.
            if entry["kind"] == "audit-requested" {
                asked.insert(entry["id"].to_string());
                continue;
            }
            if entry["kind"] == "taken-back" && asked.contains(&entry["payload"]["target"].to_string()) {
                continue;
            }
            if let Some(fields) = entry.as_object_mut() {
                for time in ["hybrid", "wall", "offset", "up", "boot"] {
                    fields.remove(time);
                }
            }
            number(&mut entry, &mut ids);
            entries.push(entry);
        }
    }
    Ok(entries)
}

fn number(value: &mut Value, ids: &mut HashMap<String, usize>) {
    match value {
        Value::String(text) if is_id(text) => {
            let next = ids.len();
            *value = Value::from(*ids.entry(text.clone()).or_insert(next));
        }
        Value::Array(values) => values.iter_mut().for_each(|value| number(value, ids)),
        Value::Object(fields) => fields.values_mut().for_each(|value| number(value, ids)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// 8-4-4-4-12 hexadecimal digits, as RFC 9562 writes them.
fn is_id(text: &str) -> bool {
    let groups: Vec<usize> = text.split('-').map(str::len).collect();
    groups == [8, 4, 4, 4, 12] && text.chars().all(|own| own == '-' || own.is_ascii_hexdigit())
}
