//! How far estimates after an early stop can be trusted.

use super::advice::Goal;
use super::draw::negative_binomial;
use super::id;
use super::sprt::Simulation;
use crate::densities::{Watch, told};
use crate::numeric::Dice;
use crate::{FEWEST_FOR_A_MEAN, Level, MessageId, Refusal, mean_per_unit};
use serde::Serialize;

/// What plain means and intervals are worth under a stop rule.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct RuleCheck {
    /// Share of plain intervals that hold the true mean, among visits with at least five animals.
    pub covered: f64,
    /// Mean of estimates ÷ true mean − 1, among the same.
    pub bias: f64,
    /// Share of visits with fewer than five animals, for which no mean is shown.
    pub too_few: f64,
    /// Share of visits that met the goal.
    pub met: f64,
    /// Mean number of units checked.
    pub mean_units: f64,
    /// Name of the method.
    pub method: MessageId,
}

/// Plays visits through under a goal's advice, at a true mean and k, and looks at the plain intervals that result.
///
/// Counting goes on until the goal is met or its greatest number is reached, time being no limit. `simulation.at_least`
/// and `at_most` are not used: the goal's are.
///
/// Unit: shares. Domain: mean above 0 to 1,000, k above 0, 1 to 100,000 runs, a goal of at most 10,000 units.
///
/// Source: simulation.
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain, [`Refusal::Nothing`] where no visit found five animals,
/// [`Refusal::NotMet`] if `watch` stopped the work.
pub fn check_rule(
    goal: &Goal,
    (mean, k): (f64, f64),
    level: Level,
    simulation: Simulation,
    watch: Watch<'_>,
) -> Result<RuleCheck, Refusal> {
    let Simulation { runs, seed, .. } = simulation;
    let possible = mean > 0.0 && mean <= 1e3 && (1e-6..=1e9).contains(&k);
    if !possible || !(1..=100_000).contains(&runs) || goal.at_most > 10_000 {
        return Err(Refusal::NotANumber);
    }
    let mut dice = Dice::new(seed);
    let (mut covered, mut shown, mut sum, mut met, mut units) = (0_u32, 0_u32, 0.0, 0_u32, 0_u64);
    for run in 0..runs {
        told(watch, run + 1)?;
        let (counts, reached) = visit(goal, (mean, k), &mut dice)?;
        met += u32::from(reached);
        units += counts.len() as u64;
        if counts.iter().copied().map(u64::from).sum::<u64>() < FEWEST_FOR_A_MEAN {
            continue;
        }
        // Equal counts carry no interval, which then covers nothing.
        let estimate = mean_per_unit(&counts, None, level);
        shown += 1;
        sum += counts.iter().copied().map(f64::from).sum::<f64>() / counts.len() as f64;
        covered +=
            u32::from(estimate.is_ok_and(|estimate| estimate.interval.is_some_and(|interval| interval.contains(mean))));
    }
    if shown == 0 {
        return Err(Refusal::Nothing);
    }
    let of_runs = |part: f64| part / f64::from(runs);
    Ok(RuleCheck {
        covered: f64::from(covered) / f64::from(shown),
        bias: sum / f64::from(shown) / mean - 1.0,
        too_few: of_runs(f64::from(runs - shown)),
        met: of_runs(f64::from(met)),
        mean_units: of_runs(units as f64),
        method: id::CHECKED_BY_SIMULATION,
    })
}

/// One visit: its counts, and whether it met the goal. What is out of reach by the counts so far may come into reach, so
/// the visit goes on to its greatest number.
fn visit(goal: &Goal, (mean, k): (f64, f64), dice: &mut Dice) -> Result<(Vec<u32>, bool), Refusal> {
    let mut counts = Vec::new();
    loop {
        if goal.reached(&counts, None)?.is_some() {
            return Ok((counts, true));
        }
        if counts.len() as u64 >= u64::from(goal.at_most) {
            return Ok((counts, false));
        }
        counts.push(negative_binomial(dice, mean, k));
    }
}
