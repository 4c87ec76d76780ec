//! The journal: an append-only log in SQLite, its streams, its lock, and what becomes of a damaged file.

pub(crate) mod aside;
pub(crate) mod check;
pub(crate) mod connection;
pub(crate) mod erased;
pub(crate) mod files;
pub(crate) mod rows;
pub(crate) mod salvage;
pub(crate) mod schema;
pub(crate) mod streams;
