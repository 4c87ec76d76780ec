//! Items as drawings.

use crate::deck::{Item, Shows};
use crate::score::Marks;
use figure::specimen::{
    Caption, Kind, Part, Scaling, Specimen as Drawn, Words, pointing_at, side_by_side, side_by_side_pointing, specimen,
};
use figure::{Figure, Size};

impl Item {
    /// What is asked, without names in drawing and words.
    pub fn figure(&self, size: Size, words: &Words) -> Figure {
        match self.drawn(|_| Caption::Unnamed).as_slice() {
            [one] => specimen(one, size, words),
            several => side_by_side(several, Scaling::One, size, words),
        }
    }

    /// The same with its names, and with a ring about the part that decides, where there is one to be pointed at.
    pub fn explained(&self, marks: &Marks, size: Size, words: &Words) -> Figure {
        let kinds: Vec<Kind> = self.specimens().iter().map(|one| one.kind).collect();
        let pair = marks.apart.map_or(kinds, |(one, other)| vec![one, other]);
        let part = marks.deciding.as_ref().and_then(|(character, _)| part_for(character.as_str(), &pair));
        match (self.drawn(Caption::Named).as_slice(), part) {
            ([one], Some(part)) => pointing_at(one, part, size, words),
            ([one], None) => specimen(one, size, words),
            (several, Some(part)) => side_by_side_pointing(several, part, size, words),
            (several, None) => side_by_side(several, Scaling::One, size, words),
        }
    }

    fn drawn(&self, caption: impl Fn(Kind) -> Caption) -> Vec<Drawn> {
        let specimens = match &self.shows {
            Shows::One(one) => vec![one],
            Shows::Two(one, other) => vec![one, other],
        };
        let drawn =
            |one: &&crate::Specimen| Drawn { subject: one.subject, scale: self.scale, caption: caption(one.kind) };
        specimens.iter().map(drawn).collect()
    }
}

/// The part of a drawing at which a character of the monarch's key is seen, where these kinds are told apart; nothing
/// for what is seen beside the animal.
pub fn part_for(character: &str, between: &[Kind]) -> Option<Part> {
    Some(match character {
        "filament-reach" | "filament-head" | "filament-posture" | "filament-ratio" | "front-filament" => {
            Part::FrontFilaments
        }
        "pairs" if between.contains(&Kind::OtherDanaus) => Part::MiddleFilaments,
        "pairs" | "back-head" => Part::BackFilaments,
        "head-body" | "head-pattern" | "head-width" => Part::Head,
        "collar" => Part::Collar,
        "bands" | "shape" => Part::Body,
        "egg-ridges" | "egg-form" | "egg-colour" => Part::Surface,
        "egg-state" => Part::Top,
        "egg-posture" | "egg-company" => Part::Base,
        _ => return None,
    })
}
