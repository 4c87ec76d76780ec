//! N-mixture.

use super::id;
use crate::numeric::{covariance_at, least, none_negative};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;
use statrs::function::gamma::ln_gamma;

/// Numbers per site and detection from repeated counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct NMixture {
    /// Animals per site (at covariates of 0).
    pub per_site: Estimate,
    /// Share of them that a visit sees (at covariates of 0).
    pub detection: Estimate,
    /// Coefficients of ln animals per site: constant, then one for each site covariate.
    pub abundance: Vec<f64>,
    /// Coefficients of logit detection: constant, then one for each visit covariate.
    pub detection_coefficients: Vec<f64>,
    /// Greatest log-likelihood.
    pub log_likelihood: f64,
}

/// Parameters may move by as much when the sum over possible numbers is taken further.
const STEADY: f64 = 0.01;

/// Animals per site and detection from repeated counts of closed sites, without matched animals.
///
/// Numbers per site are Poisson with ln mean = constant + covariates, each visit sees a binomial share with logit =
/// constant + covariates; the likelihood sums over all numbers from the greatest count to `most`. Intervals from the
/// curvature on the scales ln and logit. It is refused as not identified where the curvature is flat, or where summing
/// to twice `most` moves the result: numbers and detection are then the same to the data.
///
/// It carries its warning always: with few animals it is weakly identified, and small breaches of what it assumes bias
/// it much. Double counts are the safer design.
///
/// Unit: animals per site; share. Domain: at least two sites and two visits, the same number at each site; site
/// covariates one list per covariate over sites, visit covariates one table per covariate over sites and visits.
///
/// Source: Royle JA (2004) Biometrics 60:108-115; on its weakness Barker RJ et al. (2018) Biometrics 74:369-377.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::Nothing`], [`Refusal::NotANumber`]; [`Refusal::NotMet`] for tables of the wrong shape,
/// `most` below a count, or a result that is not identified.
pub fn n_mixture(
    counts: &[Vec<u32>],
    site_covariates: &[Vec<f64>],
    visit_covariates: &[Vec<Vec<f64>>],
    most: u32,
    level: Level,
) -> Result<NMixture, Refusal> {
    check(counts, site_covariates, visit_covariates, most)?;
    let parameters = 2 + site_covariates.len() + visit_covariates.len();
    let split = 1 + site_covariates.len();
    let loss = |most: u32| {
        move |point: &[f64]| -> f64 {
            let site = |site: usize| {
                let abundance =
                    site_covariates.iter().zip(&point[1..split]).map(|(x, b)| x[site] * b).sum::<f64>() + point[0];
                let seen = |visit: usize| {
                    visit_covariates.iter().zip(&point[split + 1..]).map(|(x, b)| x[site][visit] * b).sum::<f64>()
                        + point[split]
                };
                log_site(&counts[site], abundance, seen, most)
            };
            -(0..counts.len()).map(site).sum::<f64>()
        }
    };
    let greatest = counts.iter().flatten().copied().max().unwrap_or(0);
    let mut start = vec![0.0; parameters];
    start[0] = f64::from(greatest.max(1)).ln();
    let first = loss(most);
    let (at, value) = least(&first, &start, 0.5);
    let (further, _) = least(&loss(most.saturating_mul(2)), &at, 0.1);
    let unsteady = at.iter().zip(&further).any(|(a, b)| (a - b).abs() > STEADY);
    let covariance = covariance_at(&first, &at);
    let (Some(covariance), false) = (covariance, unsteady) else {
        return Err(Refusal::NotMet(id::REFUSED_NOT_IDENTIFIED));
    };
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let estimate = |index: usize, back: fn(f64) -> f64, slope: f64| {
        let error = covariance[index][index].max(0.0).sqrt();
        Estimate::plain(back(at[index]), counts.len(), id::N_MIXTURE)
            .with_error(error * slope)
            .with_interval(Interval::both(back(at[index] - z * error), back(at[index] + z * error), level))
            .assuming([id::ASSUMED_N_MIXTURE_WARNING, id::ASSUMED_POISSON_SITES, id::ASSUMED_CLOSED])
            .sound()
    };
    let p = logistic(at[split]);
    Ok(NMixture {
        per_site: estimate(0, f64::exp, at[0].exp())?,
        detection: estimate(split, logistic, p * (1.0 - p))?,
        abundance: at[..split].to_vec(),
        detection_coefficients: at[split..].to_vec(),
        log_likelihood: -value,
    })
}

fn check(
    counts: &[Vec<u32>],
    site_covariates: &[Vec<f64>],
    visit_covariates: &[Vec<Vec<f64>>],
    most: u32,
) -> Result<(), Refusal> {
    crate::numeric::at_least(counts.len(), 2)?;
    let visits = counts[0].len();
    crate::numeric::at_least(visits, 2)?;
    let fits = counts.iter().all(|row| row.len() == visits)
        && site_covariates.iter().all(|values| values.len() == counts.len())
        && visit_covariates.iter().all(|rows| rows.len() == counts.len() && rows.iter().all(|row| row.len() == visits));
    let greatest = counts.iter().flatten().copied().max().unwrap_or(0);
    if !fits || most <= greatest || most > 100_000 {
        return Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE));
    }
    if greatest == 0 {
        return Err(Refusal::Nothing);
    }
    crate::numeric::all_finite(site_covariates.iter().flatten().chain(visit_covariates.iter().flatten().flatten()))?;
    none_negative([&f64::from(most)])
}

/// Log-likelihood of one site's counts: a sum over the numbers there may be, in logarithms.
fn log_site(counts: &[u32], log_mean: f64, logit: impl Fn(usize) -> f64, most: u32) -> f64 {
    let least = counts.iter().copied().max().unwrap_or(0);
    let seen: Vec<(f64, f64)> = (0..counts.len())
        .map(|visit| {
            let eta = logit(visit);
            (-(-eta).exp().ln_1p(), -eta.exp().ln_1p())
        })
        .collect();
    let mean = log_mean.exp();
    let terms: Vec<f64> = (least..=most)
        .map(|number| {
            let n = f64::from(number);
            let poisson = n * log_mean - mean - ln_gamma(n + 1.0);
            let visits: f64 = counts
                .iter()
                .zip(&seen)
                .map(|(&count, (log_p, log_q))| {
                    let y = f64::from(count);
                    ln_gamma(n + 1.0) - ln_gamma(y + 1.0) - ln_gamma(n - y + 1.0) + y * log_p + (n - y) * log_q
                })
                .sum();
            poisson + visits
        })
        .collect();
    let top = terms.iter().copied().fold(f64::NEG_INFINITY, f64::max);
    if top.is_finite() {
        top + terms.iter().map(|term| (term - top).exp()).sum::<f64>().ln()
    } else {
        f64::NEG_INFINITY
    }
}

fn logistic(value: f64) -> f64 {
    1.0 / (1.0 + (-value).exp())
}
