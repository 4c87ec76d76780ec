//! Messages: an id of the catalogue, and typed arguments.

use serde::Serialize;
use std::collections::BTreeMap;
use survey::check::Extent;
use survey::date::Date;
use survey::entry::Act;
use survey::finding::Finding;
use survey::fold::Kept;
use survey::stage::What;

/// A message of the catalogue.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Message {
    /// Its id.
    pub id: String,
    /// Its arguments by name.
    pub arguments: BTreeMap<&'static str, Argument>,
}

/// An argument of a message.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Argument {
    /// A number, to be written as the phone's language does.
    Number(u64),
    /// A signed number.
    Signed(i64),
    /// A stage or an undecided set, by its name.
    What(What),
    /// A word of a fixed set, to be looked up.
    Word(String),
    /// Something to be shown as it is.
    Text(String),
    /// Numbers.
    Numbers(Vec<u64>),
    /// A number with so many decimals.
    Decimal(f64, usize),
    /// A share, 0 to 1, to be written in percent.
    Percent(f64),
    /// A date.
    Date(Date),
}

impl Message {
    pub(crate) fn new(id: impl Into<String>) -> Self {
        Self { id: id.into(), arguments: BTreeMap::new() }
    }

    pub(crate) fn with(mut self, name: &'static str, argument: Argument) -> Self {
        self.arguments.insert(name, argument);
        self
    }

    /// What a press on "take back" would undo, and "redo" redo.
    pub(crate) fn act(kept: &Kept, number_of: impl Fn(survey::ids::CheckId) -> Option<u32>) -> Self {
        let plant = |id: &str, check| match number_of(check) {
            Some(number) => Self::new(id).with("number", Argument::Number(u64::from(number))),
            None => Self::new(id),
        };
        match &kept.entry.act {
            Act::Counted(counted) => plant("act.counted-on-plant", counted.check)
                .with("what", Argument::What(counted.what.clone()))
                .with("animals", Argument::Number(u64::from(counted.number)))
                .with("state", Argument::Word(counted.state.name().into())),
            Act::PlantOpened(opened) => {
                Self::new("act.plant-opened").with("number", Argument::Number(u64::from(opened.number)))
            }
            Act::OtherNoted(other) => plant("act.other-noted", other.check),
            Act::PlantDescribed(described) => plant("act.plant-described", described.check),
            Act::PlantClosed(closed) if closed.empty.is_some() => plant("act.plant-empty", closed.check),
            Act::PlantClosed(closed) => plant("act.plant-closed", closed.check)
                .with("extent", Argument::Word(extent_word(closed.extent).into())),
            Act::VisitEnded(_) | Act::AdultsCounted(_) | Act::PooledCheck(_) => {
                Self::new(format!("act.{}", kept.entry.act.kind()))
            }
            _ => Self::new("act.other"),
        }
    }

    /// What looks odd.
    pub(crate) fn finding(finding: &Finding, number_of: impl Fn(survey::ids::CheckId) -> Option<u32>) -> Self {
        let message = Self::new(finding.message_id());
        let plants: Vec<u64> = finding.checks().into_iter().filter_map(number_of).map(u64::from).collect();
        let message = if plants.is_empty() { message } else { message.with("plants", Argument::Numbers(plants)) };
        match finding {
            Finding::ImplausibleCount { what, number, .. } => {
                message.with("what", Argument::What(what.clone())).with("number", Argument::Number(*number))
            }
            Finding::StageOutsideProtocol { what, .. } | Finding::MatchedTooMany { what, .. } => {
                message.with("what", Argument::What(what.clone()))
            }
            Finding::ClockJump { jumped_ms, .. } => message
                .with("number", Argument::Number(jumped_ms.unsigned_abs() / 60_000))
                .with("seconds", Argument::Signed(jumped_ms / 1000)),
            Finding::EqualNumbers { number, .. } | Finding::HastyEmptyPlants { number, .. } => {
                message.with("number", Argument::Number(u64::from(*number)))
            }
            Finding::Fork { seq, .. } => message.with("seq", Argument::Number(*seq)),
            Finding::EndsBeforeStart { .. }
            | Finding::ObserverInTwoVisits { .. }
            | Finding::ClockImplausible { .. }
            | Finding::DurationByWallClock { .. }
            | Finding::NoSpecies { .. }
            | Finding::UnitOutsideProtocol { .. }
            | Finding::EmptyButCounted { .. }
            | Finding::CountedButRefused { .. }
            | Finding::LeftOpen { .. }
            | Finding::NotOpened { .. }
            | Finding::ConflictingValues { .. }
            | Finding::ReviewsDiffer { .. }
            | Finding::SameId { .. }
            | Finding::TakesBackNotOwn { .. }
            | Finding::NamesLaterEntry { .. }
            | Finding::NamesOtherScope { .. } => message,
        }
    }
}

pub(crate) const fn extent_word(extent: Extent) -> &'static str {
    match extent {
        Extent::Whole => "whole",
        Extent::Part => "part",
        Extent::Refused(_) => "refused",
    }
}
