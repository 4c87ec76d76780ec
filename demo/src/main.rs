//! `demo/run`: plays the season and prints what became of it.

use clap::Parser;
use demo::Trouble;
use demo::compare::{Held, Line};
use demo::play::{Played, count, go_home};
use demo::scenario::season;
use demo::station::Station;
use std::collections::BTreeMap;
use std::path::{Path, PathBuf};
use std::process::ExitCode;

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
    println!("\n{printed}\n{}", checked.trim_end());
    let openapi = ureq::get(format!("{}/v1/openapi.json", station.address))
        .call()
        .map(|mut reply| reply.body_mut().read_to_string());
    if let Ok(Ok(document)) = openapi {
        std::fs::write(demo.out.join("openapi.json"), document)?;
    }

    let arrived = print_arrivals(&played, &station)?;
    let tapped = same_numbers(&played, &report)?;
    println!("\nreport      {}\npictures    {}", report.join("index.html").display(), report.display());
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

/// Compares the report's totals of decided stages with what the demo itself tapped.
fn same_numbers(played: &Played, report: &Path) -> Result<bool, Trouble> {
    let document: serde_json::Value = serde_json::from_str(&std::fs::read_to_string(report.join("report.json"))?)?;
    let mut reported: BTreeMap<String, BTreeMap<String, f64>> = BTreeMap::new();
    for site in document["sites"].as_array().into_iter().flatten() {
        let name = site["name"].as_str().unwrap_or_default().to_owned();
        for total in
            site["seasons"].as_array().into_iter().flatten().flat_map(|season| season["totals"].as_array()).flatten()
        {
            let stage = total["stage"].as_str().unwrap_or_default().to_owned();
            *reported.entry(name.clone()).or_default().entry(stage).or_default() +=
                total["total"]["value"].as_f64().unwrap_or(f64::NAN);
        }
    }
    let mut same = true;
    for (name, tapped) in played.tapped.values() {
        for (what, number) in tapped {
            let survey::stage::What::Stage(stage) = what else { continue };
            let found = reported.get(name).and_then(|totals| totals.get(stage.name())).copied();
            if found != Some(*number as f64) {
                same = false;
                println!("{name}: {number} × {stage} tapped, {found:?} reported");
            }
        }
    }
    if same {
        println!("\nThe station's totals are those that were tapped.");
    }
    Ok(same)
}

fn say(what: &str) {
    println!("  {what}");
}
