//! A calendar date in entries.

use serde::{Deserialize, Serialize};
use std::fmt;

/// A date of the proleptic Gregorian calendar, years 0000 to 9999, written `YYYY-MM-DD`.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(try_from = "String", into = "String")]
pub struct Date(chrono::NaiveDate);

/// The text is no date.
#[derive(Debug, Clone, PartialEq, Eq, thiserror::Error)]
#[error("{0:?} is no date; write it as 2026-06-30")]
pub struct NotADate(String);

impl Date {
    /// The calendar date.
    pub const fn naive(self) -> chrono::NaiveDate {
        self.0
    }
}

impl From<chrono::NaiveDate> for Date {
    fn from(date: chrono::NaiveDate) -> Self {
        Self(date)
    }
}

impl TryFrom<String> for Date {
    type Error = NotADate;

    fn try_from(text: String) -> Result<Self, NotADate> {
        match chrono::NaiveDate::parse_from_str(&text, "%Y-%m-%d") {
            Ok(date) if text.len() == 10 => Ok(Self(date)),
            _ => Err(NotADate(text.chars().take(64).collect())),
        }
    }
}

impl From<Date> for String {
    fn from(date: Date) -> Self {
        date.to_string()
    }
}

impl fmt::Display for Date {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        self.0.format("%Y-%m-%d").fmt(f)
    }
}
