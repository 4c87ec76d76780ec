//! How often the intervals of a mean held the truth in simulated samples.

use crate::{Estimate, MessageId, id as season};
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
    /// [`super::cluster_mean`], units being clusters of five plants, k that between clusters and within them.
    ClusterMean,
}

impl CoverageOf {
    /// The method's message.
    pub const fn method(self) -> MessageId {
        match self {
            Self::MeanPerUnit => season::MEAN_PER_UNIT,
            Self::BootstrapBca => super::id::BOOTSTRAP_BCA,
            Self::ClumpedMean => super::id::CLUMPED_MEAN,
            Self::ClusterMean => super::id::CLUSTER_MEAN,
        }
    }
}

/// What the example `coverage` of this crate measured: 2,000 samples per line.
pub const MEASURED: &[Coverage] = &[
    line(CoverageOf::MeanPerUnit, 20, Some(0.2), 0.1, 0.994, 0.08),
    line(CoverageOf::BootstrapBca, 20, Some(0.2), 0.1, 0.931, 0.08),
    line(CoverageOf::ClumpedMean, 20, Some(0.2), 0.1, 0.873, 0.078),
    line(CoverageOf::MeanPerUnit, 60, Some(0.2), 0.1, 0.996, 0.656),
    line(CoverageOf::BootstrapBca, 60, Some(0.2), 0.1, 0.971, 0.656),
    line(CoverageOf::ClumpedMean, 60, Some(0.2), 0.1, 0.972, 0.656),
    line(CoverageOf::MeanPerUnit, 20, Some(1.0), 0.1, 0.957, 0.058),
    line(CoverageOf::BootstrapBca, 20, Some(1.0), 0.1, 0.812, 0.058),
    line(CoverageOf::ClumpedMean, 20, Some(1.0), 0.1, 0.701, 0.058),
    line(CoverageOf::MeanPerUnit, 60, Some(1.0), 0.1, 0.994, 0.699),
    line(CoverageOf::BootstrapBca, 60, Some(1.0), 0.1, 0.983, 0.699),
    line(CoverageOf::ClumpedMean, 60, Some(1.0), 0.1, 0.98, 0.699),
    line(CoverageOf::MeanPerUnit, 20, None, 0.1, 0.992, 0.065),
    line(CoverageOf::BootstrapBca, 20, None, 0.1, 0.899, 0.065),
    line(CoverageOf::ClumpedMean, 20, None, 0.1, 0.76, 0.065),
    line(CoverageOf::MeanPerUnit, 60, None, 0.1, 0.991, 0.708),
    line(CoverageOf::BootstrapBca, 60, None, 0.1, 0.967, 0.708),
    line(CoverageOf::ClumpedMean, 60, None, 0.1, 0.959, 0.708),
    line(CoverageOf::MeanPerUnit, 20, Some(0.2), 0.5, 0.989, 0.83),
    line(CoverageOf::BootstrapBca, 20, Some(0.2), 0.5, 0.966, 0.83),
    line(CoverageOf::ClumpedMean, 20, Some(0.2), 0.5, 0.982, 0.828),
    line(CoverageOf::MeanPerUnit, 60, Some(0.2), 0.5, 0.905, 1.0),
    line(CoverageOf::BootstrapBca, 60, Some(0.2), 0.5, 0.932, 1.0),
    line(CoverageOf::ClumpedMean, 60, Some(0.2), 0.5, 0.96, 1.0),
    line(CoverageOf::MeanPerUnit, 20, Some(1.0), 0.5, 0.974, 0.945),
    line(CoverageOf::BootstrapBca, 20, Some(1.0), 0.5, 0.964, 0.945),
    line(CoverageOf::ClumpedMean, 20, Some(1.0), 0.5, 0.981, 0.945),
    line(CoverageOf::MeanPerUnit, 60, Some(1.0), 0.5, 0.93, 1.0),
    line(CoverageOf::BootstrapBca, 60, Some(1.0), 0.5, 0.936, 1.0),
    line(CoverageOf::ClumpedMean, 60, Some(1.0), 0.5, 0.955, 1.0),
    line(CoverageOf::MeanPerUnit, 20, None, 0.5, 0.973, 0.971),
    line(CoverageOf::BootstrapBca, 20, None, 0.5, 0.964, 0.971),
    line(CoverageOf::ClumpedMean, 20, None, 0.5, 0.988, 0.971),
    line(CoverageOf::MeanPerUnit, 60, None, 0.5, 0.947, 1.0),
    line(CoverageOf::BootstrapBca, 60, None, 0.5, 0.953, 1.0),
    line(CoverageOf::ClumpedMean, 60, None, 0.5, 0.968, 1.0),
    line(CoverageOf::MeanPerUnit, 20, Some(0.2), 2.0, 0.834, 0.996),
    line(CoverageOf::BootstrapBca, 20, Some(0.2), 2.0, 0.863, 0.996),
    line(CoverageOf::ClumpedMean, 20, Some(0.2), 2.0, 0.961, 0.996),
    line(CoverageOf::MeanPerUnit, 60, Some(0.2), 2.0, 0.878, 1.0),
    line(CoverageOf::BootstrapBca, 60, Some(0.2), 2.0, 0.903, 1.0),
    line(CoverageOf::ClumpedMean, 60, Some(0.2), 2.0, 0.95, 1.0),
    line(CoverageOf::MeanPerUnit, 20, Some(1.0), 2.0, 0.917, 1.0),
    line(CoverageOf::BootstrapBca, 20, Some(1.0), 2.0, 0.912, 1.0),
    line(CoverageOf::ClumpedMean, 20, Some(1.0), 2.0, 0.965, 1.0),
    line(CoverageOf::MeanPerUnit, 60, Some(1.0), 2.0, 0.947, 1.0),
    line(CoverageOf::BootstrapBca, 60, Some(1.0), 2.0, 0.94, 1.0),
    line(CoverageOf::ClumpedMean, 60, Some(1.0), 2.0, 0.957, 1.0),
    line(CoverageOf::MeanPerUnit, 20, None, 2.0, 0.947, 1.0),
    line(CoverageOf::BootstrapBca, 20, None, 2.0, 0.934, 1.0),
    line(CoverageOf::ClumpedMean, 20, None, 2.0, 0.973, 1.0),
    line(CoverageOf::MeanPerUnit, 60, None, 2.0, 0.947, 1.0),
    line(CoverageOf::BootstrapBca, 60, None, 2.0, 0.945, 1.0),
    line(CoverageOf::ClumpedMean, 60, None, 2.0, 0.958, 1.0),
    line(CoverageOf::ClusterMean, 6, Some(1.0), 0.1, 0.91, 0.204),
    line(CoverageOf::ClusterMean, 12, Some(1.0), 0.1, 0.96, 0.646),
    line(CoverageOf::ClusterMean, 24, Some(1.0), 0.1, 0.965, 0.978),
    line(CoverageOf::ClusterMean, 6, Some(1.0), 0.5, 0.969, 0.952),
    line(CoverageOf::ClusterMean, 12, Some(1.0), 0.5, 0.934, 1.0),
    line(CoverageOf::ClusterMean, 24, Some(1.0), 0.5, 0.937, 1.0),
    line(CoverageOf::ClusterMean, 6, Some(1.0), 2.0, 0.928, 1.0),
    line(CoverageOf::ClusterMean, 12, Some(1.0), 2.0, 0.919, 1.0),
    line(CoverageOf::ClusterMean, 24, Some(1.0), 2.0, 0.932, 1.0),
];

const fn line(method: CoverageOf, units: u32, k: Option<f64>, mean: f64, held: f64, shown: f64) -> Coverage {
    Coverage { method, units, k, mean, held, shown }
}

/// Intervals that held the truth less often than this say so.
const LEAST: f64 = 0.92;

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

/// Adds a note to an estimate whose kind of interval held the truth less often than it should in samples like this.
pub(super) fn noted(found: Estimate, of: CoverageOf, k: Option<f64>) -> Estimate {
    let low = coverage_of(of, found.n, k, found.value).is_some_and(|line| line.held < LEAST);
    found.assuming(low.then_some(super::id::NOTED_COVERAGE_BELOW_92))
}
