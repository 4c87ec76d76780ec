//! Logistic exposure.

use super::exposure::known;
use super::{Exposure, Fate, id};
use crate::numeric::{chi_squared, covariance_at, least, root};
use crate::{Estimate, Interval, Level, Refusal};
use serde::Serialize;

/// Daily survival by logistic exposure.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LogisticExposure {
    /// Daily survival; with covariates, where they are 0.
    pub daily: Estimate,
    /// Coefficients on the logit scale: constant, then the covariates.
    pub coefficients: Vec<f64>,
    /// Their standard errors; empty where the likelihood is flat there.
    pub errors: Vec<f64>,
    /// Greatest log-likelihood.
    pub log_likelihood: f64,
    /// Intervals of unknown fate, left out.
    pub censored: u64,
}

/// Logit of daily survival is looked for between these.
const LOGIT: f64 = 30.0;

/// Daily survival s from intervals of any length: the chance to survive t days is s^t, with logit s = constant +
/// covariates. Maximum likelihood; without covariates the interval is the profile's, its upper end 1 where nothing was
/// lost and its lower end 0 where nothing survived.
///
/// Unit: per day. Domain: at least one interval of known fate; `covariates` one list per covariate over the intervals.
/// Unknown fates are censored: they are left out, not dead.
///
/// Source: Shaffer TL (2004) Auk 121:526-540.
///
/// # Errors
/// [`Refusal::Nothing`]; [`Refusal::NotMet`] for days not above 0, covariates of another length, or, with covariates, all
/// of one fate.
pub fn logistic_exposure(
    exposures: &[Exposure],
    covariates: &[Vec<f64>],
    level: Level,
) -> Result<LogisticExposure, Refusal> {
    let known_ones = known(exposures)?;
    if covariates.iter().any(|values| values.len() != exposures.len()) {
        return Err(Refusal::NotMet(id::REFUSED_SERIES_SHAPE));
    }
    crate::numeric::all_finite(covariates.iter().flatten())?;
    let kept: Vec<usize> = (0..exposures.len()).filter(|&index| exposures[index].fate != Fate::Unknown).collect();
    let loss = |point: &[f64]| -> f64 {
        let log_chance = |index: usize| {
            let eta = point[0] + covariates.iter().zip(&point[1..]).map(|(x, b)| x[index] * b).sum::<f64>();
            let log_survival = -(-eta).exp().ln_1p() * exposures[index].days;
            match exposures[index].fate {
                Fate::Survived | Fate::Unknown => log_survival,
                Fate::Died => (-log_survival.exp_m1()).max(1e-300).ln(),
            }
        };
        -kept.iter().map(|&index| log_chance(index)).sum::<f64>()
    };
    let deaths = known_ones.iter().filter(|exposure| exposure.fate == Fate::Died).count();
    let one_fate = deaths == 0 || deaths == known_ones.len();
    let censored = (exposures.len() - known_ones.len()) as u64;
    let assumed = [id::ASSUMED_CONSTANT_DAILY_SURVIVAL, id::ASSUMED_UNKNOWN_IS_CENSORED];
    let estimate = |logit: f64| Estimate::plain(back(logit), known_ones.len(), id::LOGISTIC_EXPOSURE).assuming(assumed);
    if one_fate && !covariates.is_empty() {
        return Err(Refusal::NotMet(id::REFUSED_NOT_IDENTIFIED));
    }
    let drop = chi_squared(1.0, level.share())? / 2.0;
    if one_fate {
        let (logit, end) = if deaths == 0 { (LOGIT, 1.0) } else { (-LOGIT, 0.0) };
        let other = root(-LOGIT, LOGIT, |at| loss(&[at]) - loss(&[logit]) - drop).map_or(1.0 - end, back);
        let interval = Interval::both(other.min(end), other.max(end), level);
        let daily = Estimate { value: end, ..estimate(logit) }.with_interval(interval);
        return Ok(LogisticExposure {
            daily,
            coefficients: vec![logit],
            errors: Vec::new(),
            log_likelihood: -loss(&[logit]),
            censored,
        });
    }
    let mut start = vec![0.0; 1 + covariates.len()];
    start[0] = 2.0;
    let (at, value) = least(&loss, &start, 0.5);
    let errors: Vec<f64> = covariance_at(&loss, &at)
        .map(|covariance| (0..at.len()).map(|index| covariance[index][index].max(0.0).sqrt()).collect())
        .unwrap_or_default();
    let mut daily = estimate(at[0]);
    if covariates.is_empty() {
        let above = |logit: f64| loss(&[logit]) - value - drop;
        let (low, high) = (root(-LOGIT, at[0], above), root(at[0], LOGIT, above));
        daily = daily.with_interval(Interval::both(low.map_or(0.0, back), high.map_or(1.0, back), level));
    } else if let Some(error) = errors.first() {
        let reach = crate::quantile::normal(1.0 - level.alpha() / 2.0) * error;
        daily = daily.with_interval(Interval::both(back(at[0] - reach), back(at[0] + reach), level));
    }
    if let Some(error) = errors.first() {
        let slope = daily.value * (1.0 - daily.value);
        daily = daily.with_error(error * slope);
    }
    Ok(LogisticExposure { daily, coefficients: at, errors, log_likelihood: -value, censored })
}

fn back(logit: f64) -> f64 {
    1.0 / (1.0 + (-logit).exp())
}
