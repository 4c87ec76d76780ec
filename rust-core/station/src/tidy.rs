//! Leaving nothing of what was erased: in the database, in its log, in the folder of photos.

use crate::http::Fault;
use crate::http::photos::sweep_erased;
use crate::store::Store;
use std::path::Path;

/// Removes the files of erased photos, and overwrites what the database still has in freed pages and in its log.
///
/// # Errors
/// Where the disk cannot, or others hold the log; what was erased is gone from every answer all the same.
pub fn leave_nothing(store: &dyn Store, photos: &Path) -> Result<(), Fault> {
    sweep_erased(store, photos)?;
    Ok(store.scrub()?)
}

/// The same where a phone has erased something since, without going through the whole database: deleted content is
/// overwritten where it stood.
///
/// # Errors
/// As [`leave_nothing`].
pub fn after_entries(store: &dyn Store, photos: &Path) -> Result<(), Fault> {
    if store.take_erased() {
        sweep_erased(store, photos)?;
        store.settle()?;
    }
    Ok(())
}
