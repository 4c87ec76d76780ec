//! What a given effort can tell, before the visit.

use super::id;
use super::scatter::Scatter;
use crate::estimate::Level;
use crate::{MessageId, Refusal, quantile};
use serde::Serialize;

/// What so many units can tell about one visit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct EffortTells {
    /// Units checked.
    pub units: u32,
    /// Half the width of the mean's interval as a share of the mean: "±x %". Above 1 the interval holds 0.
    pub half_width: f64,
    /// Chance of finding no animal at all, 0 to 1.
    pub none_found: f64,
    /// Chance of finding at least five, below which no mean is shown, 0 to 1; by a negative binomial of the same mean
    /// and variance.
    pub enough_for_a_mean: f64,
    /// If none is found: the share of occupied units is below this, with the level's certainty.
    pub occupied_at_most_if_none: f64,
    /// What was assumed.
    pub assumed: Vec<MessageId>,
}

/// What a season of visits can tell about its total.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SeasonTells {
    /// Area under the curve of means, animal-days per unit.
    pub area: f64,
    /// Half the width of its interval as a share of it.
    pub half_width: f64,
    /// Units checked in all.
    pub units: u64,
    /// What was assumed.
    pub assumed: Vec<MessageId>,
}

const MOST_UNITS: u32 = 1_000_000;

/// What each of some efforts can tell about a visit whose mean and scatter are expected to be these.
///
/// Half width ÷ mean = z × √(variance ÷ units) ÷ mean. The numbers found on n units follow a negative binomial of mean n
/// × mean and k times n, where the scatter has a k, otherwise a Poisson distribution.
///
/// Unit: shares. Domain: mean above 0; 1 to a million units.
///
/// Source: Karandinos MG (1976) Bull. Entomol. Soc. Am. 22:417-421; Hanley JA, Lippman-Hand A (1983) JAMA 249:1743-1745.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain; [`Refusal::Nothing`] for an effort of no unit.
pub fn what_effort_tells(
    efforts: &[u32],
    mean: f64,
    scatter: Scatter,
    level: Level,
) -> Result<Vec<EffortTells>, Refusal> {
    let (variance, k) = (scatter.variance(mean)?, scatter.aggregation(mean)?);
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    efforts
        .iter()
        .map(|&units| {
            let n = usable(units)?;
            let found = Found { mean: n * mean, k: k.map(|k| k * n) };
            Ok(EffortTells {
                units,
                half_width: z * (variance / n).sqrt() / mean,
                none_found: found.chance(0),
                enough_for_a_mean: (1.0 - (0..5).map(|number| found.chance(number)).sum::<f64>()).clamp(0.0, 1.0),
                occupied_at_most_if_none: 1.0 - level.alpha().powf(1.0 / n),
                assumed: vec![id::ASSUMED_EXPECTED_MEAN, id::ASSUMED_STATED_SCATTER],
            })
        })
        .collect()
}

/// What so many units at each visit can tell about the area under the season's curve.
///
/// Area = sum over visits of weight × mean, the weight being half the days between its neighbours (trapezoids); its
/// variance = sum of weight² × variance ÷ units.
///
/// Unit: animal-days per unit. Domain: at least two visits in order of day, means of 0 or more with one above 0; a visit
/// whose mean is 0 adds no variance.
///
/// Source: trapezoids as in Southwood TRE, Henderson PA (2000) Ecological Methods, 3rd ed., Blackwell; propagation of
/// independent errors.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::SameDay`], [`Refusal::NotANumber`], [`Refusal::Nothing`] without a unit or where all
/// means are 0.
pub fn season_tells(
    visits: &[(f64, f64)],
    units_per_visit: u32,
    scatter: Scatter,
    level: Level,
) -> Result<SeasonTells, Refusal> {
    let n = usable(units_per_visit)?;
    if visits.len() < 2 {
        return Err(Refusal::TooFew { have: visits.len() as u64, need: 2 });
    }
    if visits.iter().any(|(day, mean)| !(-1e6..=1e6).contains(day) || !(0.0..=1e6).contains(mean)) {
        return Err(Refusal::NotANumber);
    }
    if let Some(pair) = visits.windows(2).find(|pair| pair[1].0 <= pair[0].0) {
        return Err(if pair[1].0 < pair[0].0 { Refusal::NotANumber } else { Refusal::SameDay { day: pair[1].0 } });
    }
    let day = |index: usize| visits[index.min(visits.len() - 1)].0;
    let (mut area, mut variance) = (0.0, 0.0);
    for (index, &(_, mean)) in visits.iter().enumerate() {
        let weight = (day(index + 1) - day(index.saturating_sub(1))) / 2.0;
        area += weight * mean;
        if mean > 0.0 {
            variance += weight * weight * scatter.variance(mean)? / n;
        }
    }
    if area <= 0.0 {
        return Err(Refusal::Nothing);
    }
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    Ok(SeasonTells {
        area,
        half_width: z * variance.sqrt() / area,
        units: u64::from(units_per_visit) * visits.len() as u64,
        assumed: vec![id::ASSUMED_EXPECTED_MEAN, id::ASSUMED_STATED_SCATTER, id::ASSUMED_VISITS_APART],
    })
}

fn usable(units: u32) -> Result<f64, Refusal> {
    match units {
        0 => Err(Refusal::Nothing),
        units if units > MOST_UNITS => Err(Refusal::NotANumber),
        units => Ok(f64::from(units)),
    }
}

/// The number of animals found.
struct Found {
    mean: f64,
    k: Option<f64>,
}

impl Found {
    /// Chance of exactly this small number.
    fn chance(&self, number: u32) -> f64 {
        let log_none = self.k.map_or(-self.mean, |k| -k * (self.mean / k).ln_1p());
        let log_steps: f64 = (0..number)
            .map(|before| {
                let before = f64::from(before);
                let step = self.k.map_or(self.mean, |k| (k + before) * self.mean / (k + self.mean));
                (step / (before + 1.0)).ln()
            })
            .sum();
        (log_none + log_steps).exp()
    }
}
