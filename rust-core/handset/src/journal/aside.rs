//! A damaged database is moved out of the way, whole, and never deleted.

use super::files::ASIDE;
use crate::error::Error;
use crate::surroundings::disk::{Files, make_folders};
use std::path::{Path, PathBuf};
use survey::time::UnixMs;

/// Moves a database and what lies beside it into `set-aside/<time>/`; a folder that is taken gets a number behind it.
pub(crate) fn set_aside(files: &dyn Files, folder: &Path, database: &str, at: UnixMs) -> Result<PathBuf, Error> {
    let time = at.rfc3339().unwrap_or_else(|| at.0.to_string()).replace(':', "-");
    let parent = folder.join(ASIDE);
    let mut place = parent.join(&time);
    let mut again = 0_u32;
    while place.exists() {
        again += 1;
        place = parent.join(format!("{time}-{again}"));
    }
    make_folders(files, &place).map_err(Error::file(&place))?;
    for file in super::files::with_companions(&folder.join(database)) {
        if let Some(name) = file.file_name()
            && file.exists()
        {
            files.rename(&file, &place.join(name)).map_err(Error::file(&file))?;
        }
    }
    // The names at the place first: otherwise a power cut between the two could leave the files without any.
    files.sync_folder(&place).map_err(Error::file(&place))?;
    files.sync_folder(folder).map_err(Error::file(folder))?;
    super::files::forget_damage(files, folder)?;
    Ok(place)
}

/// The names of the places that hold a database of this name, oldest first.
pub(crate) fn places(folder: &Path, database: &str) -> Result<Vec<String>, Error> {
    let mut places = super::files::names_in(&folder.join(ASIDE))?;
    places.retain(|place| {
        super::files::with_companions(&path(folder, place).join(database))[..2].iter().any(|file| file.exists())
    });
    places.sort_unstable();
    Ok(places)
}

/// A place by its name.
pub(crate) fn path(folder: &Path, place: &str) -> PathBuf {
    folder.join(ASIDE).join(place)
}
