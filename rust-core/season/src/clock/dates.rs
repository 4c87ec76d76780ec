//! On which dates an animal passes from stage to stage.

use super::refusal::ClockRefusal;
use super::stages::StageClock;
use super::temperatures::{Basis, Temperatures};
use super::{AIR_AND_LEAF_DIFFER, id};
use crate::degree_days::{self, dates, later};
use crate::{Level, MessageId, quantile};
use serde::Serialize;
use survey::date::Date;
use survey::stage::Stage;

/// A season and the winter after it: no clock runs longer than this.
pub(super) const LONGEST_DAYS: u64 = 400;

/// When each stage ends for an egg laid on a date.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageDates {
    /// The laying date, itself counted as the first day.
    pub laid: Date,
    /// The ends of the stages, in order.
    pub ends: Vec<DateReached>,
    /// Name of the method.
    pub method: MessageId,
    /// What was assumed.
    pub assumed: Vec<MessageId>,
}

/// The end of one stage.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct DateReached {
    /// The stage that ends.
    pub stage: Stage,
    /// Degree-days from laying to its end, °C × day.
    pub needs: f64,
    /// When the typical animal gets there.
    pub typical: Reached,
    /// When the early ones do: below the level's interval between individuals, which is a lower bound of the spread.
    pub early: Reached,
    /// When the late ones do.
    pub late: Reached,
    /// When the typical one does if the leaf is 2 °C warmer than the air.
    pub if_warmer: Reached,
    /// When the typical one does if the leaf is 2 °C cooler than the air.
    pub if_cooler: Reached,
}

/// Whether and when an amount of heat is reached.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Reached {
    /// On this day.
    On {
        /// The day.
        date: Date,
        /// Degree-days by the end of it, °C × day.
        degree_days: f64,
        /// The least sure of the days up to it.
        basis: Basis,
    },
    /// Not as far as temperatures are known, or not within 400 days.
    NotBy {
        /// The last day counted; the day before laying where none is.
        date: Date,
        /// Degree-days by then, °C × day.
        degree_days: f64,
    },
}

/// Dates on which each stage ends, from a laying date.
///
/// Degree-days are added up day by day, the laying day included; a stage ends on the day on which the sum reaches its
/// end. Early and late animals need z standard deviations less and more, variances of stages added as if independent:
/// a lower bound of the spread, because stages of one animal go together. Where weather ends normals go on, where there
/// are any; a gap of more than three days without normals ends the count.
///
/// Unit: dates. Domain: a laying date with known temperatures.
///
/// Source: degree-day clock of Zalucki MP (1982) J. Aust. Entomol. Soc. 21:241-246 for the monarch.
///
/// # Errors
/// [`ClockRefusal::NoWeather`] where the laying date has no temperatures.
pub fn stage_dates(
    clock: &StageClock,
    laid: Date,
    temperatures: &Temperatures,
    level: Level,
) -> Result<StageDates, ClockRefusal> {
    if temperatures.on(laid).is_none() {
        return Err(ClockRefusal::NoWeather);
    }
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let own = Sums::from(clock, laid, temperatures);
    let warm = Sums::from(clock, laid, &temperatures.warmer(AIR_AND_LEAF_DIFFER));
    let cool = Sums::from(clock, laid, &temperatures.warmer(-AIR_AND_LEAF_DIFFER));
    let ends: Vec<_> = clock
        .stages()
        .iter()
        .map(|heat| {
            let bounds = clock.bounds(heat.stage)?;
            let spread = z * bounds.spread.1;
            Ok(DateReached {
                stage: heat.stage,
                needs: bounds.end,
                typical: own.reaching(bounds.end),
                early: own.reaching(bounds.end - spread),
                late: own.reaching(bounds.end + spread),
                if_warmer: warm.reaching(bounds.end),
                if_cooler: cool.reaching(bounds.end),
            })
        })
        .collect::<Result<_, ClockRefusal>>()?;
    let forecast = ends.iter().any(|end| matches!(end.late, Reached::On { basis: Basis::Normal, .. }));
    Ok(StageDates { laid, ends, method: id::STAGE_DATES, assumed: assumed(forecast) })
}

/// What every walk of the clock assumes, and that normals were used where they were.
pub(super) fn assumed(forecast: bool) -> Vec<MessageId> {
    [
        Some(degree_days::id::ASSUMED_AIR_IS_LEAF),
        Some(id::ASSUMED_STRAIGHT_RATE),
        Some(id::ASSUMED_PUBLISHED_SPREAD),
        Some(id::ASSUMED_STAGES_INDEPENDENT),
        forecast.then_some(id::ASSUMED_NORMAL_DAYS),
    ]
    .into_iter()
    .flatten()
    .collect()
}

/// Sums of heat by the end of each day.
struct Sums {
    before: Date,
    days: Vec<(Date, f64, Basis)>,
}

impl Sums {
    /// From a date on, until the last stage is surely over or nothing is known.
    fn from(clock: &StageClock, laid: Date, temperatures: &Temperatures) -> Self {
        let most = 2.0 * clock.stages().iter().map(|heat| heat.degree_days).sum::<f64>();
        let (mut sum, mut worst) = (0.0, Basis::Measured);
        let days = dates(laid, later(laid, LONGEST_DAYS))
            .map_while(|date| {
                let (heat, basis) = temperatures.heat(date, clock.counting()).filter(|_| sum < most)?;
                sum += heat;
                worst = worst.max(basis);
                Some((date, sum, worst))
            })
            .collect();
        Self { before: degree_days::earlier(laid, 1), days }
    }

    fn reaching(&self, needs: f64) -> Reached {
        let found = self.days.iter().find(|(_, sum, _)| *sum >= needs);
        let last = self.days.last().map_or((self.before, 0.0), |&(date, sum, _)| (date, sum));
        found.map_or(Reached::NotBy { date: last.0, degree_days: last.1 }, |&(date, degree_days, basis)| Reached::On {
            date,
            degree_days,
            basis,
        })
    }
}
