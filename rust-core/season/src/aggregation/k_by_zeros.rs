//! k by the share of empty plants.

use super::{Clumping, MeanAndVariance, id};
use crate::Refusal;
use crate::numeric::root;

/// k of a negative binomial from mean and number of zeros: the k for which k · ln(1 + mean ÷ k) = ln(n ÷ zeros).
///
/// Where the zeros are no more than chance alone would leave, no clumping is detected. Unit: none. Domain: at least two
/// counts, some zero and some not.
///
/// Source: Anscombe FJ (1949) Biometrics 5:165-173; Bliss CI, Fisher RA (1953) Biometrics 9:176-200.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero or none is.
pub fn k_by_zeros(counts: &[u32]) -> Result<Clumping, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    let zeros = counts.iter().filter(|&&count| count == 0).count();
    if zeros == 0 {
        return Err(Refusal::NotMet(id::REFUSED_NONE_EMPTY));
    }
    let wanted = (counts.len() as f64 / zeros as f64).ln();
    let log_k = root(-30.0, 25.0, |log_k| log_k.exp() * (moments.mean / log_k.exp()).ln_1p() - wanted);
    Ok(Clumping::new(log_k.map(f64::exp), &moments, id::K_BY_ZEROS))
}
