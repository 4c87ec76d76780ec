//! A sequential test of whether the mean is below or above a threshold.

use super::draw::negative_binomial;
use crate::Refusal;
use crate::densities::{Watch, told};
use crate::numeric::Dice;
use serde::Serialize;

/// Wald's sequential probability ratio test of two means under negative binomial counts with one k.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct SequentialTest {
    k: f64,
    /// Logarithm of the likelihood ratio that one animal adds, and that one unit takes away.
    per_animal: f64,
    per_unit: f64,
    low: f64,
    high: f64,
}

/// What the counts so far say.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Decision {
    /// The mean is no more than the lower one.
    Low,
    /// The mean is no less than the higher one.
    High,
    /// Go on.
    GoOn,
}

/// How a simulation of the test is run.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
pub struct Simulation {
    /// Seasons that are played through, 1 to 100,000.
    pub runs: u32,
    /// Seed of the chance.
    pub seed: u64,
    /// No decision before so many units.
    pub at_least: u32,
    /// Undecided after so many units, 1 to 10,000.
    pub at_most: u32,
}

/// What the test does at one true mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Operating {
    /// Share of runs that decided for the lower mean.
    pub low: f64,
    /// Share of runs that decided for the higher mean.
    pub high: f64,
    /// Share of runs that came to the greatest number undecided.
    pub undecided: f64,
    /// Mean number of units checked.
    pub mean_units: f64,
}

/// Greatest mean of simulated counts.
const GREATEST_MEAN: f64 = 1e4;

impl SequentialTest {
    /// The test of a lower against a higher mean, with the chances of deciding for the higher one where the lower is true
    /// (`false_high`) and for the lower one where the higher is true (`false_low`).
    ///
    /// Common k is assumed for both means. The true error chances differ from the stated ones, because the lines are
    /// overshot and counting ends at a greatest number: see [`SequentialTest::operating`].
    ///
    /// Unit: animals per unit. Domain: 0 < lower < higher, k above 0, both chances above 0 and below 0.5.
    ///
    /// Source: Wald A (1947) Sequential Analysis, Wiley; Waters WE (1955) For. Sci. 1:68-79.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] outside the domain.
    pub fn new(k: f64, (lower, higher): (f64, f64), (false_high, false_low): (f64, f64)) -> Result<Self, Refusal> {
        let chance = |chance: f64| chance > 1e-9 && chance < 0.5;
        let means = lower > 1e-9 && lower < higher && higher <= GREATEST_MEAN;
        if !(1e-6..=1e9).contains(&k) || !means || !chance(false_high) || !chance(false_low) {
            return Err(Refusal::NotANumber);
        }
        // Logarithms of 1 + x, because k may be large and the means close.
        let per_unit = k * ((higher - lower) / (k + lower)).ln_1p();
        let per_animal = (higher / lower).ln() - per_unit / k;
        if !(per_animal > 0.0 && per_unit > 0.0) {
            return Err(Refusal::NotANumber);
        }
        Ok(Self {
            k,
            per_animal,
            per_unit,
            low: (false_low / (1.0 - false_high)).ln(),
            high: ((1.0 - false_low) / false_high).ln(),
        })
    }

    /// Animals per unit by which both lines rise.
    pub fn slope(&self) -> f64 {
        self.per_unit / self.per_animal
    }

    /// Totals at and beyond which a decision falls after so many units: no more than the first, which may lie below 0 and
    /// is then out of reach, or no less than the second.
    pub fn lines(&self, units: u32) -> (f64, f64) {
        let middle = self.slope() * f64::from(units);
        (middle + self.low / self.per_animal, middle + self.high / self.per_animal)
    }

    /// Logarithm of the likelihood ratio of the higher against the lower mean.
    pub fn log_likelihood_ratio(&self, units: u32, total: u64) -> f64 {
        total as f64 * self.per_animal - f64::from(units) * self.per_unit
    }

    /// What so many animals on so many units say.
    pub fn decide(&self, units: u32, total: u64) -> Decision {
        match self.log_likelihood_ratio(units, total) {
            ratio if ratio >= self.high => Decision::High,
            ratio if ratio <= self.low => Decision::Low,
            _ => Decision::GoOn,
        }
    }

    /// What the test does at a true mean and k, played through by chance.
    ///
    /// Source: simulation, because Wald's approximate operating characteristic is poor for counts.
    ///
    /// # Errors
    /// [`Refusal::NotANumber`] for a mean not within 0 to 10⁴, a k not above 0, or a simulation outside its ranges;
    /// [`Refusal::NotMet`] if `watch` stopped the work.
    pub fn operating(
        &self,
        (mean, k): (f64, f64),
        simulation: Simulation,
        watch: Watch<'_>,
    ) -> Result<Operating, Refusal> {
        let Simulation { runs, seed, at_least, at_most } = simulation;
        let ranges = (1..=100_000).contains(&runs) && (1..=10_000).contains(&at_most) && at_least <= at_most;
        if !(0.0..=GREATEST_MEAN).contains(&mean) || !(1e-6..=1e9).contains(&k) || !ranges {
            return Err(Refusal::NotANumber);
        }
        let mut dice = Dice::new(seed);
        let (mut low, mut high, mut units_in_all) = (0_u32, 0_u32, 0_u64);
        for run in 0..runs {
            told(watch, run + 1)?;
            let (mut total, mut units) = (0_u64, 0_u32);
            let decision = loop {
                units += 1;
                total += u64::from(negative_binomial(&mut dice, mean, k));
                let decision = if units < at_least { Decision::GoOn } else { self.decide(units, total) };
                if decision != Decision::GoOn || units == at_most {
                    break decision;
                }
            };
            low += u32::from(decision == Decision::Low);
            high += u32::from(decision == Decision::High);
            units_in_all += u64::from(units);
        }
        let share = |part: u32| f64::from(part) / f64::from(runs);
        Ok(Operating {
            low: share(low),
            high: share(high),
            undecided: share(runs - low - high),
            mean_units: units_in_all as f64 / f64::from(runs),
        })
    }
}
