//! Lincoln and Petersen's estimate.

use super::{Pair, id};
use crate::{Estimate, Refusal};

/// First × second ÷ both: animals that could be seen, from two independent counts.
///
/// Unit: animals. Domain: both ≥ 1. Biased upward for few; [`super::chapman`] is better and has an interval.
///
/// Source: Lincoln FC (1930) USDA Circular 118.
///
/// # Errors
/// [`Refusal::NotMet`] without matched numbers or where none was seen by both; [`Refusal::ImpossibleCounts`].
pub fn lincoln_petersen(pair: Pair) -> Result<Estimate, Refusal> {
    let both = pair.check()?;
    if both == 0 {
        return Err(Refusal::NotMet(id::REFUSED_NONE_SEEN_BY_BOTH));
    }
    let value = pair.first as f64 * pair.second as f64 / both as f64;
    Ok(Estimate::plain(value, pair.seen(both), id::LINCOLN_PETERSEN).assuming([
        id::ASSUMED_INDEPENDENT_OBSERVERS,
        id::ASSUMED_ALIKE_VISIBLE,
        id::ASSUMED_CLOSED,
        id::ASSUMED_OF_WHAT_COULD_BE_SEEN,
        crate::aggregation::id::ASSUMED_NO_INTERVAL,
    ]))
}
