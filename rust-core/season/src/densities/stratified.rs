//! Mean per unit over strata.

use super::id;
use crate::aggregation::MeanAndVariance;
use crate::numeric::at_least;
use crate::{Estimate, Level, Refusal};

/// A part of the site with its own sample, such as the regrowth after a cut.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Stratum {
    /// Counts unit by unit.
    pub counts: Vec<u32>,
    /// Units there are in the stratum.
    pub units: u64,
}

/// Mean per unit of a site in strata, each weighted by the units it holds, with finite population correction.
///
/// Mean = sum of Nₕ ÷ N × mean of stratum h. Variance = sum of (Nₕ ÷ N)² × s²ₕ ÷ nₕ × (1 − nₕ ÷ Nₕ). Interval by t, its
/// degrees by Satterthwaite's rule, no lower than 0; none where no stratum has variance.
///
/// Unit: animals per unit. Domain: at least one stratum, each with two units checked or all of them, Nₕ ≥ nₕ ≥ 1.
///
/// Source: Cochran WG (1977) Sampling Techniques, sections 5.3-5.4; Satterthwaite FE (1946) Biometrics Bull. 2:110-114.
///
/// # Errors
/// [`Refusal::Nothing`] without strata, [`Refusal::TooFew`] for a single unit of many or below five animals, [`Refusal::ImpossibleCounts`].
pub fn stratified_mean(strata: &[Stratum], level: Level) -> Result<Estimate, Refusal> {
    if strata.is_empty() {
        return Err(Refusal::Nothing);
    }
    super::enough(strata.iter().flat_map(|stratum| &stratum.counts).copied().map(u64::from).sum())?;
    let whole: f64 = strata.iter().map(|stratum| stratum.units as f64).sum();
    let (mut value, mut variance, mut squares) = (0.0, 0.0, 0.0);
    let mut checked = 0;
    for stratum in strata {
        let n = stratum.counts.len();
        let left = super::ratio::left_over(n, Some(stratum.units))?;
        let share = stratum.units as f64 / whole;
        checked += n;
        if n == 1 && stratum.units == 1 {
            value += share * f64::from(stratum.counts[0]);
            continue;
        }
        at_least(n, 2)?;
        let moments = MeanAndVariance::of(&stratum.counts)?;
        let part = share * share * moments.variance / n as f64 * left;
        value += share * moments.mean;
        variance += part;
        squares += part * part / (n as f64 - 1.0);
    }
    let found = Estimate::plain(value, checked, id::STRATIFIED_MEAN)
        .sound()?
        .assuming([id::ASSUMED_RANDOM_WITHIN_STRATA, crate::id::ASSUMED_UNITS_AT_SITE]);
    if squares <= 0.0 {
        return Ok(found.assuming([crate::id::ASSUMED_EQUAL_COUNTS_NO_VARIANCE]));
    }
    Ok(found.student(variance.sqrt(), variance * variance / squares, level)?.within(0.0, f64::MAX))
}
