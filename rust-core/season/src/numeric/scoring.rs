//! Greatest likelihoods by Fisher's scoring.

use nalgebra::{DMatrix, DVector};

/// Steps of the search; most need a dozen.
const STEPS: usize = 300;
/// The search ends where a step promises to gain less than this share of the loss.
const FINE: f64 = 1e-13;

/// Value, slope and expected curvature of a loss (minus a log-likelihood) at a point.
#[derive(Debug, Clone)]
pub(crate) struct Shape {
    pub(crate) loss: f64,
    pub(crate) slope: DVector<f64>,
    pub(crate) curve: DMatrix<f64>,
}

impl Shape {
    pub(crate) fn new(parameters: usize) -> Self {
        Self { loss: 0.0, slope: DVector::zeros(parameters), curve: DMatrix::zeros(parameters, parameters) }
    }
}

/// The least loss near `start` within bounds and where it is: Fisher's scoring with the damping of Marquardt DW (1963) J.
/// Soc. Indust. Appl. Math. 11:431-441. A parameter at a bound that the slope presses against stands still. Values of the
/// loss that are no numbers count as infinite.
pub(crate) fn descend(shape: &mut dyn FnMut(&[f64]) -> Shape, start: &[f64], bounds: &[(f64, f64)]) -> (Vec<f64>, f64) {
    let within = |point: &[f64]| -> Vec<f64> {
        point.iter().zip(bounds).map(|(value, (low, high))| value.clamp(*low, *high)).collect()
    };
    let mut point = within(start);
    let mut here = shape(&point);
    let mut damping = 1e-3;
    for _ in 0..STEPS {
        let stands = |index: usize| {
            let (value, (low, high), slope) = (point[index], bounds[index], here.slope[index]);
            (value <= low && slope > 0.0) || (value >= high && slope < 0.0)
        };
        let free: Vec<usize> = (0..point.len()).filter(|&index| !stands(index)).collect();
        let Some(step) = step(&here, &free, damping) else { break };
        let promised: f64 = free.iter().zip(step.iter()).map(|(&index, by)| (here.slope[index] * by).abs()).sum();
        let mut next = point.clone();
        for (&index, by) in free.iter().zip(step.iter()) {
            next[index] += by;
        }
        let next = within(&next);
        let there = shape(&next);
        if there.loss < here.loss {
            (point, here) = (next, there);
            damping = (damping * 0.1_f64).max(1e-12);
        } else {
            damping = damping.max(1e-6) * 10.0;
        }
        if promised <= FINE * here.loss.abs().max(1.0) || damping > 1e9 {
            break;
        }
    }
    (point, here.loss)
}

/// The damped step of the free parameters; `None` where none is free or it is no number.
fn step(here: &Shape, free: &[usize], damping: f64) -> Option<DVector<f64>> {
    let widest = free.iter().map(|&index| here.curve[(index, index)]).fold(0.0, f64::max);
    let floor = (widest * 1e-9).max(1e-12);
    let n = free.len();
    let matrix = DMatrix::from_fn(n, n, |row, column| {
        let own = here.curve[(free[row], free[column])];
        if row == column { own + damping * own + floor } else { own }
    });
    let slope = DVector::from_fn(n, |row, _| -here.slope[free[row]]);
    let found = matrix.cholesky()?.solve(&slope);
    (n > 0 && found.iter().all(|value| value.is_finite())).then_some(found)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// A Poisson regression of the counts 2, 3, 6, 7, 8, 9, 10, 12, 15 on nine places from −1 to 1: Dobson AJ (2002) An
    /// Introduction to Generalized Linear Models, section 4.4, places as −1, −1, 0, 0, 0, 0, 1, 1, 1; with the identity link
    /// the printed estimates are 7.45163 and 4.93530.
    #[test]
    fn a_published_regression() {
        let (xs, ys) = ([-1., -1., 0., 0., 0., 0., 1., 1., 1.], [2., 3., 6., 7., 8., 9., 10., 12., 15.]);
        let mut shape = |point: &[f64]| {
            let mut shape = Shape::new(2);
            for (x, y) in xs.iter().zip(ys) {
                let mean: f64 = point[0] + point[1] * x;
                shape.loss += mean - y * mean.ln();
                let by = DVector::from_vec(vec![1.0, *x]);
                shape.slope += &by * (1.0 - y / mean);
                shape.curve += &by * by.transpose() / mean;
            }
            shape
        };
        let (found, _) = descend(&mut shape, &[7.0, 1.0], &[(0.0, 100.0), (-100.0, 100.0)]);
        assert!((found[0] - 7.451_63).abs() < 1e-5 && (found[1] - 4.935_30).abs() < 1e-5, "{found:?}");
    }

    #[test]
    fn a_bound_holds() {
        let mut shape = |point: &[f64]| {
            let mut shape = Shape::new(2);
            shape.loss = (point[0] - 3.0).powi(2) + (point[1] - point[0]).powi(2);
            shape.slope[0] = 2.0 * (point[0] - 3.0) - 2.0 * (point[1] - point[0]);
            shape.slope[1] = 2.0 * (point[1] - point[0]);
            shape.curve = DMatrix::from_row_slice(2, 2, &[4.0, -2.0, -2.0, 2.0]);
            shape
        };
        let (found, loss) = descend(&mut shape, &[0.0, 0.0], &[(-1.0, 1.0), (-9.0, 9.0)]);
        assert!((found[0] - 1.0).abs() < 1e-9 && (found[1] - 1.0).abs() < 1e-6 && (loss - 4.0).abs() < 1e-9);
    }
}
