//! No one gets in: every route against everybody who may knock, guesses at codes, sessions, and what is said of them.

mod guesses;
mod requirements;
mod routes;
mod sessions;
mod world;

#[path = "../common/mod.rs"]
mod common;
