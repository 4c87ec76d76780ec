//! Chance alone, or clumped?

use super::{Distribution, MeanAndVariance, k_profile};
use crate::Refusal;
use crate::numeric::chi_squared_above;
use serde::Serialize;

/// The Poisson distribution against the negative binomial.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct PoissonOrClumped {
    /// Log-likelihood with Poisson.
    pub log_likelihood_poisson: f64,
    /// Log-likelihood with the negative binomial; the same where no clumping was detected.
    pub log_likelihood_clumped: f64,
    /// Twice their difference.
    pub statistic: f64,
    /// Chance of a statistic at least so large under Poisson.
    pub p: f64,
}

/// Likelihood ratio test of Poisson against negative binomial.
///
/// Poisson lies on the edge of the negative binomials (k without end), so under it the statistic is 0 half of the time
/// and chi-squared with 1 degree otherwise: p is half the chi-squared tail, and 1 where no clumping is detected.
///
/// Unit: none. Domain: at least two counts, not all zero; p rests on many counts.
///
/// Source: Self SG, Liang KY (1987) J. Am. Stat. Assoc. 82:605-610; Lawless JF (1987) Can. J. Stat. 15:209-225.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn poisson_or_clumped(counts: &[u32]) -> Result<PoissonOrClumped, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    let of = |k| Distribution::new(moments.mean, k).map(|distribution| distribution.log_likelihood(counts));
    let poisson = of(None)?;
    let clumped = of(k_profile(counts)?)?.max(poisson);
    let statistic = 2.0 * (clumped - poisson);
    let p = if statistic > 0.0 { chi_squared_above(statistic, 1.0) / 2.0 } else { 1.0 };
    Ok(PoissonOrClumped { log_likelihood_poisson: poisson, log_likelihood_clumped: clumped, statistic, p })
}
