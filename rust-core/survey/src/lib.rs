//! The survey model. Pure: no clock, no random source, no file, no socket; times and random octets are arguments.
//!
//! An act of an observer becomes an [`entry::Entry`], whose bytes are put behind the [`chain::Head`] of a stream;
//! [`fold::Fold`] turns any set of entries into state; [`finding::Finding`] says what looks odd about it.

pub mod chain;
pub mod check;
pub mod date;
pub mod defect;
pub mod entry;
pub mod finding;
pub mod fold;
pub mod ids;
pub mod place;
pub mod protocol;
pub mod recorder;
pub mod site;
pub mod stage;
pub mod time;
pub mod visit;
