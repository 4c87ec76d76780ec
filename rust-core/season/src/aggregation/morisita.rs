//! Morisita's index.

use super::{MeanAndVariance, id};
use crate::numeric::at_least;
use crate::{Estimate, Refusal};

/// Morisita's index.
///
/// n × sum of x(x − 1) ÷ (total × (total − 1)): how much likelier two animals share a plant than by chance alone (1).
///
/// Unit: none. Domain: at least two counts, two animals in all. No interval of its own.
///
/// Source: Morisita M (1959) Mem. Fac. Sci. Kyushu Univ. E 2:215-235.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn morisita(counts: &[u32]) -> Result<Estimate, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    at_least(usize::try_from(moments.sum).unwrap_or(usize::MAX), 2)?;
    let value = {
        let pairs: f64 = counts.iter().map(|&x| f64::from(x) * (f64::from(x) - 1.0)).sum();
        let total = moments.sum as f64;
        counts.len() as f64 * pairs / (total * (total - 1.0))
    };
    Estimate::plain(value, counts.len(), id::MORISITA).assuming([id::ASSUMED_NO_INTERVAL]).sound()
}
