//! The station's folder: database, key, photos, and the address where it serves.

use crate::security::key::{KeyError, StationKey};
use crate::store::StoreError;
use crate::store::sqlite::SqliteStore;
use std::fs;
use std::io;
use std::path::{Path, PathBuf};
use sync::trust::Pins;

/// An open folder.
pub struct Folder {
    /// The store.
    pub store: SqliteStore,
    /// The key.
    pub key: StationKey,
    path: PathBuf,
}

/// Where the keys of the certificate are noted.
#[derive(Debug, Clone)]
pub struct PinsFile(PathBuf);

impl PinsFile {
    /// Notes them, or that there are none.
    ///
    /// # Errors
    /// Where the disk cannot.
    pub fn note(&self, pins: Option<Pins>) -> io::Result<()> {
        match pins {
            Some(pins) => fs::write(&self.0, serde_json::to_vec(&pins)?),
            None => match fs::remove_file(&self.0) {
                Err(error) if error.kind() != io::ErrorKind::NotFound => Err(error),
                _ => Ok(()),
            },
        }
    }
}

/// Why the folder does not open.
#[derive(Debug, thiserror::Error)]
pub enum FolderError {
    /// It cannot be made.
    #[error("the folder {path} cannot be made: {error}")]
    Make {
        /// Which.
        path: String,
        /// What the system says.
        error: io::Error,
    },
    /// The key is not right.
    #[error("{path}: {error}")]
    Key {
        /// The file.
        path: String,
        /// Why.
        error: KeyError,
    },
    /// The database is not right.
    #[error("{path}: {error}")]
    Store {
        /// The file.
        path: String,
        /// Why.
        error: StoreError,
    },
}

impl Folder {
    /// Opens a folder, or makes it, readable by its owner alone.
    ///
    /// # Errors
    /// See [`FolderError`].
    pub fn open(path: &Path) -> Result<Self, FolderError> {
        let make = |error| FolderError::Make { path: path.display().to_string(), error };
        let mut builder = fs::DirBuilder::new();
        builder.recursive(true);
        #[cfg(unix)]
        std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
        builder.create(path).map_err(make)?;
        builder.create(path.join("photos")).map_err(make)?;
        let file = path.join("station.key");
        let key =
            StationKey::open(&file).map_err(|error| FolderError::Key { path: file.display().to_string(), error })?;
        let file = path.join("station.sqlite");
        let store =
            SqliteStore::open(&file).map_err(|error| FolderError::Store { path: file.display().to_string(), error })?;
        Ok(Self { store, key, path: path.to_owned() })
    }

    /// Where photos lie.
    pub fn photos(&self) -> PathBuf {
        self.path.join("photos")
    }

    /// Notes the address for other commands beside a serving station.
    ///
    /// # Errors
    /// Where the disk cannot.
    pub fn note_address(&self, address: &str) -> io::Result<()> {
        fs::write(self.path.join("address"), address)
    }

    /// Notes the keys of the certificate for other commands, or that there is none.
    ///
    /// # Errors
    /// Where the disk cannot.
    pub fn note_pins(&self, pins: Option<Pins>) -> io::Result<()> {
        self.pins_file().note(pins)
    }

    /// The keys of the certificate that were noted last.
    pub fn pins(&self) -> Option<Pins> {
        serde_json::from_slice(&fs::read(self.pins_file().0).ok()?).ok()
    }

    /// Where the keys of the certificate are noted.
    pub fn pins_file(&self) -> PinsFile {
        PinsFile(self.path.join("pins.json"))
    }

    /// The address that was noted last.
    pub fn address(&self) -> Option<String> {
        fs::read_to_string(self.path.join("address"))
            .ok()
            .map(|text| text.trim().to_owned())
            .filter(|text| !text.is_empty())
    }
}
