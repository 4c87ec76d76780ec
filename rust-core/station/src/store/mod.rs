//! What the station keeps, as a narrow trait of domain operations.
//!
//! Methods are synchronous and may block on the disk: callers on an async thread go through
//! [`crate::http::App::store`], which runs them on a thread made for that. Every method is one transaction. Times are
//! arguments. Every implementation is held to one conformance suite.

pub mod access;
pub mod blobs;
pub mod coordinators;
pub mod journal;
pub mod judgements;
pub mod sqlite;
pub mod upkeep;

#[cfg(test)]
pub(crate) mod conformance;

pub use access::AccessStore;
pub use blobs::BlobStore;
pub use coordinators::CoordinatorStore;
pub use journal::JournalStore;
pub use judgements::JudgementStore;
pub use upkeep::UpkeepStore;

/// Everything the station keeps.
pub trait Store:
    JournalStore + AccessStore + CoordinatorStore + BlobStore + JudgementStore + UpkeepStore + Send + Sync + 'static
{
    /// Whether the store can be read and written at this moment.
    ///
    /// # Errors
    /// Where it cannot.
    fn ready(&self) -> Result<(), StoreError>;

    /// What the store itself finds wrong with its files; empty if nothing.
    ///
    /// # Errors
    /// Where it cannot be read at all.
    fn faults(&self) -> Result<Vec<String>, StoreError>;

    /// Writes what stands in side files back into the main one, before a clean end.
    ///
    /// # Errors
    /// Where the disk refuses.
    fn settle(&self) -> Result<(), StoreError>;
}

/// Why the store could not do it. Nothing of the operation has happened.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
pub enum StoreError {
    /// Another process holds it; trying again helps.
    #[error("the store is busy, try again")]
    Busy,
    /// The disk is full, gone or read-only.
    #[error("the store cannot be written or read: {reason}")]
    Unavailable {
        /// What the disk or the driver says.
        reason: String,
    },
    /// What it holds contradicts itself.
    #[error("the store is damaged: {reason}")]
    Damaged {
        /// Where.
        reason: String,
    },
    /// Somebody else's: a database of another program.
    #[error("this is a database of another program: {reason}")]
    Foreign {
        /// How that is known.
        reason: String,
    },
    /// Made by a newer version of the software.
    #[error("the store has schema {found}, this version knows up to {known}: use a newer leafturn")]
    NewerSchema {
        /// Schema of the file.
        found: i64,
        /// Highest that is known.
        known: i64,
    },
}
