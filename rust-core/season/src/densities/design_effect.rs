//! Design effect.

use super::{cluster_mean, id};
use crate::{Estimate, Level, Refusal, mean_per_unit};

/// How much a sample in clusters is worth less than one of single units: the squared ratio of the standard error
/// between clusters ([`cluster_mean`]) to the one that takes units as drawn singly ([`mean_per_unit`]).
///
/// Units checked ÷ design effect is the number of single units worth as much. Unit: none; 1 where clusters do not matter.
/// Domain: at least two clusters and some variance. No interval of its own; unsure with few clusters.
///
/// Source: Kish L (1965) Survey Sampling, Wiley, section 8.2.
///
/// # Errors
/// Those of [`cluster_mean`] and [`mean_per_unit`].
pub fn design_effect(clusters: &[Vec<u32>]) -> Result<Estimate, Refusal> {
    let between = cluster_mean(clusters, None, Level::P95)?;
    let units: Vec<u32> = clusters.iter().flatten().copied().collect();
    let single = mean_per_unit(&units, None, Level::P95)?;
    match (between.standard_error, single.standard_error) {
        (Some(between), Some(single)) if single > 0.0 => {
            Estimate::plain((between / single).powi(2), clusters.len(), id::DESIGN_EFFECT)
                .assuming([id::ASSUMED_RANDOM_CLUSTERS])
                .sound()
        }
        _ => Err(Refusal::NoVariance),
    }
}
