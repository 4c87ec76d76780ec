//! From presence to density and back.

use super::{Distribution, id};
use crate::{Estimate, Interval, Level, Refusal, clopper_pearson};

/// Share of occupied units that a mean density makes: 1 − (1 + mean ÷ k)^−k, or 1 − e^−mean where `k` is `None`.
///
/// Unit: share, 0 to 1. Domain: mean ≥ 0 animals per unit, k > 0.
///
/// Source: Wilson LT, Room PM (1983) Environ. Entomol. 12:50-54, with the zero class of the negative binomial.
///
/// # Errors
/// [`Refusal::NotANumber`]; [`Refusal::NotMet`] for a k not above 0.
pub fn presence_from_mean(mean: f64, k: Option<f64>) -> Result<f64, Refusal> {
    Ok(-Distribution::new(mean, k)?.log_chance(0).exp_m1())
}

/// Mean density from how many units were occupied: k · ((1 − share)^(−1 ÷ k) − 1), or −ln(1 − share) where `k` is
/// `None`; the interval is that of the share by Clopper and Pearson, carried over.
///
/// Unit: animals per unit. Domain: occupied < checked, k > 0, k of plants of the same kind: doubt about k is not in the
/// interval. Where most units are occupied the value hangs on k and the upper end may be very far.
///
/// Source: as for [`presence_from_mean`]; interval Clopper CJ, Pearson ES (1934) Biometrika 26:404-413.
///
/// # Errors
/// [`Refusal::Nothing`], [`Refusal::ImpossibleCounts`]; [`Refusal::NotMet`] if all units are occupied or k is not above
/// 0; [`Refusal::NotANumber`] where a tiny k puts the value beyond all numbers.
pub fn mean_from_presence(occupied: u64, checked: u64, k: Option<f64>, level: Level) -> Result<Estimate, Refusal> {
    let share = clopper_pearson(occupied, checked, level)?;
    if occupied == checked {
        return Err(Refusal::NotMet(id::REFUSED_ALL_OCCUPIED));
    }
    if k.is_some_and(|k| k.is_nan() || k <= 0.0) {
        return Err(Refusal::NotMet(id::REFUSED_K_NOT_POSITIVE));
    }
    let mean = |share: f64| match k {
        Some(k) if k.is_finite() => k * (-(-share).ln_1p() / k).exp_m1(),
        _ => -(-share).ln_1p(),
    };
    let value = mean(occupied as f64 / checked as f64);
    let units = usize::try_from(checked).unwrap_or(usize::MAX);
    Estimate::plain(value, units, id::MEAN_FROM_PRESENCE)
        .with_interval(Interval::both(mean(share.low), mean(share.high), level))
        .assuming([id::ASSUMED_NEGATIVE_BINOMIAL, id::ASSUMED_KNOWN_K, crate::id::ASSUMED_RANDOM_UNITS])
        .sound()
}
