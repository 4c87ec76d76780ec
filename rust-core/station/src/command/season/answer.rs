//! An answer: numbers in full, a table of them, and maybe a figure.

use super::common::Common;
use super::fault::{SeasonFault, refusal_words};
use super::{shown, sound};
use crate::command::CommandError;
use crate::drawing::png;
use figure::{Figure, FigureError, svg};
use messages::Language;
use season::Refusal;
use serde::Serialize;
use serde_json::{Value, json};
use std::path::Path;

/// Pixels of a PNG to a unit of the figure.
const SCALE: f32 = 2.0;

/// What a topic answers.
#[derive(Debug)]
pub(super) struct Answer {
    value: Value,
    figure: Option<Figure>,
}

impl Answer {
    /// The answer of these fields.
    pub(super) const fn of(value: Value) -> Self {
        Self { value, figure: None }
    }

    /// With a figure, which is only drawn where it was asked for. What cannot be drawn is no reason to keep numbers back.
    pub(super) fn drawn(
        mut self,
        common: &Common,
        draw: impl FnOnce() -> Result<Figure, FigureError>,
    ) -> Result<Self, SeasonFault> {
        if common.figure.is_some() {
            self.figure = Some(draw().map_err(|error| SeasonFault::Asks(error.to_string()))?);
        }
        Ok(self)
    }

    /// The same, or a fault where a number in it is none.
    pub(super) fn sound(self, topic: &str, language: Language) -> Result<Self, SeasonFault> {
        match sound::no_number(&self.value, topic) {
            None => Ok(self),
            Some(path) => Err(SeasonFault::no_number(&path, language)),
        }
    }

    /// Its fields.
    #[cfg(test)]
    pub(super) const fn value(&self) -> &Value {
        &self.value
    }

    /// Its figure.
    #[cfg(test)]
    pub(super) const fn figure(&self) -> Option<&Figure> {
        self.figure.as_ref()
    }

    /// As a table, or as JSON where that was asked for.
    pub(super) fn text(&self, topic: &str, common: &Common) -> String {
        if common.json {
            // A value of this kind has no form that cannot be written.
            return serde_json::to_string_pretty(&self.value).unwrap_or_default();
        }
        shown::table(&self.value, topic, common.tongue())
    }

    /// Writes the figure.
    pub(super) fn draw(&self, path: &Path) -> Result<(), CommandError> {
        let Some(figure) = &self.figure else {
            return Err(SeasonFault::usage("this question has no picture").into());
        };
        let octets = match path.extension().and_then(|ending| ending.to_str()) {
            Some("svg") => svg(figure).into_bytes(),
            Some("png") => png(figure, SCALE)?,
            Some(_) | None => {
                return Err(SeasonFault::usage("the name of a figure ends with .svg or .png").into());
            }
        };
        std::fs::write(path, octets).map_err(CommandError::io(path.display().to_string()))
    }
}

/// A result as JSON.
pub(super) fn whole(value: &impl Serialize) -> Value {
    // Results are plain data: nothing in them has no form in JSON.
    serde_json::to_value(value).unwrap_or(Value::Null)
}

/// A part of an answer that may be refused while the rest stands: the value, or `{refused, says}`.
pub(super) fn part<T: Serialize>(result: &Result<T, Refusal>, language: Language) -> Value {
    match result {
        Ok(value) => whole(value),
        Err(refusal) => {
            json!({ "refused": refusal.message().name(), "says": refusal_words(refusal, language) })
        }
    }
}
