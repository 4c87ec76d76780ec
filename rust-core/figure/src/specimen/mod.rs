//! Drawn specimens of every stage and look-alike, and of every state of the key's characters.
//!
//! All are parametric drawings made from stated facts; none is traced from a picture. A [`Specimen`] is what stands on
//! the leaf, in numbers. [`specimen`] draws it, [`pointing_at`] rings a part of it, [`side_by_side`] sets several beside
//! each other, [`plate`] draws all stages at one scale and enlarged, [`character_state`] and [`character`] draw what the
//! key asks. What has to be told apart differs in form or line, not in colour alone, but for the colours of eggs, which
//! the texts name.

mod form;
mod frame;
mod larva;
mod others;
mod pen;
mod sheet;
mod sketch;
mod speck;
mod states;
mod subject;
mod texts;
mod words;

pub use form::{Bands, Collar, Growth, Hair, Head, Instar, Larva, Posture, ProlegSpots, Reach, Skin};
pub use others::{CaseForm, OtherForm};
pub use sheet::{Scaling, character, plate, side_by_side, side_by_side_pointing};
pub use speck::{Company, Speck, SpeckColour, SpeckForm, SpeckPosture, Surface, Wholeness};
pub use subject::{Kind, Part, Subject};
pub use words::{Words, english};

use crate::shape::{Figure, Size, TextAlternative};
use frame::{Bar, picture};
use serde::{Deserialize, Serialize};

/// What is drawn, and how much of it is told.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Specimen {
    /// What sits on the leaf.
    pub subject: Subject,
    /// Whether its size is shown.
    pub scale: Scale,
    /// What it is called.
    pub caption: Caption,
}

/// Whether the size of a specimen is shown, as a bar and in words.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scale {
    /// It is.
    Bar,
    /// It is not; then neither drawing nor words give a size.
    Hidden,
}

/// What a specimen is called in its text alternative.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Caption {
    /// By the name of what it is.
    Named(Kind),
    /// By no name: whoever listens has to work it out from the same marks as whoever looks.
    Unnamed,
}

impl Specimen {
    /// A typical one, named, with its scale.
    pub fn typical(kind: Kind) -> Self {
        Self { subject: Subject::typical(kind), scale: Scale::Bar, caption: Caption::Named(kind) }
    }

    fn title<'a>(&self, words: &'a Words) -> &'a str {
        match self.caption {
            Caption::Named(kind) => words.say(kind.text_id()),
            Caption::Unnamed => words.say("drawing.unnamed"),
        }
    }

    const fn bar(&self) -> Bar {
        match self.scale {
            Scale::Bar => Bar::Shown,
            Scale::Hidden => Bar::Left,
        }
    }
}

/// The drawing of a specimen as large as fits; sides below 24 and above 8192 units are taken for these.
pub fn specimen(specimen: &Specimen, size: Size, words: &Words) -> Figure {
    let size = frame::drawable(size);
    let frame = frame::whole(size);
    let (sketch, view) = specimen.subject.drawn(frame);
    let shapes = picture(&sketch, view, frame, specimen.bar(), words);
    let text_alternative = TextAlternative {
        title: specimen.title(words).to_owned(),
        description: specimen.subject.description(specimen.scale, words),
    };
    Figure { size, shapes, text_alternative }
}

/// The same with a ring about the part that decides, named in the description. What has no such part is drawn and
/// described without.
pub fn pointing_at(specimen: &Specimen, part: Part, size: Size, words: &Words) -> Figure {
    let plain = self::specimen(specimen, size, words);
    let frame = frame::whole(plain.size);
    let Some((sketch, view)) = specimen.subject.pointed(part, frame) else { return plain };
    let shapes = picture(&sketch, view, frame, specimen.bar(), words);
    let TextAlternative { title, description } = plain.text_alternative;
    let description = format!("{description} {}", words.say(part.text_id()));
    Figure { size: plain.size, shapes, text_alternative: TextAlternative { title, description } }
}

/// The drawing of one state of a character of the key; `None` where [`ids`] has no such pair. A character `outcome` has
/// the outcomes as its states.
pub fn character_state(character: &str, state: &str, size: Size, words: &Words) -> Option<Figure> {
    if character == "outcome" {
        return Kind::named(state).map(|kind| specimen(&Specimen::typical(kind), size, words));
    }
    let sketch = states::state(character, state)?;
    let size = frame::drawable(size);
    let view = subject::view_of_state(character, &sketch);
    let shapes = picture(&sketch, view, frame::whole(size), Bar::Left, words);
    let id = format!("{character}.{state}");
    let description = words.say("drawing.enlarged").to_owned();
    Some(Figure { size, shapes, text_alternative: TextAlternative { title: words.say(&id).to_owned(), description } })
}

/// Every character with each of its states that [`character_state`] draws; those that are numbers have `measure`.
pub fn ids() -> Vec<(&'static str, &'static str)> {
    let outcomes = Kind::ALL.into_iter().map(|kind| ("outcome", kind.name()));
    outcomes.chain(states::STATES.iter().copied()).collect()
}
