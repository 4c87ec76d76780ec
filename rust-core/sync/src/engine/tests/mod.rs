//! The engine against a small station in memory, over networks that lie.

mod cases;
mod model;
mod phone;
mod restored;
mod station;
mod table;
