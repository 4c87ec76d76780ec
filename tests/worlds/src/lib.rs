//! Many phones, one station and a bad network in one process, each run told by one seed.
//!
//! A [`run::Plan`] is a list of steps drawn from a seed. A [`world::World`] plays them with real handsets and the real
//! station. At its end the network is good, everybody syncs, and everything is held against the [`ledger`]'s book.

mod coverage;
mod desk;
mod end;
mod files;
mod ledger;
mod mishap;
mod net;
mod office;
mod person;
mod phone;
mod rows;
pub mod run;
mod station;
mod step;
mod trouble;
mod world;

pub use coverage::Coverage;
pub use end::Ending;
pub use net::MISHAPS;
pub use step::{Deed, NotAStep, Step};
pub use trouble::Trouble;
