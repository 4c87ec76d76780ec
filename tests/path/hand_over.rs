//! Without any network: a file from the phone, handed over and taken in. Same result as a sync, whatever happens to it.

use demo::Trouble;
use demo::link::Wifi;
use demo::play::count;
use demo::scenario::season;
use end_to_end::{folder, leafturn, station};
use serde_json::Value;
use std::path::Path;
use std::process::{Command, Output};

#[test]
fn a_file_gives_what_a_sync_gives_and_twice_is_once() -> Result<(), Trouble> {
    let place = folder()?;
    let plans = &season(11)[3..];
    let mut played = count(plans, &place.path().join("phones"), |_| {})?;
    let person = played.people.values_mut().next().expect("the site has a phone");
    let file = place.path().join("tannery.leafturn");
    person.handset.export_to(&file)?;

    let by_file = place.path().join("by-file");
    let first = taken_in(&take_in(&by_file, &file));
    let recorded = person.handset.last_seq().0;
    assert_eq!(first["added"], recorded, "{first}");
    let again = taken_in(&take_in(&by_file, &file));
    assert_eq!(again["added"], 0, "the same file twice adds nothing: {again}");
    assert_eq!(run(&by_file, &["check"]).status.code(), Some(0));

    let half = place.path().join("half.leafturn");
    let octets = std::fs::read(&file)?;
    std::fs::write(&half, &octets[..octets.len() / 2])?;
    let cut = place.path().join("cut");
    let output = take_in(&cut, &half);
    assert_eq!(output.status.code(), Some(1), "a cut file is named as such: {output:?}");
    let kept = taken_in(&output)["added"].as_u64().expect("a number");
    assert!(kept > 0 && kept < recorded, "{kept} of {recorded} kept");
    let rest = taken_in(&take_in(&cut, &file));
    assert_eq!(rest["added"], recorded - kept, "the whole file adds what the cut one lacked: {rest}");

    let station = station(place.path())?;
    person.join_and_sync(&station.invite("A phone", &[])?, &mut Wifi::to(&station.address))?;
    station.report(&place.path().join("synced"))?;
    // A stream that came by file belongs to nobody yet and stays out of estimates until somebody confirms it.
    assert_eq!(totals(&report(&by_file, &place.path().join("unconfirmed"))?), Vec::<Value>::new());
    let stream = person.handset.stream();
    let confirm = ["device", "confirm", &stream.device.to_string(), &stream.epoch.to_string()];
    let confirmed = run(&by_file, &confirm);
    assert!(confirmed.status.success(), "{confirmed:?}");
    let synced: Value = serde_json::from_str(&std::fs::read_to_string(place.path().join("synced/report.json"))?)?;
    assert!(!totals(&synced).is_empty());
    assert_eq!(totals(&report(&by_file, &place.path().join("filed"))?), totals(&synced));
    Ok(())
}

fn run(data: &Path, arguments: &[&str]) -> Output {
    Command::new(leafturn()).args(arguments).arg("--data").arg(data).output().expect("the program runs")
}

fn take_in(data: &Path, file: &Path) -> Output {
    run(data, &["take-in", "--json", &file.display().to_string()])
}

fn taken_in(output: &Output) -> Value {
    serde_json::from_slice(&output.stdout).unwrap_or_else(|error| panic!("{error}: {output:?}"))
}

fn report(data: &Path, out: &Path) -> Result<Value, Trouble> {
    let output = run(data, &["report", "--all", "--json", "--out", &out.display().to_string()]);
    assert!(output.status.success(), "{output:?}");
    Ok(serde_json::from_slice(&output.stdout)?)
}

fn totals(report: &Value) -> Vec<Value> {
    let seasons = report["sites"].as_array().into_iter().flatten().filter_map(|site| site["seasons"].as_array());
    seasons.flatten().map(|season| season["totals"].clone()).collect()
}
