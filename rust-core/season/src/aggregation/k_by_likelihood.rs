//! k by maximum likelihood.

use super::{Clumping, Distribution, MeanAndVariance, id};
use crate::Refusal;
use crate::estimate::Level;
use crate::numeric::{chi_squared, root};
use statrs::function::gamma::digamma;

/// ln k is looked for between these.
const LOG_K: (f64, f64) = (-16.0, 16.0);
/// Gaps between counts up to this are summed term by term, larger ones by the digamma function.
const TERM_BY_TERM: u32 = 4096;

/// k of a negative binomial by maximum likelihood, with its profile interval.
///
/// The mean's own estimate is the sample mean whatever k is, so the profile is a function of k alone: its slope is the
/// sum over j ≥ 0 of (units with more than j) ÷ (k + j) − n · ln(1 + mean ÷ k), and k is where it is zero. A finite k
/// exists just where the variance with n exceeds the mean; otherwise the likelihood grows without end as k does: no
/// clumping is detected and `k` is `None`. Standard error from the curvature at k. The interval holds every k whose
/// log-likelihood is within half the chi-squared quantile (1 degree) of the greatest; it has no upper end where chance
/// alone (the Poisson distribution) is not ruled out.
///
/// Unit: none. Domain: at least two counts, not all zero. A k above e^16 counts as none.
///
/// Sources: Fisher RA (1941) Ann. Eugenics 11:182-187; Bliss CI, Fisher RA (1953) Biometrics 9:176-200; on when k is
/// finite Levin B, Reeds J (1977) Ann. Stat. 5:79-87.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] if all counts are zero.
pub fn k_by_likelihood(counts: &[u32], level: Level) -> Result<Clumping, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    let k = profile(counts)?;
    let log_likelihood = |k: Option<f64>| Distribution::new(moments.mean, k).map(|d| d.log_likelihood(counts));
    let limit = log_likelihood(k)? - chi_squared(1.0, level.share())? / 2.0;
    let above = |log_k: f64| log_likelihood(Some(log_k.exp())).map_or(-f64::INFINITY, |value| value - limit);
    let middle = k.map_or(LOG_K.1, f64::ln);
    let low = root(LOG_K.0, middle, above).map(f64::exp);
    let poisson_ruled_out = log_likelihood(None)? < limit;
    let high = if poisson_ruled_out { root(middle, LOG_K.1, above).map(f64::exp) } else { None };
    let standard_error = k.and_then(|k| {
        let n = counts.len() as f64;
        let curve = squares(&tally(counts), k) - n * moments.mean / (k * (k + moments.mean));
        (curve > 0.0).then(|| 1.0 / curve.sqrt())
    });
    Ok(Clumping { standard_error, low, high, ..Clumping::new(k, &moments, id::K_BY_LIKELIHOOD) })
}

/// The k of greatest likelihood; `None` at the boundary where there is no clumping.
pub(crate) fn profile(counts: &[u32]) -> Result<Option<f64>, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    let n = counts.len() as f64;
    if moments.variance * (n - 1.0) / n <= moments.mean {
        return Ok(None);
    }
    let tally = tally(counts);
    let slope = |log_k: f64| slope(&tally, n, moments.mean, log_k.exp());
    // The slope is above 0 for small k and below 0 beyond the greatest likelihood, but rounding blurs it for huge k.
    let top = [4.0, 8.0, 12.0, LOG_K.1].into_iter().find(|&log_k| slope(log_k) < 0.0);
    Ok(top.and_then(|top| root(LOG_K.0, top, slope)).map(f64::exp))
}

/// Counts in order with how many units hold at least so many.
fn tally(counts: &[u32]) -> Vec<(u32, f64)> {
    let mut sorted: Vec<u32> = counts.iter().copied().filter(|&count| count > 0).collect();
    sorted.sort_unstable();
    let mut steps: Vec<(u32, f64)> = Vec::new();
    for (index, &count) in sorted.iter().enumerate() {
        if steps.last().is_none_or(|step| step.0 != count) {
            steps.push((count, (sorted.len() - index) as f64));
        }
    }
    steps
}

fn slope(tally: &[(u32, f64)], n: f64, mean: f64, k: f64) -> f64 {
    let mut from = 0_u32;
    let mut total = 0.0;
    for &(count, units) in tally {
        total += units
            * if count - from > TERM_BY_TERM {
                digamma(k + f64::from(count)) - digamma(k + f64::from(from))
            } else {
                (from..count).map(|j| 1.0 / (k + f64::from(j))).sum::<f64>()
            };
        from = count;
    }
    total - n * (mean / k).ln_1p()
}

/// Sum over j of (units with more than j) ÷ (k + j)²; beyond a few thousand terms by the integral.
fn squares(tally: &[(u32, f64)], k: f64) -> f64 {
    let mut from = 0_u32;
    let mut total = 0.0;
    for &(count, units) in tally {
        let stop = count.min(from.saturating_add(TERM_BY_TERM));
        total += units * (from..stop).map(|j| (k + f64::from(j)).powi(-2)).sum::<f64>();
        total += units * (1.0 / (k + f64::from(stop) - 0.5) - 1.0 / (k + f64::from(count) - 0.5));
        from = count;
    }
    total
}
