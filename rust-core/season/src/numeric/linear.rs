//! Small linear systems.

use nalgebra::{DMatrix, DVector};

/// A straight line fitted to points.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) struct Fit {
    pub(crate) intercept: f64,
    pub(crate) slope: f64,
    pub(crate) intercept_error: f64,
    pub(crate) slope_error: f64,
    pub(crate) explained: f64,
}

/// Least squares line with weights (all 1 for the plain one); `None` where the xs are all equal.
pub(crate) fn weighted_line(points: &[(f64, f64)], weights: &[f64]) -> Option<Fit> {
    let total: f64 = weights.iter().sum();
    let at = |of: fn(&(f64, f64)) -> f64| points.iter().zip(weights).map(|(p, w)| of(p) * w).sum::<f64>() / total;
    let (x, y) = (at(|p| p.0), at(|p| p.1));
    let of = |f: &dyn Fn(&(f64, f64)) -> f64| points.iter().zip(weights).map(|(p, w)| f(p) * w).sum::<f64>();
    let (xx, xy, yy) = (of(&|p| (p.0 - x).powi(2)), of(&|p| (p.0 - x) * (p.1 - y)), of(&|p| (p.1 - y).powi(2)));
    if xx <= 0.0 || !xx.is_finite() {
        return None;
    }
    let slope = xy / xx;
    let intercept = y - slope * x;
    let residual = (yy - slope * xy).max(0.0) / (points.len() as f64 - 2.0).max(1.0);
    Some(Fit {
        intercept,
        slope,
        intercept_error: (residual * (1.0 / total + x * x / xx)).sqrt(),
        slope_error: (residual / xx).sqrt(),
        explained: if yy > 0.0 { (slope * xy / yy).clamp(0.0, 1.0) } else { 1.0 },
    })
}

/// The x of A·x = b; `None` where A is singular or nearly so.
pub(crate) fn solve(a: &[Vec<f64>], b: &[f64]) -> Option<Vec<f64>> {
    let n = b.len();
    let matrix = DMatrix::from_fn(n, n, |row, column| a[row][column]);
    let found = matrix.lu().solve(&DVector::from_column_slice(b))?;
    found.iter().all(|value| value.is_finite()).then(|| found.iter().copied().collect())
}

/// The inverse; `None` where there is none.
pub(crate) fn invert(a: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = a.len();
    let inverse = DMatrix::from_fn(n, n, |row, column| a[row][column]).try_inverse()?;
    let rows: Vec<Vec<f64>> = (0..n).map(|row| (0..n).map(|column| inverse[(row, column)]).collect()).collect();
    rows.iter().flatten().all(|value| value.is_finite()).then_some(rows)
}

/// Inverse of the matrix of second differences of `f` at its minimum: the large-sample covariance where `f` is a
/// negative log-likelihood. `None` where it is flat or not curved upward in every direction.
pub(crate) fn covariance_at(f: &dyn Fn(&[f64]) -> f64, at: &[f64]) -> Option<Vec<Vec<f64>>> {
    let n = at.len();
    let step: Vec<f64> = at.iter().map(|value| 1e-4 * value.abs().max(1.0)).collect();
    let moved = |changes: &[(usize, f64)]| {
        let mut point = at.to_vec();
        for (index, factor) in changes {
            point[*index] += factor * step[*index];
        }
        f(&point)
    };
    let middle = f(at);
    let second = |i: usize, j: usize| {
        if i == j {
            (moved(&[(i, 1.0)]) - 2.0 * middle + moved(&[(i, -1.0)])) / step[i].powi(2)
        } else {
            let corner = |a: f64, b: f64| moved(&[(i, a), (j, b)]);
            (corner(1.0, 1.0) - corner(1.0, -1.0) - corner(-1.0, 1.0) + corner(-1.0, -1.0)) / (4.0 * step[i] * step[j])
        }
    };
    let hessian = DMatrix::from_fn(n, n, second);
    let scale = (0..n).map(|index| hessian[(index, index)].abs()).fold(0.0, f64::max);
    let least = hessian.clone().symmetric_eigenvalues().iter().copied().fold(f64::INFINITY, f64::min);
    if !(scale.is_finite() && least > 1e-9 * scale) {
        return None;
    }
    let rows: Vec<Vec<f64>> = (0..n).map(|row| (0..n).map(|column| hessian[(row, column)]).collect()).collect();
    invert(&rows)
}

/// Correlation of two lists of equal length; 0 where either is constant.
#[cfg(test)]
fn correlation(xs: &[f64], ys: &[f64]) -> f64 {
    let (mx, my) = (crate::numeric::mean(xs), crate::numeric::mean(ys));
    let xy: f64 = xs.iter().zip(ys).map(|(x, y)| (x - mx) * (y - my)).sum();
    let size = |values: &[f64], m: f64| values.iter().map(|v| (v - m).powi(2)).sum::<f64>().sqrt();
    let below = size(xs, mx) * size(ys, my);
    if below > 0.0 { xy / below } else { 0.0 }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_line_through_points_is_found_and_explains_them() {
        let points: Vec<(f64, f64)> = [(0.0, 1.0), (1.0, 2.9), (2.0, 5.1), (3.0, 7.0)].to_vec();
        let fit = weighted_line(&points, &[1.0; 4]).unwrap();
        assert!((fit.slope - 2.02).abs() < 1e-12 && (fit.intercept - 0.97).abs() < 1e-12);
        let (xs, ys): (Vec<f64>, Vec<f64>) = points.into_iter().unzip();
        assert!((fit.explained - correlation(&xs, &ys).powi(2)).abs() < 1e-12);
        assert!(weighted_line(&[(1.0, 2.0), (1.0, 3.0)], &[1.0; 2]).is_none());
    }

    #[test]
    fn a_singular_system_has_no_solution() {
        assert_eq!(solve(&[vec![1.0, 2.0], vec![2.0, 4.0]], &[1.0, 2.0]), None);
        assert_eq!(solve(&[vec![2.0, 0.0], vec![0.0, 4.0]], &[2.0, 2.0]), Some(vec![1.0, 0.5]));
    }

    #[test]
    fn covariance_of_a_bowl_and_none_on_a_plain() {
        let bowl = |p: &[f64]| p[0] * p[0] + 2.0 * p[1] * p[1] + p[0] * p[1];
        let covariance = covariance_at(&bowl, &[0.0, 0.0]).unwrap();
        assert!((covariance[0][0] - 4.0 / 7.0).abs() < 1e-6 && (covariance[0][1] + 1.0 / 7.0).abs() < 1e-6);
        assert_eq!(covariance_at(&|p: &[f64]| p[0] * p[0], &[0.0, 1.0]), None);
    }
}
