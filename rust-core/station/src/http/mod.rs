//! HTTP: the device interface, sign-in, and what stands around them.
//!
//! Handlers are async and short: whatever touches the disk goes through [`App::store`] onto a thread that may block.

pub mod app;
mod body;
mod door;
mod enrol;
mod entries;
mod feed;
mod health;
mod hello;
mod parts;
mod phone;
pub mod photos;
mod places;
mod problem;
mod router;
pub mod serve;
pub mod session;
mod sign_in;
mod texts;
mod verdicts;

pub use app::App;
pub use problem::Fault;
pub use router::{Route, openapi, router, templates};
pub use session::{Signed, SignedForm};
