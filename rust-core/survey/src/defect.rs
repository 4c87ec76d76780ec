//! Mistakes that can be planted on purpose, so that the rehearsals prove that they would notice them.
//!
//! Without the feature `seeded-defects` every question is answered "not planted" at compile time: nothing that phones
//! or stations run can be switched.

/// A mistake somebody could make in this code base.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
#[repr(u32)]
pub enum Defect {
    /// An act is shown as done before its transaction has been committed.
    DoneBeforeCommit = 1,
    /// The last entry of a pushed batch is not stored, yet acknowledged.
    LastOfBatchDropped = 1 << 1,
    /// The marker outside the database is not compared at open.
    MarkerUnchecked = 1 << 2,
    /// The journal is written with `synchronous=NORMAL`.
    SynchronousNormal = 1 << 3,
    /// A file that was put in place is not followed by a sync of its directory.
    DirectoryUnsynced = 1 << 4,
    /// Two take-backs of one count subtract it twice.
    TakeBackTwice = 1 << 5,
    /// A page of the feed is taken without comparing where it begins.
    FeedCursorUnchecked = 1 << 6,
    /// Of two branches, the one that was not received is acknowledged.
    WrongBranchAcknowledged = 1 << 7,
    /// A token is accepted when only its beginning is right.
    TokenByPrefix = 1 << 8,
}

impl Defect {
    /// All of them, in order.
    pub const ALL: [Self; 9] = [
        Self::DoneBeforeCommit,
        Self::LastOfBatchDropped,
        Self::MarkerUnchecked,
        Self::SynchronousNormal,
        Self::DirectoryUnsynced,
        Self::TakeBackTwice,
        Self::FeedCursorUnchecked,
        Self::WrongBranchAcknowledged,
        Self::TokenByPrefix,
    ];
}

/// Whether a mistake is planted in this process.
#[cfg(not(feature = "seeded-defects"))]
#[must_use]
pub const fn planted(_: Defect) -> bool {
    false
}

#[cfg(feature = "seeded-defects")]
pub use switched::{clear, plant, planted};

#[cfg(feature = "seeded-defects")]
mod switched {
    use super::Defect;
    use std::sync::atomic::{AtomicU32, Ordering};

    static PLANTED: AtomicU32 = AtomicU32::new(0);

    /// Plants one mistake in this process, until [`clear`].
    pub fn plant(defect: Defect) {
        PLANTED.fetch_or(defect as u32, Ordering::SeqCst);
    }

    /// Takes every planted mistake out.
    pub fn clear() {
        PLANTED.store(0, Ordering::SeqCst);
    }

    /// Whether a mistake is planted in this process.
    #[must_use]
    pub fn planted(defect: Defect) -> bool {
        PLANTED.load(Ordering::SeqCst) & defect as u32 != 0
    }
}
