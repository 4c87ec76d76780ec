//! k by moments.

use super::{Clumping, MeanAndVariance, id};
use crate::Refusal;

/// k of a negative binomial by moments: mean² ÷ (variance − mean), the variance with n − 1.
///
/// Where the variance is no greater than the mean there is no such k: no clumping is detected. Unit: none. Domain: at
/// least two counts, not all zero. Quick and biased where k is small; the likelihood is better.
///
/// Source: Anscombe FJ (1949) Biometrics 5:165-173; Bliss CI, Fisher RA (1953) Biometrics 9:176-200.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn k_by_moments(counts: &[u32]) -> Result<Clumping, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    let beyond = moments.variance - moments.mean;
    let k = (beyond > 0.0).then(|| moments.mean * moments.mean / beyond);
    Ok(Clumping::new(k, &moments, id::K_BY_MOMENTS))
}
