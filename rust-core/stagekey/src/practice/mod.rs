//! Practice: specimens whose truth is known, asked again by need. It scores and trains; it never corrects a count.

mod chance;
mod deck;
mod score;
mod specimen;

pub use deck::{Choice, Deck, Item, Scale, Shows, Topic};
pub use score::{Answered, Cell, Marks, Score};
pub use specimen::{Age, EggLook, LarvaLook, LookAlike, Specimen, SpecimenLook, Subject};
