//! `leafturn back-up`

use super::archive::{self, Counts, FORMAT, FileLine, Manifest, files_below, line_of, move_lasting, write_lasting};
use super::folder::{self, DATABASE, Hold, PHOTOS, hold};
use super::{CommandError, Data, Folder, Outcome, print_json, print_line};
use crate::edge::clock;
use crate::http::photos::whole_name;
use crate::store::blobs::{PhotoRow, PhotoState};
use crate::store::sqlite::{SqliteStore, faults_of};
use crate::store::{BlobStore, JournalStore, StoreError, UpkeepStore};
use clap::Args;
use serde::Serialize;
use std::collections::BTreeMap;
use std::fs::{self, File};
use std::io;
use std::path::{Path, PathBuf};
use survey::chain::{Hash, blob_hash};
use survey::ids::DeviceId;
use survey::time::UnixMs;

/// Copy the station into a folder: database, key, photos. Works while the station serves.
///
/// The same folder may be used again and again: photos that are there are read and kept, the rest is written anew, and until
/// the last step the back-up before it stays whole. Everything is read back before the back-up counts; phones may let go of
/// photos only that are in one. Keep it on another disk, and as safe as the station itself: it holds its key.
#[derive(Debug, Args)]
#[command(after_help = "Examples:
  leafturn back-up /media/stick/leafturn
  leafturn back-up --data /srv/leafturn --json /mnt/backups/leafturn")]
pub(super) struct BackUp {
    #[command(flatten)]
    data: Data,
    /// The folder of the back-up; made if it is missing.
    #[arg(value_name = "TO")]
    to: PathBuf,
    /// Print JSON.
    #[arg(long)]
    json: bool,
}

/// What a back-up came to.
#[derive(Debug, Clone, PartialEq, Eq, Serialize)]
pub struct BackUpReport {
    /// When it was begun: everything committed before is in it.
    pub made_ms: UnixMs,
    /// How much it holds.
    #[serde(flatten)]
    pub counts: Counts,
    /// Photos that were not in the folder before.
    pub new_photos: u64,
    /// Octets of all files.
    pub octets: u64,
    /// What could not be copied as it should be, and where.
    pub problems: Vec<String>,
}

/// Makes a back-up and notes it in the store.
///
/// # Errors
/// The folder is no place for it, a disk cannot, or what was read back is not what was written.
pub fn back_up(folder: &Folder, to: &Path, now: UnixMs) -> Result<BackUpReport, CommandError> {
    let station = folder.desk()?.stream().device;
    let before = prepare(folder, to, station)?;
    let _alone = hold(to, Hold::Alone)?;
    let mut files = BTreeMap::new();

    let database = format!("station-{}.sqlite", now.0.max(before.map_or(0, |before| before.made_ms.0 + 1)));
    let place = to.join(&database);
    copy_database(&folder.store, &place)?;
    files.insert(database.clone(), line_of(&place).map_err(at(&place))?);
    let copy = SqliteStore::open_to_read(&place)?;
    let mut counts = Counts { sites: copy.sites()?.len() as u64, ..Counts::default() };
    for stream in copy.streams()? {
        counts.streams += 1;
        counts.entries += stream.entries;
    }

    let (mut problems, mut held, mut new_photos) = (Vec::new(), Vec::new(), 0);
    for row in verified(&copy)? {
        match copy_photo(folder, to, &row)? {
            Copied::Written(name, line) => {
                new_photos += 1;
                held.push((row.device, row.photo));
                files.insert(name, line);
            }
            Copied::WasThere(name, line) => {
                held.push((row.device, row.photo));
                files.insert(name, line);
            }
            Copied::ErasedMeanwhile => {}
            Copied::Not(problem) => problems.push(problem),
        }
    }
    drop(copy);
    counts.photos = held.len() as u64;
    for name in small_files(folder.path()).map_err(at(folder.path()))? {
        let octets = fs::read(folder.path().join(&name)).map_err(at(&folder.path().join(&name)))?;
        files.insert(name.clone(), write_lasting(to, &name, &octets).map_err(at(&to.join(&name)))?);
    }

    let octets = files.values().map(|line| line.octets).sum();
    let made_by = env!("CARGO_PKG_VERSION").into();
    let manifest = Manifest { format: FORMAT, made_by, made_ms: now, station, database, counts, files };
    let unlike = manifest.problems(to);
    if !unlike.is_empty() {
        return Err(CommandError::io("reading the back-up back")(io::Error::other(unlike.join("; "))));
    }
    manifest.write(to).map_err(at(&to.join(archive::MANIFEST)))?;
    clear_away(to, &manifest).map_err(at(to))?;
    folder.store.note_back_up(now, &held)?;
    Ok(BackUpReport { made_ms: now, counts, new_photos, octets, problems })
}

/// Makes the folder and looks whether it may be used; gives the manifest of the back-up that is there.
fn prepare(folder: &Folder, to: &Path, station: DeviceId) -> Result<Option<Manifest>, CommandError> {
    let refuse = |why: String| CommandError::io(to.display().to_string())(io::Error::other(why));
    folder::make_private(to).map_err(at(to))?;
    let (own, there) = (fs::canonicalize(folder.path()).map_err(at(to))?, fs::canonicalize(to).map_err(at(to))?);
    if there.starts_with(&own) || own.starts_with(&there) {
        return Err(refuse("a back-up cannot lie in the station's own folder, nor around it".into()));
    }
    match Manifest::read(to) {
        Ok(before) if before.station == station => Ok(Some(before)),
        Ok(_) => Err(refuse("the back-up of another station is here".into())),
        Err(archive::NoManifest::Missing(_)) => {
            // One that was broken off leaves its lock and its database behind.
            let mut names = fs::read_dir(to).map_err(at(to))?.filter_map(Result::ok).map(|entry| entry.file_name());
            let begun = to.join(folder::LOCK).exists();
            match names.next() {
                Some(name) if !begun => {
                    Err(refuse(format!("the folder is not empty and no back-up ({} is there)", name.to_string_lossy())))
                }
                _ => Ok(None),
            }
        }
        Err(other) => Err(refuse(other.to_string())),
    }
}

fn copy_database(store: &SqliteStore, place: &Path) -> Result<(), CommandError> {
    let aside = archive::aside(place);
    if aside.exists() {
        fs::remove_file(&aside).map_err(at(&aside))?;
    }
    store.copy_to(&aside)?;
    private(&aside).map_err(at(&aside))?;
    let faults = faults_of(&aside)?;
    if let Some(fault) = faults.first() {
        return Err(StoreError::Damaged { reason: format!("{DATABASE}: {fault}") }.into());
    }
    File::open(&aside).and_then(|file| file.sync_all()).map_err(at(&aside))?;
    move_lasting(&aside, place).map_err(at(place))
}

fn private(path: &Path) -> io::Result<()> {
    #[cfg(unix)]
    fs::set_permissions(path, std::os::unix::fs::PermissionsExt::from_mode(0o600))?;
    let _ = path;
    Ok(())
}

fn verified(copy: &SqliteStore) -> Result<Vec<PhotoRow>, StoreError> {
    let mut rows = Vec::new();
    for site in copy.sites()? {
        let photos = copy.photos(site.site)?.into_iter();
        rows.extend(photos.filter(|row| matches!(row.state, PhotoState::Verified { .. })));
    }
    Ok(rows)
}

enum Copied {
    Written(String, FileLine),
    WasThere(String, FileLine),
    ErasedMeanwhile,
    Not(String),
}

fn copy_photo(folder: &Folder, to: &Path, row: &PhotoRow) -> Result<Copied, CommandError> {
    let PhotoState::Verified { salt, .. } = row.state else { return Ok(Copied::ErasedMeanwhile) };
    let name = format!("{PHOTOS}/{}", whole_name(row.device, row.photo));
    let is_it = |octets: &[u8]| blob_hash(salt, octets) == row.hash;
    if let Ok(there) = fs::read(to.join(&name))
        && is_it(&there)
    {
        let line = FileLine { octets: there.len() as u64, sha256: Hash::plain(&there) };
        return Ok(Copied::WasThere(name, line));
    }
    let problem = match fs::read(folder.path().join(&name)) {
        Ok(octets) if is_it(&octets) => {
            let line = write_lasting(to, &name, &octets).map_err(at(&to.join(&name)))?;
            return Ok(Copied::Written(name, line));
        }
        Ok(_) => format!("{name}: not the octets that were verified, not copied"),
        Err(error) if error.kind() == io::ErrorKind::NotFound => format!("{name}: missing"),
        Err(error) => return Err(at(&folder.path().join(&name))(error)),
    };
    match folder.store.photo(row.device, row.photo)?.map(|row| row.state) {
        Some(PhotoState::Erased) => Ok(Copied::ErasedMeanwhile),
        _ => Ok(Copied::Not(problem)),
    }
}

/// The files that lie in the station's folder itself and are kept: the key, and whatever an operator put beside it.
fn small_files(folder: &Path) -> io::Result<Vec<String>> {
    let mut names = Vec::new();
    for entry in fs::read_dir(folder)? {
        let entry = entry?;
        let name = entry.file_name().to_string_lossy().into_owned();
        if entry.file_type()?.is_file() && !folder::is_passing(&name) {
            names.push(name);
        }
    }
    Ok(names)
}

/// Removes what the manifest does not name: the database before, and photos that were erased since.
fn clear_away(to: &Path, manifest: &Manifest) -> io::Result<()> {
    for name in files_below(to)? {
        let stays = manifest.files.contains_key(&name) || [archive::MANIFEST, folder::LOCK].contains(&name.as_str());
        if !stays {
            fs::remove_file(to.join(name))?;
        }
    }
    Ok(())
}

fn at(path: &Path) -> impl FnOnce(io::Error) -> CommandError {
    CommandError::io(path.display().to_string())
}

impl BackUp {
    pub(super) fn run(self) -> Result<Outcome, CommandError> {
        let folder = Folder::open(&self.data.folder)?;
        let report = back_up(&folder, &self.to, clock::now())?;
        if self.json {
            print_json(&report)?;
        } else {
            let Counts { streams, entries, sites, photos } = report.counts;
            print_line(&format!(
                "{streams} streams, {entries} entries, {sites} sites, {photos} photos ({} new), {} octets, read back",
                report.new_photos, report.octets
            ))?;
            report.problems.iter().try_for_each(|problem| print_line(&format!("WRONG  {problem}")))?;
            print_line(
                "What is erased on request from now on stays in this back-up until the next one into the same folder.",
            )?;
        }
        Ok(if report.problems.is_empty() { Outcome::Fine } else { Outcome::DataWrong })
    }
}
