//! What a phone and the station say to each other, and what the phone does next about it.
//!
//! [`wire`] holds the messages, [`framing`] the batches of entries, pages of the feed and files to hand over,
//! [`engine`] the phone's side as a state machine, [`trust`] whom it believes to be its station. Pure: no clock, no
//! random source, no file, no socket; times and seeds are arguments, octets come through [`std::io::Read`] and [`std::io::Write`].

pub mod engine;
pub mod framing;
pub mod trust;
pub mod wire;
