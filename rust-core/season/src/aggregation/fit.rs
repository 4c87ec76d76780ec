//! Whether a distribution fits the counts.

use super::{Distribution, id};
use crate::Refusal;
use crate::numeric::chi_squared_above;
use serde::Serialize;

/// A chi-squared test of fit.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct GoodnessOfFit {
    /// Expected numbers: counts 0, 1, … and, last, all from `last_class` on.
    pub expected: Vec<f64>,
    /// Observed numbers in the same classes.
    pub observed: Vec<f64>,
    /// Sum of (observed − expected)² ÷ expected.
    pub chi_squared: f64,
    /// Twice the sum of observed · ln(observed ÷ expected).
    pub g: f64,
    /// Classes − 1 − parameters fitted.
    pub freedom: u32,
    /// Chance of a chi-squared at least so large if the distribution holds.
    pub p: f64,
}

/// Chi-squared and G of counts against a distribution whose `fitted` parameters came from the same counts (two for the
/// negative binomial, one for Poisson), with classes 0, 1, …, and `last_class` and more.
///
/// Unit: none. Domain: at least fitted + 2 classes; sound only where no class expects fewer than about 1 unit and few
/// expect below 5 (use [`last_class_for`]).
///
/// Source: Bliss CI, Fisher RA (1953) Biometrics 9:176-200; Cochran WG (1954) Biometrics 10:417-451 on small classes.
///
/// # Errors
/// [`Refusal::Nothing`] without counts; [`Refusal::NotMet`] with too few classes or a class that expects nothing.
pub fn goodness_of_fit(
    counts: &[u32],
    distribution: &Distribution,
    fitted: u32,
    last_class: u32,
) -> Result<GoodnessOfFit, Refusal> {
    if counts.is_empty() {
        return Err(Refusal::Nothing);
    }
    let freedom = last_class.min(10_000).saturating_sub(fitted);
    if freedom == 0 || last_class > 10_000 {
        return Err(Refusal::NotMet(id::REFUSED_TOO_FEW_CLASSES));
    }
    let n = counts.len() as f64;
    let mut expected: Vec<f64> = (0..last_class).map(|count| n * distribution.chance(count)).collect();
    expected.push((n - expected.iter().sum::<f64>()).max(0.0));
    let mut observed = vec![0.0; expected.len()];
    for &count in counts {
        observed[count.min(last_class) as usize] += 1.0;
    }
    if expected.iter().any(|&value| value <= 0.0) {
        return Err(Refusal::NotMet(id::REFUSED_TOO_FEW_CLASSES));
    }
    let pairs = || observed.iter().zip(&expected);
    let chi_squared: f64 = pairs().map(|(o, e)| (o - e).powi(2) / e).sum();
    let g: f64 = 2.0 * pairs().map(|(o, e)| if *o > 0.0 { o * (o / e).ln() } else { 0.0 }).sum::<f64>();
    let p = chi_squared_above(chi_squared, f64::from(freedom));
    Ok(GoodnessOfFit { expected, observed, chi_squared, g, freedom, p })
}

/// The last class for [`goodness_of_fit`] such that every class expects at least `least` units; at most 1,000.
pub fn last_class_for(units: u64, distribution: &Distribution, least: f64) -> u32 {
    let n = units as f64;
    let mut rest = n;
    for class in 0..1000 {
        let expected = n * distribution.chance(class);
        rest -= expected;
        if expected < least || rest < least {
            return class;
        }
    }
    1000
}
