//! When an animal that was seen had been laid.

use super::dates::{LONGEST_DAYS, assumed};
use super::id;
use super::refusal::ClockRefusal;
use super::stages::StageClock;
use super::temperatures::{Basis, Temperatures};
use crate::degree_days::{earlier, later};
use crate::{Level, MessageId, quantile};
use serde::Serialize;
use survey::date::Date;
use survey::stage::Stage;

/// A span of dates, both ends included.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Span {
    /// First date.
    pub from: Date,
    /// Last date.
    pub to: Date,
}

/// The dates on which an animal of a stage may have been laid.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LayingDates {
    /// For the typical animal; `None` where temperatures do not reach back far enough.
    pub typical: Option<Span>,
    /// For all but the earliest and latest animals of the level's interval between individuals, a lower bound of the
    /// spread.
    pub with_spread: Option<Span>,
    /// Whether earlier dates are possible that no known temperature can judge.
    pub open_before: bool,
    /// Name of the method.
    pub method: MessageId,
    /// What was assumed.
    pub assumed: Vec<MessageId>,
}

/// Laying dates of an animal that was seen in a stage on a date.
///
/// A date is possible if an egg laid on it, its laying day counted, is in the stage at some time of the day: the heat
/// before that day is below the stage's end, and the heat with that day is no less than its start. With spread, the
/// start and end move apart by z standard deviations between individuals.
///
/// Unit: dates. Domain: a date with known temperatures. The unjudged larva spans all instars.
///
/// Source: the clock run backwards; see [`super::stage_dates`].
///
/// # Errors
/// [`ClockRefusal::NotInClock`]; [`ClockRefusal::NoWeather`] where the date seen has no temperatures.
pub fn laying_dates(
    clock: &StageClock,
    (seen, on): (Stage, Date),
    temperatures: &Temperatures,
    level: Level,
) -> Result<LayingDates, ClockRefusal> {
    let bounds = clock.bounds(seen)?;
    let (last_day, mut worst) = temperatures.heat(on, clock.counting()).ok_or(ClockRefusal::NoWeather)?;
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let (first_start, last_end) = (bounds.start - z * bounds.spread.0, bounds.end + z * bounds.spread.1);
    let mut before = 0.0;
    let (mut typical, mut with_spread, mut open_before) = (None, None, true);
    for days in 0..=LONGEST_DAYS {
        let date = earlier(on, days);
        if days > 0 {
            let Some((heat, basis)) = temperatures.heat(date, clock.counting()) else { break };
            before += heat;
            worst = worst.max(basis);
        }
        if before >= last_end {
            open_before = false;
            break;
        }
        let with = before + last_day;
        if before < bounds.end && with >= bounds.start {
            widen(&mut typical, date);
        }
        if with >= first_start {
            widen(&mut with_spread, date);
        }
    }
    let assumed = assumed(worst == Basis::Normal);
    Ok(LayingDates { typical, with_spread, open_before, method: id::LAYING_DATES, assumed })
}

impl Span {
    /// Whether both have a date in common.
    pub fn meets(&self, other: &Self) -> bool {
        self.from <= other.to && other.from <= self.to
    }

    /// How many dates it holds.
    pub fn days(&self) -> i64 {
        (later(self.to, 1).naive() - self.from.naive()).num_days()
    }
}

/// Dates come in from late to early.
fn widen(span: &mut Option<Span>, date: Date) {
    *span = Some(span.map_or(Span { from: date, to: date }, |span| Span { from: date, ..span }));
}
