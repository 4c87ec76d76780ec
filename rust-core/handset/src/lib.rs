//! The phone side: journal, state tables, view records, photos on disk, sync jobs.
//!
//! A shell holds one [`Handset`]. Each call does one act in one durable transaction and returns the record of the
//! screen it concerns; a call that is refused changes nothing. Nothing here knows how a screen looks, and no text
//! that people read is made here: records carry message ids with arguments.
//!
//! - `journal`: the append-only log in SQLite, with its lock, streams, marker, migrations;
//! - `state`: tables that cache the fold of the journal, and the entries kept in memory;
//! - [`acts`]: what a person can do;
//! - [`views`]: what screens show;
//! - [`mod@sync`]: jobs for a shell's HTTP stack, and the export to a file;
//! - [`photo`]: the stripping of pictures, and their files;
//! - [`surroundings`]: the clock, the random source, the marker and the disk, each replaceable.

pub mod acts;
mod error;
#[cfg(feature = "floor")]
mod floor;
mod journal;
mod object;
pub mod photo;
mod state;
pub mod surroundings;
pub mod sync;
pub mod views;

pub use error::{HandsetError, Kind, Next, Why};
pub use journal::check::{Checked, Found};
pub use journal::salvage::Salvage;
pub use object::{Handset, Opened};
pub use state::refold::Progress;

#[cfg(test)]
extern crate self as handset;
#[cfg(test)]
mod tests;
