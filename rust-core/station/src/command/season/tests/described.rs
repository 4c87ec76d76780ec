//! What `--describe` says is what topics take and give, and its examples run.

use super::ask;
use crate::command::season::describe::{TOPICS, describe, described, list};
use crate::command::season::shown;
use clap::{CommandFactory as _, Parser as _};
use messages::Language;
use serde_json::Value;
use std::collections::BTreeSet;

/// Paths of an answer down to fields that are described as a whole.
fn paths(value: &Value, at: &str, topic: &str, found: &mut BTreeSet<String>) {
    let own = described(topic).unwrap();
    if !at.is_empty() {
        found.insert(at.to_owned());
        let kind = own.out.iter().find(|field| field[0] == at).map(|field| field[1].as_str());
        if !matches!(kind, Some("rows" | "object")) {
            return;
        }
    }
    let step = |name: &str| if at.is_empty() { name.to_owned() } else { format!("{at}.{name}") };
    match value {
        Value::Object(fields) => fields.iter().for_each(|(name, value)| paths(value, &step(name), topic, found)),
        Value::Array(rows) => {
            for fields in rows.iter().filter_map(Value::as_object) {
                fields.iter().for_each(|(name, value)| paths(value, &format!("{at}[].{name}"), topic, found));
            }
        }
        _ => {}
    }
}

/// Fields of an answer that the catalogue has no label for, and words of the program that it has no words for.
fn labels(value: &Value, missing: &mut BTreeSet<String>) {
    match value {
        Value::Object(fields) => {
            for (name, value) in fields {
                if !messages::knows(&format!("season-field.{}", name.replace('_', "-")))
                    && !UNSHOWN.contains(&name.as_str())
                {
                    missing.insert(name.clone());
                }
                match value {
                    Value::String(word) if PROGRAMS_WORDS.contains(&name.as_str()) => {
                        let ids = [format!("season-word.{word}"), format!("unit.{word}"), word.clone()];
                        if !ids.iter().any(|id| messages::knows(id)) {
                            missing.insert(format!("{name} {word}"));
                        }
                    }
                    other => labels(other, missing),
                }
            }
        }
        Value::Array(values) => values.iter().for_each(|value| labels(value, missing)),
        Value::Null | Value::Bool(_) | Value::Number(_) | Value::String(_) => {}
    }
}

/// Fields that stand among the notes.
const UNSHOWN: [&str; 2] = ["method", "assumed"];
/// Fields whose value is one of the program's own words.
const PROGRAMS_WORDS: [&str; 9] =
    ["known", "basis", "unit", "decision", "why", "verdict", "range", "category", "audits_of"];

#[test]
fn examples_run_and_give_the_fields_that_are_described() {
    for topic in TOPICS {
        let own = described(topic).unwrap();
        let (mut found, mut unlabelled) = (BTreeSet::new(), BTreeSet::new());
        for example in &own.examples {
            let files: Vec<&str> = example.file.iter().chain(&example.second).map(String::as_str).collect();
            let answer = match ask(topic, &example.options, &files) {
                Ok(answer) => answer,
                Err(error) => panic!("{topic} {}: {error}", example.options),
            };
            assert_eq!(answer.figure().is_some(), example.options.contains("--figure"), "{topic}");
            if let Some(figure) = answer.figure() {
                assert!(figure.text_alternative.description.len() > 20 && !figure.shapes.is_empty());
                assert!(!figure.text_alternative.description.contains('{'), "{:?}", figure.text_alternative);
            }
            paths(answer.value(), "", topic, &mut found);
            labels(answer.value(), &mut unlabelled);
            for language in Language::ALL {
                let table = shown::table(answer.value(), topic, language);
                let raw = ["assumed.", "method.", "refused.", "heading.", "wording.", "NaN", "inf "];
                assert!(raw.iter().all(|id| !table.contains(id)), "{topic} {language:?}:\n{table}");
            }
        }
        assert!(unlabelled.is_empty(), "{topic}: labels in English only: {unlabelled:?}");
        let said: BTreeSet<String> = own.out.iter().map(|field| field[0].clone()).collect();
        assert_eq!(
            found.difference(&said).collect::<Vec<_>>(),
            Vec::<&String>::new(),
            "{topic} gives more than it says"
        );
        let missing: Vec<_> = said.difference(&found).collect();
        assert!(missing.iter().all(|path| ONLY_ELSEWHERE.contains(&(topic, path.as_str()))), "{topic}: {missing:?}");
    }
}

/// Fields that no example has; the check values reach them.
const ONLY_ELSEWHERE: &[(&str, &str)] = &[
    ("passage", "stages[].area_degree_days"),
    ("correction", "measured_coverage"),
    ("correction", "matrix"),
    ("correction", "judged"),
    ("correction", "not_judged"),
    ("correction", "audits_of"),
];

#[test]
fn every_topic_is_listed_and_described() {
    let season = crate::command::Leafturn::command();
    let season = season.find_subcommand("season").unwrap();
    let known: Vec<String> =
        season.get_subcommands().map(|topic| topic.get_name().to_owned()).filter(|name| name != "help").collect();
    assert_eq!(known, TOPICS);
    assert_eq!(list().lines().count(), TOPICS.len());
    for topic in TOPICS {
        let text = describe(topic);
        assert!(text.contains("Out (--json):") && text.contains("Sources:") && text.contains("Example:"), "{text}");
        let own = described(topic).unwrap();
        assert!(!own.sources.is_empty() && !own.examples.is_empty());
    }
    insta::assert_snapshot!(describe("next-visit"));
}

#[test]
fn a_table_is_for_people() {
    let own = &described("next-visit").unwrap().examples[0];
    let answer = ask("next-visit", &own.options, &[]).unwrap();
    insta::assert_snapshot!(shown::table(answer.value(), "next-visit", Language::En));
    let own = &described("density").unwrap().examples[0];
    let files = [own.file.as_deref().unwrap(), own.second.as_deref().unwrap()];
    let answer = ask("density", &own.options, &files).unwrap();
    insta::assert_snapshot!(shown::table(answer.value(), "density", Language::Fr));
}

#[test]
fn options_of_one_topic_are_not_taken_by_another() {
    let parse = |line: &str| crate::command::Leafturn::try_parse_from(line.split_whitespace());
    assert!(parse("leafturn season sun --place 44.9,-93.2 --on 2026-06-21").is_ok());
    for wrong in [
        "leafturn season sun --k 3",
        "leafturn season density counts.csv --interval 1.5",
        "leafturn season durations --at warm",
        "leafturn season durations --at NaN",
        "leafturn season sun --place 99,0 --on 2026-06-21",
        "leafturn season laying-dates --seen imago",
        "leafturn season stage-dates --laid 2026-02-30",
        "leafturn season nothing",
        "leafturn season",
    ] {
        assert_eq!(parse(wrong).unwrap_err().exit_code(), 2, "{wrong}");
    }
}
