//! Makes the catalogue files one text that is cheap to read, so that no phone carries a parser for them or runs it at every
//! start. What is wrong with a file fails the build.
//!
//! A message is a line of fields: id, placeholder that counts (or nothing), then the words in English, Spanish and French;
//! with a count, the form for one and the form for other numbers of each.

use serde::Deserialize;
use std::collections::BTreeMap;
use std::path::Path;

const FILES: [&str; 3] = ["catalogue.toml", "phone.toml", "season.toml"];

/// Between messages, and between the fields of one: signs that no words hold.
const SIGNS: [char; 2] = ['\u{1e}', '\u{1f}'];

#[derive(Deserialize)]
#[serde(deny_unknown_fields)]
struct Written {
    note: String,
    #[serde(default)]
    count: String,
    en: Words,
    es: Words,
    fr: Words,
}

#[derive(Deserialize)]
#[serde(untagged)]
enum Words {
    Single(String),
    Plural { one: String, other: String },
}

fn main() {
    let mut all: BTreeMap<String, String> = BTreeMap::new();
    let answers = std::env::var_os("CARGO_FEATURE_ANSWERS").map(|_| "season-answer.toml");
    for file in FILES.into_iter().chain(answers) {
        println!("cargo::rerun-if-changed={file}");
        let text = std::fs::read_to_string(file).unwrap_or_else(|error| panic!("{file}: {error}"));
        let read: BTreeMap<String, Written> = toml::from_str(&text).unwrap_or_else(|error| panic!("{file}: {error}"));
        for (id, message) in read {
            let line = line(&id, &message);
            assert!(all.insert(id.clone(), line).is_none(), "{id} stands twice in the catalogue");
        }
    }
    let folder = std::env::var_os("OUT_DIR").expect("cargo names the folder");
    let lines: Vec<String> = all.into_values().collect();
    std::fs::write(Path::new(&folder).join("catalogue.txt"), lines.join(&SIGNS[0].to_string()))
        .expect("cargo's folder can be written");
}

fn line(id: &str, message: &Written) -> String {
    assert!(!message.note.trim().is_empty(), "{id} has no note for translators");
    let mut fields = vec![id, &message.count];
    for words in [&message.en, &message.es, &message.fr] {
        match words {
            Words::Single(words) if message.count.is_empty() => fields.push(words),
            Words::Plural { one, other } if !message.count.is_empty() => fields.extend([one.as_str(), other]),
            Words::Single(_) | Words::Plural { .. } => panic!("{id}: plural forms go with `count`"),
        }
    }
    assert!(fields.iter().all(|field| !field.contains(SIGNS)), "{id} holds a sign that parts messages");
    fields.join(&SIGNS[1].to_string())
}
