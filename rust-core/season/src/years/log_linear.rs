//! Change per year on a log scale.

use super::{Wording, id, wording};
use crate::numeric::{Family, all_finite, alpha_by_likelihood, at_least, covariance_at, glm, none_negative};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use serde::Serialize;

/// How yearly counts scatter.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub enum TrendModel {
    /// By chance alone.
    Poisson,
    /// Variance in proportion to the mean, the factor estimated.
    QuasiPoisson,
    /// By a negative binomial, its k estimated.
    NegativeBinomial,
}

/// A log-linear course of counts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct LogLinear {
    /// Change per year in per cent.
    pub per_cent: Estimate,
    /// Coefficient of the year on the log scale.
    pub slope: f64,
    /// Its standard error.
    pub slope_error: f64,
    /// Log of the expected count at year 0.
    pub intercept: f64,
    /// Its standard error.
    pub intercept_error: f64,
    /// Log-likelihood; that of Poisson for the quasi model.
    pub log_likelihood: f64,
    /// Twice the log-likelihood missing to a perfect fit, under Poisson.
    pub deviance: f64,
    /// Sum of squared Pearson residuals under Poisson.
    pub pearson: f64,
    /// 1 ÷ k of the negative binomial.
    pub alpha: Option<f64>,
    /// What may be said of it, as of one site.
    pub wording: Wording,
}

/// Change per year from yearly counts: ln expected = intercept + slope × year + ln effort.
///
/// Per cent = 100 (e^slope − 1). Errors from the curvature of the likelihood; for the quasi model × √(Pearson ÷ (n − 2)).
/// Interval ± normal quantile on the slope. Where counts scatter no more than by chance the negative binomial gives the
/// Poisson result.
///
/// It is about the one series it is given: one site is never called a trend.
///
/// Unit: per cent per year. Domain: at least four years with different numbers, counts whole in meaning but any value of
/// 0 or more, efforts above 0 (all 1 where equal).
///
/// Source: `McCullagh` P, Nelder JA (1989) Generalized Linear Models, 2nd ed., chapter 6; negative binomial Lawless JF
/// (1987) Can. J. Stat. 15:209-225.
///
/// # Errors
/// [`Refusal::TooFew`], [`Refusal::NotANumber`], [`Refusal::Nothing`] if all counts are 0; [`Refusal::NotMet`] for two
/// values of one year or a fit that does not settle.
pub fn log_linear(
    years: &[f64],
    counts: &[f64],
    efforts: &[f64],
    model: TrendModel,
    level: Level,
) -> Result<LogLinear, Refusal> {
    let n = years.len();
    at_least(n.min(counts.len()).min(efforts.len()), 4)?;
    all_finite(years)?;
    none_negative(counts.iter().chain(efforts))?;
    if counts.len() != n || efforts.len() != n || efforts.iter().any(|&effort| effort <= 0.0) {
        return Err(Refusal::NotANumber);
    }
    let mut sorted = years.to_vec();
    sorted.sort_by(f64::total_cmp);
    if sorted.windows(2).any(|pair| pair[0] >= pair[1]) {
        return Err(Refusal::NotMet(id::REFUSED_SAME_YEAR));
    }
    if counts.iter().sum::<f64>() <= 0.0 {
        return Err(Refusal::Nothing);
    }
    // Years are shifted to their middle while fitting, so that year 2026 is as well conditioned as year 0.
    let middle = f64::midpoint(sorted[0], sorted[n - 1]);
    let rows: Vec<Vec<f64>> = years.iter().map(|year| vec![1.0, year - middle]).collect();
    let offsets: Vec<f64> = efforts.iter().map(|effort| effort.ln()).collect();
    let not_identified = Refusal::NotMet(id::REFUSED_NOT_IDENTIFIED);
    let poisson = glm(&rows, counts, &offsets, Family::Poisson).ok_or(not_identified.clone())?;
    let pairs = || counts.iter().zip(&poisson.fitted);
    let pearson: f64 = pairs().map(|(y, m)| (y - m).powi(2) / m).sum();
    let deviance: f64 = 2.0 * pairs().map(|(y, m)| if *y > 0.0 { y * (y / m).ln() - (y - m) } else { *m }).sum::<f64>();
    let alpha = match model {
        TrendModel::NegativeBinomial => alpha_by_likelihood(&rows, counts, &offsets),
        TrendModel::Poisson | TrendModel::QuasiPoisson => None,
    };
    let family = alpha.map_or(Family::Poisson, Family::Clumped);
    let fit = match alpha {
        Some(_) => glm(&rows, counts, &offsets, family).ok_or(not_identified.clone())?,
        None => poisson.clone(),
    };
    let covariance = match alpha {
        Some(alpha) => {
            let loss = |point: &[f64]| {
                let fitted: Vec<f64> = rows
                    .iter()
                    .zip(&offsets)
                    .map(|(row, offset)| (row[0] * point[0] + row[1] * point[1] + offset).exp())
                    .collect();
                -Family::Clumped(point[2].exp()).log_likelihood(counts, &fitted)
            };
            covariance_at(&loss, &[fit.coefficients[0], fit.coefficients[1], alpha.ln()]).ok_or(not_identified)?
        }
        None => fit.covariance.clone(),
    };
    let scale = match model {
        TrendModel::QuasiPoisson => pearson / (n as f64 - 2.0),
        TrendModel::Poisson | TrendModel::NegativeBinomial => 1.0,
    };
    let slope = fit.coefficients[1];
    let slope_error = (covariance[1][1] * scale).sqrt();
    let intercept_error =
        ((covariance[0][0] - 2.0 * middle * covariance[0][1] + middle * middle * covariance[1][1]) * scale).sqrt();
    let reach = quantile::normal(1.0 - level.alpha() / 2.0) * slope_error;
    let cent = |slope: f64| 100.0 * slope.exp_m1();
    let interval = Interval::both(cent(slope - reach), cent(slope + reach), level);
    let method = match model {
        TrendModel::Poisson => id::LOG_LINEAR_POISSON,
        TrendModel::QuasiPoisson => id::LOG_LINEAR_QUASI,
        TrendModel::NegativeBinomial => id::LOG_LINEAR_CLUMPED,
    };
    let per_cent = Estimate::plain(cent(slope), n, method)
        .with_error(100.0 * slope.exp() * slope_error)
        .with_interval(interval)
        .assuming([id::ASSUMED_YEARS_INDEPENDENT, id::ASSUMED_CONSTANT_CHANGE, id::ASSUMED_SITE_SELECTION])
        .sound()?;
    Ok(LogLinear {
        per_cent,
        slope,
        slope_error,
        intercept: fit.coefficients[0] - slope * middle,
        intercept_error,
        log_likelihood: family.log_likelihood(counts, &fit.fitted),
        deviance,
        pearson,
        alpha,
        wording: wording(n as u64, 1, Some(&interval)),
    })
}
