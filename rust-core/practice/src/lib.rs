//! Practice: drawn specimens whose truth is known, asked again by need. It scores and trains; it never corrects a
//! count. Pure: chance comes from a seed.
//!
//! A [`Deck`] gives the next [`Item`] after the answers so far: one specimen to name, or two larvae, of one instar or
//! not. [`Item::figure`] draws it and gives nothing away; [`Item::marks`] says what was right and which character
//! decides; [`Item::explained`] draws it again with names and a ring about the part that decides. [`Score::of`] adds up.
//! Answers are kept under names ([`Item::name`], [`Choice::name`]), from which [`Answered::of_names`] reads them again.

mod chance;
mod deck;
mod drawing;
mod names;
mod score;
mod specimen;

pub use deck::{Choice, Deck, Item, Shows, Topic};
pub use drawing::part_for;
pub use figure::specimen::{Kind, Scale};
pub use score::{Answered, Cell, Marks, Score};
pub use specimen::{Age, Specimen};
