//! How counts scatter around their mean.

use crate::Refusal;
use serde::Serialize;

/// Taylor's power law: variance = a × mean to the power of b (Taylor LR 1961, Nature 189:732-735).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Taylor {
    /// Factor, above 0.
    pub a: f64,
    /// Exponent, above 0.
    pub b: f64,
}

/// Iwao's regression: mean crowding = α + β × mean (Iwao S 1968, Res. Popul. Ecol. 10:1-20).
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Iwao {
    /// Crowding at the mean 0, above −1.
    pub alpha: f64,
    /// How crowding grows with the mean, above 0.
    pub beta: f64,
}

/// The variance of counts, given their mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Scatter {
    /// Variance = mean.
    Poisson,
    /// Variance = mean + mean² ÷ k.
    NegativeBinomial {
        /// Aggregation, above 0; the smaller, the more clumped.
        k: f64,
    },
    /// Taylor's power law.
    Taylor(Taylor),
    /// Iwao's regression: variance = (α + 1) × mean + (β − 1) × mean².
    Iwao(Iwao),
}

impl Taylor {
    pub(super) fn check(self) -> Result<(), Refusal> {
        if (1e-9..=1e9).contains(&self.a) && (1e-3..=10.0).contains(&self.b) {
            Ok(())
        } else {
            Err(Refusal::NotANumber)
        }
    }
}

impl Iwao {
    pub(super) fn check(self) -> Result<(), Refusal> {
        let possible = self.alpha > -1.0 && self.alpha <= 1e9 && (1e-9..=1e9).contains(&self.beta);
        if possible { Ok(()) } else { Err(Refusal::NotANumber) }
    }
}

impl Scatter {
    /// Variance of single counts with this mean.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] unless the mean is above 0 to 10⁶, for parameters outside their range, and where Iwao's
    /// regression has no variance above 0 at this mean.
    pub fn variance(self, mean: f64) -> Result<f64, Refusal> {
        if !(1e-9..=1e6).contains(&mean) {
            return Err(Refusal::NotANumber);
        }
        let variance = match self {
            Self::Poisson => mean,
            Self::NegativeBinomial { k } => {
                if !(1e-6..=1e12).contains(&k) {
                    return Err(Refusal::NotANumber);
                }
                mean + mean * mean / k
            }
            Self::Taylor(law) => {
                law.check()?;
                law.a * mean.powf(law.b)
            }
            Self::Iwao(line) => {
                line.check()?;
                (line.alpha + 1.0) * mean + (line.beta - 1.0) * mean * mean
            }
        };
        if variance.is_finite() && variance > 0.0 { Ok(variance) } else { Err(Refusal::NotANumber) }
    }

    /// The k of the negative binomial with the same mean and variance; `None` where counts scatter no more than by pure
    /// chance.
    ///
    /// # Errors
    /// As [`Scatter::variance`].
    pub fn aggregation(self, mean: f64) -> Result<Option<f64>, Refusal> {
        let more = self.variance(mean)? - mean;
        Ok((more > 1e-12 * mean).then(|| mean * mean / more))
    }
}
