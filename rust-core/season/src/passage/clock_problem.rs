//! The likelihood of a stage clock with its slopes.

use super::clock_likelihood::Cohorts;
use super::series::check_durations;
use super::{ClockModel, Mortality, Recruitment, Scatter, StageSeries, id};
use crate::Refusal;
use crate::numeric::{Family, Shape, at_least, descend};
use nalgebra::DVector;

/// Daily hazards are looked for up to this: nothing survives two days of it.
pub(super) const HIGHEST_HAZARD: f64 = 4.0;
/// And down to this, which is as good as none.
pub(super) const LOWEST_HAZARD: f64 = 1e-6;
/// No cell expects less than this many animals.
const LEAST_EXPECTED: f64 = 1e-9;
/// Bounds of ln eggs, ln spread and ln alpha.
const BOUNDS: [(f64, f64); 3] = [(-30.0, 30.0), (-1.0, 4.0), (-14.0, 6.0)];
/// Spread and hazard that searches start from.
const STARTS: [(f64, f64); 4] = [(4.0, 0.1), (12.0, 0.1), (8.0, 0.5), (8.0, 0.02)];
/// Parameters before the hazards: ln eggs, mean day, ln spread. After the hazards stands ln alpha where it is wanted.
const LAYING: usize = 3;
/// Step of ln alpha for differences.
const ALPHA_STEP: f64 = 1e-3;

/// Counts, model and everything that does not depend on parameters.
pub(super) struct Problem<'a> {
    series: &'a StageSeries,
    model: &'a ClockModel,
    cohorts: Cohorts,
    /// Effort × detection of each cell, stages within visits.
    scale: Vec<f64>,
    counts: Vec<f64>,
    /// Group of each stage whose hazard it shares.
    group_of: Vec<usize>,
    /// Mean days in each stage.
    days: Vec<f64>,
}

impl<'a> Problem<'a> {
    pub(super) fn new(series: &'a StageSeries, model: &'a ClockModel) -> Result<Self, Refusal> {
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
        let group_of: Vec<usize> = (0..stages)
            .map(|stage| match model.mortality {
                Mortality::Same => 0,
                Mortality::FirstAndRest => usize::from(stage > 0),
                Mortality::Each => stage,
            })
            .collect();
        Ok(Self {
            series,
            model,
            cohorts: Cohorts::new(&model.clock, series.times(), &ends, &group_of),
            scale: model.effort.iter().flat_map(|effort| detection.iter().map(move |seen| effort * seen)).collect(),
            counts: series.rows().iter().flatten().copied().collect(),
            group_of,
            days: widths.iter().map(|width| width / rate).collect(),
        })
    }

    pub(super) fn stages(&self) -> usize {
        self.group_of.len()
    }

    pub(super) fn visits(&self) -> usize {
        self.series.times().len()
    }

    pub(super) fn groups(&self) -> usize {
        self.cohorts.width() - super::clock_likelihood::BEFORE_HAZARDS
    }

    pub(super) fn is_corrected(&self) -> bool {
        self.model.detection.is_some()
    }

    /// Mean days in these stages.
    pub(super) fn days(&self, stages: &[usize]) -> f64 {
        stages.iter().map(|&stage| self.days[stage]).sum()
    }

    pub(super) fn laying(point: &[f64]) -> Recruitment {
        Recruitment { eggs: point[0].exp(), mean_day: point[1], spread: point[2].exp() }
    }

    pub(super) fn hazards_by_stage(&self, point: &[f64]) -> Vec<f64> {
        self.group_of.iter().map(|group| point[LAYING + group].exp()).collect()
    }

    pub(super) fn k(&self, point: &[f64]) -> Option<f64> {
        match self.family(point) {
            Family::Poisson => None,
            Family::Clumped(alpha) => Some(1.0 / alpha),
        }
    }

    /// −ln survival through these stages.
    pub(super) fn lost(&self, point: &[f64], stages: &[usize]) -> f64 {
        stages.iter().map(|&stage| point[LAYING + self.group_of[stage]].exp() * self.days[stage]).sum()
    }

    /// Expected counts by visit and stage.
    pub(super) fn expected(&self, point: &[f64]) -> Vec<Vec<f64>> {
        let cells = self.cells(point);
        let means: Vec<f64> =
            cells.chunks_exact(self.cohorts.width()).zip(&self.scale).map(|(cell, scale)| cell[0] * scale).collect();
        means.chunks_exact(self.stages()).map(<[f64]>::to_vec).collect()
    }

    /// The parameters of greatest likelihood, and minus its logarithm.
    pub(super) fn best(&self) -> (Vec<f64>, f64) {
        let bounds = self.bounds();
        let (point, _) = STARTS
            .into_iter()
            .map(|(spread, hazard)| descend(&mut |point| self.shape(point), &self.start(spread, hazard), &bounds))
            .min_by(|one, other| one.1.total_cmp(&other.1))
            .unwrap_or_else(|| (self.start(8.0, 0.1), f64::INFINITY));
        let loss = self.loss(&point);
        (point, loss)
    }

    /// The same with −ln survival through some stages held at a value.
    pub(super) fn held(&self, near: &[f64], stages: &[usize], target: f64) -> (Vec<f64>, f64) {
        let mut days = vec![0.0; self.groups()];
        for &stage in stages {
            days[self.group_of[stage]] += self.days[stage];
        }
        let mut shape = |point: &[f64]| {
            let (solved, weights) = meeting(point, &days, target);
            along(self.shape(&solved), &weights)
        };
        let (found, _) = descend(&mut shape, near, &self.bounds());
        let (solved, _) = meeting(&found, &days, target);
        let loss = self.loss(&solved);
        (solved, loss)
    }

    fn family(&self, point: &[f64]) -> Family {
        match self.model.scatter {
            Scatter::Poisson => Family::Poisson,
            Scatter::NegativeBinomial => Family::Clumped(point[LAYING + self.groups()].exp()),
        }
    }

    fn bounds(&self) -> Vec<(f64, f64)> {
        let [eggs, spread, alpha] = BOUNDS;
        let mut bounds = vec![eggs, (f64::NEG_INFINITY, f64::INFINITY), spread];
        bounds.extend(vec![(LOWEST_HAZARD.ln(), HIGHEST_HAZARD.ln()); self.groups()]);
        bounds.extend((self.model.scatter == Scatter::NegativeBinomial).then_some(alpha));
        bounds
    }

    fn start(&self, spread: f64, hazard: f64) -> Vec<f64> {
        let totals = self.series.from_stage(0);
        let whole: f64 = totals.iter().sum();
        let centre = self.series.times().iter().zip(&totals).map(|(t, n)| t * n).sum::<f64>() / whole;
        let density = totals.iter().zip(&self.model.effort).map(|(n, e)| n / e).fold(0.0, f64::max);
        let mut start = vec![(density.max(1e-9) * 3.0).ln(), centre - self.days[0], spread.ln()];
        start.extend(vec![hazard.ln(); self.groups()]);
        start.extend((self.model.scatter == Scatter::NegativeBinomial).then_some(-1.0));
        start
    }

    fn cells(&self, point: &[f64]) -> Vec<f64> {
        let hazards: Vec<f64> = point[LAYING..LAYING + self.groups()].iter().map(|hazard| hazard.exp()).collect();
        let mut cells = Vec::new();
        self.cohorts.expected(Self::laying(point), &hazards, &mut cells);
        cells
    }

    /// Minus the log-likelihood, all of it.
    fn loss(&self, point: &[f64]) -> f64 {
        let means: Vec<f64> = self.expected(point).into_iter().flatten().map(|mean| mean.max(LEAST_EXPECTED)).collect();
        -self.family(point).log_likelihood(&self.counts, &means)
    }

    /// Minus the log-likelihood but for a constant, with slope and expected curvature.
    fn shape(&self, point: &[f64]) -> Shape {
        let family = self.family(point);
        let mut shape = Shape::new(point.len());
        let cells = self.cells(point);
        let mut means = Vec::with_capacity(self.counts.len());
        let width = self.cohorts.width();
        // Derivatives by ln eggs (which is the mean itself), mean day, ln spread and the ln hazards stand in this order.
        for ((cell, scale), count) in cells.chunks_exact(width).zip(&self.scale).zip(&self.counts) {
            let mean = (cell[0] * scale).max(LEAST_EXPECTED);
            let inverse = match family {
                Family::Poisson => {
                    shape.loss += mean - count * mean.ln();
                    1.0 / mean
                }
                Family::Clumped(alpha) => 1.0 / (mean * (1.0 + alpha * mean)),
            };
            means.push(mean);
            if mean <= LEAST_EXPECTED {
                continue;
            }
            for (row, one) in cell.iter().enumerate() {
                let one = one * scale;
                shape.slope[row] += one * (mean - count) * inverse;
                for (column, other) in cell[..=row].iter().enumerate() {
                    shape.curve[(row, column)] += one * other * scale * inverse;
                }
            }
        }
        for row in 0..width {
            for column in 0..row {
                shape.curve[(column, row)] = shape.curve[(row, column)];
            }
        }
        if let Family::Clumped(alpha) = family {
            // To the mean, alpha is orthogonal: Lawless JF (1987) Can. J. Stat. 15:209-225.
            let at = |by: f64| -Family::Clumped(alpha * by.exp()).log_likelihood(&self.counts, &means);
            let (below, here, above) = (at(-ALPHA_STEP), at(0.0), at(ALPHA_STEP));
            shape.loss = here;
            shape.slope[width] = (above - below) / (2.0 * ALPHA_STEP);
            shape.curve[(width, width)] = ((above - 2.0 * here + below) / (ALPHA_STEP * ALPHA_STEP)).abs().max(1e-4);
        }
        shape
    }
}

/// The point with the ln hazards of the groups that count (those with days) shifted alike until the sum of hazard × days
/// is the target, none above its bound; and each group's share of what can still be shifted.
fn meeting(point: &[f64], days: &[f64], target: f64) -> (Vec<f64>, Vec<f64>) {
    let mut solved = point.to_vec();
    let mut full = vec![false; days.len()];
    let parts = |solved: &[f64], full: &[bool], wanted: bool| -> f64 {
        (0..days.len())
            .filter(|&group| full[group] == wanted)
            .map(|group| solved[LAYING + group].exp() * days[group])
            .sum()
    };
    for _ in 0..=days.len() {
        let (rest, free) = (target - parts(&solved, &full, true), parts(&solved, &full, false));
        if rest <= 0.0 || free <= 0.0 {
            break;
        }
        let shift = (rest / free).ln();
        let mut none_above = true;
        for group in (0..days.len()).filter(|&group| days[group] > 0.0) {
            if !full[group] {
                solved[LAYING + group] += shift;
                if solved[LAYING + group] > HIGHEST_HAZARD.ln() {
                    solved[LAYING + group] = HIGHEST_HAZARD.ln();
                    full[group] = true;
                    none_above = false;
                }
            }
        }
        if none_above {
            break;
        }
    }
    let free = parts(&solved, &full, false);
    let mut weights = vec![0.0; point.len()];
    for group in (0..days.len()).filter(|&group| !full[group] && free > 0.0) {
        weights[LAYING + group] = solved[LAYING + group].exp() * days[group] / free;
    }
    (solved, weights)
}

/// Slope and curvature along the points that meet the target: a change of one group's hazard shifts all that count back by
/// its weight.
fn along(mut shape: Shape, weights: &[f64]) -> Shape {
    let counts: Vec<usize> = (0..weights.len()).filter(|&index| weights[index] > 0.0).collect();
    let weights = DVector::from_column_slice(weights);
    let pulled: f64 = counts.iter().map(|&index| shape.slope[index]).sum();
    shape.slope -= &weights * pulled;
    let n = weights.len();
    let sums = DVector::from_fn(n, |row, _| counts.iter().map(|&index| shape.curve[(row, index)]).sum::<f64>());
    let whole: f64 = counts.iter().map(|&index| sums[index]).sum();
    shape.curve -= &sums * weights.transpose();
    shape.curve -= &weights * sums.transpose();
    shape.curve += &weights * weights.transpose() * whole;
    shape
}
