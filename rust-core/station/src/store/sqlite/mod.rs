//! The store on one SQLite file: one writer connection behind a lock, readers beside it, write-ahead log, every commit
//! synced. Other processes (`leafturn invite` beside `leafturn serve`) may write too; each waits for the other.

mod access;
mod blobs;
mod coordinators;
mod entries;
mod feed;
mod journal;
mod judgements;
mod migrate;
mod salvage;
mod upkeep;
mod value;

pub use salvage::{Salvaged, SalvagedPhoto};
pub use upkeep::faults_of;

use super::{Store, StoreError};
use rusqlite::{Connection, ErrorCode, OpenFlags, Transaction, TransactionBehavior};
use std::path::{Path, PathBuf};
use std::sync::atomic::AtomicBool;
use std::sync::{Mutex, MutexGuard, PoisonError};
use std::time::Duration;

/// How long a connection waits for another process's transaction.
const BUSY: Duration = Duration::from_secs(10);

/// The most pages that SQLite takes (sqlite.org/limits.html, "Maximum Number Of Pages In A Database File").
const MOST_PAGES: u32 = 4_294_967_294;

/// Reader connections kept for the next read.
const READERS_KEPT: usize = 4;

/// Prepared statements kept by each connection: more than there are, so that none is prepared twice.
const STATEMENTS_KEPT: usize = 128;

/// The store on one SQLite file.
pub struct SqliteStore {
    path: PathBuf,
    writer: Mutex<Connection>,
    readers: Mutex<Vec<Connection>>,
    /// Whether something was erased since this was asked last.
    erased: AtomicBool,
}

impl SqliteStore {
    /// Opens the file, or makes it, and brings its schema up to date.
    ///
    /// # Errors
    /// Where the disk refuses, the file is damaged, or made by a newer version.
    pub fn open(path: &Path) -> Result<Self, StoreError> {
        let mut writer = Connection::open(path).map_err(store_error)?;
        set_up(&writer)?;
        migrate::look(&writer)?;
        let mode: String = writer.query_row("PRAGMA journal_mode = WAL", [], |row| row.get(0)).map_err(store_error)?;
        if mode != "wal" {
            return Err(StoreError::Unavailable {
                reason: format!("the file system gives journal mode {mode}, not WAL"),
            });
        }
        migrate::up(&mut writer)?;
        Ok(Self {
            path: path.to_owned(),
            writer: Mutex::new(writer),
            readers: Mutex::new(Vec::new()),
            erased: AtomicBool::new(false),
        })
    }

    /// Lets the file grow to no more than so many pages, as on a full disk, until the next opening; `None` takes the
    /// limit away.
    ///
    /// # Errors
    /// Where the file cannot be asked.
    pub fn limit_pages(&self, most: Option<u32>) -> Result<(), StoreError> {
        let most = most.unwrap_or(MOST_PAGES);
        lock(&self.writer).query_row(&format!("PRAGMA max_page_count = {most}"), [], |_| Ok(())).map_err(store_error)
    }

    /// Opens a file that nobody writes, to read it as it stands.
    ///
    /// # Errors
    /// Where it cannot be read, or is none of this version's.
    pub fn open_to_read(path: &Path) -> Result<Self, StoreError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let reader = Connection::open_with_flags(path, flags).map_err(store_error)?;
        set_up(&reader)?;
        migrate::look(&reader)?;
        Ok(Self {
            path: path.to_owned(),
            writer: Mutex::new(reader),
            readers: Mutex::new(Vec::new()),
            erased: AtomicBool::new(false),
        })
    }

    /// What a quick look through the file finds wrong with its structure; empty if nothing.
    ///
    /// # Errors
    /// Where it cannot be read at all.
    pub fn quick_faults(&self) -> Result<Vec<String>, StoreError> {
        self.read(|t| {
            let mut faults = value::rows(t, "PRAGMA quick_check(5)", [], |row| row.get::<_, String>(0))?;
            faults.retain(|fault| fault != "ok");
            Ok(faults)
        })
    }

    /// Runs one writing transaction, which takes the file's lock at its start and is undone unless `act` succeeds.
    fn write<T>(&self, act: impl FnOnce(&Transaction<'_>) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let mut writer = lock(&self.writer);
        let transaction = writer.transaction_with_behavior(TransactionBehavior::Immediate).map_err(store_error)?;
        let done = act(&transaction)?;
        transaction.commit().map_err(store_error)?;
        Ok(done)
    }

    /// Runs one reading transaction on a connection of its own: it sees one state of the file and holds nobody up.
    fn read<T>(&self, act: impl FnOnce(&Transaction<'_>) -> Result<T, StoreError>) -> Result<T, StoreError> {
        let kept = lock(&self.readers).pop();
        let mut reader = match kept {
            Some(reader) => reader,
            None => self.reader()?,
        };
        let read = {
            let transaction = reader.transaction().map_err(store_error)?;
            act(&transaction)
        };
        let mut readers = lock(&self.readers);
        if readers.len() < READERS_KEPT {
            readers.push(reader);
        }
        read
    }

    fn reader(&self) -> Result<Connection, StoreError> {
        let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
        let reader = Connection::open_with_flags(&self.path, flags).map_err(store_error)?;
        set_up(&reader)?;
        Ok(reader)
    }
}

impl Store for SqliteStore {
    fn ready(&self) -> Result<(), StoreError> {
        self.read(|t| t.query_row("SELECT count(*) FROM sites", [], |_| Ok(())).map_err(store_error))?;
        self.write(|_| Ok(()))
    }

    fn faults(&self) -> Result<Vec<String>, StoreError> {
        self.read(|t| {
            let mut faults = value::rows(t, "PRAGMA integrity_check(20)", [], |row| row.get::<_, String>(0))?;
            faults.retain(|fault| fault != "ok");
            faults.extend(value::rows(t, "PRAGMA foreign_key_check", [], |row| {
                Ok(format!("a row of {} names one that is missing", row.get::<_, String>(0)?))
            })?);
            Ok(faults)
        })
    }

    fn settle(&self) -> Result<(), StoreError> {
        lock(&self.readers).clear();
        lock(&self.writer).query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |_| Ok(())).map_err(store_error)
    }
}

fn set_up(connection: &Connection) -> Result<(), StoreError> {
    connection.set_prepared_statement_cache_capacity(STATEMENTS_KEPT);
    connection.busy_timeout(BUSY).map_err(store_error)?;
    connection
        .execute_batch(
            "PRAGMA synchronous = FULL; PRAGMA fullfsync = ON; PRAGMA checkpoint_fullfsync = ON;
             PRAGMA foreign_keys = ON; PRAGMA recursive_triggers = ON; PRAGMA trusted_schema = OFF;
             PRAGMA secure_delete = ON;",
        )
        .map_err(store_error)
}

fn lock<T>(mutex: &Mutex<T>) -> MutexGuard<'_, T> {
    // A panic inside a transaction rolled it back: the connection is as good as before.
    mutex.lock().unwrap_or_else(PoisonError::into_inner)
}

#[expect(clippy::needless_pass_by_value, reason = "the shape that map_err wants")]
fn store_error(error: rusqlite::Error) -> StoreError {
    match error.sqlite_error_code() {
        Some(ErrorCode::DatabaseBusy | ErrorCode::DatabaseLocked) => StoreError::Busy,
        Some(ErrorCode::DatabaseCorrupt | ErrorCode::NotADatabase) => StoreError::Damaged { reason: error.to_string() },
        Some(ErrorCode::ConstraintViolation) => {
            StoreError::Damaged { reason: format!("a rule of the schema: {error}") }
        }
        None if matches!(
            error,
            rusqlite::Error::FromSqlConversionFailure(..)
                | rusqlite::Error::InvalidColumnType(..)
                | rusqlite::Error::IntegralValueOutOfRange(..)
        ) =>
        {
            StoreError::Damaged { reason: error.to_string() }
        }
        _ => StoreError::Unavailable { reason: error.to_string() },
    }
}

#[cfg(test)]
mod tests;
