//! Mean number per unit of check.

use crate::estimate::{Estimate, Interval, Level, Sides};
use crate::{Refusal, id, quantile};

/// Mean number per unit, with standard error and t-interval, of a simple random sample without replacement.
///
/// Mean = sum of counts ÷ number of units n. Variance s² = sum of squared distances from the mean ÷ (n − 1).
/// Standard error = √(s² ÷ n) × √(1 − n ÷ N), N being the units at the site where known. Interval = mean ± t(n − 1) ×
/// standard error, its lower end no lower than 0.
///
/// Unit: animals per unit of check. Domain: n ≥ 2 counts, N ≥ n. With n = N the standard error is 0 and the interval
/// is the mean itself. Counts of animals are skewed: with few animals the interval misses more often than it says.
///
/// Source: Cochran WG (1977) Sampling Techniques, 3rd ed., Wiley, sections 2.5-2.8.
///
/// # Errors
/// [`Refusal::TooFew`] below two units; [`Refusal::ImpossibleCounts`] if N < n; [`Refusal::NoVariance`] if all counts
/// are equal and not every unit was checked.
pub fn mean_per_unit(counts: &[u32], units_at_site: Option<u32>, level: Level) -> Result<Estimate, Refusal> {
    let n = counts.len() as u64;
    if n < 2 {
        return Err(Refusal::TooFew { have: n, need: 2 });
    }
    if let Some(whole) = units_at_site.map(u64::from).filter(|&whole| whole < n) {
        return Err(Refusal::ImpossibleCounts { part: n, whole });
    }
    let every_unit = units_at_site.map(u64::from) == Some(n);
    let sum: u64 = counts.iter().copied().map(u64::from).sum();
    let units = n as f64;
    let mean = sum as f64 / units;
    let squares: f64 = counts.iter().map(|&count| (f64::from(count) - mean).powi(2)).sum();
    if counts.iter().all(|count| count == &counts[0]) && !every_unit {
        return Err(Refusal::NoVariance);
    }
    let left = units_at_site.map_or(1.0, |whole| 1.0 - units / f64::from(whole));
    let standard_error = (squares / (units - 1.0) / units * left).sqrt();
    let reach = quantile::t(units - 1.0, 1.0 - level.alpha() / 2.0)? * standard_error;
    Ok(Estimate {
        value: mean,
        standard_error: Some(standard_error),
        interval: Some(Interval { low: (mean - reach).max(0.0), high: mean + reach, level, sides: Sides::Both }),
        n,
        method: id::MEAN_PER_UNIT,
        assumed: vec![match units_at_site {
            _ if every_unit => id::ASSUMED_EVERY_UNIT_CHECKED,
            Some(_) => id::ASSUMED_UNITS_AT_SITE,
            None => id::ASSUMED_MANY_UNITS,
        }],
    })
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    /// European red mites on 150 apple leaves: Bliss CI, Fisher RA (1953) Biometrics 9:176-200, counts as printed.
    fn red_mites() -> Vec<u32> {
        [70, 38, 17, 10, 9, 3, 2, 1]
            .into_iter()
            .zip(0..)
            .flat_map(|(leaves, mites)| std::iter::repeat_n(mites, leaves))
            .collect()
    }

    /// Expected values computed with scipy 1.17.1 from the published counts.
    #[test]
    fn red_mites_give_the_known_mean_and_interval() {
        let table = [
            (None, 0.123_116_4, 0.903_387, 1.389_946),
            (Some(500), 0.103_006_6, 0.943_124, 1.350_209),
            (Some(1000), 0.113_507_7, 0.922_374, 1.370_959),
        ];
        for (units_at_site, standard_error, low, high) in table {
            let mean = mean_per_unit(&red_mites(), units_at_site, Level::P95).unwrap();
            let interval = mean.interval.unwrap();
            assert!((mean.value - 1.146_666_7).abs() < 1e-6);
            assert!((mean.standard_error.unwrap() - standard_error).abs() < 1e-6, "{mean:?}");
            assert!((interval.low - low).abs() < 1e-6 && (interval.high - high).abs() < 1e-6, "{mean:?}");
        }
    }

    #[test]
    fn what_the_counts_do_not_carry_is_refused() {
        let of = |counts: &[u32], whole| mean_per_unit(counts, whole, Level::P95);
        assert_eq!(of(&[], None), Err(Refusal::TooFew { have: 0, need: 2 }));
        assert_eq!(of(&[3], None), Err(Refusal::TooFew { have: 1, need: 2 }));
        assert_eq!(of(&[0, 0, 0], None), Err(Refusal::NoVariance));
        assert_eq!(of(&[2, 2], Some(9)), Err(Refusal::NoVariance));
        assert_eq!(of(&[1, 2, 3], Some(2)), Err(Refusal::ImpossibleCounts { part: 3, whole: 2 }));
    }

    #[test]
    fn a_count_of_every_unit_has_no_error_of_sampling() {
        let mean = mean_per_unit(&[2, 2, 5], Some(3), Level::P95).unwrap();
        assert_eq!(mean.interval, Some(Interval { low: 3.0, high: 3.0, level: Level::P95, sides: Sides::Both }));
    }

    proptest! {
        #[test]
        fn order_does_not_matter_and_the_interval_holds_the_mean(
            mut counts in prop::collection::vec(0_u32..60, 2..80),
            more in 0_u32..500,
        ) {
            prop_assume!(counts.iter().any(|count| count != &counts[0]));
            let whole = Some(u32::try_from(counts.len()).unwrap() + more);
            let mean = mean_per_unit(&counts, whole, Level::P95).unwrap();
            counts.sort_unstable();
            let sorted = mean_per_unit(&counts, whole, Level::P95).unwrap();
            prop_assert!((mean.value - sorted.value).abs() < 1e-12);
            prop_assert!((mean.standard_error.unwrap() - sorted.standard_error.unwrap()).abs() < 1e-9);
            prop_assert!(mean.interval.unwrap().contains(mean.value));
            let endless = mean_per_unit(&counts, None, Level::P95).unwrap();
            prop_assert!(mean.standard_error.unwrap() <= endless.standard_error.unwrap());
        }
    }
}
