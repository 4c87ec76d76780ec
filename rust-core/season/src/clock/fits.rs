//! Whether a stage that was seen fits its date.

use super::laying::{LayingDates, Span, laying_dates};
use super::refusal::ClockRefusal;
use super::stages::StageClock;
use super::temperatures::Temperatures;
use crate::Level;
use serde::Serialize;
use survey::date::Date;
use survey::stage::Stage;

/// A finding about a stage and its date. It never refuses the count.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageFit {
    /// What the clock says.
    pub verdict: Verdict,
    /// When the animal must have been laid.
    pub laid: LayingDates,
}

/// Whether a stage fits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Verdict {
    /// It can have been laid when laying was possible.
    Fits,
    /// Too far developed: it must have been laid before laying was possible.
    TooOld {
        /// Days between its last possible laying date and the first on which laying was possible.
        days: i64,
    },
    /// Not far enough developed: it must have been laid after laying was possible.
    TooYoung {
        /// Days between the last date on which laying was possible and its first possible laying date.
        days: i64,
    },
    /// Temperatures do not reach back far enough.
    NotKnown,
}

/// Whether an animal seen in a stage on a date can have been laid within a span of dates, such as from the first adult
/// seen to the day itself. Individuals differ, so the laying dates with spread are compared, whose spread is a lower
/// bound: "too old" by a day or two is weak.
///
/// Unit: a verdict. Domain and source: as [`laying_dates`].
///
/// # Errors
/// As [`laying_dates`].
pub fn stage_fits(
    clock: &StageClock,
    seen: (Stage, Date),
    laying_possible: Span,
    temperatures: &Temperatures,
    level: Level,
) -> Result<StageFit, ClockRefusal> {
    let laid = laying_dates(clock, seen, temperatures, level)?;
    let verdict = match laid.with_spread {
        Some(span) if span.meets(&laying_possible) => Verdict::Fits,
        Some(span) if span.to < laying_possible.from => {
            Verdict::TooOld { days: between(span.to, laying_possible.from) }
        }
        Some(_) | None if laid.open_before => Verdict::NotKnown,
        Some(span) => Verdict::TooYoung { days: between(laying_possible.to, span.from) },
        None => Verdict::NotKnown,
    };
    Ok(StageFit { verdict, laid })
}

fn between(one: Date, other: Date) -> i64 {
    (other.naive() - one.naive()).num_days()
}
