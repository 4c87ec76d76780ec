//! A file layer under SQLite that records what a power cut could leave, and every such image reopened.
//!
//! - [`shim`] notes what SQLite does to its files, [`files`] what the handset does to its own, both into one [`log`];
//! - [`session`] plays a counting session on that disk and notes what a person was [`told`];
//! - [`model`] says what could be on the disk after a power cut at any instant of the log;
//! - [`reopen`] opens such an image with a real handset and says what has to hold;
//! - [`rehearse`] does that for the instants of a session;
//! - [`kills`] kills a counting process for real.

pub mod dice;
pub mod files;
pub mod kills;
pub mod log;
pub mod model;
pub mod rehearse;
pub mod reopen;
pub mod session;
pub mod shim;
pub mod told;

#[path = "../../../rust-core/handset/tests/common/station.rs"]
mod station;
