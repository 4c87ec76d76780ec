//! Lloyd's mean crowding and patchiness.

use super::{MeanAndVariance, id};
use crate::{Estimate, Refusal};

/// Mean crowding: how many others share its plant with an animal, on average. Mean + variance ÷ mean − 1.
///
/// Unit: animals. Domain: at least two counts, not all zero. No interval of its own.
///
/// Source: Lloyd M (1967) J. Anim. Ecol. 36:1-30.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn mean_crowding(counts: &[u32]) -> Result<Estimate, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    let value = moments.mean + moments.variance / moments.mean - 1.0;
    Estimate::plain(value, counts.len(), id::MEAN_CROWDING).assuming([id::ASSUMED_NO_INTERVAL]).sound()
}

/// Patchiness: [`mean_crowding`] ÷ mean. 1 by chance alone, 1 + 1 ÷ k for a negative binomial.
///
/// Unit: none. Domain, source and errors as for [`mean_crowding`].
///
/// # Errors
/// As for [`mean_crowding`].
pub fn patchiness(counts: &[u32]) -> Result<Estimate, Refusal> {
    let crowding = mean_crowding(counts)?;
    let mean = MeanAndVariance::of_some_found(counts)?.mean;
    Estimate { value: crowding.value / mean, method: id::PATCHINESS, ..crowding }.sound()
}
