//! A season as curves by stage and as the composition of each visit: what charts and tables are drawn from.

use crate::estimate::{Interval, Level};
use crate::sample::{Group, SiteSeason, VisitSample};
use crate::{MessageId, Refusal, Shown, density, id};
use serde::Serialize;
use survey::date::Date;
use survey::protocol::Unit;
use survey::stage::{Stage, What};

/// A season, stage by stage.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Curve {
    /// Stands over it: "counted", or that the effort is unknown.
    pub heading: MessageId,
    /// What the values are.
    pub measure: Measure,
    /// First and last visit.
    pub dates: Option<(Date, Date)>,
    /// How plants were chosen where that is to be said beside every figure, such as the observer's choice.
    pub labels: Vec<MessageId>,
    /// One for each stage that any visit looked for.
    pub stages: Vec<StageCurve>,
}

/// What a curve's values are.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Measure {
    /// Animals per unit of check, or the share of occupied units where few were found.
    PerUnit(Unit),
    /// Animals in the sample, effort unknown.
    SampleTotals,
}

/// One stage over the season.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageCurve {
    /// The stage.
    pub stage: Stage,
    /// One for each visit that looked for it, in order of date.
    pub points: Vec<CurvePoint>,
}

/// One stage at one visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct CurvePoint {
    /// Local date.
    pub date: Date,
    /// Days since the season's first visit.
    pub day: f64,
    /// Animals decided to be of the stage.
    pub animals: u64,
    /// Undecided things that may be of it.
    pub undecided: u64,
    /// The value in the curve's measure; `None` where the sample does not carry it.
    pub value: Option<f64>,
    /// What the value would be if all undecided things were of this stage; only where there are any.
    pub if_all_undecided: Option<f64>,
    /// Its interval, where there is one.
    pub interval: Option<Interval>,
    /// Whether the value is the share of occupied units, for lack of animals.
    pub is_occupancy: bool,
    /// Why there is no value.
    pub refused: Option<MessageId>,
}

/// What each visit's things were, in shares.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Composition {
    /// Local date.
    pub date: Date,
    /// Days since the season's first visit.
    pub day: f64,
    /// All things counted at the visit, the denominator.
    pub things: u64,
    /// Shares in order of development, undecided last; those of nothing are left out.
    pub shares: Vec<Share>,
}

/// One part of a composition.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Share {
    /// Of what.
    pub of: ShareOf,
    /// How many.
    pub number: u64,
    /// Of all things, 0 to 1.
    pub share: f64,
}

/// What a share is of.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum ShareOf {
    /// A stage, decided.
    Stage(Stage),
    /// Undecided between anything.
    Undecided,
}

/// The season as one curve for each stage.
///
/// Per unit of check where every visit's effort is known ([`density`] at each visit), sample totals otherwise. A stage
/// out of scope at a visit has no point there, which is not a zero.
///
/// # Errors
/// [`Refusal::Nothing`] without a visit.
pub fn curve(season: &SiteSeason, level: Level) -> Result<Curve, Refusal> {
    let (Some(first), Some(last)) = (season.visits().first(), season.visits().last()) else {
        return Err(Refusal::Nothing);
    };
    let measure = match season.unit() {
        Some(unit) if season.effort_is_known() => Measure::PerUnit(unit),
        _ => Measure::SampleTotals,
    };
    let heading = match measure {
        Measure::PerUnit(_) => id::HEADING_COUNTED,
        Measure::SampleTotals => id::HEADING_TOTALS_EFFORT_UNKNOWN,
    };
    let stages = Stage::ALL
        .into_iter()
        .map(|stage| StageCurve {
            stage,
            points: season.visits().iter().filter_map(|visit| point(season, visit, stage, measure, level)).collect(),
        })
        .filter(|curve| !curve.points.is_empty())
        .collect();
    Ok(Curve { heading, measure, dates: Some((first.date, last.date)), labels: labels(season), stages })
}

/// What each visit's living animals and undecided things were, in shares of all of them.
///
/// Value = number ÷ all things counted at the visit. Descriptive: no interval, for things on one plant are no
/// independent draws. A visit without anything has no shares.
///
/// # Errors
/// [`Refusal::Nothing`] without a visit.
pub fn composition(season: &SiteSeason) -> Result<Vec<Composition>, Refusal> {
    if season.visits().is_empty() {
        return Err(Refusal::Nothing);
    }
    Ok(season.visits().iter().map(|visit| composed(season, visit)).collect())
}

fn composed(season: &SiteSeason, visit: &VisitSample) -> Composition {
    let parts = Stage::ALL.into_iter().map(ShareOf::Stage).chain([ShareOf::Undecided]).map(|of| {
        let number = visit.sum(|counts| {
            counts.sum(|what| match (of, what) {
                (ShareOf::Stage(stage), What::Stage(own)) => stage == *own,
                (ShareOf::Undecided, What::Undecided(_)) => true,
                (ShareOf::Stage(_), What::Undecided(_)) | (ShareOf::Undecided, What::Stage(_)) => false,
            })
        });
        (of, number)
    });
    let parts: Vec<(ShareOf, u64)> = parts.filter(|(_, number)| *number > 0).collect();
    let things: u64 = parts.iter().map(|(_, number)| number).sum();
    let shares =
        parts.into_iter().map(|(of, number)| Share { of, number, share: number as f64 / things as f64 }).collect();
    Composition { date: visit.date, day: season.day(visit.date), things, shares }
}

fn point(season: &SiteSeason, visit: &VisitSample, stage: Stage, measure: Measure, level: Level) -> Option<CurvePoint> {
    let group = Group::Stage(stage);
    let (animals, undecided) = (visit.total(group)?, visit.undecided(group)?);
    let bare = CurvePoint {
        date: visit.date,
        day: season.day(visit.date),
        animals,
        undecided,
        value: None,
        if_all_undecided: None,
        interval: None,
        is_occupancy: false,
        refused: None,
    };
    Some(match measure {
        Measure::SampleTotals => CurvePoint {
            value: Some(animals as f64),
            if_all_undecided: (undecided > 0).then_some((animals + undecided) as f64),
            ..bare
        },
        Measure::PerUnit(_) => match density(visit, group, level) {
            Err(refusal) => CurvePoint { refused: Some(refusal.message()), ..bare },
            Ok(density) => {
                let estimate = density.shown.estimate();
                let is_occupancy = matches!(density.shown, Shown::Occupancy(_));
                CurvePoint {
                    value: Some(estimate.value),
                    if_all_undecided: density.if_all_undecided,
                    interval: estimate.interval,
                    is_occupancy,
                    ..bare
                }
            }
        },
    })
}

/// Labels of choice that stand beside every figure.
fn labels(season: &SiteSeason) -> Vec<MessageId> {
    let mut labels: Vec<MessageId> = season
        .visits()
        .iter()
        .flat_map(|visit| visit.choice_assumes().iter().copied())
        .filter(|&message| message == id::ASSUMED_OBSERVERS_CHOICE || message == id::ASSUMED_CHOICE_NOT_STATED)
        .collect();
    labels.sort_unstable();
    labels.dedup();
    labels
}
