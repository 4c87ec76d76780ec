//! Counts in brief, and what is said about k.

use super::id;
use crate::{MessageId, Refusal};
use serde::Serialize;

/// Mean and variance of a sample of counts.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct MeanAndVariance {
    /// Number of counts.
    pub n: u64,
    /// Sum of counts.
    pub sum: u64,
    /// Sum ÷ n.
    pub mean: f64,
    /// Squared distances from the mean ÷ (n − 1).
    pub variance: f64,
}

/// What the counts say about k, the clumping of a negative binomial (variance = mean + mean² ÷ k; small k is strong
/// clumping, k without end is chance alone).
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Clumping {
    /// k, or `None` where no clumping was detected: then the Poisson distribution serves.
    pub k: Option<f64>,
    /// Its standard error, where the method has one.
    pub standard_error: Option<f64>,
    /// Lower end of the interval.
    pub low: Option<f64>,
    /// Upper end; `None` where there is none: chance alone is not ruled out.
    pub high: Option<f64>,
    /// Mean of the counts.
    pub mean: f64,
    /// Number of counts.
    pub n: u64,
    /// How it was made.
    pub method: MessageId,
    /// What was taken for true without being known.
    pub assumed: Vec<MessageId>,
}

impl MeanAndVariance {
    /// Of these counts.
    ///
    /// # Errors
    /// [`Refusal::TooFew`] below two counts.
    pub fn of(counts: &[u32]) -> Result<Self, Refusal> {
        crate::numeric::at_least(counts.len(), 2)?;
        let sum: u64 = counts.iter().copied().map(u64::from).sum();
        let n = counts.len() as f64;
        let mean = sum as f64 / n;
        let squares: f64 = counts.iter().map(|&count| (f64::from(count) - mean).powi(2)).sum();
        Ok(Self { n: counts.len() as u64, sum, mean, variance: squares / (n - 1.0) })
    }

    /// The same, refusing samples in which nothing was found.
    ///
    /// # Errors
    /// [`Refusal::TooFew`] below two counts; [`Refusal::NotMet`] if all are zero.
    pub fn of_some_found(counts: &[u32]) -> Result<Self, Refusal> {
        let moments = Self::of(counts)?;
        if moments.sum == 0 { Err(Refusal::NotMet(id::REFUSED_ALL_ZERO)) } else { Ok(moments) }
    }
}

impl Clumping {
    pub(crate) fn new(k: Option<f64>, moments: &MeanAndVariance, method: MessageId) -> Self {
        let k = k.filter(|k| k.is_finite());
        let mut assumed = vec![id::ASSUMED_NEGATIVE_BINOMIAL];
        if k.is_none() {
            assumed.push(id::ASSUMED_NO_CLUMPING_FOUND);
        }
        Self { k, standard_error: None, low: None, high: None, mean: moments.mean, n: moments.n, method, assumed }
    }
}
