//! A text with its name, and places in it.

use crate::command::CommandError;
use crate::command::season::fault::SeasonFault;
use std::fmt::Display;
use std::io::Read as _;
use std::path::Path;

/// More octets than any season has.
const MOST: u64 = 64 << 20;

/// What was read, with the name that messages call it by.
#[derive(Debug)]
pub(in crate::command::season) struct Source {
    name: String,
    text: String,
}

/// A place in a text: line and column, both from 1, the column in characters.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(in crate::command::season) struct At {
    pub(in crate::command::season) line: usize,
    pub(in crate::command::season) column: usize,
}

impl Source {
    /// Reads a file, or standard input for `-`.
    pub(in crate::command::season) fn open(path: &Path) -> Result<Self, CommandError> {
        let is_input = path == Path::new("-");
        let name = if is_input { "standard input".to_owned() } else { path.display().to_string() };
        let failed = CommandError::io(name.clone());
        let mut octets = Vec::new();
        let read = if is_input {
            std::io::stdin().lock().take(MOST + 1).read_to_end(&mut octets)
        } else {
            std::fs::File::open(path).and_then(|file| file.take(MOST + 1).read_to_end(&mut octets))
        };
        read.map_err(failed)?;
        if octets.len() as u64 > MOST {
            return Err(SeasonFault::Usage(format!("{name} is larger than {} MiB", MOST >> 20)).into());
        }
        Ok(Self::of(name, octets)?)
    }

    /// Of these octets.
    pub(in crate::command::season) fn of(name: String, octets: Vec<u8>) -> Result<Self, SeasonFault> {
        match String::from_utf8(octets) {
            // A byte order mark says nothing and stands in the way of the first name.
            Ok(text) => Ok(Self { text: text.strip_prefix('\u{feff}').map_or(text.clone(), str::to_owned), name }),
            Err(error) => {
                let valid = error.utf8_error().valid_up_to();
                let octets = error.into_bytes();
                let source = Self { name, text: String::from_utf8_lossy(&octets[..valid]).into_owned() };
                Err(source.fault(source.at(source.text.len()), "this is no UTF-8 text"))
            }
        }
    }

    /// The text.
    pub(in crate::command::season) fn text(&self) -> &str {
        &self.text
    }

    /// Whether it is JSON rather than CSV: it begins with a bracket or brace.
    pub(in crate::command::season) fn is_json(&self) -> bool {
        self.text.trim_start().starts_with(['[', '{'])
    }

    /// The place of an offset in octets.
    pub(in crate::command::season) fn at(&self, offset: usize) -> At {
        let before = &self.text[..self.text.floor_char_boundary(offset)];
        let start = before.rfind('\n').map_or(0, |end| end + 1);
        At { line: before.matches('\n').count() + 1, column: before[start..].chars().count() + 1 }
    }

    /// What is wrong at a place.
    pub(in crate::command::season) fn fault(&self, At { line, column }: At, problem: impl Display) -> SeasonFault {
        SeasonFault::Input { file: self.name.clone(), line, column, problem: problem.to_string() }
    }

    /// What is wrong with the whole.
    pub(in crate::command::season) fn fault_of_all(&self, problem: impl Display) -> SeasonFault {
        self.fault(At { line: 1, column: 1 }, problem)
    }

    /// What the JSON reader found wrong.
    pub(in crate::command::season) fn no_json(&self, error: &serde_json::Error) -> SeasonFault {
        let text = error.to_string();
        // The reader ends its message with the place, which stands in front here.
        let problem = text.rsplit_once(" at line ").map_or(text.as_str(), |(problem, _)| problem);
        self.fault(At { line: error.line().max(1), column: error.column().max(1) }, problem)
    }
}
