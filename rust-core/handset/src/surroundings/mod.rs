//! What the handset needs from outside: the time, random octets, a place for its marker, and the disk. Nothing else in
//! this crate reads a clock, draws a random number or changes a file.

pub mod disk;
pub mod marker;
pub mod scripted;
pub mod system;

use survey::chain::{Seq, StreamId};
use survey::ids::{DeviceId, Epoch, RandomOctets};
use survey::time::Now;

/// Everything the handset needs from outside.
pub struct Surroundings {
    /// The time.
    pub clock: Box<dyn Clock + Send>,
    /// Random octets.
    pub random: Box<dyn Random + Send>,
    /// The marker's place.
    pub marker: Box<dyn Marker + Send>,
    /// The disk.
    pub disk: disk::Disk,
}

/// Tells the time.
pub trait Clock {
    /// Wall time, offset, and time since boot at this instant.
    fn now(&self) -> Now;
}

/// Draws random octets that nobody can foresee.
pub trait Random {
    /// Sixteen of them.
    fn octets(&mut self) -> RandomOctets;
}

/// Keeps the mark of how far the journal went outside the database, where a restored copy of the database does not
/// bring an older one along.
pub trait Marker {
    /// The mark; `None` where there is none or it cannot be made out.
    ///
    /// # Errors
    /// The place cannot be reached at the moment.
    fn read(&mut self) -> std::io::Result<Option<Mark>>;

    /// Replaces the mark.
    ///
    /// # Errors
    /// The place cannot be written.
    fn write(&mut self, mark: Mark) -> std::io::Result<()>;
}

/// How far the journal went.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Mark {
    /// In which epoch.
    pub epoch: Epoch,
    /// The highest sequence number.
    pub seq: Seq,
}

impl Mark {
    /// The stream that the mark is of.
    pub const fn stream(self, device: DeviceId) -> StreamId {
        StreamId { device, epoch: self.epoch }
    }
}

impl std::fmt::Debug for Surroundings {
    fn fmt(&self, f: &mut std::fmt::Formatter<'_>) -> std::fmt::Result {
        f.debug_struct("Surroundings").finish_non_exhaustive()
    }
}
