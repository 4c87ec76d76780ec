//! `demo/run`: plays the season and prints what became of it.

use clap::Parser;
use demo::Trouble;
use demo::compare::{Held, Line};
use demo::play::{Played, count, go_home};
use demo::scenario::season;
use demo::station::Station;
use serde_json::Value;
use std::collections::BTreeMap;
use std::path::PathBuf;
use std::process::ExitCode;
use survey::stage::{Stage, What};

/// Plays an invented season: four sites, eight weeks, five phones without a network, then a station.
///
/// Ends with a table of what the phones recorded and the station received, and exit code 0 only if nothing is missing,
/// nothing is twice, and the station's numbers are those that were tapped.
#[derive(Debug, Parser)]
struct Demo {
    /// The `leafturn` program.
    #[arg(long)]
    leafturn: PathBuf,
    /// Folder for phones, station and report; must not hold an earlier run.
    #[arg(long)]
    out: PathBuf,
    /// Leave the station up, and print its address and a sign-in link.
    #[arg(long)]
    serve: bool,
    /// Seed of the season.
    #[arg(long, default_value_t = 2026)]
    seed: u64,
}

fn main() -> ExitCode {
    match play(&Demo::parse()) {
        Ok(code) => code,
        Err(trouble) => {
            eprintln!("the demo stopped: {trouble}");
            ExitCode::from(3)
        }
    }
}

fn play(demo: &Demo) -> Result<ExitCode, Trouble> {
    let plans = season(demo.seed);
    println!("Everything here is invented: places, people, animals.\n");
    println!("Counting, with the network closed:");
    let mut played = count(&plans, &demo.out.join("phones"), say)?;
    let log = demo.out.join("station.log");
    let station = Station::start(&demo.leafturn, &demo.out.join("station"), &log)?;
    println!("\nAt home, station at {}:", station.address);
    let mishaps = go_home(&mut played, &station, say)?;
    say(&format!(
        "the bad link lost {} requests and {} replies, sent {} twice and cut {} short",
        mishaps.lost_requests, mishaps.lost_replies, mishaps.repeated, mishaps.cut_replies
    ));

    let report = demo.out.join("report");
    let printed = station.report(&report)?;
    let checked = station.check()?;
    std::fs::write(report.join("report.txt"), printed)?;
    println!("\nThe station checks itself: {}", checked.trim_end().replace('\n', "; "));
    let openapi = ureq::get(format!("{}/v1/openapi.json", station.address))
        .call()
        .map(|mut reply| reply.body_mut().read_to_string());
    if let Ok(Ok(document)) = openapi {
        std::fs::write(demo.out.join("openapi.json"), document)?;
    }

    let arrived = print_arrivals(&played, &station)?;
    let document: Value = serde_json::from_str(&std::fs::read_to_string(report.join("report.json"))?)?;
    print_season(&document);
    let tapped = same_numbers(&played, &document);
    println!(
        "\nreport      {}\nas text     {}",
        report.join("index.html").display(),
        report.join("report.txt").display()
    );
    println!("pictures    {}", report.join("*.svg").display());
    if demo.serve {
        println!("address     {}\nsign in     {}", station.address, station.coordinator("Field desk")?);
        println!("ctrl-c stops the station");
        station.wait()?;
    }
    Ok(if arrived && tapped { ExitCode::SUCCESS } else { ExitCode::FAILURE })
}

fn print_arrivals(played: &Played, station: &Station) -> Result<bool, Trouble> {
    let held = Held::at_station(&station.database())?;
    println!("\n{:<12} {:>8} {:>10} {:>10} {:>9} {:>9}", "phone", "taps", "recorded", "received", "missing", "twice");
    let mut sum = Line::default();
    for (phone, person) in &played.people {
        let line = held.compare(&person.journal(), person.handset.device())?;
        print_line(&format!("{phone:?}"), &person.taps.to_string(), line);
        sum.recorded += line.recorded;
        sum.received += line.received;
        sum.missing += line.missing;
        sum.twice += line.twice;
    }
    let taps: u64 = played.people.values().map(|person| person.taps).sum();
    print_line("all", &taps.to_string(), sum);
    Ok(sum.recorded > 0 && sum.received == sum.recorded && sum.missing == 0 && sum.twice == 0)
}

fn print_line(name: &str, taps: &str, line: Line) {
    println!("{name:<12} {taps:>8} {:>10} {:>10} {:>9} {:>9}", line.recorded, line.received, line.missing, line.twice);
}

/// Living animals on whole checks by site and stage, with the share of things left undecided that may be of the stage.
fn print_season(document: &Value) {
    let stages = Stage::EGG_TO_LARVA5.map(|stage| format!("{:>9}", stage.name())).concat();
    println!("\nThe season, counted: living animals on plants wholly searched (+ undecided that may be of the stage)");
    println!("{:<14} {:>8} {:>8}{stages}", "site", "visits", "stems");
    for (site, season) in seasons(document) {
        let visits = list(&season["visits"]);
        let checked: u64 = visits.iter().filter_map(|visit| visit["checked"].as_u64()).sum();
        let cells = Stage::EGG_TO_LARVA5.map(|stage| {
            let total = list(&season["totals"]).iter().find(|total| total["stage"] == stage.name());
            let number = |name: &str| total.map_or(&Value::Null, |total| &total[name]);
            let decided = number("total")["value"].as_f64().map_or_else(|| "-".into(), |value| value.to_string());
            match number("undecided").as_u64() {
                Some(0) | None => format!("{decided:>9}"),
                Some(more) => format!("{:>9}", format!("{decided} +{more}")),
            }
        });
        println!("{:<14} {:>8} {checked:>8}{}", text(&site["name"]), visits.len(), cells.concat());
    }
}

/// Compares the report's totals of decided stages with what the demo itself tapped.
fn same_numbers(played: &Played, document: &Value) -> bool {
    let mut reported: BTreeMap<(&str, &str), f64> = BTreeMap::new();
    for (site, season) in seasons(document) {
        for total in list(&season["totals"]) {
            let sum = reported.entry((text(&site["name"]), text(&total["stage"]))).or_default();
            *sum += total["total"]["value"].as_f64().unwrap_or(f64::NAN);
        }
    }
    let mut same = true;
    for (name, tapped) in played.tapped.values() {
        for (what, number) in tapped {
            let What::Stage(stage) = what else { continue };
            let found = reported.get(&(name.as_str(), stage.name())).copied();
            if found != Some(*number as f64) {
                same = false;
                println!("{name}: {number} × {stage} tapped, {found:?} reported");
            }
        }
    }
    if same {
        println!("\nThe station's totals are those that were tapped.");
    }
    same
}

fn seasons(document: &Value) -> impl Iterator<Item = (&Value, &Value)> {
    list(&document["sites"]).iter().flat_map(|site| list(&site["seasons"]).iter().map(move |season| (site, season)))
}

fn list(value: &Value) -> &[Value] {
    value.as_array().map_or(&[], Vec::as_slice)
}

fn text(value: &Value) -> &str {
    value.as_str().unwrap_or_default()
}

fn say(what: &str) {
    println!("  {what}");
}
