//! The folder of a handset: its names, its lock, and how a file is made to last.

use crate::error::Error;
use crate::surroundings::disk::{Files, make_folders};
use std::fs::{File, TryLockError};
use std::path::{Path, PathBuf};
use survey::defect::{Defect, planted};

/// The database.
pub(crate) const DATABASE: &str = "journal.sqlite";
/// Photos, stripped, until the station has them backed up.
pub(crate) const PHOTOS: &str = "photos";
/// Bodies of jobs that may outlive the process.
pub(crate) const OUTGOING: &str = "outgoing";
/// Damaged databases.
pub(crate) const ASIDE: &str = "set-aside";
const LOCK: &str = "lock";

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
