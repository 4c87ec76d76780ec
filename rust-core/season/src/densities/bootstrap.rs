//! The bootstrap, bias-corrected and accelerated.

use super::coverage::noted;
use super::{CoverageOf, id};
use crate::aggregation::k_by_moments;
use crate::numeric::{Dice, at_least, mean, none_negative, normal_above, quantile_of};
use crate::{Estimate, Interval, Level, Refusal, quantile};
use std::ops::ControlFlow;

/// How to resample.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub struct Bootstrap {
    /// Seed of the chance: the same seed gives the same interval.
    pub seed: u64,
    /// How many resamples; at least 100, better 2,000.
    pub resamples: u32,
}

/// Told after each hundred resamples, or simulated visits, how many are done; may stop the work, which then refuses with
/// [`id::REFUSED_STOPPED`]. It is all that long work knows of time.
pub type Watch<'a> = &'a mut dyn FnMut(u32) -> ControlFlow<()>;

/// How often a [`Watch`] is told.
const TOLD_EACH: u32 = 100;

/// The watch that never stops anything.
pub const fn go_on(_: u32) -> ControlFlow<()> {
    ControlFlow::Continue(())
}

/// Tells the watch where it is due that so many are done.
pub(crate) fn told(watch: Watch<'_>, done: u32) -> Result<(), Refusal> {
    let stopped = done.is_multiple_of(TOLD_EACH) && watch(done).is_break();
    if stopped { Err(Refusal::NotMet(id::REFUSED_STOPPED)) } else { Ok(()) }
}

/// Memory for so many results that is set aside before there is one.
const SET_ASIDE: usize = 1 << 16;

/// Fewest resamples that quantiles can be taken from.
const FEWEST: usize = 100;

/// Interval of any statistic by the bootstrap, bias-corrected and accelerated.
///
/// Units are drawn with replacement, as many as there are; the statistic of each resample is kept (resamples for which
/// it has none are passed over). With z₀ the normal quantile of the share of resamples below the value (ties half) and a
/// the skewness of the values left by leaving one unit out ÷ 6, the ends are the quantiles at
/// Φ(z₀ + (z₀ + z) ÷ (1 − a (z₀ + z))), z being ± the normal quantile. Where all resamples lie on one side, plain
/// percentiles are taken and said. Standard error = standard deviation of the resamples.
///
/// `units` must be what was drawn by chance: plants, or whole clusters, or whole tagged plants over a season.
///
/// Unit: that of the statistic. Domain: at least two units.
///
/// Source: Efron B (1987) J. Am. Stat. Assoc. 82:171-185.
///
/// # Errors
/// [`Refusal::TooFew`] units or resamples; [`Refusal::NotMet`] if the statistic has no value or `watch` stopped it;
/// [`Refusal::NoVariance`] if all resamples give the same.
pub fn bca<T>(
    units: &[T],
    mut statistic: impl FnMut(&[&T]) -> Option<f64>,
    how: Bootstrap,
    level: Level,
    watch: Watch<'_>,
) -> Result<Estimate, Refusal> {
    let n = units.len();
    at_least(n, 2)?;
    at_least(how.resamples as usize, FEWEST)?;
    let all: Vec<&T> = units.iter().collect();
    let mut sound = |of: &[&T]| statistic(of).filter(|value| value.is_finite());
    let value = sound(&all).ok_or(Refusal::NotMet(id::REFUSED_NO_STATISTIC))?;
    let mut dice = Dice::new(how.seed);
    let mut drawn = Vec::with_capacity((how.resamples as usize).min(SET_ASIDE));
    let mut resample: Vec<&T> = all.clone();
    for done in 0..how.resamples {
        for place in &mut resample {
            *place = &units[dice.below(n)];
        }
        drawn.extend(sound(&resample));
        told(watch, done + 1)?;
    }
    at_least(drawn.len(), FEWEST)?;
    drawn.sort_by(f64::total_cmp);
    if drawn[0] >= drawn[drawn.len() - 1] {
        return Err(Refusal::NoVariance);
    }
    let ends = ends(&drawn, value, acceleration(&all, sound), level);
    let plain = ends.is_none().then_some(id::ASSUMED_PLAIN_PERCENTILES);
    let (low, high) = ends.unwrap_or((level.alpha() / 2.0, 1.0 - level.alpha() / 2.0));
    Ok(Estimate::plain(value, n, id::BOOTSTRAP_BCA)
        .with_error(crate::numeric::variance(&drawn).sqrt())
        .with_interval(Interval::both(quantile_of(&drawn, low), quantile_of(&drawn, high), level))
        .assuming([id::ASSUMED_RESAMPLED_UNITS])
        .assuming(plain))
}

/// Mean per unit with its bootstrap interval. Units, domain, source and errors as for [`bca`].
///
/// # Errors
/// As for [`bca`]; [`Refusal::TooFew`] below five animals, where [`crate::occupancy`] serves.
pub fn bootstrap_mean(counts: &[u32], how: Bootstrap, level: Level, watch: Watch<'_>) -> Result<Estimate, Refusal> {
    super::enough(counts.iter().copied().map(u64::from).sum())?;
    let statistic = |of: &[&u32]| Some(of.iter().map(|&&count| f64::from(count)).sum::<f64>() / of.len() as f64);
    let found = bca(counts, statistic, how, level, watch)?;
    Ok(noted(found, CoverageOf::BootstrapBca, k_by_moments(counts).ok().and_then(|clumping| clumping.k)))
}

/// Ratio of totals with its bootstrap interval: pairs are (x, y). Units, domain, source and errors as for [`bca`].
///
/// # Errors
/// As for [`bca`]; [`Refusal::NotANumber`].
pub fn bootstrap_ratio(
    pairs: &[(f64, f64)],
    how: Bootstrap,
    level: Level,
    watch: Watch<'_>,
) -> Result<Estimate, Refusal> {
    none_negative(pairs.iter().flat_map(|(x, y)| [x, y]))?;
    let statistic = |of: &[&(f64, f64)]| {
        let (x, y) = of.iter().fold((0.0, 0.0), |sums, pair| (sums.0 + pair.0, sums.1 + pair.1));
        (x > 0.0).then(|| y / x)
    };
    bca(pairs, statistic, how, level, watch)
}

/// Skewness of the values without one unit each, ÷ 6.
fn acceleration<T>(all: &[&T], mut statistic: impl FnMut(&[&T]) -> Option<f64>) -> f64 {
    let mut rest = all[1..].to_vec();
    let mut without = Vec::with_capacity(all.len());
    for left_out in 0..all.len() {
        without.extend(statistic(&rest));
        if left_out < rest.len() {
            rest[left_out] = all[left_out];
        }
    }
    let middle = mean(&without);
    let moment = |power: i32| without.iter().map(|value| (middle - value).powi(power)).sum::<f64>();
    let below = 6.0 * moment(2).powf(1.5);
    if below > 0.0 { moment(3) / below } else { 0.0 }
}

fn ends(sorted: &[f64], value: f64, acceleration: f64, level: Level) -> Option<(f64, f64)> {
    let below = sorted.iter().filter(|&&drawn| drawn < value).count() as f64;
    let same = sorted.iter().filter(|&&drawn| drawn <= value).count() as f64 - below;
    let share = (below + same / 2.0) / sorted.len() as f64;
    if share <= 0.0 || share >= 1.0 {
        return None;
    }
    let bias = quantile::normal(share);
    let end = |share: f64| {
        let z = bias + quantile::normal(share);
        let slack = 1.0 - acceleration * z;
        (slack > 0.0).then(|| 1.0 - normal_above(bias + z / slack))
    };
    Some((end(level.alpha() / 2.0)?, end(1.0 - level.alpha() / 2.0)?))
}
