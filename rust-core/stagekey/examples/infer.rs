//! Answers inference requests, one JSON object a line, so that other programs can compute the same a second time.
//!
//! `{"key": KEY FILE TEXT, "answers": {CHARACTER: ANSWER}}` gives support by outcome, entropy in nats, and for each
//! question its expected drop. `{"masses": [...], "instars": [[FROM, TO], ...], "error": E, "slip": S}` classifies
//! masses by the numeric part alone and gives the support by instar for each.

use serde_json::{Value, json};
use stagekey::{Key, KeySession, Means};
use std::fmt::Write as _;
use std::io::BufRead;

fn main() {
    for line in std::io::stdin().lock().lines() {
        let line = line.expect("a line can be read");
        if line.trim().is_empty() {
            continue;
        }
        let request: Value = serde_json::from_str(&line).expect("a line is JSON");
        let answer = if request.get("masses").is_some() { by_mass(&request) } else { infer(&request) };
        println!("{answer}");
    }
}

fn infer(request: &Value) -> Value {
    let key = match Key::load(request["key"].as_str().expect("a key file")) {
        Ok(key) => key,
        Err(faults) => return json!({ "faults": faults.to_string() }),
    };
    let mut session = KeySession::begin(&key, Means::ALL.into());
    for (character, answer) in request["answers"].as_object().expect("answers") {
        session = match session.typed(&key, character, answer.as_str().expect("an answer is text")) {
            Ok(session) => session,
            Err(error) => return json!({ "refused": error.to_string(), "text": error.text_id() }),
        };
    }
    let support = session.support(&key).expect("the session belongs to the key");
    let entropy: f64 = support.iter().filter(|one| one.1 > 0.0).map(|one| -one.1 * one.1.ln()).sum();
    let support: serde_json::Map<_, _> = support.iter().map(|(id, chance)| (id.to_string(), json!(chance))).collect();
    json!({
        "support": support,
        "entropy": entropy,
        "questions": session.questions(&key).expect("the session belongs to the key"),
        "next": session.next(&key).expect("the session belongs to the key"),
        "proposal": session.proposal(&key).expect("the session belongs to the key"),
    })
}

/// Each mass through a key of one numeric character, written here from the ranges given.
fn by_mass(request: &Value) -> Value {
    let numbers = |value: &Value| -> Vec<f64> {
        value.as_array().expect("a list").iter().map(|one| one.as_f64().expect("a number")).collect()
    };
    let ranges: Vec<Vec<f64>> = request["instars"].as_array().expect("a list").iter().map(&numbers).collect();
    let mut text = String::from(
        "format = 1\nid = \"masses\"\nspecies = \"any\"\nthreshold = 0.51\nthreshold_source = \"given\"\n[sources]\ngiven = \"given by the caller\"\n",
    );
    let stages = ["larva1", "larva2", "larva3", "larva4", "larva5"];
    for stage in stages {
        let _ = write!(text, "[[outcome]]\nid = \"{stage}\"\ncounts_as = \"{stage}\"\n");
    }
    text.push_str(
        "[[character]]\nid = \"mass\"\n[character.number]\nunit = \"mg\"\nleast = 0.0001\nmost = 100.0\nsizes = [\n",
    );
    for (stage, range) in stages.iter().zip(&ranges) {
        let _ = writeln!(
            text,
            "{{ for = [\"{stage}\"], from = {:?}, to = {:?}, source = \"given\" }},",
            range[0], range[1]
        );
    }
    let (error, slip) = (request["error"].as_f64().expect("error"), request["slip"].as_f64().expect("slip"));
    let _ = write!(
        text,
        "]\n[[character.look]]\nmeans = \"measuring\"\nseconds = 1\nsource = \"given\"\nerror = {error:?}\nslip = {slip:?}\n"
    );
    let key = match Key::load(&text) {
        Ok(key) => key,
        Err(faults) => return json!({ "faults": faults.to_string() }),
    };
    let session = KeySession::begin(&key, Means::ALL.into());
    let best = |mass: f64| {
        let session = session.typed(&key, "mass", &format!("{mass}")).expect("a mass within the range");
        session.support(&key).expect("the session belongs to the key")[0].0.to_string()
    };
    json!({ "instars": numbers(&request["masses"]).into_iter().map(best).collect::<Vec<_>>() })
}
