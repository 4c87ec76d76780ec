//! A damaged database is moved out of the way, whole, and never deleted.

use super::files::{self, ASIDE};
use crate::error::Error;
use std::path::{Path, PathBuf};
use survey::time::UnixMs;

/// Moves a database and what lies beside it into `set-aside/<time>/`; a folder that is taken gets a number behind it.
pub(crate) fn set_aside(folder: &Path, database: &str, at: UnixMs) -> Result<PathBuf, Error> {
    let time = at.rfc3339().unwrap_or_else(|| at.0.to_string()).replace(':', "-");
    let parent = folder.join(ASIDE);
    std::fs::create_dir_all(&parent).map_err(Error::file(&parent))?;
    let mut place = parent.join(&time);
    let mut again = 0_u32;
    while place.exists() {
        again += 1;
        place = parent.join(format!("{time}-{again}"));
    }
    std::fs::create_dir(&place).map_err(Error::file(&place))?;
    for file in files::with_companions(&folder.join(database)) {
        if let Some(name) = file.file_name()
            && file.exists()
        {
            std::fs::rename(&file, place.join(name)).map_err(Error::file(&file))?;
        }
    }
    files::sync_folder(&place).map_err(Error::file(&place))?;
    files::sync_folder(&parent).map_err(Error::file(&parent))?;
    Ok(place)
}
