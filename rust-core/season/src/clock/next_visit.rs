//! When to come again so that the young are seen young.

use super::dates::assumed;
use super::refusal::ClockRefusal;
use super::stages::StageClock;
use super::temperatures::{Basis, Temperatures};
use super::{AIR_AND_LEAF_DIFFER, id};
use crate::Estimate;
use crate::degree_days::later;
use serde::Serialize;
use statrs::distribution::{ContinuousCDF, Normal};
use survey::date::Date;
use survey::stage::Stage;

/// The intervals between visits that are shown, in days.
const SHOWN_DAYS: [u64; 4] = [3, 5, 7, 10];
/// The longest wait that is looked at for a date.
const LONGEST_WAIT: u64 = 60;
/// Moments of laying per day: the chance moves by less than a thousandth with more.
const MOMENTS: u32 = 48;

/// Whose eggs the question is about.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Cohort {
    /// Eggs laid during the day after the visit.
    LaidTheDayAfter,
    /// Eggs laid evenly from one visit to the next.
    LaidEvenly,
}

/// What a next visit on a date would see.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NextVisit {
    /// Days from one visit to the next.
    pub days: u64,
    /// Its date.
    pub date: Date,
    /// Chance, before losses, that an animal of the cohort is still in the stages asked for, 0 to 1.
    pub chance: Estimate,
    /// The same if the leaf is 2 °C cooler than the air.
    pub if_cooler: f64,
    /// The same if the leaf is 2 °C warmer than the air.
    pub if_warmer: f64,
}

/// Chance that a cohort is still young at the next visit, for 3, 5, 7 and 10 days.
///
/// Young means no further than the end of the stage named. An egg laid at a moment has, at midday of the next visit, the
/// heat of what is left of its laying day, of the days between and of half the last day; the chance that it is still
/// young is that of a normal distribution whose mean is the heat to the end of the stage and whose standard deviation is
/// the spread between individuals. It is averaged over the moments of laying: those of the day after the visit, or all
/// from midday of one visit to midday of the next. Nothing is lost to enemies.
///
/// Unit: share, 0 to 1. Domain: temperatures or normals for all the days.
///
/// Source: the clock of [`super::stage_dates`]; the question is this project's own.
///
/// # Errors
/// [`ClockRefusal::NotInClock`]; [`ClockRefusal::NoWeather`] where a day has no temperatures.
pub fn next_visit(
    clock: &StageClock,
    visit: Date,
    (cohort, young_until): (Cohort, Stage),
    temperatures: &Temperatures,
) -> Result<Vec<NextVisit>, ClockRefusal> {
    SHOWN_DAYS.into_iter().map(|days| after(clock, visit, days, (cohort, young_until), temperatures)).collect()
}

/// The first date at which the chance of [`next_visit`] is below a share; `None` if that takes more than 60 days.
///
/// # Errors
/// As [`next_visit`], and [`crate::Refusal::NotANumber`] unless the share is between 0 and 1.
pub fn falls_below(
    clock: &StageClock,
    visit: Date,
    question: (Cohort, Stage),
    temperatures: &Temperatures,
    share: f64,
) -> Result<Option<Date>, ClockRefusal> {
    if !(0.0..=1.0).contains(&share) {
        return Err(crate::Refusal::NotANumber.into());
    }
    for days in 1..=LONGEST_WAIT {
        let (chance, _) = chance(clock, visit, days, question, temperatures)?;
        if chance < share {
            return Ok(Some(later(visit, days)));
        }
    }
    Ok(None)
}

fn after(
    clock: &StageClock,
    visit: Date,
    days: u64,
    question: (Cohort, Stage),
    temperatures: &Temperatures,
) -> Result<NextVisit, ClockRefusal> {
    let of = |by: f64| chance(clock, visit, days, question, &temperatures.warmer(by));
    let (value, basis) = of(0.0)?;
    Ok(NextVisit {
        days,
        date: later(visit, days),
        chance: Estimate {
            value,
            standard_error: None,
            interval: None,
            n: 0,
            method: id::NEXT_VISIT_CHANCE,
            assumed: assumed(basis == Basis::Normal).into_iter().chain([id::ASSUMED_NO_LOSSES]).collect(),
        },
        if_cooler: of(-AIR_AND_LEAF_DIFFER)?.0,
        if_warmer: of(AIR_AND_LEAF_DIFFER)?.0,
    })
}

fn chance(
    clock: &StageClock,
    visit: Date,
    days: u64,
    (cohort, young_until): (Cohort, Stage),
    temperatures: &Temperatures,
) -> Result<(f64, Basis), ClockRefusal> {
    let bounds = clock.bounds(young_until)?;
    let heats = (0..=days)
        .map(|day| temperatures.heat(later(visit, day), clock.counting()).ok_or(ClockRefusal::NoWeather))
        .collect::<Result<Vec<_>, _>>()?;
    let basis = heats.iter().map(|(_, basis)| *basis).max().unwrap_or(Basis::Measured);
    // Heat from midnight before the visit to a moment, in days since then.
    let until = |moment: f64| -> f64 {
        heats.iter().zip(0_u32..).map(|((heat, _), day)| heat * (moment - f64::from(day)).clamp(0.0, 1.0)).sum()
    };
    let seen = days as f64 + 0.5;
    let (from, to) = match cohort {
        Cohort::LaidTheDayAfter => (1.0, 2.0),
        Cohort::LaidEvenly => (0.5, seen),
    };
    let at_visit = until(seen);
    let moments = MOMENTS * u32::try_from(days).unwrap_or(1).max(1);
    let sum: f64 = (0..moments)
        .map(|moment| from + (to - from) * (f64::from(moment) + 0.5) / f64::from(moments))
        // What is laid after the visit is not there to be seen.
        .map(
            |moment| {
                if moment > seen { 0.0 } else { still_young(at_visit - until(moment), bounds.end, bounds.spread.1) }
            },
        )
        .sum();
    Ok((sum / f64::from(moments), basis))
}

fn still_young(heat: f64, end: f64, spread: f64) -> f64 {
    if spread > 0.0 {
        Normal::standard().cdf((end - heat) / spread)
    } else if heat < end {
        1.0
    } else {
        0.0
    }
}
