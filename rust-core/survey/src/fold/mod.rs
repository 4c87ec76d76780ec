//! The fold: a pure function from a set of entries to state.
//!
//! [`Fold`] is an indexed set. Putting an entry in costs a few look-ups; state is computed when asked for, from the
//! entries that concern it and nothing else, so any order and any repetition of the same entries give the same state.
//! Nothing is subtracted: an entry has effect or it has none.

mod after;
mod check;
mod counts;
mod index;
mod joins;
mod register;
mod site;
mod state;
mod touched;
mod visit;

pub use index::{Fold, Inserted, Kept, NoEffect, OrderKey};
pub use register::Register;
pub use state::{
    AdultsState, AuditState, CheckState, CountState, MatchedState, PhotoState, PooledState, ReviewState, SiteState,
    Standing, TaggedPlant, Tally, TallyRow, Told, VisitPart, VisitState,
};
pub use touched::Touched;

#[cfg(test)]
mod laws;
