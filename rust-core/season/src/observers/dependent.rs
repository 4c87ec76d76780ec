//! Two observers, the second recording what the first missed, in turn.

use super::chapman::beyond_seen;
use super::{DoubleCount, id};
use crate::{Estimate, Level, Refusal};

/// Counts of a double count in which roles are swapped at half.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Dependent {
    /// Seen by the first while first.
    pub first_as_first: u64,
    /// Seen by the second while the first was first and missed them.
    pub second_as_second: u64,
    /// Seen by the second while first.
    pub second_as_first: u64,
    /// Seen by the first while the second was first and missed them.
    pub first_as_second: u64,
}

/// Animals that could be seen, from two observers in turn.
///
/// With a, b seen by first and then second in the first half, c, d by second and then first in the other: p₁ =
/// (a c − b d) ÷ (a c + b c), p₂ = (a c − b d) ÷ (a c + a d), p = 1 − b d ÷ (a c), animals = all seen ÷ p. Variance by the
/// delta method: sum of (slope of animals in a count)² × count − animals. Interval lognormal on the number unseen.
///
/// Unit: animals. Domain: a c > b d: the first of each half sees more than what is left for the second.
///
/// Source: Nichols JD et al. (2000) Auk 117:393-408.
///
/// # Errors
/// [`Refusal::Nothing`] if none was seen; [`Refusal::NotMet`] where the second sees as many as the first.
pub fn dependent(counts: Dependent, level: Level) -> Result<DoubleCount, Refusal> {
    let x = [counts.first_as_first, counts.second_as_second, counts.second_as_first, counts.first_as_second]
        .map(|count| count as f64);
    let seen: f64 = x.iter().sum();
    if seen <= 0.0 {
        return Err(Refusal::Nothing);
    }
    let (both_first, both_second) = (x[0] * x[2], x[1] * x[3]);
    if both_first <= both_second {
        return Err(Refusal::NotMet(id::REFUSED_NO_DECLINE));
    }
    let gap = both_first - both_second;
    let first = gap / (both_first + x[2] * x[1]);
    let second = gap / (both_first + x[0] * x[3]);
    let either = gap / both_first;
    let animals = seen / either;
    // animals = s · A ÷ (A − B) with A = x0 x2, B = x1 x3.
    let slope = |index: usize| {
        let through_a = -both_second / (gap * gap) * seen;
        let through_b = both_first / (gap * gap) * seen;
        let product = match index {
            0 => through_a * x[2],
            2 => through_a * x[0],
            1 => through_b * x[3],
            _ => through_b * x[1],
        };
        1.0 / either + product
    };
    let variance = ((0..4).map(|index| slope(index).powi(2) * x[index]).sum::<f64>() - animals).max(0.0);
    let n = super::weighted::whole(seen);
    let found = Estimate::plain(animals, n, id::DEPENDENT_OBSERVERS)
        .with_error(variance.sqrt())
        .assuming([id::ASSUMED_ALIKE_VISIBLE, id::ASSUMED_CLOSED, id::ASSUMED_OF_WHAT_COULD_BE_SEEN])
        .sound()?;
    let unseen = animals - seen;
    let animals = if unseen > 1e-9 && variance > 0.0 {
        found.with_interval(beyond_seen(seen, unseen, variance, level))
    } else {
        found.assuming([crate::aggregation::id::ASSUMED_NO_INTERVAL])
    };
    Ok(DoubleCount { animals, first: Some(first), second: Some(second), either: Some(either) })
}
