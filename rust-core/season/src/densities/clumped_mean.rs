//! Mean per unit with the likelihood interval of a negative binomial.

use super::coverage::noted;
use super::{CoverageOf, id};
use crate::aggregation::{Distribution, MeanAndVariance, k_profile};
use crate::numeric::{least_along, root};
use crate::{Estimate, Interval, Level, Refusal, quantile};

/// ln k is looked for between these.
const LOG_K: (f64, f64) = (-6.0, 9.0);

/// Mean per unit with the profile likelihood interval of a negative binomial whose k is unknown too.
///
/// The interval holds every mean whose log-likelihood, k being fitted anew, is within half of the squared t quantile
/// (n − 1 degrees) of the greatest: the t instead of the normal quantile makes up for few plants. Skewed as counts of
/// animals are: it reaches further up than down, and never below 0. Standard error = √((m + m² ÷ k) ÷ n).
///
/// Unit: animals per unit. Domain: at least two counts, not all zero. Many more zeros, or more clumping than
/// a negative binomial has, make it miss more often.
///
/// Source: profile likelihood as in Venzon DJ, Moolgavkar SH (1988) Appl. Stat. 37:87-94; the t quantile is this
/// project's own choice, checked by simulation.
///
/// # Errors
/// [`Refusal::TooFew`] below two counts, and below five animals, where [`crate::occupancy`] serves; [`Refusal::NotMet`] if
/// all counts are zero.
pub fn clumped_mean(counts: &[u32], level: Level) -> Result<Estimate, Refusal> {
    let moments = MeanAndVariance::of_some_found(counts)?;
    super::enough(moments.sum)?;
    let k = k_profile(counts)?;
    let n = counts.len() as f64;
    let tally = tally(counts);
    let of = |mean: f64, k: Option<f64>| {
        Distribution::new(mean, k)
            .map_or(f64::NEG_INFINITY, |d| tally.iter().map(|&(count, units)| units * d.log_chance(count)).sum::<f64>())
    };
    let profile = |mean: f64| {
        let log_k = least_along(LOG_K.0, LOG_K.1, |log_k| -of(mean, Some(log_k.exp())));
        of(mean, Some(log_k.exp())).max(of(mean, None))
    };
    let t = quantile::t(n - 1.0, 1.0 - level.alpha() / 2.0)?;
    let limit = of(moments.mean, k).max(profile(moments.mean)) - t * t / 2.0;
    let above = |log_mean: f64| profile(log_mean.exp()) - limit;
    let middle = moments.mean.ln();
    let low = root(middle - 12.0, middle, above).map_or(0.0, f64::exp);
    let high = root(middle, middle + 12.0, above).map(f64::exp);
    let variance = moments.mean + k.map_or(0.0, |k| moments.mean * moments.mean / k);
    let found = Estimate::plain(moments.mean, counts.len(), id::CLUMPED_MEAN)
        .with_error((variance / n).sqrt())
        .assuming([crate::aggregation::id::ASSUMED_NEGATIVE_BINOMIAL, crate::id::ASSUMED_RANDOM_UNITS]);
    Ok(match high {
        Some(high) => noted(found.with_interval(Interval::both(low, high, level)), CoverageOf::ClumpedMean, k),
        None => found.assuming([id::REFUSED_NOT_IDENTIFIED]),
    })
}

/// Each count with how many units hold it.
fn tally(counts: &[u32]) -> Vec<(u32, f64)> {
    let mut sorted = counts.to_vec();
    sorted.sort_unstable();
    sorted.chunk_by(|one, other| one == other).map(|same| (same[0], same.len() as f64)).collect()
}
