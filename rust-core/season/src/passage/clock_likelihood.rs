//! Expected counts by stage from laying, clock, survival and detection.

use super::id;
use crate::Refusal;
use crate::numeric::all_finite;

/// Development summed up over days, such as degree-days above the lower threshold.
#[derive(Debug, Clone, PartialEq)]
pub struct Development {
    days: Vec<f64>,
    sums: Vec<f64>,
}

/// Laying over the season: a bell-shaped curve.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Recruitment {
    /// Eggs laid in all, per unit of effort.
    pub eggs: f64,
    /// Mean day of laying.
    pub mean_day: f64,
    /// Standard deviation in days.
    pub spread: f64,
}

/// Days between cohorts.
const STEP: f64 = 0.25;

/// One cohort at one visit: which stage it is in and the days it has spent in each.
#[derive(Debug, Clone)]
struct Standing {
    stage: usize,
    days: Vec<f64>,
}

/// Cohorts and where each stands at each visit; free of all parameters.
#[derive(Debug, Clone)]
pub(super) struct Cohorts {
    laid: Vec<f64>,
    at_visits: Vec<Vec<(usize, Standing)>>,
}

impl Development {
    /// Of days in order and the sums reached on them, which never fall.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`]; [`Refusal::NotMet`] unless both lists are of one length, at least 2, and in order.
    pub fn new(days: Vec<f64>, sums: Vec<f64>) -> Result<Self, Refusal> {
        all_finite(days.iter().chain(&sums))?;
        let ordered = days.len() >= 2
            && days.len() == sums.len()
            && days.windows(2).all(|pair| pair[0] < pair[1])
            && sums.windows(2).all(|pair| pair[0] <= pair[1]);
        if ordered { Ok(Self { days, sums }) } else { Err(Refusal::NotMet(id::REFUSED_CLOCK_TOO_SHORT)) }
    }

    /// The same development each day.
    ///
    /// # Errors
    /// As for [`Self::new`].
    pub fn constant(from: f64, to: f64, per_day: f64) -> Result<Self, Refusal> {
        Self::new(vec![from, to], vec![0.0, (to - from) * per_day])
    }

    pub(crate) fn first(&self) -> f64 {
        self.days[0]
    }

    pub(crate) fn covers(&self, day: f64) -> bool {
        day >= self.days[0] && day <= self.days[self.days.len() - 1]
    }

    /// Mean development per day between two days.
    pub(crate) fn rate(&self, from: f64, to: f64) -> f64 {
        (self.at(to) - self.at(from)) / (to - from)
    }

    /// Sum reached by a day.
    pub fn at(&self, day: f64) -> f64 {
        interpolate(&self.days, &self.sums, day)
    }

    /// Day on which a sum is reached, the first one where it stands still.
    fn day_of(&self, sum: f64) -> f64 {
        interpolate(&self.sums, &self.days, sum)
    }
}

impl Cohorts {
    /// Cohorts laid from the clock's first day to the last visit, followed to every visit.
    pub(super) fn new(clock: &Development, visits: &[f64], ends: &[f64]) -> Self {
        let last = visits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut laid = Vec::new();
        let mut day = clock.first() + STEP / 2.0;
        while day < last {
            laid.push(day);
            day += STEP;
        }
        let at_visits = visits
            .iter()
            .map(|&visit| {
                laid.iter()
                    .enumerate()
                    .filter_map(|(cohort, &day)| Some((cohort, standing(clock, ends, day, visit)?)))
                    .collect()
            })
            .collect();
        Self { laid, at_visits }
    }

    /// Expected animals of each stage at each visit, per unit of effort, before detection.
    pub(super) fn expected(&self, laying: Recruitment, hazards: &[f64]) -> Vec<Vec<f64>> {
        let bell = |day: f64| (-0.5 * ((day - laying.mean_day) / laying.spread).powi(2)).exp();
        let height = laying.eggs * STEP / (laying.spread * (2.0 * std::f64::consts::PI).sqrt());
        let eggs: Vec<f64> = self.laid.iter().map(|&day| height * bell(day)).collect();
        self.at_visits
            .iter()
            .map(|cohorts| {
                let mut row = vec![0.0; hazards.len()];
                for (cohort, standing) in cohorts.iter().filter(|(cohort, _)| eggs[*cohort] > 0.0) {
                    let lost: f64 = standing.days.iter().zip(hazards).map(|(days, hazard)| days * hazard).sum();
                    row[standing.stage] += eggs[*cohort] * (-lost).exp();
                }
                row
            })
            .collect()
    }
}

fn standing(clock: &Development, ends: &[f64], laid: f64, visit: f64) -> Option<Standing> {
    if laid > visit {
        return None;
    }
    let start = clock.at(laid);
    let age = clock.at(visit) - start;
    let stage = ends.iter().position(|&end| age < end)?;
    let mut days = vec![0.0; ends.len()];
    let mut from = laid;
    for (each, end) in ends.iter().enumerate().take(stage) {
        let to = clock.day_of(start + end).clamp(from, visit);
        days[each] = to - from;
        from = to;
    }
    days[stage] = visit - from;
    Some(Standing { stage, days })
}

/// y at x on straight lines between points with rising xs; held at both ends.
fn interpolate(xs: &[f64], ys: &[f64], x: f64) -> f64 {
    let after = xs.partition_point(|&each| each < x);
    if after == 0 {
        return ys[0];
    }
    if after == xs.len() {
        return ys[after - 1];
    }
    let (x0, x1, y0, y1) = (xs[after - 1], xs[after], ys[after - 1], ys[after]);
    if x1 > x0 { y0 + (y1 - y0) * (x - x0) / (x1 - x0) } else { y0 }
}
