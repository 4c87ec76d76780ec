//! Answers season questions line by line, so that other programs can check the methods against their own.
//!
//! Each line of standard input is `{"topic": NAME, "input": …}`; each line of standard output is the answer as JSON, or
//! `{"error": TEXT}`. Numbers are written in full precision.

mod first;
mod second;

use serde::Deserialize;
use serde_json::{Value, json};
use std::io::{BufRead, Write};

#[derive(Deserialize)]
struct Question {
    topic: String,
    input: Value,
}

fn main() -> std::io::Result<()> {
    let mut out = std::io::BufWriter::new(std::io::stdout().lock());
    for line in std::io::stdin().lock().lines() {
        let answer = answer(&line?).unwrap_or_else(|error| json!({ "error": error }));
        writeln!(out, "{answer}")?;
    }
    out.flush()
}

fn answer(line: &str) -> Result<Value, String> {
    let Question { topic, input } = serde_json::from_str(line).map_err(|error| error.to_string())?;
    first::answer(&topic, &input)
        .or_else(|| second::answer(&topic, &input))
        .unwrap_or_else(|| Err(format!("no topic {topic:?}")))
}
