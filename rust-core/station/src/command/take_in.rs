//! `leafturn take-in`

use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::edge::clock;
use crate::intake;
use crate::store::journal::{Appended, Offerer};
use crate::store::{Store, StoreError};
use clap::Args;
use serde::Serialize;
use std::fs::File;
use std::io::{BufReader, Read};
use std::path::PathBuf;
use survey::time::UnixMs;
use sync::framing::FileReader;
use sync::wire::push::Purpose;

/// Take in files that phones exported.
///
/// Reads as a stream and commits batch by batch, 200 entries at most. The same file twice adds nothing. Of a file that was
/// cut off, the whole entries before the cut are kept. A stream that no phone of this station has claimed stays out of
/// estimates until one does or a coordinator confirms it.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn take-in monday.leafturn tuesday.leafturn
  leafturn take-in --json monday.leafturn")]
pub(super) struct TakeIn {
    #[command(flatten)]
    data: Data,
    /// The files.
    #[arg(required = true, value_name = "FILE")]
    files: Vec<PathBuf>,
    /// Print one JSON object a file.
    #[arg(long)]
    json: bool,
}

/// What a file came to.
#[derive(Debug, Clone, Default, PartialEq, Eq, Serialize)]
pub struct FileReport {
    /// Whole entries in the file, each checked against its hash.
    pub entries: u64,
    /// Entries, and places of entries that the phone could not hand over, that were not held before.
    pub added: u64,
    /// Entries left out: what comes before them is neither here nor in the file.
    pub left_out: u64,
    /// What went wrong, and where.
    pub problems: Vec<String>,
}

/// Takes in one file.
///
/// # Errors
/// Where the store cannot; what was committed before stays.
pub fn take_in(store: &dyn Store, file: impl Read, received: UnixMs) -> Result<FileReport, StoreError> {
    let mut report = FileReport::default();
    for batch in FileReader::new(file) {
        let batch = match batch {
            Ok(batch) => batch,
            Err(cut) => {
                report.problems.push(cut.to_string());
                break;
            }
        };
        let stream = batch.stream;
        let (first, last) = (batch.before.seq.0 + 1, batch.after.seq);
        let entries = match batch.purpose {
            Purpose::Entries | Purpose::Fill => batch.links.len() as u64,
            Purpose::Placeholder { .. } => 0,
        };
        report.entries += entries;
        match store.append(&intake::push_of(batch, Offerer::File, received))? {
            Appended::Held { added, .. } => report.added += added as u64,
            Appended::Gap(held) => {
                report.left_out += entries;
                let place = format!("entries {first} to {last} of stream {}/{}", stream.device, stream.epoch);
                report.problems.push(format!(
                    "{place} left out: the entry before them is not here (held up to {})",
                    held.head.seq
                ));
            }
            // Files claim nothing, so no claim stands against them, but nobody else writes the station's own stream.
            Appended::NotYours => {
                report.left_out += entries;
                report.problems.push(format!(
                    "entries {first} to {last} of stream {}/{} left out: that stream is the station's own",
                    stream.device, stream.epoch
                ));
            }
        }
    }
    Ok(report)
}

#[derive(Serialize)]
struct Printed<'a> {
    file: String,
    #[serde(flatten)]
    report: &'a FileReport,
}

impl TakeIn {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        let mut outcome = Outcome::Fine;
        for path in &self.files {
            let name = path.display().to_string();
            let file = File::open(path).map_err(CommandError::io(name.clone()))?;
            let report = take_in(&folder.store, BufReader::new(file), clock::now())?;
            if !report.problems.is_empty() {
                outcome = Outcome::DataWrong;
            }
            self.print(name, &report)?;
        }
        crate::judge::bring_up_to_date(&folder.store, clock::now())?;
        Ok(outcome)
    }

    fn print(&self, file: String, report: &FileReport) -> Result<(), CommandError> {
        if self.json {
            return print_json(&Printed { file, report });
        }
        let known = report.entries.saturating_sub(report.added + report.left_out);
        print_line(&format!(
            "{file}: {} entries, {} added, {known} held already, {} left out",
            report.entries, report.added, report.left_out
        ))?;
        report.problems.iter().try_for_each(|problem| print_line(&format!("  {problem}")))
    }
}
