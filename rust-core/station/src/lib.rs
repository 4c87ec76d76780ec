//! The receiving side: stores, HTTP, pages, and the `leafturn` command.
//!
//! [`store`] keeps everything behind a trait of domain operations; [`intake`] reads what phones and files bring;
//! [`judge`] folds and gives verdicts; [`review`] writes what coordinators do; [`http`] answers phones and browsers, with [`pages`] for coordinators; [`report`]
//! makes sense of a season; [`drawing`] writes drawings of specimens; [`command`] is the command line;
//! [`security`] holds what keeps strangers out, and [`edge`] the only clock and random source.

pub mod command;
pub mod drawing;
pub mod edge;
pub mod http;
pub mod intake;
pub mod judge;
pub mod pages;
pub mod report;
pub mod review;
pub mod security;
pub mod store;
pub mod tidy;
