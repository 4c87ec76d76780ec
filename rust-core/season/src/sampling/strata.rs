//! How many plants from each part of a site.

use crate::Refusal;
use serde::Serialize;

/// A part of a site that is sampled by itself, such as regrowth after a cut.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Stratum {
    /// Units in it.
    pub units: u32,
    /// Standard deviation of counts per unit, where [`Allocation::ByScatter`] needs it.
    pub deviation: f64,
}

/// How plants are shared out.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Allocation {
    /// In proportion to the units.
    BySize,
    /// In proportion to units × standard deviation, which makes the variance of the whole least (Neyman).
    ByScatter,
}

/// With one unit a stratum would have no variance.
const LEAST_PER_STRATUM: u32 = 2;

/// Shares plants out over strata.
///
/// Each stratum first gets two plants, or all it has; the others go one by one to the stratum whose weight ÷ (2 × plants so far + 1)
/// is greatest, never beyond its units. Weight = units, or units × standard deviation; where all weights are 0, units.
///
/// Unit: plants. Domain: standard deviations of 0 or more; the plants are no more than all units, no fewer than the
/// least, and at most a million.
///
/// Source: Neyman J (1934) J. R. Stat. Soc. 97:558-625; Cochran WG (1977) Sampling Techniques, 3rd ed., Wiley, sections
/// 5.3-5.6. Rounding by Sainte-Laguë's divisors.
///
/// # Errors
/// [`Refusal::Nothing`] without a unit; [`Refusal::NotANumber`] for a standard deviation; [`Refusal::ImpossibleCounts`]
/// for too many plants; [`Refusal::TooFew`] for fewer than the least.
pub fn allocate(strata: &[Stratum], plants: u32, by: Allocation) -> Result<Vec<u32>, Refusal> {
    let whole: u64 = strata.iter().map(|stratum| u64::from(stratum.units)).sum();
    if whole == 0 {
        return Err(Refusal::Nothing);
    }
    if strata.iter().any(|stratum| !(0.0..=1e9).contains(&stratum.deviation)) {
        return Err(Refusal::NotANumber);
    }
    let most = whole.min(1_000_000);
    if u64::from(plants) > most {
        return Err(Refusal::ImpossibleCounts { part: plants.into(), whole: most });
    }
    let mut shares: Vec<u32> = strata.iter().map(|stratum| stratum.units.min(LEAST_PER_STRATUM)).collect();
    let least: u32 = shares.iter().sum();
    if plants < least {
        return Err(Refusal::TooFew { have: plants.into(), need: least.into() });
    }
    let weights = weights(strata, by);
    for _ in least..plants {
        let claim = |index: usize| weights[index] / (2.0 * f64::from(shares[index]) + 1.0);
        let next = (0..strata.len())
            .filter(|&index| shares[index] < strata[index].units)
            .max_by(|&one, &other| claim(one).total_cmp(&claim(other)).then(other.cmp(&one)));
        if let Some(next) = next {
            shares[next] += 1;
        }
    }
    Ok(shares)
}

fn weights(strata: &[Stratum], by: Allocation) -> Vec<f64> {
    let by_size = || strata.iter().map(|stratum| f64::from(stratum.units));
    let by_scatter = by_size().zip(strata).map(|(units, stratum)| units * stratum.deviation);
    match by {
        Allocation::ByScatter if strata.iter().any(|stratum| stratum.units > 0 && stratum.deviation > 0.0) => {
            by_scatter.collect()
        }
        Allocation::BySize | Allocation::ByScatter => by_size().collect(),
    }
}
