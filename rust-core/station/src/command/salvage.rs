//! `leafturn salvage`

use super::archive::write_lasting;
use super::folder::{self, DATABASE, Hold, KEY, PHOTOS, hold};
use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::edge::clock;
use crate::http::photos::whole_name;
use crate::store::sqlite::{Salvaged, SalvagedPhoto};
use crate::store::{BlobStore, Store};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io::{self, BufWriter, Write};
use std::path::{Path, PathBuf};
use survey::chain::blob_hash;
use survey::ids::{DeviceId, PhotoId};
use survey::time::UnixMs;
use sync::framing::FileWriter;

/// Read what can be read of a damaged station into a new folder.
///
/// The damaged folder is only read. Every entry is checked against its hash; what follows a gap is written to a file of its
/// own, for the store would otherwise not ask phones for what is missing before it. Says what was and what was not saved.
/// Phones send by themselves what the new station lacks.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn salvage /srv/leafturn --data /srv/leafturn-rescued
  leafturn salvage leafturn-data --data rescued --json")]
pub(super) struct Salvage {
    /// The damaged folder.
    #[arg(value_name = "FROM")]
    from: PathBuf,
    #[command(flatten)]
    data: Data,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// What was saved, and what was not.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct SalvageReport {
    /// Entries in the new station.
    pub entries: u64,
    /// Entries whose octets were altered: left out.
    pub altered: u64,
    /// Places at which no entry could be read.
    pub unreadable: u64,
    /// Whole entries after a gap, in [`AFTER_GAPS`].
    pub after_gaps: u64,
    /// Texts.
    pub texts: u64,
    /// Texts that were altered: left out.
    pub texts_altered: u64,
    /// Photos, whole.
    pub photos: u64,
    /// Photos that were verified once and are missing or altered.
    pub photos_lost: u64,
    /// Rows of other tables.
    pub rows: BTreeMap<String, u64>,
    /// What was not saved, and where.
    pub problems: Vec<String>,
}

/// Name of the file with the entries that follow a gap.
pub const AFTER_GAPS: &str = "after-gaps.leafturn";

/// Salvages a folder into an empty one.
///
/// # Errors
/// A folder is in use or in the way, or a disk cannot.
pub fn salvage(from: &Path, data: &Path, now: UnixMs) -> Result<SalvageReport, CommandError> {
    if !from.join(DATABASE).exists() {
        return Err(at(&from.join(DATABASE))(io::Error::other("there is no database to salvage")));
    }
    folder::make_private(data).map_err(at(data))?;
    let mut names = fs::read_dir(data).map_err(at(data))?.filter_map(Result::ok).map(|entry| entry.file_name());
    if names.any(|name| name != folder::LOCK) {
        return Err(at(data)(io::Error::other("the folder is not empty: salvage makes a new one")));
    }
    let _alone = hold(from, Hold::Alone)?;
    let mut report = SalvageReport::default();
    copy_key(from, data, &mut report)?;
    let copy = copy_database(from, data)?;
    let folder = Folder::open(data)?;
    let salvaged = folder.store.salvage(&copy)?;
    remove_copy(data).map_err(at(data))?;

    report.entries = salvaged.entries;
    report.altered = salvaged.altered;
    report.unreadable = salvaged.unreadable;
    report.texts = salvaged.texts;
    report.texts_altered = salvaged.texts_altered;
    report.rows = salvaged.rows.iter().map(|(table, (rows, _))| ((*table).to_owned(), *rows)).collect();
    write_after_gaps(data, &salvaged, &mut report)?;
    copy_photos(from, &folder, &salvaged, &mut report)?;
    name_problems(&salvaged, &mut report);
    crate::judge::bring_up_to_date(&folder.store, now)?;
    folder.store.settle()?;
    Ok(report)
}

fn copy_key(from: &Path, data: &Path, report: &mut SalvageReport) -> Result<(), CommandError> {
    match fs::read(from.join(KEY)) {
        Ok(octets) if octets.len() == 32 => write_lasting(data, KEY, &octets).map(drop).map_err(at(data)),
        Ok(_) | Err(_) => {
            report.problems.push(format!("{KEY}: missing or altered; a new one was made, sign in and invite again"));
            Ok(())
        }
    }
}

/// Name of the copy that is read: opening takes in the log, which must not happen in the damaged folder.
const COPY: &str = "salvaged-from.sqlite";

fn copy_database(from: &Path, data: &Path) -> Result<PathBuf, CommandError> {
    let copy = data.join(COPY);
    fs::copy(from.join(DATABASE), &copy).map_err(at(&copy))?;
    let log = from.join(format!("{DATABASE}-wal"));
    if log.exists() {
        fs::copy(&log, data.join(format!("{COPY}-wal"))).map_err(at(&log))?;
    }
    Ok(copy)
}

fn remove_copy(data: &Path) -> io::Result<()> {
    for name in [COPY.to_owned(), format!("{COPY}-wal"), format!("{COPY}-shm")] {
        match fs::remove_file(data.join(name)) {
            Err(error) if error.kind() != io::ErrorKind::NotFound => return Err(error),
            _ => {}
        }
    }
    Ok(())
}

fn write_after_gaps(data: &Path, salvaged: &Salvaged, report: &mut SalvageReport) -> Result<(), CommandError> {
    report.after_gaps = salvaged.after_gaps.len() as u64;
    if salvaged.after_gaps.is_empty() {
        return Ok(());
    }
    let mut links = salvaged.after_gaps.clone();
    links.sort_by_key(|link| (link.stream, link.seq, link.hash));
    let path = data.join(AFTER_GAPS);
    let file = File::create_new(&path).map_err(at(&path))?;
    let mut writer = FileWriter::new(BufWriter::new(file));
    // Runs of one chain: each begins where the one before it does not lead on.
    let mut run: Vec<survey::chain::Link> = Vec::new();
    for link in links {
        let follows = run.last().is_some_and(|last| last.stream == link.stream && last.hash == link.previous);
        if !follows {
            write_run(&mut writer, &run).map_err(at(&path))?;
            run.clear();
        }
        run.push(link);
    }
    write_run(&mut writer, &run).map_err(at(&path))?;
    let file = writer.finish().and_then(|mut out| out.flush().map(|()| out)).map_err(at(&path))?;
    file.get_ref().sync_all().map_err(at(&path))
}

fn write_run<W: Write>(writer: &mut FileWriter<W>, run: &[survey::chain::Link]) -> io::Result<()> {
    let mut rest = run;
    while !rest.is_empty() {
        let written = writer.write(rest)?;
        rest = &rest[written.max(1).min(rest.len())..];
    }
    Ok(())
}

fn copy_photos(
    from: &Path,
    folder: &Folder,
    salvaged: &Salvaged,
    report: &mut SalvageReport,
) -> Result<(), CommandError> {
    for &SalvagedPhoto { device, photo, salt, verified_ms: verified } in &salvaged.photos {
        let (device, photo) = (DeviceId::from_octets(device), PhotoId::from_octets(photo));
        let name = format!("{PHOTOS}/{}", whole_name(device, photo));
        let row = folder.store.photo(device, photo)?;
        let octets = fs::read(from.join(&name));
        match (row, octets) {
            (Some(row), Ok(octets)) if blob_hash(salt, &octets) == row.hash => {
                write_lasting(folder.path(), &name, &octets).map_err(at(folder.path()))?;
                folder.store.photo_verified(device, photo, salt, UnixMs(verified))?;
                report.photos += 1;
            }
            _ => report.photos_lost += 1,
        }
    }
    Ok(())
}

fn name_problems(salvaged: &Salvaged, report: &mut SalvageReport) {
    let after_gaps = format!(
        "entries are whole and follow a gap: they are in {AFTER_GAPS}; once the phones have sent what is missing, \
         `leafturn take-in {AFTER_GAPS}` adds those that the phones did not send"
    );
    for (number, what) in [
        (report.altered, "entries are not the octets that were hashed"),
        (report.unreadable, "places of entries cannot be read"),
        (report.after_gaps, after_gaps.as_str()),
        (report.texts_altered, "texts are not what their hash says"),
        (report.photos_lost, "photos are missing or altered"),
    ] {
        if number > 0 {
            report.problems.push(format!("{number} {what}"));
        }
    }
    for (table, (rows, whole)) in &salvaged.rows {
        if !whole {
            report.problems.push(format!("table {table}: {rows} rows were read, there may have been more"));
        }
    }
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> CommandError {
    CommandError::io(path.display().to_string())
}

impl Salvage {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let report = salvage(&self.from, &self.data.folder, clock::now())?;
        if self.json {
            print_json(&report)?;
        } else {
            print_line(&format!(
                "saved: {} entries, {} texts, {} photos",
                report.entries, report.texts, report.photos
            ))?;
            for (table, rows) in &report.rows {
                print_line(&format!("saved: {rows} rows of {table}"))?;
            }
            report.problems.iter().try_for_each(|problem| print_line(&format!("NOT    {problem}")))?;
            print_line("sessions and waiting codes were not taken over; phones send what is missing here")?;
            print_line(&format!("{} was only read", self.from.display()))?;
        }
        Ok(if report.problems.is_empty() { Outcome::Fine } else { Outcome::DataWrong })
    }
}
