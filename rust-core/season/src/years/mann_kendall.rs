//! Mann-Kendall test.

use super::id;
use crate::numeric::{all_finite, at_least, normal_two_sided};
use crate::{MessageId, Refusal};
use serde::Serialize;

/// The test's numbers.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct MannKendall {
    /// Later pairs that are higher − those that are lower.
    pub s: i64,
    /// Variance of S by chance, ties taken into account.
    pub variance: f64,
    /// S, one nearer to 0, ÷ √variance.
    pub z: f64,
    /// Two-sided: exact for up to ten values, normal beyond.
    pub p: f64,
    /// Whether p is exact.
    pub exact: bool,
    /// S ÷ number of pairs.
    pub tau: f64,
    /// The same with ties taken into account.
    pub tau_b: f64,
    /// Number of values.
    pub n: u64,
    /// How it was made.
    pub method: MessageId,
    /// What was taken for true without being known.
    pub assumed: Vec<MessageId>,
}

/// Up to this many values p is exact.
const EXACT: usize = 10;

/// Mann-Kendall test of values in order of time.
///
/// S = sum over pairs of the sign of (later − earlier). Variance = (n (n − 1)(2n + 5) − sum over ties of t (t − 1)(2t + 5))
/// ÷ 18. z = (S ∓ 1) ÷ √variance. For n ≤ 10 p is exact: the share of all orders of the same values with an |S| at least
/// so large, counted by the q-multinomial coefficient; with 4 values it cannot fall below 0.083.
///
/// Unit: none. Domain: at least three values, not all equal. Values that depend on their predecessor make p too small.
///
/// Sources: Mann HB (1945) Econometrica 13:245-259; Kendall MG (1975) Rank Correlation Methods, 4th ed.; counting of
/// orders `MacMahon` PA (1913) Am. J. Math. 35:281-322.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`]; [`Refusal::NoVariance`] if all are equal.
pub fn mann_kendall(values: &[f64]) -> Result<MannKendall, Refusal> {
    at_least(values.len(), 3)?;
    all_finite(values)?;
    let n = values.len();
    let mut s = 0_i64;
    for (index, earlier) in values.iter().enumerate() {
        for later in &values[index + 1..] {
            s += i64::from(later > earlier) - i64::from(later < earlier);
        }
    }
    let ties = ties(values);
    let triple = |t: f64| t * (t - 1.0) * (2.0 * t + 5.0);
    let variance = (triple(n as f64) - ties.iter().map(|&t| triple(t as f64)).sum::<f64>()) / 18.0;
    if variance <= 0.0 {
        return Err(Refusal::NoVariance);
    }
    let z = (s - s.signum()) as f64 / variance.sqrt();
    let pairs = n as f64 * (n as f64 - 1.0) / 2.0;
    let equal_pairs: f64 = ties.iter().map(|&t| t as f64 * (t as f64 - 1.0) / 2.0).sum();
    let exact = n <= EXACT;
    Ok(MannKendall {
        s,
        variance,
        z,
        p: if exact { exact_p(n, &ties, s) } else { normal_two_sided(z) },
        exact,
        tau: s as f64 / pairs,
        tau_b: s as f64 / (pairs * (pairs - equal_pairs)).sqrt(),
        n: n as u64,
        method: id::MANN_KENDALL,
        assumed: vec![id::ASSUMED_YEARS_INDEPENDENT],
    })
}

/// Sizes of the groups of equal values, singles included.
pub(super) fn ties(values: &[f64]) -> Vec<usize> {
    let mut sorted = values.to_vec();
    sorted.sort_by(f64::total_cmp);
    sorted.chunk_by(|one, other| one.total_cmp(other).is_eq() || (one - other).abs() <= 0.0).map(<[f64]>::len).collect()
}

/// Share of all orders with an |S| at least that of `s`.
fn exact_p(n: usize, ties: &[usize], s: i64) -> f64 {
    // Orders by number of inversions: [n]! ÷ product of [t]!, [m]! being the product of 1 + q + … + q^(i − 1).
    let mut orders = vec![1.0];
    for i in 2..=n {
        orders = times(&orders, i);
    }
    for &tie in ties {
        for i in 2..=tie {
            orders = divided(&orders, i);
        }
    }
    let most = orders.len() - 1;
    let whole: f64 = orders.iter().sum();
    let extreme: f64 = orders
        .iter()
        .enumerate()
        .filter(|(lower, _)| most.abs_diff(2 * lower) as u64 >= s.unsigned_abs())
        .map(|(_, count)| count)
        .sum();
    (extreme / whole).min(1.0)
}

fn times(polynomial: &[f64], terms: usize) -> Vec<f64> {
    let mut product = vec![0.0; polynomial.len() + terms - 1];
    for (power, value) in polynomial.iter().enumerate() {
        for shift in 0..terms {
            product[power + shift] += value;
        }
    }
    product
}

fn divided(polynomial: &[f64], terms: usize) -> Vec<f64> {
    let mut quotient = vec![0.0; polynomial.len() + 1 - terms];
    for power in 0..quotient.len() {
        let taken: f64 = (1..terms.min(power + 1)).map(|shift| quotient[power - shift]).sum();
        quotient[power] = polynomial[power] - taken;
    }
    quotient
}
