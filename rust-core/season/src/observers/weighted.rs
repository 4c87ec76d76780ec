//! Weighted kappa.

use super::{Table, id};
use crate::numeric::normal_two_sided;
use crate::{Estimate, Level, Refusal};
use serde::Serialize;

/// How much two different classes count as agreement.
#[derive(Debug, Clone, PartialEq)]
pub enum Weights {
    /// Not at all.
    None,
    /// The less, the more steps lie between them: 1 − steps ÷ (classes − 1).
    Linear,
    /// 1 − (steps ÷ (classes − 1))².
    Quadratic,
    /// As given: 1 on the diagonal, 0 to 1 elsewhere.
    Given(Vec<Vec<f64>>),
}

/// A kappa and its test.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Kappa {
    /// Kappa, with its large-sample error and interval.
    pub kappa: Estimate,
    /// Standard error if observers agree by chance only.
    pub error_by_chance: f64,
    /// Kappa ÷ that error.
    pub z: f64,
    /// Chance of a |z| at least so large by chance only.
    pub p: f64,
}

/// Weighted kappa: agreement of two observers beyond chance, near classes counting in part.
///
/// With agreement weights w, shares p of the table and margins r, c: pₒ = sum of w p, pₑ = sum of w r c, kappa =
/// (pₒ − pₑ) ÷ (1 − pₑ). Its variance is (sum of p (w − (w̄ᵣ + w̄꜀)(1 − κ))² − (κ − pₑ (1 − κ))²) ÷ (n (1 − pₑ)²), w̄
/// being the mean weights of a row under the other's margins; by chance only (sum of r c (w − w̄ᵣ − w̄꜀)² − pₑ²) ÷
/// (n (1 − pₑ)²). Linear or quadratic weights suit ordered classes such as egg, larva 1 … larva 5.
///
/// Unit: none; 1 is full agreement, 0 chance. Domain: things judged each for itself, both observers using more than one
/// class between them; the interval is a large-sample one and cut to −1 and 1.
///
/// Source: Cohen J (1968) Psychol. Bull. 70:213-220; errors Fleiss JL, Cohen J, Everitt BS (1969) Psychol. Bull.
/// 72:323-327.
///
/// # Errors
/// [`Refusal::NotMet`] if all things are of one class, or given weights have another shape; [`Refusal::NotANumber`].
pub fn weighted_kappa(table: &Table, weights: &Weights, level: Level) -> Result<Kappa, Refusal> {
    let classes = table.classes();
    let weights = weights.matrix(classes)?;
    let (rows, columns) = (table.first(), table.second());
    let cells = || (0..classes).flat_map(move |i| (0..classes).map(move |j| (i, j)));
    let observed: f64 = cells().map(|(i, j)| weights[i][j] * table.share(i, j)).sum();
    let expected: f64 = cells().map(|(i, j)| weights[i][j] * rows[i] * columns[j]).sum();
    if 1.0 - expected < 1e-12 {
        return Err(Refusal::NotMet(id::REFUSED_ONE_CLASS));
    }
    let kappa = (observed - expected) / (1.0 - expected);
    let of_row: Vec<f64> = (0..classes).map(|i| (0..classes).map(|j| weights[i][j] * columns[j]).sum()).collect();
    let of_column: Vec<f64> = (0..classes).map(|j| (0..classes).map(|i| weights[i][j] * rows[i]).sum()).collect();
    let below = table.total() * (1.0 - expected).powi(2);
    let spread: f64 = cells()
        .map(|(i, j)| table.share(i, j) * (weights[i][j] - (of_row[i] + of_column[j]) * (1.0 - kappa)).powi(2))
        .sum();
    let error = ((spread - (kappa - expected * (1.0 - kappa)).powi(2)).max(0.0) / below).sqrt();
    let by_chance: f64 =
        cells().map(|(i, j)| rows[i] * columns[j] * (weights[i][j] - of_row[i] - of_column[j]).powi(2)).sum();
    let error_by_chance = ((by_chance - expected * expected).max(0.0) / below).sqrt();
    let z = if error_by_chance > 0.0 { kappa / error_by_chance } else { 0.0 };
    let n = whole(table.total());
    let kappa = Estimate::plain(kappa, n, id::WEIGHTED_KAPPA)
        .sound()?
        .normal(error, level)
        .within(-1.0, 1.0)
        .assuming([id::ASSUMED_ANIMALS_JUDGED_SINGLY]);
    Ok(Kappa { kappa, error_by_chance, z, p: normal_two_sided(z) })
}

impl Weights {
    fn matrix(&self, classes: usize) -> Result<Vec<Vec<f64>>, Refusal> {
        let by_steps = |of: fn(f64) -> f64| {
            let far = (classes - 1) as f64;
            (0..classes).map(|i| (0..classes).map(|j| of(i.abs_diff(j) as f64 / far)).collect()).collect()
        };
        match self {
            Self::None => Ok(by_steps(|steps| f64::from(u8::from(steps == 0.0)))),
            Self::Linear => Ok(by_steps(|steps| 1.0 - steps)),
            Self::Quadratic => Ok(by_steps(|steps| 1.0 - steps * steps)),
            Self::Given(rows) if rows.len() != classes || rows.iter().any(|row| row.len() != classes) => {
                Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE))
            }
            Self::Given(rows) if rows.iter().flatten().any(|weight| !(0.0..=1.0).contains(weight)) => {
                Err(Refusal::NotANumber)
            }
            Self::Given(rows) => Ok(rows.clone()),
        }
    }
}

/// A total as a number of things.
#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "tables hold finite values of 0 or more")]
pub(crate) fn whole(total: f64) -> usize {
    total.round() as usize
}
