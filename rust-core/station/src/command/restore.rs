//! `leafturn restore`

use super::archive::{Manifest, NoManifest, aside, move_lasting, write_lasting};
use super::folder::{self, DATABASE, Hold, LOCK, hold};
use super::{CommandError, Data, Outcome, print_json, print_line};
use crate::edge::clock;
use crate::store::sqlite::SqliteStore;
use crate::store::{Store, UpkeepStore};
use clap::Args;
use serde::Serialize;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use survey::time::UnixMs;

/// Put a back-up in the place of a station.
///
/// Every file of the back-up is verified before anything is touched. A folder in which a station serves is refused, and so is
/// one that is not empty unless --replace is given: then all that is there is moved into set-aside-... within it, and
/// nothing is deleted. Sessions end and waiting codes are void. Phones find out by themselves: they send again what the
/// station lacks, and pull its feeds from the beginning.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn restore /media/stick/leafturn --data /srv/leafturn
  leafturn restore /media/stick/leafturn --replace")]
pub(super) struct Restore {
    #[command(flatten)]
    data: Data,
    /// The folder of the back-up.
    #[arg(value_name = "FROM")]
    from: PathBuf,
    /// Set aside what is in the station's folder.
    #[arg(long)]
    replace: bool,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// What becomes of files that are in the way.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum InTheWay {
    /// They are a reason to refuse.
    Refuse,
    /// They are set aside.
    SetAside,
}

/// What a restore came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct RestoreReport {
    /// When the back-up was made.
    pub made_ms: UnixMs,
    /// Entries that it holds.
    pub entries: u64,
    /// Photos that it holds.
    pub photos: u64,
    /// Where what was there lies, within the station's folder.
    pub set_aside: Option<String>,
    /// What is wrong with the back-up; nothing was touched then.
    pub problems: Vec<String>,
}

/// Restores a back-up.
///
/// # Errors
/// The folder is in use or in the way, or a disk cannot. A back-up that is not whole is told in the report.
pub fn restore(from: &Path, data: &Path, way: InTheWay, now: UnixMs) -> Result<RestoreReport, CommandError> {
    let manifest = Manifest::read(from)?;
    let mut report = RestoreReport {
        made_ms: manifest.made_ms,
        entries: manifest.counts.entries,
        photos: manifest.counts.photos,
        set_aside: None,
        problems: manifest.problems(from),
    };
    if !report.problems.is_empty() {
        return Ok(report);
    }
    folder::make_private(data).map_err(at(data))?;
    let _alone = hold(data, Hold::Alone)?;
    report.set_aside = make_room(data, way, now)?;

    for name in manifest.files.keys().filter(|name| **name != manifest.database) {
        copy(from, data, name, name)?;
    }
    // The database last, and under another name until it is ready: without it the folder is none that serves.
    let begun = format!("{DATABASE}.restoring");
    copy(from, data, &manifest.database, &begun)?;
    let place = data.join(&begun);
    {
        let store = SqliteStore::open(&place)?;
        store.close_doors()?;
        store.settle()?;
    }
    move_lasting(&place, &data.join(DATABASE)).map_err(at(data))?;
    Ok(report)
}

/// Moves what is in the folder out of the way.
fn make_room(data: &Path, way: InTheWay, now: UnixMs) -> Result<Option<String>, CommandError> {
    let names: Vec<_> = fs::read_dir(data)
        .and_then(|entries| entries.map(|entry| entry.map(|entry| entry.file_name())).collect::<io::Result<_>>())
        .map_err(at(data))?;
    let own = |name: &std::ffi::OsString| name == LOCK || name.to_string_lossy().starts_with(SET_ASIDE);
    let there: Vec<_> = names.into_iter().filter(|name| !own(name)).collect();
    if there.is_empty() {
        return Ok(None);
    }
    if way == InTheWay::Refuse {
        let why = "the folder is not empty; --replace sets what is there aside and deletes nothing";
        return Err(at(data)(io::Error::other(why)));
    }
    let stamp = now.rfc3339().unwrap_or_default().replace([':', '.'], "");
    let aside = format!("{SET_ASIDE}{stamp}");
    let place = data.join(&aside);
    folder::make_private(&place).map_err(at(&place))?;
    for name in there {
        move_lasting(&data.join(&name), &place.join(&name)).map_err(at(&place))?;
    }
    Ok(Some(aside))
}

/// How folders begin into which files are moved.
const SET_ASIDE: &str = "set-aside-";

/// Copies a file and reads the copy back.
fn copy(from: &Path, to: &Path, name: &str, own: &str) -> Result<(), CommandError> {
    let octets = fs::read(from.join(name)).map_err(at(&from.join(name)))?;
    let place = to.join(own);
    let _ = fs::remove_file(aside(&place));
    let written = write_lasting(to, own, &octets).map_err(at(&place))?;
    match super::archive::line_of(&place) {
        Ok(read) if read == written => Ok(()),
        Ok(_) => Err(at(&place)(io::Error::other("what was read back is not what was written"))),
        Err(error) => Err(at(&place)(error)),
    }
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> CommandError {
    CommandError::io(path.display().to_string())
}

impl From<NoManifest> for CommandError {
    fn from(error: NoManifest) -> Self {
        Self::io("the back-up")(io::Error::other(error.to_string()))
    }
}

impl Restore {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let way = if self.replace { InTheWay::SetAside } else { InTheWay::Refuse };
        let report = restore(&self.from, &self.data.folder, way, clock::now())?;
        let whole = report.problems.is_empty();
        if self.json {
            print_json(&report)?;
        } else if whole {
            self.tell(&report)?;
        } else {
            report.problems.iter().try_for_each(|problem| print_line(&format!("WRONG  {problem}")))?;
            print_line("the back-up is not whole; nothing was touched")?;
        }
        Ok(if whole { Outcome::Fine } else { Outcome::DataWrong })
    }

    fn tell(&self, report: &RestoreReport) -> Result<(), CommandError> {
        let made = report.made_ms.rfc3339().unwrap_or_default();
        print_line(&format!("restored as of {made}: {} entries, {} photos", report.entries, report.photos))?;
        if let Some(aside) = &report.set_aside {
            print_line(&format!("what was there lies in {}", self.data.folder.join(aside).display()))?;
        }
        for line in [
            "Sessions are ended and waiting codes are void: print new links and codes.",
            "Phones that were revoked since are let in again: revoke them again.",
            "What a coordinator erased since may be back: erase it again. Reviews made since are gone from the station.",
            "Phones send again by themselves what they counted since.",
        ] {
            print_line(line)?;
        }
        Ok(())
    }
}
