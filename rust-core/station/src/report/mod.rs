//! Reports: a site's season from folded state to estimates, for the terminal, files and pages.
//!
//! [`season`] turns state into samples, [`analysis`] estimates, and [`text`], [`html`], [`geo`] and the JSON of
//! [`run()`] show the result. Every number carries its unit, its interval where there is one, and how it was made.

pub mod analysis;
pub mod cell;
pub mod figures;
pub mod geo;
pub mod html;
pub mod load;
pub mod note;
pub mod passage;
pub mod run;
pub mod season;
pub mod text;

pub use run::{Printed, ReportError, Wanted, Which, run};

#[cfg(test)]
pub(crate) mod invented;
#[cfg(test)]
mod tests;
