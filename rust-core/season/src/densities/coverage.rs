//! How often the intervals of a mean held the truth in simulated samples.

use crate::{MessageId, id as season};
use serde::Serialize;

/// The share of simulated samples whose interval at 95 % held the true mean.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Coverage {
    /// The method of the interval.
    pub method: CoverageOf,
    /// Units checked in each sample.
    pub units: u32,
    /// k of the simulated animals; `None` for chance alone.
    pub k: Option<f64>,
    /// Their true mean per unit.
    pub mean: f64,
    /// Share of intervals that held it, among samples with at least five animals.
    pub held: f64,
    /// Share of samples with at least five animals: the others show no mean.
    pub shown: f64,
}

/// Methods whose coverage was measured.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum CoverageOf {
    /// [`crate::mean_per_unit`].
    MeanPerUnit,
    /// [`super::bootstrap_mean`].
    BootstrapBca,
    /// [`super::clumped_mean`].
    ClumpedMean,
}

impl CoverageOf {
    /// The method's message.
    pub const fn method(self) -> MessageId {
        match self {
            Self::MeanPerUnit => season::MEAN_PER_UNIT,
            Self::BootstrapBca => super::id::BOOTSTRAP_BCA,
            Self::ClumpedMean => super::id::CLUMPED_MEAN,
        }
    }
}

/// What the example `coverage` of this crate measured: 2,000 samples per line.
pub const MEASURED: &[Coverage] = &[];

/// Chance alone is put at this k to find the nearest line.
const K_OF_CHANCE: f64 = 20.0;

/// The measured line nearest to a sample: by the logarithms of units, k and mean. To be shown beside an interval whose
/// `held` is below 0.92. `None` for a mean not above 0.
pub fn coverage_of(method: CoverageOf, units: u64, k: Option<f64>, mean: f64) -> Option<&'static Coverage> {
    if !(mean > 0.0 && mean.is_finite()) || units == 0 {
        return None;
    }
    let log_k = |k: Option<f64>| k.unwrap_or(K_OF_CHANCE).clamp(0.01, K_OF_CHANCE).ln();
    let far = |line: &Coverage| {
        (f64::from(line.units) / units as f64).ln().powi(2)
            + (log_k(line.k) - log_k(k)).powi(2)
            + (line.mean / mean).ln().powi(2)
    };
    MEASURED.iter().filter(|line| line.method == method).min_by(|one, other| far(one).total_cmp(&far(other)))
}
