//! Every topic through the command: examples, bad input, published check values.

mod bad_input;
mod described;
mod vectors_of_counts;
mod vectors_of_heat;
mod vectors_of_observers;
mod vectors_of_years;

use super::answer::Answer;
use crate::command::{Act, CommandError, Leafturn};
use clap::Parser as _;
use serde_json::Value;
use std::path::{Path, PathBuf};

/// Asks with these options; `FILE` and `FILE2` stand for files with these texts.
fn ask(topic: &str, options: &str, files: &[&str]) -> Result<Answer, CommandError> {
    let folder = tempfile::tempdir().unwrap();
    let words = words(options, files, folder.path());
    let line = ["leafturn", "season", topic].into_iter().map(str::to_owned).chain(words);
    let asked = Leafturn::try_parse_from(line).unwrap_or_else(|error| panic!("{topic} {options}: {error}"));
    let Act::Season(season) = asked.act else { panic!("{topic}") };
    let topic = season.topic.unwrap();
    let asked = topic.asked();
    Ok(asked.answer()?.sound(asked.topic(), asked.common().tongue())?)
}

/// The answer's fields.
fn value(topic: &str, options: &str, file: &str) -> Value {
    match ask(topic, options, &[file]) {
        Ok(answer) => answer.value().clone(),
        Err(error) => panic!("{topic} {options}: {error}"),
    }
}

fn words(options: &str, files: &[&str], folder: &Path) -> Vec<String> {
    let path = |index: usize| -> PathBuf { folder.join(format!("{index}.txt")) };
    for (index, text) in files.iter().enumerate() {
        std::fs::write(path(index), text.trim_start()).unwrap();
    }
    options
        .split_whitespace()
        .map(|word| match word {
            "FILE" => path(0).display().to_string(),
            "FILE2" => path(1).display().to_string(),
            other => other.to_owned(),
        })
        .collect()
}

/// The number at a path such as `stages.0.days.value`.
fn number(value: &Value, path: &str) -> f64 {
    let found = path.split('.').try_fold(value, |value, step| match step.parse::<usize>() {
        Ok(index) => value.get(index),
        Err(_) => value.get(step),
    });
    found.and_then(Value::as_f64).unwrap_or_else(|| panic!("no number {path} in {value}"))
}

fn near(value: &Value, path: &str, wanted: f64, slack: f64) {
    let found = number(value, path);
    assert!((found - wanted).abs() <= slack, "{path}: {found} is not {wanted}");
}
