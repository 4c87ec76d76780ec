//! `leafturn check`

use super::archive::files_below;
use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::http::photos::whole_name;
use crate::intake;
use crate::judge;
use crate::store::blobs::PhotoState;
use crate::store::journal::{Kept, Reading, StreamRow};
use crate::store::{Store, StoreError};
use clap::Args;
use serde::Serialize;
use std::collections::{BTreeMap, BTreeSet};
use std::fs;
use std::path::Path;
use survey::chain::{Hash, Head, Seq, blob_hash, feed_hash};
use survey::ids::SiteId;

/// Verify every chain, feed and file, fold again and compare.
///
/// Reads only. The database's own structure is looked through. Every entry is hashed again and must follow one that is held; every feed must be chained, without gaps, and
/// hold each entry about its site once; every site is folded from nothing, and summary and rulings must be those stored; every
/// photo is hashed again.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn check
  leafturn check --json | python3 -m json.tool")]
pub(super) struct Check {
    #[command(flatten)]
    data: Data,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// What was checked and what is wrong.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct CheckReport {
    /// Streams verified.
    pub streams: u64,
    /// Entries hashed again.
    pub entries: u64,
    /// Places of entries that phones could not hand over.
    pub holes: u64,
    /// Streams with more than one branch: kept, and no fault of the station.
    pub forked: u64,
    /// Entries that this version cannot read: kept, and no fault of the station.
    pub undecodable: u64,
    /// Sites folded again.
    pub sites: u64,
    /// Sites whose verdicts are not up to date yet: no fault, `serve` and `take-in` bring them up.
    pub not_judged: u64,
    /// Photos whose files were read and hashed.
    pub photos: u64,
    /// Files in the folder of photos that no row names: no fault, left by something that was broken off.
    pub strays: u64,
    /// What is wrong, and where.
    pub problems: Vec<String>,
}

/// Entries read at once.
const PAGE: usize = 1000;

/// Checks everything.
///
/// # Errors
/// Where the store cannot be read.
pub fn check(store: &dyn Store) -> Result<CheckReport, StoreError> {
    let mut report = CheckReport { problems: store.faults()?, ..CheckReport::default() };
    let mut due: BTreeMap<SiteId, u64> = BTreeMap::new();
    for row in store.streams()? {
        check_stream(store, &row, &mut report, &mut due)?;
    }
    for site in store.sites()? {
        report.sites += 1;
        let due = due.remove(&site.site).unwrap_or(0);
        check_feed(store, site.site, due, &mut report)?;
        check_verdicts(store, site.site, &mut report)?;
    }
    for (site, entries) in due {
        report.problems.push(format!("site {site}: {entries} entries about it, and no feed"));
    }
    Ok(report)
}

/// Checks the files of photos against their rows, and the other way round.
///
/// # Errors
/// Where the store or the folder cannot be read.
pub(super) fn check_files(store: &dyn Store, photos: &Path, report: &mut CheckReport) -> Result<(), CommandError> {
    let at = || CommandError::io(photos.display().to_string());
    let mut there: BTreeSet<String> = files_below(photos).map_err(at())?.into_iter().collect();
    for site in store.sites()? {
        for row in store.photos(site.site)? {
            let name = whole_name(row.device, row.photo);
            let folder = name.trim_end_matches("whole.jpg");
            match &row.state {
                PhotoState::Verified { salt, .. } if there.remove(&name) => {
                    report.photos += 1;
                    let octets = fs::read(photos.join(&name)).map_err(at())?;
                    if blob_hash(*salt, &octets) != row.hash {
                        report.problems.push(format!("photo {name}: not the octets that were verified"));
                    }
                }
                PhotoState::Verified { .. } => report.problems.push(format!("photo {name}: missing")),
                PhotoState::Partial(parts) => {
                    // A part that is missing heals: with the last one the whole does not fit, and the phone sends it again.
                    for part in parts {
                        there.remove(&format!("{folder}{part}.part"));
                    }
                }
                PhotoState::Erased => {
                    let left: Vec<String> = there.iter().filter(|name| name.starts_with(folder)).cloned().collect();
                    for name in left {
                        there.remove(&name);
                        report.problems.push(format!("photo {name}: erased, and still on the disk"));
                    }
                }
            }
        }
    }
    report.strays += there.len() as u64;
    Ok(())
}

fn check_stream(
    store: &dyn Store,
    row: &StreamRow,
    report: &mut CheckReport,
    due: &mut BTreeMap<SiteId, u64>,
) -> Result<(), StoreError> {
    report.streams += 1;
    report.forked += u64::from(row.heads.len() > 1);
    let name = format!("stream {}/{}", row.stream.device, row.stream.epoch);
    let mut at = Head::START;
    let mut level = Level { seq: Seq(0), places: [Hash::ZERO].into() };
    let mut below = Level { seq: Seq(0), places: BTreeSet::new() };
    let mut ends: BTreeSet<Place> = BTreeSet::new();
    loop {
        let page = store.kept(row.stream, at, PAGE)?;
        let Some(last) = page.last() else { break };
        at = place(last).0;
        for kept in &page {
            let (here, previous) = place(kept);
            if here.seq != level.seq {
                below = std::mem::replace(&mut level, Level { seq: here.seq, places: BTreeSet::new() });
            }
            level.places.insert(here.hash);
            if below.seq.0 + 1 != here.seq.0 || !below.places.contains(&previous) {
                report.problems.push(format!("{name}: entry {} follows none that is held", here.seq));
            }
            ends.remove(&(Seq(here.seq.0 - 1), previous));
            ends.insert((here.seq, here.hash));
            check_kept(kept, &name, report, due);
        }
    }
    let noted: BTreeSet<Place> = row.heads.iter().map(|head| (head.seq, head.hash)).collect();
    if noted != ends {
        report.problems.push(format!("{name}: the noted ends of its branches are not those of its entries"));
    }
    Ok(())
}

type Place = (Seq, Hash);

/// The places with one number.
#[derive(Debug)]
struct Level {
    seq: Seq,
    places: BTreeSet<Hash>,
}

fn place(kept: &Kept) -> (Head, Hash) {
    match kept {
        Kept::Entry(link) => (link.head(), link.previous),
        Kept::Hole { seq, hash, previous, .. } => (Head { seq: *seq, hash: *hash }, *previous),
    }
}

fn check_kept(kept: &Kept, name: &str, report: &mut CheckReport, due: &mut BTreeMap<SiteId, u64>) {
    let Kept::Entry(link) = kept else {
        report.holes += 1;
        return;
    };
    report.entries += 1;
    if let Err(error) = link.verify() {
        report.problems.push(format!("{name}: {error}"));
    }
    match intake::read(&link.bytes) {
        Reading::Undecodable { .. } => report.undecodable += 1,
        Reading::Device => {}
        Reading::Site { site, .. } => *due.entry(site).or_default() += 1,
    }
}

fn check_feed(store: &dyn Store, site: SiteId, due: u64, report: &mut CheckReport) -> Result<(), StoreError> {
    let (mut number, mut hash) = (0, Hash::ZERO);
    loop {
        let page = store.feed_from(site, number, PAGE)?;
        if page.is_empty() {
            break;
        }
        for item in page {
            if item.number != number + 1 {
                report.problems.push(format!("feed of site {site}: item {} follows item {number}", item.number));
            }
            let chained = feed_hash(site, item.number, hash, item.link.hash);
            if chained != item.feed_hash {
                report
                    .problems
                    .push(format!("feed of site {site}: item {} is not chained to the one before", item.number));
            }
            if !matches!(intake::read(&item.link.bytes), Reading::Site { site: own, .. } if own == site) {
                report.problems.push(format!("feed of site {site}: item {} is not about it", item.number));
            }
            (number, hash) = (item.number, item.feed_hash);
        }
    }
    if number != due {
        report.problems.push(format!("feed of site {site}: {number} items for {due} entries about it"));
    }
    Ok(())
}

fn check_verdicts(store: &dyn Store, site: SiteId, report: &mut CheckReport) -> Result<(), StoreError> {
    let stored = store.judged(site)?;
    let opinion = match judge::opinion(store, site) {
        Ok(opinion) => opinion,
        Err(StoreError::Damaged { reason }) => {
            report.problems.push(reason);
            return Ok(());
        }
        Err(error) => return Err(error),
    };
    match stored {
        Some(stored) if stored.upto == opinion.judged.upto && stored.fold_version == opinion.judged.fold_version => {
            if stored.summary != opinion.judged.summary {
                report.problems.push(format!("site {site}: folded again, its state is not the one that was judged"));
            }
            if store.rulings(site)? != opinion.rulings {
                report.problems.push(format!("site {site}: the stored rulings are not those that its entries give"));
            }
        }
        Some(_) | None => report.not_judged += 1,
    }
    Ok(())
}

impl Check {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        let mut report = check(&folder.store)?;
        check_files(&folder.store, &folder.photos(), &mut report)?;
        if self.json {
            print_json(&report)?;
        } else {
            print_line(&format!(
                "{} streams, {} entries, {} holes, {} sites, {} photos",
                report.streams, report.entries, report.holes, report.sites, report.photos
            ))?;
            for (number, what) in [
                (report.forked, "streams with more than one branch"),
                (report.undecodable, "entries of which this version can only keep the bytes"),
                (report.not_judged, "sites with entries newer than their verdicts"),
                (report.strays, "files beside the photos that nothing names"),
            ] {
                if number > 0 {
                    print_line(&format!("{number} {what}"))?;
                }
            }
            report.problems.iter().try_for_each(|problem| print_line(&format!("WRONG  {problem}")))?;
            print_line(if report.problems.is_empty() {
                "everything fits"
            } else {
                "something is wrong with the data"
            })?;
        }
        Ok(if report.problems.is_empty() { Outcome::Fine } else { Outcome::DataWrong })
    }
}
