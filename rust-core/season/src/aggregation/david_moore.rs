//! David and Moore's index of clumping.

use super::{MeanAndVariance, id};
use crate::numeric::at_least;
use crate::{Estimate, Refusal};

/// David and Moore's index of clumping.
///
/// Variance ÷ mean − 1: 0 by chance alone.
///
/// Unit: animals. Domain: at least two counts, one animal in all. No interval of its own.
///
/// Source: David FN, Moore PG (1954) Ann. Bot. 18:47-53.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn david_moore(counts: &[u32]) -> Result<Estimate, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    at_least(usize::try_from(moments.sum).unwrap_or(usize::MAX), 1)?;
    let value = moments.variance / moments.mean - 1.0;
    Estimate::plain(value, counts.len(), id::DAVID_MOORE).assuming([id::ASSUMED_NO_INTERVAL]).sound()
}
