//! Units for a precision, from a first sample.

use super::HowMany;
use crate::Refusal;
use crate::numeric::{mean, variance};
use crate::sampling::{Precision, id};

/// Units that give a mean the wanted precision if counts go on as in a pilot sample: (z ÷ D)² × variance ÷ mean².
///
/// Unit: units of check, the pilot's included. Domain: two counts or more, not all equal; D above 0.0001. A small pilot
/// is a poor guide: with few animals in it the answer may be off several times.
///
/// Source: Southwood TRE, Henderson PA (2000) Ecological Methods, 3rd ed., Blackwell, section 2.1; Cochran WG (1977)
/// Sampling Techniques, 3rd ed., Wiley, section 4.7.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NoVariance`] where all counts are equal; [`Refusal::NotANumber`] for the precision.
pub fn how_many_by_pilot(counts: &[u32], precision: Precision) -> Result<HowMany, Refusal> {
    let n = counts.len() as u64;
    if n < 2 {
        return Err(Refusal::TooFew { have: n, need: 2 });
    }
    let values: Vec<f64> = counts.iter().copied().map(f64::from).collect();
    let (mean, variance) = (mean(&values), variance(&values));
    if counts.iter().all(|count| count == &counts[0]) {
        return Err(Refusal::NoVariance);
    }
    HowMany::new(precision.factor()? * variance / (mean * mean), id::HOW_MANY_PILOT, &[id::ASSUMED_EXPECTED_MEAN])
}
