//! The handset for Kotlin and Swift.
//!
//! A shell holds one [`Leafturn`] for as long as it lives and calls it on one thread of its own. Each call does one
//! act, and returns the record of its screen with its words in the language that was chosen; every call returns an
//! error of a few kinds, each with what to do next. Nothing is decided here: records of the handset are mirrored, ids
//! of messages become words, and a panic is caught before it reaches the other language.

mod calls;
mod failure;
mod held;
mod object;
pub mod records;
#[cfg(feature = "trip")]
mod trip;
mod voice;

pub use failure::Failure;
pub use object::Leafturn;

uniffi::setup_scaffolding!("leafturn");
