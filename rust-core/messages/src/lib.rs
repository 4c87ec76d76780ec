//! Every word that a person is shown, in English, Spanish (as used in Mexico) and French (as used in Canada).
//!
//! The words stand in `catalogue.toml`, `phone.toml` and `season.toml`, and with the feature `answers` in
//! `season-answer.toml`; `build.rs` makes them one text. The other crates name messages by id and never speak;
//! [`say`] turns an id and its arguments into words, and [`words`] does so for things of the survey model.

mod catalogue;
mod language;
mod number;
pub mod words;

pub use catalogue::{Arg, Forms, Message, ids, knows, message, say};
pub use language::Language;
pub use number::{decimal, integer, percent};
