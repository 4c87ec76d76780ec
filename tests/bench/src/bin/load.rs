//! Many phones with a season each sync to one station process over loopback, all at once, beside clients that send their
//! bodies drop by drop.
//!
//! ```text
//! load LEAFTURN FOLDER [PHONES]
//! ```
//!
//! Fails on any error and any loss. Whether it took longer than a minute is printed and fails nothing.

use bench::figures::{load, median, most_memory_mib, quantile, timed};
use bench::link::Link;
use bench::phone::{Synced, sync};
use bench::season::{Season, season};
use bench::station::{Station, check, join};
use bench::{Failure, figures};
use station::command::Folder;
use station::store::JournalStore;
use std::collections::BTreeMap;
use std::io::{Read, Write};
use std::net::TcpStream;
use std::path::PathBuf;
use std::sync::Barrier;
use std::sync::atomic::{AtomicBool, AtomicUsize, Ordering};
use std::thread;
use std::time::Duration;
use survey::ids::DeviceId;
use sync::wire::{content, paths};

/// Visits of a season.
const VISITS: i64 = 8;
/// What the whole should take at most, in seconds.
const AIM_S: f64 = 60.0;
/// Clients that send an octet now and then.
const SLOW: usize = 20;
/// Stack of a phone's thread.
const STACK: usize = 512 * 1024;

fn main() -> Result<(), Failure> {
    let mut arguments = std::env::args_os().skip(1);
    let usage = "usage: load LEAFTURN FOLDER [PHONES]";
    let program = PathBuf::from(arguments.next().ok_or(usage)?);
    let folder = PathBuf::from(arguments.next().ok_or(usage)?);
    let phones = match arguments.next() {
        Some(number) => number.to_str().ok_or(usage)?.parse()?,
        None => 500,
    };
    let seasons =
        (0..phones).map(|n| season(n + 1, None, |weeks, _| weeks >= VISITS)).collect::<Result<Vec<_>, _>>()?;
    let entries: usize = seasons.iter().map(|season| season.links.len()).sum();
    println!("{phones} phones, {VISITS} visits each, {entries} entries; load average {}", load());

    let devices: Vec<DeviceId> = seasons.iter().map(|season| season.stream.device).collect();
    let tokens = join(&folder, &devices)?;
    let station = Station::start(&program, &folder)?;
    let (synced, took) = timed(|| all_at_once(&station, &seasons, &tokens))?;
    report(&synced, took, entries, &station);
    let mut wrong = errors(&seasons, &synced);
    station.stop()?;
    wrong.extend(losses(&program, &folder, &seasons, entries)?);
    for line in wrong.iter().take(20) {
        println!("WRONG  {line}");
    }
    if wrong.is_empty() { Ok(()) } else { Err(format!("{} things are wrong", wrong.len()).into()) }
}

fn all_at_once(station: &Station, seasons: &[Season], tokens: &[String]) -> Result<Vec<Synced>, Failure> {
    let start = Barrier::new(seasons.len());
    let (over, dripped) = (AtomicBool::new(false), AtomicUsize::new(0));
    let synced = thread::scope(|scope| -> Result<Vec<Synced>, Failure> {
        for (token, season) in tokens.iter().zip(seasons).take(SLOW) {
            let (over, dripped) = (&over, &dripped);
            scope.spawn(move || drip(&station.address, token, season.stream, over, dripped));
        }
        let running = tokens.iter().zip(seasons).enumerate().map(|(n, (token, season))| {
            let start = &start;
            thread::Builder::new().stack_size(STACK).spawn_scoped(scope, move || {
                let link = Link::to(&station.address, token.clone());
                start.wait();
                sync(season, &link, n as u64)
            })
        });
        let running = running.collect::<Result<Vec<_>, _>>()?;
        let synced = running.into_iter().map(|phone| phone.join().map_err(|_| "a phone's thread failed")?).collect();
        over.store(true, Ordering::Relaxed);
        synced
    })?;
    println!("beside them {SLOW} clients sent {} octets, one at a time", dripped.load(Ordering::Relaxed));
    Ok(synced)
}

/// Says that a long body comes and sends it octet by octet; begins again where it is cut off.
fn drip(address: &str, token: &str, stream: survey::chain::StreamId, over: &AtomicBool, dripped: &AtomicUsize) {
    let host = address.trim_start_matches("http://");
    while !over.load(Ordering::Relaxed) {
        let Ok(mut socket) = TcpStream::connect(host) else { return };
        let head = format!(
            "POST {} HTTP/1.1\r\nhost: {host}\r\nauthorization: Bearer {token}\r\ncontent-type: {}\r\ncontent-length: 100000\r\n\r\n",
            paths::entries(stream),
            content::ENTRIES
        );
        let mut alive = socket.write_all(head.as_bytes()).is_ok();
        // Sees an early answer without waiting for one.
        alive &= socket.set_read_timeout(Some(Duration::from_millis(1))).is_ok();
        while alive && !over.load(Ordering::Relaxed) {
            alive = socket.write_all(b"{").is_ok() && socket.read(&mut [0; 512]).is_err();
            dripped.fetch_add(usize::from(alive), Ordering::Relaxed);
            thread::sleep(Duration::from_millis(100));
        }
    }
}

fn report(synced: &[Synced], took: Duration, entries: usize, station: &Station) {
    let seconds = took.as_secs_f64();
    let mut by_kind: BTreeMap<&str, Vec<f64>> = BTreeMap::new();
    for request in synced.iter().flat_map(|synced| &synced.requests) {
        by_kind.entry(request.what).or_default().push(request.took_ms);
        by_kind.entry("all").or_default().push(request.took_ms);
    }
    for (kind, times) in by_kind {
        println!(
            "{kind:9} {:6} requests  p50 {:8.1} ms  p99 {:8.1} ms",
            times.len(),
            median(times.clone()),
            quantile(times, 0.99)
        );
    }
    let sent: usize = synced.iter().flat_map(|synced| &synced.requests).map(|request| request.sent).sum();
    println!("{} octets of bodies sent, {:.1} an entry", sent, sent as f64 / entries.max(1) as f64);
    println!("took {seconds:.1} s, {:.0} entries/s; load average {}", entries as f64 / seconds, figures::load());
    let verdict = if seconds <= AIM_S { "within" } else { "MISSED:" };
    println!("aim of {AIM_S:.0} s: {verdict} ({seconds:.1} s)");
    if let Some(mib) = most_memory_mib(station.process()) {
        println!("the station's memory was at most {mib:.0} MiB");
    }
}

fn errors(seasons: &[Season], synced: &[Synced]) -> Vec<String> {
    let mut wrong = Vec::new();
    for (season, synced) in seasons.iter().zip(synced) {
        let device = season.stream.device;
        wrong.extend(synced.errors.iter().map(|error| format!("phone {device}: {error}")));
        if synced.acknowledged != season.links.last().map(survey::chain::Link::head) {
            wrong.push(format!("phone {device}: acknowledged {:?} of {}", synced.acknowledged, season.links.len()));
        }
        if !synced.all_sent {
            wrong.push(format!("phone {device}: the engine does not say that all is sent"));
        }
    }
    wrong
}

fn losses(
    program: &std::path::Path,
    folder: &std::path::Path,
    seasons: &[Season],
    entries: usize,
) -> Result<Vec<String>, Failure> {
    let mut wrong = Vec::new();
    let (report, took) = timed(|| check(program, folder))?;
    println!("leafturn check took {:.1} s: {report}", took.as_secs_f64());
    for (what, due) in [("streams", seasons.len()), ("entries", entries), ("sites", seasons.len()), ("holes", 0)] {
        if report[what] != due {
            wrong.push(format!("{} {what} at the station, {due} were sent", report[what]));
        }
    }
    if let Some(problems) = report["problems"].as_array() {
        wrong.extend(problems.iter().map(ToString::to_string));
    } else {
        wrong.push("leafturn check lists no problems, not even none".into());
    }
    let ends: BTreeMap<_, _> =
        Folder::open(folder)?.store.streams()?.into_iter().map(|row| (row.stream, row.heads)).collect();
    for season in seasons {
        let due: Vec<_> = season.links.last().map(survey::chain::Link::head).into_iter().collect();
        if ends.get(&season.stream) != Some(&due) {
            wrong.push(format!("stream {} ends elsewhere than on its phone", season.stream.device));
        }
    }
    Ok(wrong)
}
