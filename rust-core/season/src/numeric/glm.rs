//! Regression of counts on a log scale.

use super::{least_along, solve};
use nalgebra::DMatrix;
use statrs::function::gamma::ln_gamma;

/// The distribution of the counts.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(crate) enum Family {
    /// Variance = mean.
    Poisson,
    /// Variance = mean + alpha · mean², alpha above 0.
    Clumped(f64),
}

/// A fitted regression.
#[derive(Debug, Clone)]
pub(crate) struct Glm {
    pub(crate) coefficients: Vec<f64>,
    pub(crate) covariance: Vec<Vec<f64>>,
    pub(crate) fitted: Vec<f64>,
}

/// Steps of iteratively reweighted least squares.
const STEPS: usize = 100;

/// ln of the expected count = row · coefficients + offset, by iteratively reweighted least squares: `McCullagh` P, Nelder
/// JA (1989) Generalized Linear Models, 2nd ed., section 2.5. `None` where columns depend on each other or it does not
/// settle, as where a whole cell of the design is empty of animals.
pub(crate) fn glm(rows: &[Vec<f64>], counts: &[f64], offsets: &[f64], family: Family) -> Option<Glm> {
    let columns = rows.first()?.len();
    let mut predicted: Vec<f64> = counts.iter().map(|count| (count + 0.5).ln()).collect();
    let mut coefficients = vec![0.0; columns];
    for step in 0..STEPS {
        let fitted: Vec<f64> = predicted.iter().map(|eta| eta.exp()).collect();
        let mut cross = vec![vec![0.0; columns]; columns];
        let mut right = vec![0.0; columns];
        for (index, row) in rows.iter().enumerate() {
            let weight = weight(fitted[index], family);
            let working = predicted[index] - offsets[index] + (counts[index] - fitted[index]) / fitted[index];
            for (i, a) in row.iter().enumerate().filter(|(_, a)| **a != 0.0) {
                right[i] += weight * a * working;
                for (j, b) in row.iter().enumerate() {
                    cross[i][j] += weight * a * b;
                }
            }
        }
        let next = solve(&cross, &right)?;
        let moved = next.iter().zip(&coefficients).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        coefficients = next;
        predicted = rows
            .iter()
            .zip(offsets)
            .map(|(row, offset)| row.iter().zip(&coefficients).map(|(a, b)| a * b).sum::<f64>() + offset)
            .collect();
        if predicted.iter().any(|eta| !eta.is_finite() || eta.abs() > 60.0) {
            return None;
        }
        if moved < 1e-11 && step > 0 {
            let fitted: Vec<f64> = predicted.iter().map(|eta| eta.exp()).collect();
            return Some(Glm { covariance: inverse(&cross)?, coefficients, fitted });
        }
    }
    None
}

/// The alpha of greatest likelihood, the coefficients being fitted anew for each; `None` where that is 0: Poisson.
pub(crate) fn alpha_by_likelihood(rows: &[Vec<f64>], counts: &[f64], offsets: &[f64]) -> Option<f64> {
    let loss = |log_alpha: f64| {
        let family = Family::Clumped(log_alpha.exp());
        glm(rows, counts, offsets, family).map_or(f64::INFINITY, |fit| -family.log_likelihood(counts, &fit.fitted))
    };
    let log_alpha = least_along(-12.0, 5.0, loss);
    let poisson = glm(rows, counts, offsets, Family::Poisson)?;
    let plain = -Family::Poisson.log_likelihood(counts, &poisson.fitted);
    (log_alpha > -11.0 && loss(log_alpha) < plain - 1e-9).then(|| log_alpha.exp())
}

impl Family {
    /// Log-likelihood of counts with these expected values.
    pub(crate) fn log_likelihood(self, counts: &[f64], fitted: &[f64]) -> f64 {
        counts
            .iter()
            .zip(fitted)
            .map(|(&y, &m)| match self {
                Self::Poisson => y * m.ln() - m - ln_gamma(y + 1.0),
                Self::Clumped(alpha) => {
                    let k = 1.0 / alpha;
                    ln_gamma(y + k) - ln_gamma(k) - ln_gamma(y + 1.0) - k * (m / k).ln_1p() + y * (m / (k + m)).ln()
                }
            })
            .sum()
    }
}

fn weight(fitted: f64, family: Family) -> f64 {
    match family {
        Family::Poisson => fitted,
        Family::Clumped(alpha) => fitted / (1.0 + alpha * fitted),
    }
}

/// Inverse of a matrix of products, refused where a column all but depends on the others.
fn inverse(cross: &[Vec<f64>]) -> Option<Vec<Vec<f64>>> {
    let n = cross.len();
    let scaled =
        DMatrix::from_fn(n, n, |i, j| cross[i][j] / (cross[i][i].max(1e-300).sqrt() * cross[j][j].max(1e-300).sqrt()));
    let least = scaled.symmetric_eigenvalues().iter().copied().fold(f64::INFINITY, f64::min);
    if least.is_nan() || least < 1e-10 { None } else { super::invert(cross) }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn one_constant_finds_the_log_of_the_mean() {
        let fit = glm(&vec![vec![1.0]; 3], &[1.0, 2.0, 6.0], &[0.0; 3], Family::Poisson).unwrap();
        assert!((fit.coefficients[0] - 3.0_f64.ln()).abs() < 1e-12);
        assert!((fit.covariance[0][0] - 1.0 / 9.0).abs() < 1e-12);
    }

    #[test]
    fn columns_that_depend_on_each_other_are_refused() {
        let rows = vec![vec![1.0, 2.0], vec![1.0, 2.0], vec![1.0, 2.0]];
        assert!(glm(&rows, &[1.0, 2.0, 3.0], &[0.0; 3], Family::Poisson).is_none());
    }
}
