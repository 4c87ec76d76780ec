//! Survival by a likelihood with a stage clock.

use super::clock_problem::{HIGHEST_HAZARD, LOWEST_HAZARD, Problem};
use super::{ClockModel, Residence, StageSeries, id};
use crate::numeric::chi_squared;
use crate::{Estimate, Interval, Level, MessageId, Refusal};
use serde::Serialize;

/// A survival, or that the data do not tell it.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Survival {
    /// Value with profile interval.
    Estimated(Estimate),
    /// The likelihood is flat up to a bound: no interval, and no value to be shown.
    NotIdentified(MessageId),
}

/// The fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct ClockFit {
    /// From laying to entering the last stage.
    pub to_last_stage: Survival,
    /// Through each stage, where mortality is not the same for all; the last one is left out, for leaving the plant
    /// looks like dying.
    pub by_stage: Vec<Survival>,
    /// Eggs laid per unit of effort, at the greatest likelihood.
    pub eggs: f64,
    /// Mean day of laying.
    pub mean_day: f64,
    /// Its standard deviation in days.
    pub spread: f64,
    /// k of the scatter; `None` for chance alone.
    pub k: Option<f64>,
    /// Greatest log-likelihood.
    pub log_likelihood: f64,
    /// Expected counts by visit and stage.
    pub expected: Vec<Vec<f64>>,
}

/// The greatest likelihood alone.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LikeliestClock {
    /// Survival from laying to entering the last stage at the greatest likelihood; whether the data tell it is not said.
    pub to_last_stage: f64,
    /// Eggs laid per unit of effort.
    pub eggs: f64,
    /// Mean day of laying.
    pub mean_day: f64,
    /// Its standard deviation in days.
    pub spread: f64,
    /// Chance to die per day, by stage.
    pub hazards: Vec<f64>,
    /// k of the scatter; `None` for chance alone.
    pub k: Option<f64>,
    /// Greatest log-likelihood.
    pub log_likelihood: f64,
}

/// Points of a profile's bracket search.
const STEPS: usize = 14;
/// Halvings of a bracket: to six digits.
const HALVINGS: usize = 20;

/// Survival of the stages from counts of all of them over a season.
///
/// Expected count of a stage at a visit = effort × detection × sum over cohorts, laid along a bell-shaped curve, that the
/// clock puts in this stage then, of those alive: each day in a stage costs its hazard. Parameters: eggs, mean day and
/// spread of laying, the hazards, and k where asked for; greatest Poisson or negative binomial likelihood by Fisher's
/// scoring from four starts ([`likeliest_clock`]). Survival to the last stage = e^−(sum of hazard × mean days in each
/// earlier stage), days being width ÷ mean development per day between first and last visit.
///
/// Its interval is the profile's: every value whose log-likelihood, all else fitted anew, is within half the chi-squared
/// quantile. Where the profile is still that near at a bound (hazards 0 or 4 per day) it is not identified: then neither
/// value nor interval is given. Detection and residence are inputs: the data cannot tell them from survival.
///
/// Unit: share. Domain: at least three visits, two stages, five animals; the clock covers all visits.
///
/// Source: the model follows Kempton RA (1979) in Statistical Distributions in Ecological Work 401-418 and Bellows TS,
/// Birley MH (1981) Res. Popul. Ecol. 23:229-244; with degree-days as in Grant TJ et al. (2020) Ecosphere 11:e03082.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`]; [`Refusal::NotMet`] for inputs of another length, or a clock that does
/// not cover the visits or does not run.
pub fn stage_clock(series: &StageSeries, model: &ClockModel, level: Level) -> Result<ClockFit, Refusal> {
    let problem = Problem::new(series, model)?;
    let (best, loss) = problem.best();
    let limit = loss + chi_squared(1.0, level.share())? / 2.0;
    let last = problem.stages() - 1;
    let until_last: Vec<usize> = (0..last).collect();
    let to_last_stage = profile(&problem, &best, limit, &until_last, level);
    let by_stage = if problem.groups() == 1 {
        Vec::new()
    } else {
        (0..last).map(|stage| profile(&problem, &best, limit, &[stage], level)).collect()
    };
    let laying = Problem::laying(&best);
    Ok(ClockFit {
        to_last_stage,
        by_stage,
        eggs: laying.eggs,
        mean_day: laying.mean_day,
        spread: laying.spread,
        k: problem.k(&best),
        log_likelihood: -loss,
        expected: problem.expected(&best),
    })
}

/// The greatest likelihood of [`stage_clock`] without its intervals: for resamples and simulations. Model, units, domain
/// and source are the same.
///
/// # Errors
/// As for [`stage_clock`].
pub fn likeliest_clock(series: &StageSeries, model: &ClockModel) -> Result<LikeliestClock, Refusal> {
    let problem = Problem::new(series, model)?;
    let (best, loss) = problem.best();
    let laying = Problem::laying(&best);
    let until_last: Vec<usize> = (0..problem.stages() - 1).collect();
    Ok(LikeliestClock {
        to_last_stage: (-problem.lost(&best, &until_last)).exp(),
        eggs: laying.eggs,
        mean_day: laying.mean_day,
        spread: laying.spread,
        hazards: problem.hazards_by_stage(&best),
        k: problem.k(&best),
        log_likelihood: -loss,
    })
}

/// The fit at both ends of the stated band of residence of the last stage, to be shown as a band.
///
/// # Errors
/// As for [`stage_clock`].
pub fn residence_band(
    series: &StageSeries,
    model: &ClockModel,
    from: Residence,
    to: Residence,
    level: Level,
) -> Result<(ClockFit, ClockFit), Refusal> {
    let at = |residence| stage_clock(series, &ClockModel { residence, ..model.clone() }, level);
    Ok((at(from)?, at(to)?))
}

fn profile(problem: &Problem<'_>, best: &[f64], limit: f64, stages: &[usize], level: Level) -> Survival {
    let not_identified = Survival::NotIdentified(id::REFUSED_NOT_IDENTIFIED);
    let value = problem.lost(best, stages);
    let days = problem.days(stages);
    let (lowest, highest) = (LOWEST_HAZARD * days * 1.01, HIGHEST_HAZARD * days * 0.99);
    let middle = value.clamp(lowest, highest).ln();
    let end = |bound: f64| {
        // Each point starts where the one before ended.
        let mut near = best.to_vec();
        crossing(middle, bound, &mut |log_lost| {
            let (found, loss) = problem.held(&near, stages, log_lost.exp());
            near = found;
            loss - limit
        })
    };
    let (Some(low), Some(high)) = (end(lowest.ln()), end(highest.ln())) else { return not_identified };
    let estimate = Estimate::plain((-value).exp(), problem.visits(), id::STAGE_CLOCK)
        .with_interval(Interval::both((-high.exp()).exp(), (-low.exp()).exp(), level))
        .assuming([id::ASSUMED_BELL_SHAPED_LAYING, id::ASSUMED_KNOWN_DURATIONS, id::ASSUMED_RESIDENCE])
        .assuming([if problem.is_corrected() {
            id::ASSUMED_KNOWN_DETECTION
        } else {
            id::ASSUMED_UNCORRECTED_DETECTION
        }]);
    Survival::Estimated(estimate)
}

/// Where the profile leaves the limit on the way to a bound; `None` where it never does.
fn crossing(middle: f64, bound: f64, above: &mut dyn FnMut(f64) -> f64) -> Option<f64> {
    let mut inside = middle;
    let mut step = 0.1_f64.min((bound - middle).abs()).copysign(bound - middle);
    for _ in 0..STEPS {
        let next = if (inside + step - middle).abs() >= (bound - middle).abs() { bound } else { inside + step };
        if above(next) > 0.0 {
            return Some(halved(inside, next, above));
        }
        if (next - bound).abs() <= 0.0 {
            return None;
        }
        inside = next;
        step *= 1.6;
    }
    None
}

fn halved(inside: f64, outside: f64, above: &mut dyn FnMut(f64) -> f64) -> f64 {
    let (mut inside, mut outside) = (inside, outside);
    for _ in 0..HALVINGS {
        let middle = f64::midpoint(inside, outside);
        if above(middle) > 0.0 { outside = middle } else { inside = middle }
    }
    f64::midpoint(inside, outside)
}
