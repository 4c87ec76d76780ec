//! Chapman's estimate from a double count.

use super::id;
use crate::{Estimate, Interval, Level, Refusal, clopper_pearson, quantile};
use serde::Serialize;

/// Two independent counts of the same plants.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Pair {
    /// Animals the first saw.
    pub first: u64,
    /// Animals the second saw.
    pub second: u64,
    /// Animals both saw; `None` where they were not matched.
    pub both: Option<u64>,
}

/// Animals and how likely each observer is to see one.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct DoubleCount {
    /// Animals there are, of those that could be seen.
    pub animals: Estimate,
    /// Share that the first sees; `None` where the second saw nothing.
    pub first: Option<f64>,
    /// Share that the second sees; `None` where the first saw nothing.
    pub second: Option<f64>,
    /// Share that at least one sees.
    pub either: Option<f64>,
}

/// Animals that could be seen, from two independent counts: (n₁ + 1)(n₂ + 1) ÷ (m + 1) − 1, m being seen by both.
///
/// Variance (n₁ + 1)(n₂ + 1)(n₁ − m)(n₂ − m) ÷ ((m + 1)² (m + 2)). The interval is lognormal on the number unseen,
/// taken out to whole animals. Where one observer saw all that the other did, nothing unseen is estimated, and the upper
/// end is the number seen ÷ the lower Clopper-Pearson ends of the shares seen together; where these are 0 there is none. First sees m ÷ n₂, second
/// m ÷ n₁, either p₁ + p₂ − p₁ p₂.
///
/// Unit: animals. Domain: both ≤ each; the numbers matched animal by animal. Animals hidden from both are not in it.
///
/// Source: Chapman DG (1951) Univ. Calif. Publ. Stat. 1:131-160; variance Seber GAF (1970) Biometrics 26:13-22; interval
/// Burnham KP et al. (1987) Am. Fish. Soc. Monogr. 5.
///
/// # Errors
/// [`Refusal::NotMet`] without matched numbers; [`Refusal::ImpossibleCounts`]; [`Refusal::Nothing`] if nobody saw any.
pub fn chapman(pair: Pair, level: Level) -> Result<DoubleCount, Refusal> {
    let both = pair.check()?;
    let seen = pair.seen(both);
    if seen == 0 {
        return Err(Refusal::Nothing);
    }
    let (n1, n2, m) = (pair.first as f64, pair.second as f64, both as f64);
    let value = (n1 + 1.0) * (n2 + 1.0) / (m + 1.0) - 1.0;
    let variance = (n1 + 1.0) * (n2 + 1.0) * (n1 - m) * (n2 - m) / ((m + 1.0).powi(2) * (m + 2.0));
    let unseen = value - seen as f64;
    let interval = if unseen > 1e-9 && variance > 0.0 {
        beyond_seen(seen as f64, unseen, variance, level)
    } else {
        let low = |part: u64, whole: u64| clopper_pearson(part, whole, level).map_or(0.0, |interval| interval.low);
        let missed = (1.0 - low(both, pair.second)) * (1.0 - low(both, pair.first));
        Interval::both(seen as f64, (seen as f64 / (1.0 - missed)).max(value), level)
    };
    let without = (!interval.high.is_finite()).then_some(crate::aggregation::id::ASSUMED_NO_INTERVAL);
    let share = |whole: f64| (whole > 0.0).then(|| m / whole);
    let (first, second) = (share(n2), share(n1));
    let either = first.zip(second).map(|(p, q)| p + q - p * q);
    let animals = Estimate::plain(value, seen, id::CHAPMAN)
        .with_error(variance.sqrt())
        .with_interval(interval)
        .assuming([
            id::ASSUMED_INDEPENDENT_OBSERVERS,
            id::ASSUMED_ALIKE_VISIBLE,
            id::ASSUMED_CLOSED,
            id::ASSUMED_OF_WHAT_COULD_BE_SEEN,
        ])
        .assuming(without)
        .sound()?;
    Ok(DoubleCount { animals, first, second, either })
}

/// Lognormal interval on the number unseen, above the number seen, out to whole animals: where all but a fraction of one
/// was seen the bare ends would leave out the number seen itself, which is then the likeliest.
pub(super) fn beyond_seen(seen: f64, unseen: f64, variance: f64, level: Level) -> Interval {
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let factor = (z * (variance / (unseen * unseen)).ln_1p().sqrt()).exp();
    Interval::both((seen + unseen / factor).floor(), (seen + unseen * factor).ceil(), level)
}

impl Pair {
    /// The number that both saw.
    pub(super) fn check(self) -> Result<u64, Refusal> {
        let both = self.both.ok_or(Refusal::NotMet(id::REFUSED_NOT_MATCHED))?;
        let least = self.first.min(self.second);
        if both > least { Err(Refusal::ImpossibleCounts { part: both, whole: least }) } else { Ok(both) }
    }

    /// Animals that at least one saw.
    pub(super) fn seen(self, both: u64) -> usize {
        usize::try_from(self.first.saturating_add(self.second).saturating_sub(both)).unwrap_or(usize::MAX)
    }
}
