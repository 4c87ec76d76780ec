//! What the station knows of itself: its own stream, and its back-ups.

use super::StoreError;
use survey::chain::StreamId;
use survey::ids::{DeviceId, PhotoId};
use survey::time::UnixMs;

/// What the station knows of itself.
pub trait UpkeepStore {
    /// The stream in which the station writes what coordinators do, `None` before the first.
    ///
    /// # Errors
    /// Where the store cannot.
    fn own_stream(&self) -> Result<Option<StreamId>, StoreError>;

    /// Makes this the station's own stream. What it wrote before stays where it is.
    ///
    /// # Errors
    /// Where the store cannot.
    fn begin_own_stream(&self, stream: StreamId) -> Result<(), StoreError>;

    /// Notes a back-up that was made and read back, with the photos that it holds whole.
    ///
    /// # Errors
    /// Where the store cannot.
    fn note_back_up(&self, at: UnixMs, photos: &[(DeviceId, PhotoId)]) -> Result<(), StoreError>;

    /// When the last back-up was made.
    ///
    /// # Errors
    /// Where the store cannot.
    fn backed_up(&self) -> Result<Option<UnixMs>, StoreError>;

    /// Ends every session, and voids sign-in links and join codes that wait: after a restore nobody is let in by what an
    /// older state still believes in.
    ///
    /// # Errors
    /// Where the store cannot.
    fn close_doors(&self) -> Result<(), StoreError>;

    /// Takes a name out of the table of people; says how many rows went. Whoever bore it keeps id, token and grants.
    ///
    /// # Errors
    /// Where the store cannot.
    fn forget_name(&self, name: &str) -> Result<usize, StoreError>;

    /// Whether an entry that erases something was appended through this store since it was asked last.
    fn take_erased(&self) -> bool;

    /// Leaves no octet of what was erased in the store's own files: what was deleted is overwritten and logs are cut.
    ///
    /// # Errors
    /// Where the store cannot; what was erased is gone from every answer all the same.
    fn scrub(&self) -> Result<(), StoreError>;
}
