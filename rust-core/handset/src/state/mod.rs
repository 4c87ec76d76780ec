//! State tables: a cache of the fold. What they hold follows from the set of entries alone, whatever the order in
//! which they came.

pub(crate) mod dump;
pub(crate) mod group;
pub(crate) mod memory;
pub(crate) mod refold;
pub(crate) mod write;

/// Version of the fold and of the rows made from it. A file with another number is folded again.
pub(crate) const FOLD_VERSION: i64 = 2;
