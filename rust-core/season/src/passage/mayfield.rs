//! Mayfield's daily survival.

use super::exposure::known;
use super::{Exposure, Fate, id};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;

/// Survival by exposure days.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Mayfield {
    /// Daily survival.
    pub daily: Estimate,
    /// Survival over the whole period.
    pub whole: Estimate,
    /// Days at risk.
    pub exposure_days: f64,
    /// Losses.
    pub deaths: u64,
    /// Intervals of unknown fate, left out.
    pub censored: u64,
}

/// Daily survival = 1 − losses ÷ exposure days, a loss counting as half its interval; over a period of `days` that to the
/// power of days.
///
/// Variance (exposure − losses) × losses ÷ exposure³ (Johnson). Interval on the logit scale; without any loss 1 − losses
/// has no such interval, and the lower end is α^(1 ÷ exposure). Intervals of unknown fate are left out, not dead.
///
/// Unit: per day; share. Domain: at least one interval of known fate. Biased where checks are far apart
/// ([`super::logistic_exposure`] is not).
///
/// Sources: Mayfield H (1975) Wilson Bull. 87:456-466; Johnson DH (1979) Auk 96:651-661.
///
/// # Errors
/// [`Refusal::Nothing`]; [`Refusal::NotMet`] for days not above 0, or more losses than exposure days.
pub fn mayfield(exposures: &[Exposure], days: f64, level: Level) -> Result<Mayfield, Refusal> {
    super::series::check_durations(&[days], 1)?;
    let known = known(exposures)?;
    let deaths = known.iter().filter(|exposure| exposure.fate == Fate::Died).count();
    let exposure_days: f64 = known.iter().map(|e| if e.fate == Fate::Died { e.days / 2.0 } else { e.days }).sum();
    let lost = deaths as f64;
    if lost >= exposure_days {
        return Err(Refusal::NotMet(id::REFUSED_NOT_IDENTIFIED));
    }
    let value = 1.0 - lost / exposure_days;
    let error = ((exposure_days - lost) * lost / exposure_days.powi(3)).sqrt();
    let interval = if deaths == 0 {
        Interval::both(level.alpha().powf(1.0 / exposure_days), 1.0, level)
    } else {
        let reach = quantile::normal(1.0 - level.alpha() / 2.0) * error / (value * (1.0 - value));
        let logit = (value / (1.0 - value)).ln();
        let back = |value: f64| 1.0 / (1.0 + (-value).exp());
        Interval::both(back(logit - reach), back(logit + reach), level)
    };
    let assumed = [id::ASSUMED_CONSTANT_DAILY_SURVIVAL, id::ASSUMED_LOSS_AT_MIDPOINT, id::ASSUMED_UNKNOWN_IS_CENSORED];
    let daily =
        Estimate::plain(value, known.len(), id::MAYFIELD).with_error(error).with_interval(interval).assuming(assumed);
    let power = |value: f64| value.powf(days);
    let whole = Estimate::plain(power(value), known.len(), id::MAYFIELD)
        .with_error(days * value.powf(days - 1.0) * error)
        .with_interval(Interval::both(power(interval.low), power(interval.high), level))
        .assuming(assumed);
    let censored = (exposures.len() - known.len()) as u64;
    Ok(Mayfield { daily, whole, exposure_days, deaths: deaths as u64, censored })
}
