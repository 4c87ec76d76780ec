//! Green's coefficient.

use super::{MeanAndVariance, id};
use crate::numeric::at_least;
use crate::{Estimate, Refusal};

/// Green's coefficient.
///
/// (Variance ÷ mean − 1) ÷ (sum − 1): 0 by chance alone, 1 where all animals are on one plant.
///
/// Unit: none. Domain: at least two counts, two animals in all. No interval of its own.
///
/// Source: Green RH (1966) Res. Popul. Ecol. 8:1-7.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn green(counts: &[u32]) -> Result<Estimate, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    at_least(usize::try_from(moments.sum).unwrap_or(usize::MAX), 2)?;
    let value = (moments.variance / moments.mean - 1.0) / (moments.sum as f64 - 1.0);
    Estimate::plain(value, counts.len(), id::GREEN).assuming([id::ASSUMED_NO_INTERVAL]).sound()
}
