//! k by maximum likelihood.

use super::likeliest_k::LOG_K;
use super::{Clumping, LikeliestK, MeanAndVariance, id};
use crate::Refusal;
use crate::estimate::Level;
use crate::numeric::{chi_squared, root};

/// k of a negative binomial by maximum likelihood, with its profile interval.
///
/// The mean's own estimate is the sample mean whatever k is, so the profile is a function of k alone, and k is where it
/// is greatest ([`LikeliestK`], which gives k without an interval). A finite k exists just where the variance with n
/// exceeds the mean; otherwise the likelihood grows without end as k does: no clumping is detected and `k` is `None`.
/// Standard error from the curvature at k. The interval holds every k whose log-likelihood is within half the chi-squared
/// quantile (1 degree) of the greatest; it has no upper end where chance alone (the Poisson distribution) is not ruled
/// out.
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
    let mut fitter = LikeliestK::default();
    let (sums, k) = fitter.with_sums(counts)?;
    let limit = sums.log_likelihood(k) - chi_squared(1.0, level.share())? / 2.0;
    let above = |log_k: f64| sums.log_likelihood(Some(log_k.exp())) - limit;
    let middle = k.map_or(LOG_K.1, f64::ln);
    let low = root(LOG_K.0, middle, above).map(f64::exp);
    let poisson_ruled_out = sums.log_likelihood(None) < limit;
    let high = if poisson_ruled_out { root(middle, LOG_K.1, above).map(f64::exp) } else { None };
    let standard_error = k.and_then(|k| {
        let curve = sums.curvature(k);
        (curve > 0.0).then(|| 1.0 / curve.sqrt())
    });
    Ok(Clumping { standard_error, low, high, ..Clumping::new(k, &moments, id::K_BY_LIKELIHOOD) })
}

/// The k of greatest likelihood; `None` at the boundary where there is no clumping.
pub(crate) fn profile(counts: &[u32]) -> Result<Option<f64>, Refusal> {
    LikeliestK::default().of(counts.iter().copied())
}
