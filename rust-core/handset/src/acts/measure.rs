//! Measuring on a photo, for the stage key.
//!
//! A shell shows the photo, takes the points that a finger sets on it, and hands them over in the photo's pixels; the
//! error of the fingers, the scale and the tilt goes into the answer.

use super::key::KEY;
use crate::error::{Error, HandsetError, Why};
use crate::object::Handset;
use crate::views::{KeyView, MeasuredView};
use stagekey::photo::{Measured, Pixel, Scale, length, ratio};
use stagekey::{Character, Kind, Means, Unit};

/// What was drawn on a photo.
#[derive(Debug, Clone, PartialEq)]
pub struct Measuring {
    /// The line along what is measured: 2 points, up to 6 where it is curled.
    pub line: Vec<Pixel>,
    /// What it is compared with.
    pub against: Against,
}

/// What a line is compared with.
#[derive(Debug, Clone, PartialEq)]
pub enum Against {
    /// Something of known length: for lengths.
    Scale(Scale),
    /// Another line on the same photo: for ratios.
    Line(Vec<Pixel>),
}

impl Handset {
    /// What a line on a photo measures, before it is given as an answer.
    ///
    /// # Errors
    /// `not-here` for a question that is not measured on photos; `not-measured` with the reason.
    pub fn measured(&self, character: &str, measuring: &Measuring) -> Result<MeasuredView, HandsetError> {
        let (unit, measured) = measure(character, measuring)?;
        Ok(MeasuredView { unit: unit.symbol(), value: measured.value, error: measured.error })
    }

    /// Answers a question of the key by what a line on a photo measures, with its error.
    ///
    /// # Errors
    /// Those of [`Handset::measured`] and of [`Handset::answer_key`].
    pub fn answer_measured(&mut self, character: &str, measuring: &Measuring) -> Result<KeyView, HandsetError> {
        let session = self.session()?;
        let (_, measured) = measure(character, measuring)?;
        let answered = session.answered(&KEY, character, measured.answer()).map_err(Error::from)?;
        self.keep_session(&answered)
    }
}

/// The questions that can be measured on a photo.
pub(crate) fn measurable() -> impl Iterator<Item = (&'static Character, Unit)> {
    KEY.characters().iter().filter_map(|character| match &character.kind {
        Kind::Number { unit, .. } if character.look(Means::Photo).is_some() => Some((character, *unit)),
        Kind::Number { .. } | Kind::States(_) => None,
    })
}

fn measure(character: &str, measuring: &Measuring) -> Result<(Unit, Measured), Error> {
    let found = measurable().find(|(own, _)| own.id.as_str() == character);
    let (_, unit) = found.ok_or_else(|| Error::refused(Why::NotHere, character))?;
    let measured = match (unit, &measuring.against) {
        (Unit::Ratio, Against::Line(over)) => ratio(&measuring.line, over)?,
        (Unit::Millimetre, Against::Scale(scale)) => length(&measuring.line, scale)?,
        (Unit::Ratio | Unit::Millimetre | Unit::Milligram, _) => return Err(Error::refused(Why::NotHere, character)),
    };
    Ok((unit, measured))
}
