//! Ratios of our ways to their floors, interleaved in one run on the disk under `FOLDER`.
//!
//! ```text
//! ratios LEAFTURN FOLDER [tap|push|ingest|refold|open]...
//! ```
//!
//! Prints what was measured beside what is aimed at. A ratio fails nothing; an error does.

use bench::Failure;
use bench::figures::{load, median, ms, quantile, timed};
use bench::floor::{self, Bulk, Client};
use bench::journal::{self, DATABASE};
use bench::link::Link;
use bench::season::{protocol, season};
use bench::station::{Station, join};
use handset::Handset;
use handset::acts::{BeginVisit, Count, OpenPlant};
use handset::surroundings::disk::Disk;
use handset::surroundings::marker::FileMarker;
use handset::surroundings::{Mark, Marker as _};
use handset::sync::{Asker, Body, Metered, Method, Outcome, Response};
use rusqlite::Connection;
use std::path::{Path, PathBuf};
use std::sync::mpsc;
use survey::chain::Seq;
use survey::entry::Act;
use survey::site::SiteDescription;
use survey::stage::Stage;
use sync::framing::{Encoding, MOST_ENTRIES, encode_batch};
use sync::wire::push::Purpose;
use sync::wire::{content, paths};

/// Taps that are timed.
const TAPS: usize = 600;
/// Entries of a push.
const PUSHED: usize = 10_000;
/// Times that something long is repeated.
const ROUNDS: usize = 3;

fn main() -> Result<(), Failure> {
    let mut arguments = std::env::args_os().skip(1);
    let usage = "usage: ratios LEAFTURN FOLDER [tap|push|ingest|refold|open]...";
    let program = PathBuf::from(arguments.next().ok_or(usage)?);
    let folder = PathBuf::from(arguments.next().ok_or(usage)?);
    let wanted: Vec<String> = arguments.filter_map(|name| name.into_string().ok()).collect();
    let wanted = |name: &str| wanted.is_empty() || wanted.iter().any(|own| own == name);
    let place = |name: &str| -> Result<PathBuf, Failure> {
        let place = folder.join(name);
        std::fs::create_dir_all(&place)?;
        Ok(place)
    };
    println!("load average {}", load());
    if wanted("tap") {
        tap(&place("tap")?)?;
        processor(Path::new("/dev/shm"))?;
    }
    if wanted("push") {
        push(&place("push")?, &program)?;
    }
    if wanted("ingest") {
        ingest(&place("ingest")?, &program)?;
    }
    if wanted("refold") {
        refold(&place("refold")?)?;
    }
    if wanted("open") {
        open(&place("open")?)?;
    }
    println!("load average {}", load());
    Ok(())
}

/// A phone in the middle of a visit: twenty plants are behind it.
fn counting(folder: &Path) -> Result<Handset, Failure> {
    let mut phone = journal::open(folder)?;
    let description = SiteDescription { name: Some("Invented field".into()), ..SiteDescription::default() };
    let site = phone.describe_site(None, description)?.site.id;
    phone.begin_visit(site, BeginVisit { protocol: Some(protocol()), ..BeginVisit::default() })?;
    phone.open_plant(OpenPlant::default())?;
    for _ in 0..20 {
        phone.count(Count::one(Stage::Egg))?;
        phone.next_plant(OpenPlant::default())?;
    }
    Ok(phone)
}

fn tap(folder: &Path) -> Result<(), Failure> {
    let mut phone = counting(&folder.join("ours"))?;
    drop(journal::open(&folder.join("floor"))?);
    let bare = floor::open(&folder.join("floor").join("data").join(DATABASE))?;
    let mut marker = FileMarker::at(folder.join("floor").join("marker"), Disk::default().files);
    let rows = season(1, Some(phone.stream()), |_, written| written >= 4 * TAPS)?;
    let mut rows = rows.links.iter().map(|link| {
        let scope = survey::entry::Entry::decode(&link.bytes).map(|entry| entry.scope);
        (link, scope.ok())
    });
    let mut insert = |number: usize| -> Result<(), Failure> {
        let transaction = bare.unchecked_transaction()?;
        let mut seq = Seq(0);
        for _ in 0..number {
            let (link, scope) = rows.next().ok_or("no more rows")?;
            let (site, visit) = scope.map_or((None, None), |scope| (scope.site(), scope.visit()));
            journal::insert_scoped(&transaction, 1, link, site.map(|id| id.octets()), visit.map(|id| id.octets()))?;
            seq = link.seq;
        }
        transaction.commit()?;
        Ok(marker.write(Mark { epoch: survey::ids::Epoch::from_octets([1; 16]), seq })?)
    };
    let (mut ours, mut bares, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for at in 0..TAPS {
        let stage = Stage::EGG_TO_LARVA5[at % 6];
        let (_, own) = timed(|| phone.count(Count::one(stage)))?;
        let ((), bare) = timed(|| insert(1))?;
        ours.push(ms(own));
        bares.push(ms(bare));
        ratios.push(ms(own) / ms(bare));
        if at % 4 == 3 {
            phone.next_plant(OpenPlant::default())?;
        }
    }
    line("tap against a bare insert", &ours, &bares, median(ratios), "at most 1.3");
    phone.next_plant(OpenPlant::default())?;
    let (mut ours, mut bares, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..TAPS / 2 {
        let (_, own) = timed(|| phone.empty_plant())?;
        let ((), bare) = timed(|| insert(2))?;
        ours.push(ms(own));
        bares.push(ms(bare));
        ratios.push(ms(own) / ms(bare));
    }
    line("an empty plant against two bare inserts", &ours, &bares, median(ratios), "no aim");
    Ok(())
}

/// Processor time of a tap where syncing costs nothing, for the files lie in memory.
fn processor(memory: &Path) -> Result<(), Failure> {
    if !memory.is_dir() {
        println!("processor time of a tap: not measured, there is no file system in memory");
        return Ok(());
    }
    let folder = tempfile::tempdir_in(memory)?;
    let mut phone = counting(folder.path())?;
    let mut taps = Vec::new();
    for at in 0..TAPS {
        let stage = Stage::EGG_TO_LARVA5[at % 6];
        let (_, took) = timed(|| phone.count(Count::one(stage)))?;
        taps.push(ms(took) * 1e3);
        if at % 4 == 3 {
            phone.next_plant(OpenPlant::default())?;
        }
    }
    // Nothing is waited for, so that the time of the clock is that of the processor, but for what else runs on it.
    let (middle, tail) = (median(taps.clone()), quantile(taps, 0.95));
    println!("processor time of a tap, files in memory: median {middle:.0} us, p95 {tail:.0} us");
    Ok(())
}

fn push(folder: &Path, program: &Path) -> Result<(), Failure> {
    let mut ratios = Vec::new();
    let (mut ours, mut floors) = (Vec::new(), Vec::new());
    for round in 0..ROUNDS {
        let here = folder.join(round.to_string());
        let season = journal::long(&here.join("phone"), 7 + round as u64, PUSHED)?;
        let mut phone = journal::open(&here.join("phone"))?;
        std::fs::create_dir_all(&here)?;
        let tokens = join(&here.join("station"), &[phone.device()])?;
        joined(&here.join("phone"))?;
        let station = Station::start(program, &here.join("station"))?;
        let link = Link::to(&station.address, tokens[0].clone());
        let (requests, own) = timed(|| send(&mut phone, &link))?;
        let (pushes, octets) = requests;
        station.stop()?;

        let batches: Vec<_> = season.links.chunks(season.links.len().div_ceil(pushes)).collect();
        let mut bulk = Bulk::at(&here.join("floor.sqlite"), &season.links[0], season.site)?;
        let rows = batches.iter().map(|batch| bulk.rows(batch)).collect::<Result<Vec<_>, _>>()?;
        let bodies = batches.iter().map(|batch| packed(batch)).collect::<Result<Vec<_>, _>>()?;
        let client = Client::at(&here.join("client.sqlite"))?;
        let floor = bare_push(bulk, &rows, bodies, &client)?;
        ratios.push(ms(own) / ms(floor));
        ours.push(ms(own));
        floors.push(ms(floor));
        let (entries, taps) = (season.links.len() as f64, season.taps as f64);
        println!(
            "  round {round}: {pushes} pushes for {entries} entries; bodies {:.1} octets an entry, {:.1} for each count",
            octets as f64 / entries,
            octets as f64 / taps
        );
    }
    line("push of 10,000 entries against as many bare ones", &ours, &floors, median(ratios), "at most 1.5");
    only_taps()
}

/// Octets on the wire for each entry of a season, and for each tap where a batch is nothing but taps.
fn only_taps() -> Result<(), Failure> {
    let season = season(99, None, |_, written| written >= PUSHED)?;
    let is_tap = |link: &&survey::chain::Link| {
        survey::entry::Entry::decode(&link.bytes).is_ok_and(|entry| matches!(entry.act, Act::Counted(_)))
    };
    let taps: Vec<_> = season.links.iter().filter(is_tap).cloned().collect();
    let octets = |links: &[survey::chain::Link]| -> Result<f64, Failure> {
        let whole = links.chunks_exact(MOST_ENTRIES);
        let packed = whole.map(|batch| packed(batch).map(|body| body.len() as f64)).collect::<Result<Vec<_>, _>>()?;
        Ok(packed.iter().sum::<f64>() / (packed.len() * MOST_ENTRIES) as f64)
    };
    println!(
        "octets on the wire, packed by {MOST_ENTRIES}: {:.1} a tap (aim: at most 40), {:.1} an entry of any kind",
        octets(&taps)?,
        octets(&season.links)?
    );
    Ok(())
}

fn packed(batch: &[survey::chain::Link]) -> Result<Vec<u8>, Failure> {
    Ok(encode_batch(batch, Purpose::Entries, Encoding::Gzip).ok_or("no batch")?.0)
}

/// Notes in a handset's database that it has joined.
fn joined(folder: &Path) -> Result<(), Failure> {
    let db = Connection::open(folder.join("data").join(DATABASE))?;
    db.execute("INSERT OR REPLACE INTO setting (name, value) VALUES ('joined', 1)", [])?;
    Ok(())
}

/// A real handset sends what it has; ends when all of its entries are acknowledged. Says in how many pushes and octets.
fn send(phone: &mut Handset, link: &Link) -> Result<(usize, usize), Failure> {
    let (mut pushes, mut octets) = (0, 0);
    phone.sync_wanted(Asker::Person, Metered::No)?;
    while let Some(job) = phone.next_job()? {
        let Body::Octets(body) = job.body else { return Err("a push without a body".into()) };
        if job.path.ends_with("/entries") {
            pushes += 1;
            octets += body.len();
        }
        let headers: Vec<_> = job.headers.iter().map(|(name, value)| (name.as_str(), value.as_str())).collect();
        let response: Response = link.send(job.method, &job.path, &headers, body)?;
        if response.status != 200 {
            return Err(format!("{} {}: {}", job.path, response.status, String::from_utf8_lossy(&response.body)).into());
        }
        let view = phone.job_done(job.id, Outcome::Answered(response))?;
        if view.streams.iter().all(|stream| stream.waits == 0) {
            break;
        }
    }
    Ok((pushes, octets))
}

fn bare_push(
    bulk: Bulk,
    rows: &[Vec<floor::Row>],
    bodies: Vec<Vec<u8>>,
    client: &Client,
) -> Result<std::time::Duration, Failure> {
    std::thread::scope(|scope| {
        let (say, hear) = mpsc::channel();
        let server = scope.spawn(move || {
            floor::serve(bulk, rows, move |address| {
                // The client below hears it, or has failed already.
                let _ = say.send(address);
            })
        });
        let link = Link::to(&hear.recv()?, "bare".into());
        let ((), took) = timed(|| {
            for (job, body) in (1_i64..).zip(bodies) {
                client.begin(job)?;
                link.send(Method::Post, "/", &[("content-type", content::ENTRIES)], body)?;
                client.end(job)?;
            }
            Ok::<_, Failure>(())
        })?;
        server.join().map_err(|_| "the bare server failed")??;
        Ok(took)
    })
}

fn ingest(folder: &Path, program: &Path) -> Result<(), Failure> {
    let season = season(5, None, |_, written| written >= 2 * PUSHED)?;
    let tokens = join(&folder.join("station"), &[season.stream.device])?;
    let station = Station::start(program, &folder.join("station"))?;
    let link = Link::to(&station.address, tokens[0].clone());
    let mut bulk = Bulk::at(&folder.join("floor.sqlite"), &season.links[0], season.site)?;
    let path = paths::entries(season.stream);
    let (mut ours, mut floors, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for batch in season.links.chunks(MOST_ENTRIES) {
        let (body, rows) = (packed(batch)?, bulk.rows(batch)?);
        let headers = [("content-type", content::ENTRIES), ("content-encoding", content::GZIP)];
        let (response, own) = timed(|| link.send(Method::Post, &path, &headers, body))?;
        if response.status != 200 {
            return Err(format!("push: {}", String::from_utf8_lossy(&response.body)).into());
        }
        let ((), floor) = timed(|| bulk.insert(&rows))?;
        ours.push(ms(own));
        floors.push(ms(floor));
        ratios.push(ms(floor) / ms(own));
    }
    station.stop()?;
    line("ingest over HTTP, as a share of bulk inserts without it", &ours, &floors, median(ratios), "at least 0.40");
    Ok(())
}

fn refold(folder: &Path) -> Result<(), Failure> {
    let season = journal::long(folder, 3, 200_000)?;
    let mut phone = journal::open(folder)?;
    let reader = floor::open(&folder.join("data").join(DATABASE))?;
    let (mut ours, mut floors, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..ROUNDS {
        let (read, floor) = timed(|| journal::read_parse_hash(&reader, &season))?;
        if read != season.links.len() {
            return Err(format!("{read} entries read of {}", season.links.len()).into());
        }
        let ((), own) = timed(|| phone.refold())?;
        ours.push(ms(own));
        floors.push(ms(floor));
        ratios.push(ms(own) / ms(floor));
    }
    line("refold of 200,000 entries against read, parse, hash", &ours, &floors, median(ratios), "at most 2");
    Ok(())
}

fn open(folder: &Path) -> Result<(), Failure> {
    let (small, large) = (folder.join("small"), folder.join("large"));
    journal::long(&small, 11, 20_000)?;
    journal::long(&large, 12, 200_000)?;
    let (mut larges, mut smalls, mut ratios) = (Vec::new(), Vec::new(), Vec::new());
    for _ in 0..9 {
        let cold = |folder: &Path| -> Result<f64, Failure> {
            journal::forget_cached(folder);
            let (phone, took) = timed(|| journal::open(folder))?;
            drop(phone);
            Ok(ms(took))
        };
        let (one, other) = (cold(&small)?, cold(&large)?);
        smalls.push(one);
        larges.push(other);
        ratios.push(other / one);
    }
    line("cold open at 200,000 entries against 20,000", &larges, &smalls, median(ratios), "at most 1.3");
    Ok(())
}

fn line(what: &str, ours: &[f64], floors: &[f64], ratio: f64, aim: &str) {
    println!(
        "{what}: {ratio:.2} (aim: {aim}); ours median {:.3} ms, p95 {:.3} ms; floor median {:.3} ms",
        median(ours.to_vec()),
        quantile(ours.to_vec(), 0.95),
        median(floors.to_vec())
    );
}
