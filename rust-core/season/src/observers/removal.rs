//! Counts of what is left after each pass.

use super::chapman::beyond_seen;
use super::{DoubleCount, id};
use crate::numeric::{at_least, covariance_at, root};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;

/// Animals from two passes, the second counting only what the first missed: c₁² ÷ (c₁ − c₂), each pass seeing the share
/// 1 − c₂ ÷ c₁ of what is left.
///
/// Variance c₁² c₂² (c₁ + c₂) ÷ (c₁ − c₂)⁴; interval lognormal on the number unseen.
///
/// Unit: animals. Domain: c₁ > c₂.
///
/// Source: Zippin C (1956) Biometrics 12:163-189; Seber GAF (1982) The Estimation of Animal Abundance, 2nd ed., ch. 7.
///
/// # Errors
/// [`Refusal::Nothing`]; [`Refusal::NotMet`] unless the second pass finds fewer.
pub fn two_passes(first: u64, second: u64, level: Level) -> Result<DoubleCount, Refusal> {
    if first == 0 && second == 0 {
        return Err(Refusal::Nothing);
    }
    if second >= first {
        return Err(Refusal::NotMet(id::REFUSED_NO_DECLINE));
    }
    let (c1, c2) = (first as f64, second as f64);
    let value = c1 * c1 / (c1 - c2);
    let variance = (c1 * c2).powi(2) * (c1 + c2) / (c1 - c2).powi(4);
    let each = 1.0 - c2 / c1;
    let seen = c1 + c2;
    let found = Estimate::plain(value, super::weighted::whole(seen), id::TWO_PASSES)
        .with_error(variance.sqrt())
        .assuming([id::ASSUMED_ALIKE_VISIBLE, id::ASSUMED_CLOSED, id::ASSUMED_OF_WHAT_COULD_BE_SEEN])
        .sound()?;
    let animals = if second > 0 {
        found.with_interval(beyond_seen(seen, value - seen, variance, level))
    } else {
        found.assuming([crate::aggregation::id::ASSUMED_NO_INTERVAL])
    };
    Ok(DoubleCount { animals, first: Some(each), second: Some(each), either: Some(1.0 - (1.0 - each).powi(2)) })
}

/// Density per site and detection from removal at several sites.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Removal {
    /// Animals per site.
    pub per_site: Estimate,
    /// Share of what is left that each pass sees.
    pub detection: Estimate,
    /// Greatest log-likelihood, without its constant.
    pub log_likelihood: f64,
}

/// Animals per site and detection from removal in several passes at several sites, numbers per site being Poisson.
///
/// With J passes, total T over R sites and detection p: p solves the likelihood of the passes given T, which is the one
/// of a geometric distribution cut at J; animals per site = T ÷ (R (1 − (1 − p)^J)). Intervals from the curvature on the
/// scales ln and logit.
///
/// Unit: animals per site; share. Domain: at least two passes, the same number at each site, mean pass of finding below
/// (J + 1) ÷ 2: finds decline.
///
/// Source: Dorazio RM, Jelks HL, Jordan F (2005) Biometrics 61:1093-1101; Royle JA (2004) Anim. Biodiv. Conserv.
/// 27.1:375-386.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::Nothing`]; [`Refusal::NotMet`] for rows of different length or finds that do not
/// decline.
pub fn removal(sites: &[Vec<u32>], level: Level) -> Result<Removal, Refusal> {
    at_least(sites.len(), 1)?;
    let passes = sites[0].len();
    at_least(passes, 2)?;
    if sites.iter().any(|row| row.len() != passes) {
        return Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE));
    }
    let by_pass: Vec<f64> = (0..passes).map(|pass| sites.iter().map(|row| f64::from(row[pass])).sum::<f64>()).collect();
    let total: f64 = by_pass.iter().sum();
    if total <= 0.0 {
        return Err(Refusal::Nothing);
    }
    let mean_pass = by_pass.iter().zip(0..).map(|(count, pass)| count * f64::from(pass)).sum::<f64>() / total;
    let j = passes as f64;
    let places = sites.len() as f64;
    let expected = |q: f64| q / (1.0 - q) - j * q.powf(j) / (1.0 - q.powf(j));
    let q = root(1e-12, 1.0 - 1e-6, |q| expected(q) - mean_pass)
        .or((mean_pass <= 0.0).then_some(0.0))
        .ok_or(Refusal::NotMet(id::REFUSED_NO_DECLINE))?;
    let per_site = total / (places * (1.0 - q.powf(j)));
    let assumed = [id::ASSUMED_POISSON_SITES, id::ASSUMED_ALIKE_VISIBLE, id::ASSUMED_CLOSED];
    let mut density = Estimate::plain(per_site, sites.len(), id::REMOVAL).assuming(assumed);
    let mut detection = Estimate::plain(1.0 - q, sites.len(), id::REMOVAL).assuming(assumed);
    let loss = |point: &[f64]| {
        let (lambda, p) = (point[0].exp(), 1.0 / (1.0 + (-point[1]).exp()));
        by_pass
            .iter()
            .zip(0..)
            .map(|(count, pass)| {
                let mean = places * lambda * p * (1.0 - p).powi(pass);
                mean - count * mean.ln()
            })
            .sum::<f64>()
    };
    if q > 0.0 {
        let at = [per_site.ln(), ((1.0 - q) / q).ln()];
        let z = quantile::normal(1.0 - level.alpha() / 2.0);
        if let Some(covariance) = covariance_at(&loss, &at) {
            let ends = |index: usize, back: fn(f64) -> f64| {
                let reach = z * covariance[index][index].max(0.0).sqrt();
                Interval::both(back(at[index] - reach), back(at[index] + reach), level)
            };
            density = density.with_error(per_site * covariance[0][0].sqrt()).with_interval(ends(0, f64::exp));
            detection = detection
                .with_error((1.0 - q) * q * covariance[1][1].sqrt())
                .with_interval(ends(1, |value| 1.0 / (1.0 + (-value).exp())));
        }
        return Ok(Removal { per_site: density, detection, log_likelihood: -loss(&at) });
    }
    let mean = total / places;
    Ok(Removal { per_site: density, detection, log_likelihood: total * mean.ln() - total })
}
