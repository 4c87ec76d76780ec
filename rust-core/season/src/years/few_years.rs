//! What may be said about the course of years.

use super::id;
use crate::{Interval, MessageId};
use serde::Serialize;

/// Below this many years values stand with intervals and no word on their course.
pub const FEWEST_YEARS_FOR_A_WORD: u64 = 8;
/// One site is never called a trend.
pub const FEWEST_SITES_FOR_A_WORD: u64 = 2;

/// What may be said.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Wording {
    /// Values and intervals only, with the reason.
    ValuesOnly(MessageId),
    /// A word on their course.
    Word(MessageId),
}

/// What may be said about a change per year with this interval around 0 change, from so many years and sites.
///
/// Fewer than eight years, or one site: values only. Otherwise rising or falling where the interval leaves out 0, and
/// that no direction is shown where it does not: which is not the same as no change.
///
/// Source: this project's own rule; with 4 years Mann-Kendall's p cannot fall below 0.083.
pub fn wording(years: u64, sites: u64, change: Option<&Interval>) -> Wording {
    if sites < FEWEST_SITES_FOR_A_WORD {
        return Wording::ValuesOnly(id::WORDING_ONE_SITE);
    }
    if years < FEWEST_YEARS_FOR_A_WORD {
        return Wording::ValuesOnly(id::WORDING_TOO_FEW_YEARS);
    }
    Wording::Word(match change {
        Some(interval) if interval.low > 0.0 => id::WORDING_RISING,
        Some(interval) if interval.high < 0.0 => id::WORDING_FALLING,
        Some(_) | None => id::WORDING_NO_DIRECTION,
    })
}
