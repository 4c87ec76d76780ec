//! Animals per hectare.

use super::id;
use crate::{Estimate, Interval, Level, Refusal, quantile};

/// Animals per hectare: host stems per hectare × animals per stem, with the variances of both.
///
/// Variance of the product of independent estimates = H² v(d) + d² v(H) − v(d) v(H). The interval is that of a
/// lognormal with this coefficient of variation, so that it cannot fall below 0. With no host plant standing the
/// value is 0 whatever the animals per stem, which then may be `None`.
///
/// Unit: animals per hectare. Domain: estimates of the same unit of check, with standard errors for an interval.
///
/// Source: Goodman LA (1960) J. Am. Stat. Assoc. 55:708-713; interval Burnham KP et al. (1987) Am. Fish. Soc. Monogr. 5.
///
/// # Errors
/// [`Refusal::NotMet`] for plants of the observer's choice, or where hosts stand and nothing is known per stem;
/// [`Refusal::NotANumber`] for values that are no numbers of 0 or more.
pub fn per_hectare(hosts: &Estimate, per_stem: Option<&Estimate>, level: Level) -> Result<Estimate, Refusal> {
    crate::numeric::none_negative([&hosts.value])?;
    if hosts.value == 0.0 {
        let zero = Estimate::plain(0.0, usize::try_from(hosts.n).unwrap_or(usize::MAX), id::PER_HECTARE);
        return Ok(zero.assuming([id::ASSUMED_NO_HOSTS]));
    }
    let stem = per_stem.ok_or(Refusal::NotMet(id::REFUSED_NO_DENSITY))?;
    crate::numeric::none_negative([&stem.value])?;
    if stem.assumed.contains(&crate::id::ASSUMED_OBSERVERS_CHOICE) {
        return Err(Refusal::NotMet(id::REFUSED_OBSERVERS_CHOICE));
    }
    let value = hosts.value * stem.value;
    let found = Estimate::plain(value, usize::try_from(stem.n).unwrap_or(usize::MAX), id::PER_HECTARE)
        .sound()?
        .assuming([id::ASSUMED_HOSTS_INDEPENDENT])
        .assuming(stem.assumed.iter().chain(&hosts.assumed).copied());
    let (Some(host_error), Some(stem_error)) = (hosts.standard_error, stem.standard_error) else { return Ok(found) };
    let variance =
        (hosts.value * stem_error).powi(2) + (stem.value * host_error).powi(2) - (host_error * stem_error).powi(2);
    let error = variance.max(0.0).sqrt();
    if value <= 0.0 {
        return Ok(found.with_error(error));
    }
    let reach = (quantile::normal(1.0 - level.alpha() / 2.0) * (error / value).powi(2).ln_1p().sqrt()).exp();
    Ok(found.with_error(error).with_interval(Interval::both(value / reach, value * reach, level)))
}
