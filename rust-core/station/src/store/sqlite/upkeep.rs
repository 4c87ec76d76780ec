//! The station's own stream, back-ups, and leaving nothing behind.

use super::value::{one, run, stream};
use super::{SqliteStore, StoreError, lock, store_error};
use crate::store::upkeep::UpkeepStore;
use rusqlite::backup::{Backup, StepResult};
use rusqlite::{Connection, OpenFlags, params};
use std::path::Path;
use std::sync::atomic::Ordering;
use survey::chain::StreamId;
use survey::ids::{DeviceId, PhotoId};
use survey::time::UnixMs;

impl UpkeepStore for SqliteStore {
    fn own_stream(&self) -> Result<Option<StreamId>, StoreError> {
        self.read(|t| one(t, "SELECT device, epoch FROM own_stream", [], |row| stream(row, 0)))
    }

    fn begin_own_stream(&self, stream: StreamId) -> Result<(), StoreError> {
        self.write(|t| {
            let sql = "INSERT INTO own_stream (only_one, device, epoch) VALUES (1, ?1, ?2)
                 ON CONFLICT (only_one) DO UPDATE SET device = excluded.device, epoch = excluded.epoch";
            run(t, sql, params![stream.device.octets(), stream.epoch.octets()])?;
            Ok(())
        })
    }

    fn note_back_up(&self, at: UnixMs, photos: &[(DeviceId, PhotoId)]) -> Result<(), StoreError> {
        self.write(|t| {
            let number = i64::try_from(photos.len()).unwrap_or(i64::MAX);
            run(t, "INSERT OR REPLACE INTO back_ups (at_ms, photos) VALUES (?1, ?2)", params![at.0, number])?;
            let sql = "UPDATE photos SET backed_up_ms = max(coalesce(backed_up_ms, ?3), ?3)
                 WHERE device = ?1 AND photo = ?2 AND verified_ms IS NOT NULL AND erased = 0";
            for (device, photo) in photos {
                run(t, sql, params![device.octets(), photo.octets(), at.0])?;
            }
            Ok(())
        })
    }

    fn backed_up(&self) -> Result<Option<UnixMs>, StoreError> {
        self.read(|t| Ok(one(t, "SELECT max(at_ms) FROM back_ups", [], |row| row.get(0))?.flatten().map(UnixMs)))
    }

    fn close_doors(&self) -> Result<(), StoreError> {
        self.write(|t| {
            run(t, "DELETE FROM sessions", [])?;
            run(t, "DELETE FROM sign_in_links", [])?;
            // A spent code stays: the phone that spent it may ask again, and nobody else can.
            let waiting = "(SELECT digest FROM invitations WHERE used_device IS NULL)";
            run(t, &format!("DELETE FROM invitation_sites WHERE digest IN {waiting}"), [])?;
            run(t, "DELETE FROM invitations WHERE used_device IS NULL", [])?;
            Ok(())
        })
    }

    fn forget_name(&self, name: &str) -> Result<usize, StoreError> {
        self.write(|t| {
            let invited = run(t, "UPDATE invitations SET name = NULL WHERE name = ?1", [name])?;
            // A coordinator is known by the name: the row stays, with a name that says nothing.
            let sql = "UPDATE people SET name = 'removed-' || lower(hex(randomblob(4))) WHERE name = ?1 AND role = 'coordinator'";
            let signing_in = run(t, sql, [name])?;
            Ok(invited + signing_in + run(t, "DELETE FROM people WHERE name = ?1", [name])?)
        })
    }

    fn take_erased(&self) -> bool {
        self.erased.swap(false, Ordering::AcqRel)
    }

    fn scrub(&self) -> Result<(), StoreError> {
        lock(&self.readers).clear();
        let writer = lock(&self.writer);
        // Pages freed before deleted content was overwritten may still hold some of it; VACUUM leaves no free page.
        writer.execute_batch("VACUUM").map_err(store_error)?;
        let (busy, _, _): (i64, i64, i64) = writer
            .query_row("PRAGMA wal_checkpoint(TRUNCATE)", [], |row| Ok((row.get(0)?, row.get(1)?, row.get(2)?)))
            .map_err(store_error)?;
        if busy == 0 { Ok(()) } else { Err(StoreError::Busy) }
    }
}

impl SqliteStore {
    /// Copies the store as it stands at one moment into a file of its own, without holding writers up. The file is made
    /// new, is whole in itself, and holds no page that was freed.
    ///
    /// # Errors
    /// Where the disk refuses, or what was copied is damaged.
    pub fn copy_to(&self, file: &Path) -> Result<(), StoreError> {
        let source = self.reader()?;
        let mut copy = Connection::open(file).map_err(store_error)?;
        {
            // All pages in one step: in steps, every commit of another connection would begin it again.
            let backup = Backup::new(&source, &mut copy).map_err(store_error)?;
            match backup.step(-1).map_err(store_error)? {
                StepResult::Done => {}
                _ => return Err(StoreError::Busy),
            }
        }
        let mode: String = copy.query_row("PRAGMA journal_mode = DELETE", [], |row| row.get(0)).map_err(store_error)?;
        if mode != "delete" {
            return Err(StoreError::Unavailable { reason: format!("the copy keeps journal mode {mode}") });
        }
        copy.execute_batch("PRAGMA secure_delete = ON; PRAGMA synchronous = FULL; VACUUM").map_err(store_error)?;
        copy.close().map_err(|(_, error)| store_error(error))
    }
}

/// What SQLite finds wrong with a file that nobody else has open; empty if nothing.
///
/// # Errors
/// Where it cannot be read at all.
pub fn faults_of(file: &Path) -> Result<Vec<String>, StoreError> {
    let flags = OpenFlags::SQLITE_OPEN_READ_ONLY | OpenFlags::SQLITE_OPEN_NO_MUTEX;
    let connection = Connection::open_with_flags(file, flags).map_err(store_error)?;
    let mut faults = super::value::rows(&connection, "PRAGMA integrity_check(20)", [], |row| row.get::<_, String>(0))?;
    faults.retain(|fault| fault != "ok");
    Ok(faults)
}
