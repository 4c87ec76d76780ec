//! The likeliest k of a negative binomial, without an interval.

use super::id;
use crate::Refusal;
use statrs::function::gamma::{digamma, ln_gamma};

/// ln k is looked for between these.
pub(super) const LOG_K: (f64, f64) = (-16.0, 16.0);
/// Gaps between counts up to this are summed term by term, larger ones by the digamma function.
const TERM_BY_TERM: u32 = 4096;
/// Counts below this are sorted by counting them.
const DENSE: usize = 4096;
/// Steps of the search: Newton's need about six, halving the bracket to the spacing of doubles about sixty.
const STEPS: u32 = 120;

/// Finds the likeliest k of one sample after the other and keeps its memory between them, as a bootstrap wants it.
///
/// The slope of the log-likelihood along k, the mean at its own estimate, is the sum over j ≥ 0 of (units with more than
/// j) ÷ (k + j) − n · ln(1 + mean ÷ k); k is where it is zero, by Newton's method on ln k from the moment estimate, held
/// in a bracket. The work is proportional to the number of different counts, not to the units, once these are sorted.
///
/// Sources: Fisher RA (1941) Ann. Eugenics 11:182-187; Bliss CI, Fisher RA (1953) Biometrics 9:176-200.
#[derive(Debug, Clone, Default)]
pub struct LikeliestK {
    often: Vec<u32>,
    sorted: Vec<u32>,
    sums: Sums,
}

/// A sample in brief: enough for the likelihood of every k.
#[derive(Debug, Clone, Default)]
pub(super) struct Sums {
    /// Rising counts, each with how many units hold at least so many.
    steps: Vec<(u32, f64)>,
    n: f64,
    sum: f64,
    mean: f64,
    /// Mean of squared distances from the mean.
    spread: f64,
}

impl LikeliestK {
    /// k of these counts; `None` at the boundary where chance alone explains them, which is where their variance (with
    /// n) does not exceed the mean, or k above e^16.
    ///
    /// Unit: none. Domain: at least two counts, not all zero.
    ///
    /// # Errors
    /// [`Refusal::TooFew`] below two counts; [`Refusal::NotMet`] if all are zero.
    pub fn of(&mut self, counts: impl Iterator<Item = u32> + Clone) -> Result<Option<f64>, Refusal> {
        self.take_in(counts)?;
        Ok(self.sums.likeliest())
    }

    /// The sample's sums and its likeliest k.
    pub(super) fn with_sums(&mut self, counts: &[u32]) -> Result<(&Sums, Option<f64>), Refusal> {
        self.take_in(counts.iter().copied())?;
        let k = self.sums.likeliest();
        Ok((&self.sums, k))
    }

    fn take_in(&mut self, counts: impl Iterator<Item = u32> + Clone) -> Result<(), Refusal> {
        let (mut n, mut sum, mut most) = (0_usize, 0_u64, 0_u32);
        for count in counts.clone() {
            n += 1;
            sum += u64::from(count);
            most = most.max(count);
        }
        crate::numeric::at_least(n, 2)?;
        if sum == 0 {
            return Err(Refusal::NotMet(id::REFUSED_ALL_ZERO));
        }
        let sums = &mut self.sums;
        (sums.n, sums.sum) = (n as f64, sum as f64);
        sums.mean = sums.sum / sums.n;
        sums.steps.clear();
        let mut squares = 0.0;
        let mut left = n as f64;
        let mut step = |count: u32, units: f64, squares: &mut f64| {
            *squares += units * (f64::from(count) - sums.mean).powi(2);
            if count > 0 {
                sums.steps.push((count, left));
            }
            left -= units;
        };
        let top = most as usize;
        if top < DENSE {
            self.often.clear();
            self.often.resize(top + 1, 0);
            for count in counts {
                self.often[count as usize] += 1;
            }
            for (count, &units) in (0_u32..).zip(&self.often).filter(|(_, units)| **units > 0) {
                step(count, f64::from(units), &mut squares);
            }
        } else {
            self.sorted.clear();
            self.sorted.extend(counts);
            self.sorted.sort_unstable();
            for same in self.sorted.chunk_by(|one, other| one == other) {
                step(same[0], same.len() as f64, &mut squares);
            }
        }
        sums.spread = squares / sums.n;
        Ok(())
    }
}

impl Sums {
    fn likeliest(&self) -> Option<f64> {
        if self.spread <= self.mean {
            return None;
        }
        // The slope is above 0 for small k and below 0 beyond the greatest likelihood, but rounding blurs it for huge k.
        let start = (self.mean * self.mean / (self.spread - self.mean)).ln().clamp(LOG_K.0, LOG_K.1);
        let (mut low, mut high) = self.bracket(start)?;
        let mut log_k = start.clamp(low, high);
        for _ in 0..STEPS {
            let (slope, change) = self.slope(log_k.exp());
            if slope > 0.0 {
                low = log_k;
            } else {
                high = log_k;
            }
            let newton = log_k - slope / change;
            let still = 4.0 * f64::EPSILON * log_k.abs().max(1.0);
            if slope == 0.0 || high - low <= still || (change < 0.0 && (newton - log_k).abs() <= still) {
                break;
            }
            log_k = if change < 0.0 && newton > low && newton < high { newton } else { f64::midpoint(low, high) };
        }
        Some(log_k.exp())
    }

    /// Ends of ln k with the slope above 0 at the first and below 0 at the second; `None` where it is below 0 nowhere.
    fn bracket(&self, start: f64) -> Option<(f64, f64)> {
        let below = |log_k: f64| self.slope(log_k.exp()).0 < 0.0;
        let mut reach = 0.5;
        if below(start) {
            let mut low = start;
            while low > LOG_K.0 && below(low) {
                low = (low - reach).max(LOG_K.0);
                reach *= 2.0;
            }
            return Some((low, start));
        }
        let mut high = start;
        while high < LOG_K.1 {
            high = (high + reach).min(LOG_K.1);
            reach *= 2.0;
            if below(high) {
                return Some((start, high));
            }
        }
        None
    }

    /// k times the slope of the log-likelihood along k, and its change along ln k.
    fn slope(&self, k: f64) -> (f64, f64) {
        let (mut first, mut second) = (0.0, 0.0);
        let mut from = 0_u32;
        for &(count, units) in &self.steps {
            if count - from > TERM_BY_TERM {
                first += units * (digamma(k + f64::from(count)) - digamma(k + f64::from(from)));
            } else {
                for j in from..count {
                    first += units / (k + f64::from(j));
                }
            }
            second += units * squares(from, count, k);
            from = count;
        }
        let slope = first - self.n * (self.mean / k).ln_1p();
        let curve = second - self.n * self.mean / (k * (k + self.mean));
        (k * slope, k * slope - k * k * curve)
    }

    /// Minus the second derivative of the log-likelihood along k.
    pub(super) fn curvature(&self, k: f64) -> f64 {
        let mut from = 0_u32;
        let mut total = 0.0;
        for &(count, units) in &self.steps {
            total += units * squares(from, count, k);
            from = count;
        }
        total - self.n * self.mean / (k * (k + self.mean))
    }

    /// Log-likelihood, the mean at its estimate, but for a term that does not depend on k; `None` is chance alone.
    pub(super) fn log_likelihood(&self, k: Option<f64>) -> f64 {
        let Some(k) = k else { return self.sum * (self.mean.ln() - 1.0) };
        let mut from = 0_u32;
        let mut total = 0.0;
        for &(count, units) in &self.steps {
            total += units
                * if count - from > TERM_BY_TERM {
                    let gap = f64::from(count - from);
                    ln_gamma(k + f64::from(count)) - ln_gamma(k + f64::from(from)) - gap * (k + self.mean).ln()
                } else {
                    (from..count).map(|j| ((f64::from(j) - self.mean) / (k + self.mean)).ln_1p()).sum::<f64>()
                };
            from = count;
        }
        total - self.n * k * (self.mean / k).ln_1p() + self.sum * self.mean.ln()
    }
}

/// Sum of 1 ÷ (k + j)² over j from the one count to below the other; beyond a few thousand terms by the integral.
fn squares(from: u32, count: u32, k: f64) -> f64 {
    let stop = count.min(from.saturating_add(TERM_BY_TERM));
    let mut total = 0.0;
    for j in from..stop {
        let at = k + f64::from(j);
        total += 1.0 / (at * at);
    }
    total + 1.0 / (k + f64::from(stop) - 0.5) - 1.0 / (k + f64::from(count) - 0.5)
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::numeric::root;
    use proptest::prelude::*;

    /// The likelihood equation as it is printed, solved by halving.
    fn by_halving(counts: &[u32]) -> Option<f64> {
        let n = counts.len() as f64;
        let mean = counts.iter().map(|&count| f64::from(count)).sum::<f64>() / n;
        let slope = |log_k: f64| {
            let k = log_k.exp();
            let each = |&count: &u32| (0..count).map(|j| 1.0 / (k + f64::from(j))).sum::<f64>();
            counts.iter().map(each).sum::<f64>() - n * (mean / k).ln_1p()
        };
        root(LOG_K.0, 9.0, slope).map(f64::exp)
    }

    proptest! {
        #[test]
        fn newton_and_halving_agree(counts in prop::collection::vec(prop_oneof![3 => Just(0_u32), 2 => 1_u32..4, 1 => 4_u32..90], 4..120)) {
            let found = LikeliestK::default().of(counts.iter().copied());
            if let (Ok(Some(k)), Some(wanted)) = (found, by_halving(&counts)) {
                prop_assert!((k - wanted).abs() <= 1e-6 * wanted, "{k} is not {wanted}");
            }
        }

        /// What was fitted before leaves no trace.
        #[test]
        fn memory_is_kept_but_not_the_sample(
            first in prop::collection::vec(0_u32..9_000, 2..30),
            second in prop::collection::vec(0_u32..9, 2..30),
        ) {
            let mut kept = LikeliestK::default();
            let _ = kept.of(first.iter().copied());
            prop_assert_eq!(kept.of(second.iter().copied()), LikeliestK::default().of(second.iter().copied()));
        }
    }
}
