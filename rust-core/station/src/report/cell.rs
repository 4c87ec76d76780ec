//! Numbers of a season in words, short enough for a cell and never without their unit or interval.

use super::analysis::{Cell, Figure, SeasonReport, StageFigure};
use messages::{Language, decimal, percent, say, words};
use season::{Estimate, Interval, Shown, Sides};
use survey::protocol::Unit;

/// A number and what stands beside it.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Said {
    /// The number, or words where there is none.
    pub value: String,
    /// Its interval, in brackets.
    pub interval: Option<String>,
    /// Its unit.
    pub unit: Option<String>,
}

/// A density at a visit: a mean, a share of occupied units, an upper bound, or why there is none.
pub fn density(language: Language, cell: &Cell, unit: Unit) -> Said {
    match &cell.figure {
        Figure::Refused(reason) => Said { value: say(language, reason.name(), &[]), interval: None, unit: None },
        Figure::Value(density) => match &density.shown {
            Shown::Mean(estimate) => Said {
                value: decimal(language, estimate.value, 2),
                interval: estimate.interval.map(|interval| numbers(language, interval)),
                unit: Some(per(language, unit)),
            },
            Shown::Occupancy(estimate) => occupancy(language, estimate, unit),
        },
    }
}

/// An area under a curve.
pub fn area(language: Language, season: &SeasonReport, figure: &StageFigure) -> Said {
    let unit =
        if season.effort_is_known() { format!("day-area.{}", season.unit.name()) } else { "day-area.sample".into() };
    let shown = |estimate: &Estimate| Said {
        value: decimal(language, estimate.value, if season.effort_is_known() { 2 } else { 1 }),
        interval: estimate.interval.map(|interval| numbers(language, interval)),
        unit: Some(say(language, &unit, &[])),
    };
    of(language, figure, shown)
}

/// A share of undecided things.
pub fn share(language: Language, figure: &StageFigure) -> Said {
    let shown = |estimate: &Estimate| Said {
        value: percent(language, estimate.value, 1),
        interval: estimate.interval.map(|interval| shares(language, interval)),
        unit: None,
    };
    of(language, figure, shown)
}

/// "per stem".
pub fn per(language: Language, unit: Unit) -> String {
    say(language, &format!("per.{}", unit.name()), &[])
}

/// Units checked: "40 stems", or that nobody knows.
pub fn checked(language: Language, checked: Option<u64>, unit: Unit) -> String {
    match checked {
        Some(number) => words::units(language, number, unit),
        None => say(language, "visit.not-known", &[]),
    }
}

impl Said {
    /// In one line: value, unit, interval.
    pub fn line(&self) -> String {
        [Some(&self.value), self.unit.as_ref(), self.interval.as_ref()]
            .into_iter()
            .flatten()
            .map(String::as_str)
            .collect::<Vec<_>>()
            .join(" ")
    }
}

fn of(language: Language, figure: &StageFigure, shown: impl Fn(&Estimate) -> Said) -> Said {
    match &figure.figure {
        Figure::Value(estimate) => shown(estimate),
        Figure::Refused(reason) => Said { value: say(language, reason.name(), &[]), interval: None, unit: None },
    }
}

fn occupancy(language: Language, estimate: &Estimate, unit: Unit) -> Said {
    let of_units = say(language, &format!("share-of.{}", unit.name()), &[]);
    match estimate.interval {
        // What no find says is only how many there may be at most.
        Some(Interval { high, sides: Sides::Upper, .. }) if estimate.value == 0.0 => {
            Said { value: format!("≤\u{a0}{}", percent(language, high, 1)), interval: None, unit: Some(of_units) }
        }
        interval => Said {
            value: percent(language, estimate.value, 1),
            interval: interval.map(|interval| shares(language, interval)),
            unit: Some(of_units),
        },
    }
}

fn numbers(language: Language, interval: Interval) -> String {
    format!("[{}–{}]", decimal(language, interval.low, 2), decimal(language, interval.high, 2))
}

fn shares(language: Language, interval: Interval) -> String {
    format!("[{}–{}]", percent(language, interval.low, 1), percent(language, interval.high, 1))
}
