//! Sums by stage over a season.

use crate::estimate::Estimate;
use crate::sample::{Group, SiteSeason};
use crate::{MessageId, Refusal, id};
use serde::Serialize;
use survey::stage::Stage;

/// What was counted of one stage in all samples together.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageTotal {
    /// Stands over it where the effort is unknown.
    pub heading: Option<MessageId>,
    /// The stage.
    pub stage: Stage,
    /// Animals decided to be of this stage; no interval, for it is about the sample alone.
    pub total: Estimate,
    /// Undecided things that may be of it, over and above the total.
    pub undecided: u64,
}

/// Living animals decided to be of each stage, summed over the visits that looked for it.
///
/// Unit: animals in the sample. Domain: any season with a visit. A stage that no visit looked for is left out; `n` is
/// the number of visits that did. No interval: the sums describe the sample and nothing else.
///
/// Source: none needed, plain sums.
///
/// # Errors
/// [`Refusal::Nothing`] without a visit.
pub fn totals_by_stage(season: &SiteSeason) -> Result<Vec<StageTotal>, Refusal> {
    if season.visits().is_empty() {
        return Err(Refusal::Nothing);
    }
    let heading = (!season.effort_is_known()).then_some(id::HEADING_TOTALS_EFFORT_UNKNOWN);
    Ok(Stage::ALL.into_iter().filter_map(|stage| stage_total(season, stage, heading)).collect())
}

fn stage_total(season: &SiteSeason, stage: Stage, heading: Option<MessageId>) -> Option<StageTotal> {
    let group = Group::Stage(stage);
    let found: Vec<(u64, u64)> =
        season.visits().iter().filter_map(|visit| Some((visit.total(group)?, visit.undecided(group)?))).collect();
    if found.is_empty() {
        return None;
    }
    let total = Estimate {
        value: found.iter().map(|(sure, _)| sure).sum::<u64>() as f64,
        standard_error: None,
        interval: None,
        n: found.len() as u64,
        method: id::TOTALS_BY_STAGE,
        assumed: vec![id::ASSUMED_SAMPLE_ONLY],
    };
    Some(StageTotal { heading, stage, total, undecided: found.iter().map(|(_, doubt)| doubt).sum() })
}
