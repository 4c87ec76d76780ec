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

/// Cohorts and where each stands at each visit; free of all parameters.
#[derive(Debug, Clone)]
pub(super) struct Cohorts {
    laid: Vec<f64>,
    visits: Vec<Seen>,
    stages: usize,
    /// Groups of stages that die at the same rate.
    groups: usize,
}

/// The cohorts that are on the plants at one visit.
#[derive(Debug, Clone, Default)]
struct Seen {
    /// Cohort and stage.
    standing: Vec<(usize, usize)>,
    /// Days that each has spent in each group, one cohort after the other.
    spent: Vec<f64>,
}

/// Parts of a cell before the derivatives by the groups' hazards: value, and derivatives by mean day and ln spread.
pub(super) const BEFORE_HAZARDS: usize = 3;

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
    /// Cohorts laid from the clock's first day to the last visit, followed to every visit; `group_of` says for each stage
    /// which group's hazard it has.
    pub(super) fn new(clock: &Development, visits: &[f64], ends: &[f64], group_of: &[usize]) -> Self {
        let last = visits.iter().copied().fold(f64::NEG_INFINITY, f64::max);
        let mut laid = Vec::new();
        let mut day = clock.first() + STEP / 2.0;
        while day < last {
            laid.push(day);
            day += STEP;
        }
        let groups = group_of.iter().max().map_or(0, |most| most + 1);
        let seen = |&visit: &f64| {
            let mut seen = Seen::default();
            for (cohort, &day) in laid.iter().enumerate() {
                let Some((stage, days)) = standing(clock, ends, day, visit) else { continue };
                seen.standing.push((cohort, stage));
                let first = seen.spent.len();
                seen.spent.resize(first + groups, 0.0);
                for (&group, days) in group_of.iter().zip(&days) {
                    seen.spent[first + group] += days;
                }
            }
            seen
        };
        let visits = visits.iter().map(seen).collect();
        Self { laid, visits, stages: ends.len(), groups }
    }

    /// Numbers that a cell has: its value, then its derivatives by mean day, ln spread and each group's ln hazard.
    pub(super) const fn width(&self) -> usize {
        BEFORE_HAZARDS + self.groups
    }

    /// Expected animals of each stage at each visit per unit of effort, before detection, with derivatives; cells are
    /// written one after the other, stages within visits.
    pub(super) fn expected(&self, laying: Recruitment, hazards: &[f64], cells: &mut Vec<f64>) {
        let height = laying.eggs * STEP / (laying.spread * (2.0 * std::f64::consts::PI).sqrt());
        let width = self.width();
        cells.clear();
        cells.resize(self.visits.len() * self.stages * width, 0.0);
        let away: Vec<f64> = self.laid.iter().map(|&day| (day - laying.mean_day) / laying.spread).collect();
        for (visit, row) in self.visits.iter().zip(cells.chunks_exact_mut(self.stages * width)) {
            for (&(cohort, stage), spent) in visit.standing.iter().zip(visit.spent.chunks_exact(self.groups)) {
                let z = away[cohort];
                let lost: f64 = spent.iter().zip(hazards).map(|(days, hazard)| days * hazard).sum();
                let alive = height * (-0.5 * z * z - lost).exp();
                let cell = &mut row[stage * width..(stage + 1) * width];
                cell[0] += alive;
                cell[1] += alive * z / laying.spread;
                cell[2] += alive * (z * z - 1.0);
                for ((slope, days), hazard) in cell[BEFORE_HAZARDS..].iter_mut().zip(spent).zip(hazards) {
                    *slope -= alive * days * hazard;
                }
            }
        }
    }
}

/// The stage that a cohort is in at a visit and the days it has spent in each; `None` before and after its time.
fn standing(clock: &Development, ends: &[f64], laid: f64, visit: f64) -> Option<(usize, Vec<f64>)> {
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
    Some((stage, days))
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
