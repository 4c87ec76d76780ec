//! Kiritani, Nakasuji and Manly's method.

use super::{StageSeries, id};
use crate::numeric::at_least;
use crate::{MessageId, Refusal};
use serde::Serialize;

/// Survival, durations and numbers by the method of Kiritani, Nakasuji and Manly.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Knm {
    /// Mortality per unit of time, the same in all stages.
    pub mortality: f64,
    /// e^−mortality.
    pub daily_survival: f64,
    /// Areas of each stage and all later ones.
    pub areas: Vec<f64>,
    /// Mean times of the same.
    pub mean_times: Vec<f64>,
    /// Share of each stage but the last that reaches the next.
    pub survival: Vec<f64>,
    /// Duration of each stage but the last.
    pub durations: Vec<f64>,
    /// Numbers entering each stage.
    pub entering: Vec<f64>,
    /// How it was made.
    pub method: MessageId,
    /// What was taken for true without being known.
    pub assumed: Vec<MessageId>,
}

/// First and last visit may hold this share of the greatest number.
const NEAR_ZERO: f64 = 0.05;

/// Survival, durations and numbers entering from counts at equal intervals h.
///
/// With C the numbers in a stage or a later one: area A = h × sum of C, mean time B = sum of t C ÷ sum of C. Share
/// reaching the next stage w = A of the next ÷ A; mortality θ = −ln(A of last ÷ A of first) ÷ (B of last − B of first);
/// durations −ln w ÷ θ; entering θ A.
///
/// For comparison only. It takes for true that all stages die at one rate, that the last stage stays countable until it
/// dies (larvae that walk off to pupate break this), one generation, laying over by the end, and a series that starts
/// and ends near zero. Tested: equal spacing, both ends at most 5 % of the greatest number, numbers that fall from stage
/// to stage. Where losses differ between stages it is biased: with heavy losses of eggs it gives about twice their
/// survival. Sums over daily samples overstate numbers entering by θ ÷ (1 − e^−θ).
///
/// Unit: that of the series' times. Domain: at least three visits, at least two stages.
///
/// Source: Manly BFJ (1976) Res. Popul. Ecol. 17:191-199, the formulas from memory and checked by exact simulation.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] where a tested condition fails.
pub fn knm(series: &StageSeries) -> Result<Knm, Refusal> {
    at_least(series.times().len(), 3)?;
    let step = series.spacing()?;
    check_ends(series, true)?;
    let (areas, mean_times) = sums(series, step)?;
    solve(areas, mean_times, id::KNM)
}

/// Refuses a series that does not start near zero, nor end there where it should.
pub(super) fn check_ends(series: &StageSeries, end: bool) -> Result<(), Refusal> {
    let all = series.from_stage(0);
    let greatest = all.iter().copied().fold(0.0, f64::max);
    if greatest <= 0.0 {
        return Err(Refusal::Nothing);
    }
    if all[0] > NEAR_ZERO * greatest {
        return Err(Refusal::NotMet(id::REFUSED_STARTS_ABOVE_ZERO));
    }
    if end && all[all.len() - 1] > NEAR_ZERO * greatest {
        return Err(Refusal::NotMet(id::REFUSED_ENDS_ABOVE_ZERO));
    }
    Ok(())
}

/// Areas and mean times of each stage and all later ones.
pub(super) fn sums(series: &StageSeries, step: f64) -> Result<(Vec<f64>, Vec<f64>), Refusal> {
    at_least(series.stages(), 2)?;
    let mut areas = Vec::new();
    let mut mean_times = Vec::new();
    for stage in 0..series.stages() {
        let counts = series.from_stage(stage);
        let total: f64 = counts.iter().sum();
        if total <= 0.0 {
            return Err(Refusal::NotMet(id::REFUSED_STAGE_EMPTY));
        }
        areas.push(step * total);
        mean_times.push(series.times().iter().zip(&counts).map(|(time, count)| time * count).sum::<f64>() / total);
    }
    Ok((areas, mean_times))
}

/// The estimates from areas and mean times.
pub(super) fn solve(areas: Vec<f64>, mean_times: Vec<f64>, method: MessageId) -> Result<Knm, Refusal> {
    let last = areas.len() - 1;
    let mortality = -(areas[last] / areas[0]).ln() / (mean_times[last] - mean_times[0]);
    if !(mortality.is_finite() && mortality > 0.0) {
        return Err(Refusal::NotMet(id::REFUSED_NO_DECLINE));
    }
    let survival: Vec<f64> = areas.windows(2).map(|pair| pair[1] / pair[0]).collect();
    if survival.iter().any(|&share| share >= 1.0) {
        return Err(Refusal::NotMet(id::REFUSED_NO_DECLINE));
    }
    Ok(Knm {
        mortality,
        daily_survival: (-mortality).exp(),
        durations: survival.iter().map(|share| -share.ln() / mortality).collect(),
        entering: areas.iter().map(|area| mortality * area).collect(),
        areas,
        mean_times,
        survival,
        method,
        assumed: vec![
            id::ASSUMED_FOR_COMPARISON,
            id::ASSUMED_EQUAL_SURVIVAL,
            id::ASSUMED_LAST_STAGE_STAYS,
            id::ASSUMED_RECRUITMENT_ENDED,
            id::ASSUMED_ONE_GENERATION,
            crate::aggregation::id::ASSUMED_NO_INTERVAL,
        ],
    })
}
