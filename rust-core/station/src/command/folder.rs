//! The station's folder: database, key, photos, the mark of its own stream, and the address where it serves.

use crate::edge::random;
use crate::review::{Desk, FileMarker, Marker, ReviewError};
use crate::security::key::{KeyError, StationKey};
use crate::store::StoreError;
use crate::store::sqlite::SqliteStore;
use std::fs::{self, File, TryLockError};
use std::io::{self, Read};
use std::path::{Path, PathBuf};
use sync::trust::Pins;

/// Name of the database.
pub(super) const DATABASE: &str = "station.sqlite";
/// Name of the key.
pub(super) const KEY: &str = "station.key";
/// Name of the folder of photos.
pub(super) const PHOTOS: &str = "photos";
/// Name of the file that whoever uses the folder holds a lock on.
pub(super) const LOCK: &str = "in-use";
/// Name of the file that holds the address.
const ADDRESS: &str = "address";

/// An open folder.
pub struct Folder {
    /// The store.
    pub store: SqliteStore,
    /// The key.
    pub key: StationKey,
    path: PathBuf,
    _lock: File,
}

/// How a folder is held.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Hold {
    /// Beside others.
    Shared,
    /// Alone: nobody else may be in it.
    Alone,
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
    /// Somebody is using it.
    #[error("the folder {path} is in use: stop `leafturn serve` and whatever else works in it first")]
    InUse {
        /// Which.
        path: String,
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
    #[error("{path}: {error}\n{}", advice(path, error))]
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
        make_private(path).map_err(make_error(path))?;
        let lock = hold(path, Hold::Shared)?;
        make_private(&path.join(PHOTOS)).map_err(make_error(path))?;
        let file = path.join(DATABASE);
        let store_error = |error| FolderError::Store { path: file.display().to_string(), error };
        expect_database(path, &file).map_err(store_error)?;
        let key_file = path.join(KEY);
        let key = StationKey::open(&key_file)
            .map_err(|error| FolderError::Key { path: key_file.display().to_string(), error })?;
        let store = SqliteStore::open(&file).map_err(store_error)?;
        Ok(Self { store, key, path: path.to_owned(), _lock: lock })
    }

    /// Opens a folder to serve from: its database is looked through first. Octets that were changed within an entry are
    /// not seen here but by `leafturn check`, which hashes every entry.
    ///
    /// # Errors
    /// See [`FolderError`].
    pub fn open_to_serve(path: &Path) -> Result<Self, FolderError> {
        let folder = Self::open(path)?;
        let damaged = |error| FolderError::Store { path: path.join(DATABASE).display().to_string(), error };
        match folder.store.quick_faults() {
            Ok(faults) => match faults.first() {
                None => Ok(folder),
                Some(fault) => Err(damaged(StoreError::Damaged { reason: fault.replace('\n', "; ") })),
            },
            Err(error) => Err(damaged(error)),
        }
    }

    /// The folder itself.
    pub fn path(&self) -> &Path {
        &self.path
    }

    /// Where photos lie.
    pub fn photos(&self) -> PathBuf {
        self.path.join(PHOTOS)
    }

    /// The desk at which coordinators' acts are written.
    ///
    /// # Errors
    /// See [`ReviewError`].
    pub fn desk(&self) -> Result<Desk, ReviewError> {
        let marker: Box<dyn Marker> = Box::new(FileMarker::of(&self.path));
        Desk::open(&self.store, marker, &mut random::octets)
    }

    /// Notes the address for other commands beside a serving station.
    ///
    /// # Errors
    /// Where the disk cannot.
    pub fn note_address(&self, address: &str) -> io::Result<()> {
        fs::write(self.path.join(ADDRESS), address)
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
        fs::read_to_string(self.path.join(ADDRESS))
            .ok()
            .map(|text| text.trim().to_owned())
            .filter(|text| !text.is_empty())
    }
}

/// Whether a file of the folder is of this start alone, and so in no back-up.
pub(super) fn is_passing(name: &str) -> bool {
    [LOCK, ADDRESS, "pins.json"].contains(&name) || name.starts_with(DATABASE) || name.starts_with(FileMarker::NAME)
}

/// Takes the lock of a folder; it lasts as long as the file is open, and the system lets go of it with the process.
///
/// # Errors
/// [`FolderError::InUse`], or the file cannot be made.
pub(super) fn hold(path: &Path, how: Hold) -> Result<File, FolderError> {
    let file = File::options()
        .create(true)
        .truncate(false)
        .write(true)
        .read(true)
        .open(path.join(LOCK))
        .map_err(make_error(path))?;
    let held = match how {
        Hold::Shared => file.try_lock_shared(),
        Hold::Alone => file.try_lock(),
    };
    match held {
        Ok(()) => Ok(file),
        Err(TryLockError::WouldBlock) => Err(FolderError::InUse { path: path.display().to_string() }),
        Err(TryLockError::Error(error)) => Err(make_error(path)(error)),
    }
}

/// Makes a folder, and those above it, that its owner alone may read.
///
/// # Errors
/// Where the disk cannot.
pub(super) fn make_private(path: &Path) -> io::Result<()> {
    let mut builder = fs::DirBuilder::new();
    builder.recursive(true);
    #[cfg(unix)]
    std::os::unix::fs::DirBuilderExt::mode(&mut builder, 0o700);
    builder.create(path)
}

fn make_error(path: &Path) -> impl Fn(io::Error) -> FolderError {
    move |error| FolderError::Make { path: path.display().to_string(), error }
}

/// What every SQLite file begins with (sqlite.org/fileformat.html, section 1.3).
const MAGIC: &[u8; 16] = b"SQLite format 3\0";

/// A folder in which a station has served has a database: where it is gone, empty or overwritten, SQLite would make an
/// empty one in its place, as if nothing had ever been counted. It takes a file of zeros for an empty one, too.
fn expect_database(folder: &Path, file: &Path) -> Result<(), StoreError> {
    let damaged = |reason: &str| Err(StoreError::Damaged { reason: reason.into() });
    let served = folder.join(FileMarker::NAME).exists();
    let mut beginning = [0; 16];
    let read = match File::open(file) {
        Ok(mut file) => {
            file.read(&mut beginning).map_err(|error| StoreError::Unavailable { reason: error.to_string() })?
        }
        Err(error) if error.kind() != io::ErrorKind::NotFound => {
            return Err(StoreError::Unavailable { reason: error.to_string() });
        }
        Err(_) if served => return damaged("the file is missing, and a station has served from this folder"),
        Err(_) => return Ok(()),
    };
    match read {
        0 if served => damaged("the file is empty"),
        0 => Ok(()),
        _ if beginning == *MAGIC => Ok(()),
        _ => damaged("the file does not begin as a database does"),
    }
}

/// What to do next, in a sentence or two.
fn advice(path: &str, error: &StoreError) -> String {
    let folder = Path::new(path).parent().map_or_else(|| ".".into(), |folder| folder.display().to_string());
    match error {
        StoreError::Damaged { .. } => format!(
            "Nothing was changed or deleted. With a back-up: `leafturn restore BACK-UP --replace --data {folder}` puts it in \
             place and sets what is there aside in {folder}/set-aside-...\nWithout one: `leafturn salvage {folder} --data \
             NEW-FOLDER` reads what can be read into a new folder. Phones send by themselves what the station then lacks."
        ),
        StoreError::Foreign { .. } => {
            "Nothing was changed. Move that file away, or name the station's own folder with --data.".into()
        }
        StoreError::NewerSchema { .. } => "Nothing was changed.".into(),
        StoreError::Busy | StoreError::Unavailable { .. } => "Nothing is lost; try again.".into(),
    }
}
