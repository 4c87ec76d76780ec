//! No one gets in: every route against everybody who may knock, guesses at codes, sessions, and what is said of them.

mod guesses;
mod routes;
mod world;

#[path = "../common/mod.rs"]
mod common;
