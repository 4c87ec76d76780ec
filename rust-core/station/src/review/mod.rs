//! What coordinators do to entries: reviews of counts, comparisons of checks, taking those back, erasing.
//!
//! Each is an entry in a stream of the station's own, appended through the same store path as a phone's, judged and fed
//! like one. A [`Desk`] writes that stream. Nothing here reads a clock or a random source.

mod desk;
mod own;

pub use desk::{Desk, Moment};
pub use own::{FileMarker, Mark, Marker};

use crate::edge::random::NoRandom;
use crate::http::Fault;
use crate::store::StoreError;
use crate::store::coordinators::{Coordinator, Role};
use std::collections::{BTreeMap, BTreeSet};
use std::io;
use survey::chain::Hash;
use survey::check::ReviewReason;
use survey::entry::EntryError;
use survey::ids::{CheckId, EntryId, ObserverId, SiteId};
use survey::stage::What;
use survey::visit::Comparison;
use sync::wire::problem::ProblemType;

/// The largest number that a review may put in place of a count, all stages together.
pub const MOST_INSTEAD: u32 = 10_000;

/// An act of a coordinator.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum ReviewAct {
    /// Says what a count was.
    Count {
        /// The count's entry.
        count: EntryId,
        /// What stands for it.
        instead: Instead,
        /// Why.
        reason: ReviewReason,
    },
    /// Says what checks of one number in a joined visit are.
    Compare {
        /// All checks of that number.
        checks: BTreeSet<CheckId>,
        /// What they are.
        verdict: Comparison,
    },
    /// Takes an act of a coordinator back.
    TakeBack {
        /// Its entry.
        entry: EntryId,
    },
    /// Erases the text of a note, or a photo.
    Erase {
        /// The salted hash that names it.
        blob: Hash,
    },
}

/// What stands for a count.
#[derive(Debug, Clone, PartialEq, Eq)]
pub enum Instead {
    /// What was counted: it was looked at and is right.
    AsCounted,
    /// These numbers, each 1 or more, [`MOST_INSTEAD`] together at most.
    Split(BTreeMap<What, u32>),
    /// Nothing: no animal, or none of this species, or counted twice.
    Nothing,
}

/// Who acts.
#[derive(Debug, Clone, Copy)]
pub enum Actor<'a> {
    /// A coordinator, as far as the roles reach.
    Coordinator(&'a Coordinator),
    /// Whoever runs commands on the station's own folder: everything.
    Console,
}

/// Why an act was not done. Nothing has happened.
#[derive(Debug, thiserror::Error)]
pub enum ReviewError {
    /// The role does not reach so far.
    #[error("your role does not allow this")]
    NotAllowed,
    /// What the act names is not here, was taken back, or is of another site or kind.
    #[error("what this names is not here any more, or is something else")]
    NotHere,
    /// It is so already.
    #[error("this is so already")]
    NothingToDo,
    /// A number is 0, too large, or there is none.
    #[error("numbers from 1 to {MOST_INSTEAD} are due, together as well")]
    Numbers,
    /// Only what a coordinator did is taken back here; phones take back their own.
    #[error("this was not done by a coordinator: the phone that did it takes it back")]
    NotOwn,
    /// The entry would be too large.
    #[error(transparent)]
    Entry(#[from] EntryError),
    /// The store cannot.
    #[error(transparent)]
    Store(#[from] StoreError),
    /// No randomness.
    #[error(transparent)]
    Random(#[from] NoRandom),
    /// The file that holds the station's epoch cannot be read or written.
    #[error("the file beside the database that holds the station's epoch: {0}")]
    Marker(#[from] io::Error),
}

impl From<ReviewError> for Fault {
    fn from(error: ReviewError) -> Self {
        match error {
            ReviewError::NotAllowed => Self::not_allowed(),
            ReviewError::NotHere => Self::new(ProblemType::NotFound, error.to_string()),
            ReviewError::NothingToDo | ReviewError::Numbers | ReviewError::NotOwn | ReviewError::Entry(_) => {
                Self::malformed(error)
            }
            ReviewError::Store(error) => error.into(),
            ReviewError::Random(error) => error.into(),
            ReviewError::Marker(error) => Self::internal(&error),
        }
    }
}

impl ReviewAct {
    /// The role that it takes.
    pub const fn role(&self) -> Role {
        match self {
            Self::Count { .. } | Self::Compare { .. } | Self::TakeBack { .. } => Role::Review,
            Self::Erase { .. } => Role::Administer,
        }
    }
}

impl Actor<'_> {
    /// Whether they may act as `role` on a site.
    pub fn may(self, role: Role, site: SiteId) -> bool {
        match self {
            Self::Coordinator(coordinator) => coordinator.may(role, site),
            Self::Console => true,
        }
    }

    /// The random id that stands in entries, where there is one.
    pub fn id(self) -> Option<ObserverId> {
        match self {
            Self::Coordinator(coordinator) => Some(coordinator.id),
            Self::Console => None,
        }
    }
}

#[cfg(test)]
mod tests;
