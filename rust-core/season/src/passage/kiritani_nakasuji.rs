//! Kiritani and Nakasuji's daily survival.

use super::knm::check_ends;
use super::series::check_durations;
use super::{StageSeries, id};
use crate::{Estimate, Refusal};

/// Daily survival in each stage but the last, from the areas and given durations: with F the area of the stage and all
/// later ones and f that of the stage, (1 − f ÷ F)^(1 ÷ duration).
///
/// For comparison only. It takes for true that all stages die at one rate, that the last stage stays countable until it
/// dies, one generation, and a series that starts and ends near zero; the last is tested. Values that differ much
/// between stages show that the first does not hold.
///
/// Unit: per day. Domain: equally spaced visits, durations above 0, at least two stages.
///
/// Source: Kiritani K, Nakasuji F (1967) Res. Popul. Ecol. 9:143-152.
///
/// # Errors
/// [`Refusal::NotMet`] for unequal spacing, a series that does not start and end near zero, empty stages, durations.
pub fn kiritani_nakasuji(series: &StageSeries, durations: &[f64]) -> Result<Vec<Estimate>, Refusal> {
    let stages = series.stages();
    check_durations(durations, stages.saturating_sub(1))?;
    series.spacing()?;
    check_ends(series, true)?;
    (0..stages - 1)
        .map(|stage| {
            let from: f64 = series.from_stage(stage).iter().sum();
            let later: f64 = series.from_stage(stage + 1).iter().sum();
            if from <= 0.0 || later <= 0.0 {
                return Err(Refusal::NotMet(id::REFUSED_STAGE_EMPTY));
            }
            let value = (later / from).powf(1.0 / durations[stage]);
            Estimate::plain(value, series.times().len(), id::KIRITANI_NAKASUJI)
                .assuming([
                    id::ASSUMED_FOR_COMPARISON,
                    id::ASSUMED_EQUAL_SURVIVAL,
                    id::ASSUMED_LAST_STAGE_STAYS,
                    id::ASSUMED_ONE_GENERATION,
                    id::ASSUMED_KNOWN_DURATIONS,
                    crate::aggregation::id::ASSUMED_NO_INTERVAL,
                ])
                .sound()
        })
        .collect()
}
