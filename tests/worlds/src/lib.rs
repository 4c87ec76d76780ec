//! Many phones, one station and a bad network in one process, each run told by one seed.
//!
//! A [`run::Plan`] is a list of steps drawn from a seed. A [`world::World`] plays them with real handsets and the real
//! station. At its end the network is good, everybody syncs, and everything is held against the [`ledger`]'s book.

pub mod coverage;
pub mod desk;
pub mod end;
pub mod files;
pub mod ledger;
pub mod mishap;
pub mod net;
pub mod office;
pub mod person;
pub mod phone;
pub mod rows;
pub mod run;
pub mod station;
pub mod step;
pub mod trouble;
pub mod world;

pub use coverage::Coverage;
pub use end::Ending;
pub use net::MISHAPS;
pub use step::{Deed, NotAStep, Step};
pub use trouble::Trouble;
