//! Survival by a likelihood with a stage clock.

use super::clock_likelihood::Cohorts;
use super::series::check_durations;
use super::{Development, Recruitment, StageSeries, id};
use crate::numeric::{Family, at_least, chi_squared, least, least_roughly};
use crate::{Estimate, Interval, Level, MessageId, Refusal};
use serde::Serialize;

/// What goes in beside the counts.
#[derive(Debug, Clone, PartialEq)]
pub struct ClockModel {
    /// Units checked at each visit; all 1 where the effort is unknown.
    pub effort: Vec<f64>,
    /// Development over days; it begins before the first eggs that could still be seen at the first visit.
    pub clock: Development,
    /// Development each stage takes, in the clock's unit.
    pub widths: Vec<f64>,
    /// Share of each stage's animals that is seen; `None` is taken as 1 and labelled uncorrected.
    pub detection: Option<Vec<f64>>,
    /// Share of its duration that the last stage stays on the plant.
    pub residence: Residence,
    /// Which stages die at the same rate.
    pub mortality: Mortality,
    /// How counts scatter.
    pub scatter: Scatter,
}

/// Share of its duration that the last stage stays where it is counted: 0.5 to 1.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Residence(f64);

/// Which stages die at the same daily rate.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Mortality {
    /// All.
    Same,
    /// The first (eggs) for itself, the others together.
    FirstAndRest,
    /// Each for itself; needs nearly daily visits.
    Each,
}

/// How counts scatter around what is expected.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum Scatter {
    /// By chance alone.
    Poisson,
    /// More than that, by a negative binomial whose k is estimated.
    NegativeBinomial,
}

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

/// Daily hazards are looked for up to this: nothing survives two days of it.
const HIGHEST_HAZARD: f64 = 4.0;
/// And down to this, which is as good as none.
const LOWEST_HAZARD: f64 = 1e-6;
/// Points of a profile's bracket search.
const STEPS: usize = 14;

impl Residence {
    /// The whole duration.
    pub const WHOLE: Self = Self(1.0);

    /// The share.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] outside 0.5 to 1.
    pub fn new(share: f64) -> Result<Self, Refusal> {
        if (0.5..=1.0).contains(&share) { Ok(Self(share)) } else { Err(Refusal::NotANumber) }
    }
}

/// Survival of the stages from counts of all of them over a season.
///
/// Expected count of a stage at a visit = effort × detection × sum over cohorts, laid along a bell-shaped curve, that the
/// clock puts in this stage then, of those alive: each day in a stage costs its hazard. Parameters: eggs, mean day and
/// spread of laying, the hazards, and k where asked for; greatest Poisson or negative binomial likelihood by a simplex
/// search. Survival to the last stage = e^−(sum of hazard × mean days in each earlier stage), days being width ÷ mean
/// development per day between first and last visit.
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
    let groups = problem.groups();
    let last = problem.stages - 1;
    let until_last: Vec<usize> = (0..last).collect();
    let to_last_stage = problem.profile(&best, limit, &until_last, level);
    let by_stage = if groups == 1 {
        Vec::new()
    } else {
        (0..last).map(|stage| problem.profile(&best, limit, &[stage], level)).collect()
    };
    let laying = Problem::laying(&best);
    Ok(ClockFit {
        to_last_stage,
        by_stage,
        eggs: laying.eggs,
        mean_day: laying.mean_day,
        spread: laying.spread,
        k: match problem.family(&best) {
            Family::Poisson => None,
            Family::Clumped(alpha) => Some(1.0 / alpha),
        },
        log_likelihood: -loss,
        expected: problem.expected(&best),
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

struct Problem<'a> {
    series: &'a StageSeries,
    model: &'a ClockModel,
    cohorts: Cohorts,
    detection: Vec<f64>,
    stages: usize,
    /// Mean days in each stage.
    days: Vec<f64>,
}

impl<'a> Problem<'a> {
    fn new(series: &'a StageSeries, model: &'a ClockModel) -> Result<Self, Refusal> {
        at_least(series.times().len(), 3)?;
        at_least(series.stages(), 2)?;
        let animals: f64 = series.from_stage(0).iter().sum();
        at_least(crate::observers::whole(animals), 5)?;
        let stages = series.stages();
        check_durations(&model.widths, stages)?;
        check_durations(&model.effort, series.times().len())?;
        let detection = model.detection.clone().unwrap_or_else(|| vec![1.0; stages]);
        check_durations(&detection, stages)?;
        if detection.iter().any(|&share| share > 1.0) {
            return Err(Refusal::NotANumber);
        }
        let (first, last) = (series.times()[0], series.times()[series.times().len() - 1]);
        let rate = model.clock.rate(first, last);
        if !(model.clock.covers(first) && model.clock.covers(last) && rate > 0.0) {
            return Err(Refusal::NotMet(id::REFUSED_CLOCK_TOO_SHORT));
        }
        let mut widths = model.widths.clone();
        widths[stages - 1] *= model.residence.0;
        let ends: Vec<f64> = widths
            .iter()
            .scan(0.0, |sum, width| {
                *sum += width;
                Some(*sum)
            })
            .collect();
        let cohorts = Cohorts::new(&model.clock, series.times(), &ends);
        let days = widths.iter().map(|width| width / rate).collect();
        Ok(Self { series, model, cohorts, detection, stages, days })
    }

    fn groups(&self) -> usize {
        match self.model.mortality {
            Mortality::Same => 1,
            Mortality::FirstAndRest => 2,
            Mortality::Each => self.stages,
        }
    }

    fn group(&self, stage: usize) -> usize {
        match self.model.mortality {
            Mortality::Same => 0,
            Mortality::FirstAndRest => usize::from(stage > 0),
            Mortality::Each => stage,
        }
    }

    /// Parameters: ln eggs, mean day, ln spread, ln hazards, ln alpha where wanted.
    fn start(&self, spread: f64, hazard: f64) -> Vec<f64> {
        let totals = self.series.from_stage(0);
        let whole: f64 = totals.iter().sum();
        let centre = self.series.times().iter().zip(&totals).map(|(t, n)| t * n).sum::<f64>() / whole;
        let density = totals.iter().zip(&self.model.effort).map(|(n, e)| n / e).fold(0.0, f64::max);
        let mut start = vec![(density.max(1e-9) * 3.0).ln(), centre - self.days[0], spread.ln()];
        start.extend(vec![hazard.ln(); self.groups()]);
        if self.model.scatter == Scatter::NegativeBinomial {
            start.push(-1.0);
        }
        start
    }

    fn best(&self) -> (Vec<f64>, f64) {
        let loss = |point: &[f64]| self.loss(point);
        [(4.0, 0.1), (12.0, 0.1), (8.0, 0.5), (8.0, 0.02)]
            .into_iter()
            .map(|(spread, hazard)| least(&loss, &self.start(spread, hazard), 0.4))
            .min_by(|one, other| one.1.total_cmp(&other.1))
            .unwrap_or_else(|| (self.start(8.0, 0.1), f64::INFINITY))
    }

    fn laying(point: &[f64]) -> Recruitment {
        Recruitment { eggs: point[0].exp(), mean_day: point[1], spread: point[2].exp() }
    }

    fn hazards(&self, point: &[f64]) -> Vec<f64> {
        (0..self.stages).map(|stage| point[3 + self.group(stage)].exp()).collect()
    }

    fn family(&self, point: &[f64]) -> Family {
        match self.model.scatter {
            Scatter::Poisson => Family::Poisson,
            Scatter::NegativeBinomial => Family::Clumped(point[3 + self.groups()].clamp(-14.0, 6.0).exp()),
        }
    }

    fn expected(&self, point: &[f64]) -> Vec<Vec<f64>> {
        let mut rows = self.cohorts.expected(Self::laying(point), &self.hazards(point));
        for (row, effort) in rows.iter_mut().zip(&self.model.effort) {
            for (value, seen) in row.iter_mut().zip(&self.detection) {
                *value *= effort * seen;
            }
        }
        rows
    }

    fn loss(&self, point: &[f64]) -> f64 {
        let hazards = self.hazards(point);
        let beyond = |value: f64, low: f64, high: f64| (low - value).max(0.0) + (value - high).max(0.0);
        let out: f64 = hazards.iter().map(|h| beyond(h.ln(), LOWEST_HAZARD.ln(), HIGHEST_HAZARD.ln())).sum::<f64>()
            + beyond(point[2], -1.0, 4.0)
            + beyond(point[0], -30.0, 30.0);
        if out > 0.0 {
            return 1e9 * (1.0 + out);
        }
        let expected: Vec<f64> = self.expected(point).into_iter().flatten().map(|mean| mean.max(1e-9)).collect();
        let counts: Vec<f64> = self.series.rows().iter().flatten().copied().collect();
        -self.family(point).log_likelihood(&counts, &expected)
    }

    /// −ln survival through these stages.
    fn lost(&self, point: &[f64], stages: &[usize]) -> f64 {
        let hazards = self.hazards(point);
        stages.iter().map(|&stage| hazards[stage] * self.days[stage]).sum()
    }

    /// Least loss with −ln survival through the stages held at a value, by a steep valley around it.
    fn held(&self, best: &[f64], stages: &[usize], target: f64) -> f64 {
        let factor = target / self.lost(best, stages).max(1e-12);
        let groups: std::collections::BTreeSet<usize> = stages.iter().map(|&stage| self.group(stage)).collect();
        let solved = |point: &[f64]| -> Vec<f64> {
            // Scales the hazards of the stages in question so that the product is met exactly.
            let now = self.lost(point, stages).max(1e-300);
            let mut point = point.to_vec();
            for &group in &groups {
                point[3 + group] += (target / now).ln();
            }
            point
        };
        let mut start = best.to_vec();
        for &group in &groups {
            start[3 + group] += factor.ln();
        }
        let loss = |point: &[f64]| self.loss(&solved(point));
        least_roughly(&loss, &start, 0.2).1
    }

    fn profile(&self, best: &[f64], limit: f64, stages: &[usize], level: Level) -> Survival {
        let not_identified = Survival::NotIdentified(id::REFUSED_NOT_IDENTIFIED);
        let value = self.lost(best, stages);
        let days: f64 = stages.iter().map(|&stage| self.days[stage]).sum();
        let (lowest, highest) = (LOWEST_HAZARD * days * 1.01, HIGHEST_HAZARD * days * 0.99);
        let above = |log_lost: f64| self.held(best, stages, log_lost.exp()) - limit;
        let middle = value.clamp(lowest, highest).ln();
        let Some(low) = Self::crossing(middle, lowest.ln(), &above) else { return not_identified };
        let Some(high) = Self::crossing(middle, highest.ln(), &above) else { return not_identified };
        let estimate = Estimate::plain((-value).exp(), self.series.times().len(), id::STAGE_CLOCK)
            .with_interval(Interval::both((-high.exp()).exp(), (-low.exp()).exp(), level))
            .assuming([id::ASSUMED_BELL_SHAPED_LAYING, id::ASSUMED_KNOWN_DURATIONS, id::ASSUMED_RESIDENCE])
            .assuming([match self.model.detection {
                Some(_) => id::ASSUMED_KNOWN_DETECTION,
                None => id::ASSUMED_UNCORRECTED_DETECTION,
            }]);
        Survival::Estimated(estimate)
    }

    /// Where the profile leaves the limit on the way to a bound; `None` where it never does.
    fn crossing(middle: f64, bound: f64, above: &dyn Fn(f64) -> f64) -> Option<f64> {
        let mut inside = middle;
        let mut step = 0.1_f64.min((bound - middle).abs()).copysign(bound - middle);
        for _ in 0..STEPS {
            let next = if (inside + step - middle).abs() >= (bound - middle).abs() { bound } else { inside + step };
            if above(next) > 0.0 {
                return Some(coarse_root(inside, next, above));
            }
            if (next - bound).abs() <= 0.0 {
                return None;
            }
            inside = next;
            step *= 1.6;
        }
        None
    }
}

/// Bisection to four digits: each point costs a whole search.
fn coarse_root(inside: f64, outside: f64, above: &dyn Fn(f64) -> f64) -> f64 {
    let (mut inside, mut outside) = (inside, outside);
    for _ in 0..12 {
        let middle = f64::midpoint(inside, outside);
        if above(middle) > 0.0 { outside = middle } else { inside = middle }
    }
    f64::midpoint(inside, outside)
}
