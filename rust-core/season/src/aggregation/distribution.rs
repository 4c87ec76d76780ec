//! The distribution of counts: negative binomial, or Poisson where k is without end.

use super::id;
use crate::Refusal;
use statrs::function::gamma::ln_gamma;

/// Negative binomial with this mean and k; Poisson where `k` is `None`.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct Distribution {
    mean: f64,
    k: Option<f64>,
}

/// Beyond this k the two distributions cannot be told apart in double precision.
const AS_GOOD_AS_POISSON: f64 = 1e10;

impl Distribution {
    /// With mean ≥ 0 animals per unit and k > 0, or `None` for Poisson.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] for a mean that is no number of 0 or more; [`Refusal::NotMet`] for a k not above 0.
    pub fn new(mean: f64, k: Option<f64>) -> Result<Self, Refusal> {
        if !(mean.is_finite() && mean >= 0.0) {
            return Err(Refusal::NotANumber);
        }
        match k {
            Some(k) if k > 0.0 => Ok(Self { mean, k: Some(k).filter(|&k| k < AS_GOOD_AS_POISSON) }),
            Some(_) => Err(Refusal::NotMet(id::REFUSED_K_NOT_POSITIVE)),
            None => Ok(Self { mean, k: None }),
        }
    }

    /// Natural logarithm of the chance of a count: Γ(k + x) ÷ (Γ(k) x!) · (k ÷ (k + m))^k · (m ÷ (k + m))^x, or
    /// e^−m · m^x ÷ x!. Minus infinity for a count above 0 where the mean is 0.
    pub fn log_chance(&self, count: u32) -> f64 {
        let x = f64::from(count);
        if self.mean == 0.0 {
            return if count == 0 { 0.0 } else { f64::NEG_INFINITY };
        }
        match self.k {
            None => x * self.mean.ln() - self.mean - ln_gamma(x + 1.0),
            Some(k) => {
                log_rising(k, count) - ln_gamma(x + 1.0) - k * (self.mean / k).ln_1p()
                    + x * (self.mean.ln() - (k + self.mean).ln())
            }
        }
    }

    /// Sum of [`Self::log_chance`].
    pub fn log_likelihood(&self, counts: &[u32]) -> f64 {
        counts.iter().map(|&count| self.log_chance(count)).sum()
    }

    /// Chance of a count.
    pub fn chance(&self, count: u32) -> f64 {
        self.log_chance(count).exp()
    }
}

/// ln of k · (k + 1) · … · (k + count − 1); term by term where the gamma function would lose digits.
fn log_rising(k: f64, count: u32) -> f64 {
    if count <= 64 || (k > 1e4 && count <= 4096) {
        (0..count).map(|j| (k + f64::from(j)).ln()).sum()
    } else {
        ln_gamma(k + f64::from(count)) - ln_gamma(k)
    }
}
