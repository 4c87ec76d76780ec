//! Gwet's AC1.

use super::weighted::whole;
use super::{Table, id};
use crate::{Estimate, Level, Refusal};

/// Gwet's AC1: agreement of two observers beyond chance that does not fall where one class is very common.
///
/// pₑ = sum of π (1 − π) ÷ (classes − 1), π being the mean of both observers' shares of a class; AC1 = (pₒ − pₑ) ÷
/// (1 − pₑ). Variance: mean over things of (their own part − AC1)² ÷ (n − 1), a thing's part being
/// (its agreement − pₑ) ÷ (1 − pₑ) − 2 (1 − AC1)(its pₑ − pₑ) ÷ (1 − pₑ). Interval by t with n − 1 degrees.
///
/// Unit: none. Domain: at least two things.
///
/// Source: Gwet KL (2008) Br. J. Math. Stat. Psychol. 61:29-48.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotANumber`].
pub fn ac1(table: &Table, level: Level) -> Result<Estimate, Refusal> {
    let n = table.total();
    crate::numeric::at_least(whole(n), 2)?;
    let classes = table.classes();
    let shares: Vec<f64> =
        table.first().iter().zip(table.second()).map(|(first, second)| f64::midpoint(*first, second)).collect();
    let others = classes as f64 - 1.0;
    let expected = shares.iter().map(|share| share * (1.0 - share)).sum::<f64>() / others;
    let agreed: f64 = (0..classes).map(|class| table.share(class, class)).sum();
    let value = (agreed - expected) / (1.0 - expected);
    let mut spread = 0.0;
    for i in 0..classes {
        for j in 0..classes {
            let same = f64::from(u8::from(i == j));
            let own = f64::midpoint(1.0 - shares[i], 1.0 - shares[j]) / others;
            let part = (same - expected) / (1.0 - expected) - 2.0 * (1.0 - value) * (own - expected) / (1.0 - expected);
            spread += table.share(i, j) * (part - value).powi(2);
        }
    }
    Ok(Estimate::plain(value, whole(n), id::AC1)
        .sound()?
        .student((spread / (n - 1.0)).sqrt(), n - 1.0, level)?
        .within(-1.0, 1.0)
        .assuming([id::ASSUMED_ANIMALS_JUDGED_SINGLY]))
}
