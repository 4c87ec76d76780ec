//! Kappa of many observers.

use super::{Kappa, id};
use crate::numeric::{mean, normal_two_sided};
use crate::{Estimate, Level, Refusal};

/// Fleiss' kappa of several observers: one row per thing, holding how many observers called it by each class.
///
/// Pᵢ = (sum of counts² − m) ÷ (m (m − 1)) for m observers, pₑ = sum of squared shares of the classes, kappa = (mean Pᵢ −
/// pₑ) ÷ (1 − pₑ). Error by chance only: √(2 (s² − sum of p q (q − p)) ÷ (N m (m − 1))) ÷ s with s = sum of p q. The
/// error of kappa itself, and the interval with t and N − 1 degrees, are by the jackknife over things.
///
/// Unit: none. Domain: at least three things, each judged by the same number of observers, at least two; more than one
/// class in use.
///
/// Source: Fleiss JL (1971) Psychol. Bull. 76:378-382; error by chance Fleiss JL, Nee JCM, Landis JR (1979) Psychol.
/// Bull. 86:974-977.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] for rows of different length or sum, or one class.
pub fn fleiss(things: &[Vec<u32>], level: Level) -> Result<Kappa, Refusal> {
    let observers = check(things)?;
    let shares = shares(things, observers);
    let kappa = |things: &[&Vec<u32>]| {
        let shares = shares_of(things, observers);
        let expected: f64 = shares.iter().map(|share| share * share).sum();
        (1.0 - expected > 1e-12).then(|| (agreement(things, observers) - expected) / (1.0 - expected))
    };
    let all: Vec<&Vec<u32>> = things.iter().collect();
    let value = kappa(&all).ok_or(Refusal::NotMet(id::REFUSED_ONE_CLASS))?;
    let spread: f64 = shares.iter().map(|p| p * (1.0 - p)).sum();
    let skew: f64 = shares.iter().map(|p| p * (1.0 - p) * (1.0 - 2.0 * p)).sum();
    let below = things.len() as f64 * observers * (observers - 1.0);
    let error_by_chance = (2.0 * (spread * spread - skew).max(0.0) / below).sqrt() / spread;
    let z = if error_by_chance > 0.0 { value / error_by_chance } else { 0.0 };
    let found = jackknife(Estimate::plain(value, things.len(), id::FLEISS), &all, kappa, level)?;
    Ok(Kappa { kappa: found, error_by_chance, z, p: normal_two_sided(z) })
}

/// Kappa of several observers who need not fill the classes in any given measure: chance agreement is 1 ÷ classes.
///
/// Input, unit, domain and errors as for [`fleiss`].
///
/// Source: Randolph JJ (2005) Free-marginal multirater kappa, Joensuu Learning and Instruction Symposium.
///
/// # Errors
/// As for [`fleiss`].
pub fn free_marginal(things: &[Vec<u32>], level: Level) -> Result<Estimate, Refusal> {
    let observers = check(things)?;
    let expected = 1.0 / things[0].len() as f64;
    let kappa = |things: &[&Vec<u32>]| Some((agreement(things, observers) - expected) / (1.0 - expected));
    let all: Vec<&Vec<u32>> = things.iter().collect();
    let value = kappa(&all).unwrap_or(0.0);
    jackknife(Estimate::plain(value, things.len(), id::FREE_MARGINAL), &all, kappa, level)
}

fn jackknife(
    found: Estimate,
    all: &[&Vec<u32>],
    kappa: impl Fn(&[&Vec<u32>]) -> Option<f64>,
    level: Level,
) -> Result<Estimate, Refusal> {
    let found = found.assuming([id::ASSUMED_ANIMALS_JUDGED_SINGLY]).sound()?;
    let n = all.len();
    let without: Option<Vec<f64>> = (0..n)
        .map(|left_out| {
            let rest: Vec<&Vec<u32>> =
                all.iter().enumerate().filter(|(index, _)| *index != left_out).map(|(_, thing)| *thing).collect();
            kappa(&rest)
        })
        .collect();
    let Some(without) = without.filter(|_| n >= 3) else {
        return Ok(found.assuming([crate::aggregation::id::ASSUMED_NO_INTERVAL]));
    };
    let middle = mean(&without);
    let size = n as f64;
    let squares: f64 = without.iter().map(|value| (value - middle).powi(2)).sum();
    Ok(found.student((squares * (size - 1.0) / size).sqrt(), size - 1.0, level)?.within(-1.0, 1.0))
}

fn check(things: &[Vec<u32>]) -> Result<f64, Refusal> {
    crate::numeric::at_least(things.len(), 2)?;
    let sum = |row: &[u32]| row.iter().copied().map(u64::from).sum::<u64>();
    let observers = sum(&things[0]);
    let same = things.iter().all(|row| row.len() == things[0].len() && sum(row) == observers);
    if !same || things[0].len() < 2 || observers < 2 {
        return Err(Refusal::NotMet(id::REFUSED_TABLE_SHAPE));
    }
    Ok(observers as f64)
}

fn shares(things: &[Vec<u32>], observers: f64) -> Vec<f64> {
    shares_of(&things.iter().collect::<Vec<_>>(), observers)
}

fn shares_of(things: &[&Vec<u32>], observers: f64) -> Vec<f64> {
    let whole = things.len() as f64 * observers;
    (0..things[0].len()).map(|class| things.iter().map(|row| f64::from(row[class])).sum::<f64>() / whole).collect()
}

fn agreement(things: &[&Vec<u32>], observers: f64) -> f64 {
    let of = |row: &[u32]| {
        let squares: f64 = row.iter().map(|&count| f64::from(count).powi(2)).sum();
        (squares - observers) / (observers * (observers - 1.0))
    };
    things.iter().map(|row| of(row)).sum::<f64>() / things.len() as f64
}
