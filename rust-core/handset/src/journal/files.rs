//! The folder of a handset: its names, its lock, and how a file is made to last.

use crate::error::Error;
use crate::surroundings::disk::{Files, make_folders};
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use survey::chain::Hash;
use survey::defect::{Defect, planted};
use survey::ids::DeviceId;

/// The database.
pub(crate) const DATABASE: &str = "journal.sqlite";
/// Photos, stripped, until the station has them backed up.
pub(crate) const PHOTOS: &str = "photos";
/// Bodies of jobs that may outlive the process.
pub(crate) const OUTGOING: &str = "outgoing";
/// Damaged databases.
pub(crate) const ASIDE: &str = "set-aside";
const LOCK: &str = "lock";
const DEVICE: &str = "device";
const FOUND_DAMAGED: &str = "found-damaged";

/// Makes the folder and takes its lock. The lock goes with the file, however the process ends.
pub(crate) fn lock(files: &dyn Files, folder: &Path) -> Result<File, Error> {
    for name in [PHOTOS, OUTGOING] {
        let path = folder.join(name);
        make_folders(files, &path).map_err(Error::file(path))?;
    }
    let path = folder.join(LOCK);
    let file =
        File::options().create(true).truncate(false).write(true).open(&path).map_err(Error::file(path.clone()))?;
    match file.try_lock() {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(Error::AlreadyOpen(folder.to_path_buf())),
        Err(TryLockError::Error(cause)) => Err(Error::File { path, cause }),
    }
}

/// Writes a file so that it is there after a power cut, whole or not at all.
pub(crate) fn write_lasting(files: &dyn Files, path: &Path, content: &[u8]) -> Result<(), Error> {
    let temporary = path.with_extension("part");
    let written = (|| {
        files.write(&temporary, content)?;
        files.rename(&temporary, path)?;
        if planted(Defect::DirectoryUnsynced) { Ok(()) } else { files.sync_folder(folder_of(path)) }
    })();
    if written.is_err() {
        // The half-written file is of no use to anybody; where even this fails the sweep at opening removes it.
        let _ = files.remove(&temporary);
    }
    written.map_err(Error::file(path))
}

/// Notes that damage was found while the database was in use: the next opening sets it aside.
pub(crate) fn note_damage(files: &dyn Files, folder: &Path) {
    // Where even this cannot be written, the damage is found again.
    let _ = write_lasting(files, &folder.join(FOUND_DAMAGED), b"");
}

/// Whether damage was noted, or shows in the files before they are opened: a log whose database is gone or empty,
/// which SQLite would remove.
pub(crate) fn looks_damaged(folder: &Path, database: &str) -> bool {
    let length = |path: &Path| std::fs::metadata(path).map_or(0, |file| file.len());
    let [database, log, _] = with_companions(&folder.join(database));
    (folder.join(FOUND_DAMAGED).exists() && database.exists()) || (length(&database) == 0 && length(&log) > 0)
}

/// Notes the device beside the database, for the day that this is damaged.
pub(crate) fn note_device(files: &dyn Files, folder: &Path, device: DeviceId) -> Result<(), Error> {
    if noted_device(folder) == Some(device) {
        return Ok(());
    }
    let check = Hash::plain(&device.octets());
    write_lasting(files, &folder.join(DEVICE), &[&device.octets()[..], &check.0[..8]].concat())
}

/// The device that was noted.
pub(crate) fn noted_device(folder: &Path) -> Option<DeviceId> {
    let octets = std::fs::read(folder.join(DEVICE)).ok()?;
    let (device, check) = octets.split_first_chunk::<16>()?;
    (Hash::plain(device).0[..8] == *check).then(|| DeviceId::from_octets(*device))
}

/// Removes everything that a handset keeps in its folder, the databases first; what is not a handset's stays.
pub(crate) fn remove_all(folder: &Path) -> Result<(), Error> {
    let own = |name: &String| {
        name.starts_with("journal") || [PHOTOS, OUTGOING, ASIDE, LOCK, DEVICE, FOUND_DAMAGED].contains(&name.as_str())
    };
    let mut names: Vec<String> = names_in(folder)?.into_iter().filter(own).collect();
    names.sort_by_key(|name| !name.starts_with("journal"));
    for name in names {
        let path = folder.join(name);
        let removed = if path.is_dir() { std::fs::remove_dir_all(&path) } else { std::fs::remove_file(&path) };
        removed.map_err(Error::file(path))?;
    }
    Ok(())
}

/// Whether a log lies beside the database: closing removes it.
pub(crate) fn has_log(folder: &Path, database: &str) -> bool {
    let [_, log, _] = with_companions(&folder.join(database));
    std::fs::metadata(log).is_ok_and(|file| file.len() > 0)
}

/// Damage that was noted has been dealt with.
pub(crate) fn forget_damage(files: &dyn Files, folder: &Path) -> Result<(), Error> {
    let path = folder.join(FOUND_DAMAGED);
    if !path.exists() {
        return Ok(());
    }
    files.remove(&path).and_then(|()| files.sync_folder(folder)).map_err(Error::file(path))
}

/// The folder that a file lies in.
pub(crate) fn folder_of(path: &Path) -> &Path {
    path.parent().filter(|folder| !folder.as_os_str().is_empty()).unwrap_or(Path::new("."))
}

/// The names of the files in a folder; none where there is no folder.
pub(crate) fn names_in(folder: &Path) -> Result<Vec<String>, Error> {
    let read = match std::fs::read_dir(folder) {
        Ok(read) => read,
        Err(error) if error.kind() == std::io::ErrorKind::NotFound => return Ok(Vec::new()),
        Err(cause) => return Err(Error::File { path: folder.to_path_buf(), cause }),
    };
    let names = read.filter_map(Result::ok).filter_map(|file| file.file_name().into_string().ok());
    Ok(names.collect())
}

/// A database and the files that SQLite keeps beside it.
pub(crate) fn with_companions(database: &Path) -> [PathBuf; 3] {
    let beside = |suffix: &str| {
        let mut name = database.as_os_str().to_os_string();
        name.push(suffix);
        PathBuf::from(name)
    };
    [database.to_path_buf(), beside("-wal"), beside("-shm")]
}
