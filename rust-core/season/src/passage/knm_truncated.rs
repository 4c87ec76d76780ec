//! Kiritani, Nakasuji and Manly's method for a series that ends early.

use super::knm::{check_ends, solve, sums};
use super::{Knm, StageSeries, id};
use crate::Refusal;
use crate::numeric::at_least;

/// Rounds of the correction.
const ROUNDS: usize = 500;
/// It stands still when mortality moves by less than this share.
const STILL: f64 = 1e-10;
/// The series is carried on until less than this share of the last sample is left.
const LEFT: f64 = 1e-9;
/// And never beyond as many samples.
const MOST_SAMPLES: usize = 100_000;

/// As [`super::knm`], for a series whose last samples are not near zero: the missing samples are put in from the
/// current estimates, and the estimates made anew, until they stand still.
///
/// After the last sample no animal is laid. Of those in stage i then, at an age evenly spread over the stage's duration,
/// the share that has reached stage j after s days follows from the durations, and all decline by e^(−θ s). The sums of C
/// and t C are completed with these.
///
/// For comparison only; it assumes what [`super::knm`] does but for the end, and laying over before the last sample,
/// which is tested as far as can be: the first stage is past its greatest number.
///
/// Unit and domain as for [`super::knm`].
///
/// Source: the idea of an iterative correction is that of Manly BFJ (1990) Stage-Structured Populations, chapter 4; this
/// form, with even ages at the end, is this project's own, checked by simulation.
///
/// # Errors
/// [`Refusal::TooFew`]; [`Refusal::NotMet`] where a tested condition fails or it does not settle.
pub fn knm_truncated(series: &StageSeries) -> Result<Knm, Refusal> {
    at_least(series.times().len(), 3)?;
    let step = series.spacing()?;
    check_ends(series, false)?;
    let first = series.stage(0);
    let peak = (0..first.len()).max_by(|&one, &other| first[one].total_cmp(&first[other])).unwrap_or(0);
    if peak + 1 >= first.len() {
        return Err(Refusal::NotMet(id::REFUSED_BEFORE_PEAK));
    }
    let (areas, mean_times) = sums(series, step)?;
    let mut found = solve(areas.clone(), mean_times.clone(), id::KNM_TRUNCATED)?;
    for _ in 0..ROUNDS {
        let (mut whole, mut times) = (areas.clone(), mean_times.clone());
        for stage in 0..series.stages() {
            let (more, moment) = tail(series, &found, stage, step);
            let area = areas[stage] + step * more;
            times[stage] = (areas[stage] * mean_times[stage] + step * moment) / area;
            whole[stage] = area;
        }
        let next = solve(whole, times, id::KNM_TRUNCATED)?;
        let still = (next.mortality - found.mortality).abs() < STILL * found.mortality;
        found = next;
        if still {
            found.assumed.push(id::ASSUMED_EVEN_AGES_AT_END);
            return Ok(found);
        }
    }
    Err(Refusal::NotMet(id::REFUSED_NOT_SETTLED))
}

/// Sums of C and t C of the samples that would have followed the last one.
fn tail(series: &StageSeries, found: &Knm, stage: usize, step: f64) -> (f64, f64) {
    let last = series.times()[series.times().len() - 1];
    let row = &series.rows()[series.rows().len() - 1];
    let (mut sum, mut moment) = (0.0, 0.0);
    for sample in 1..MOST_SAMPLES {
        let later = step * sample as f64;
        let alive = (-found.mortality * later).exp();
        let reached: f64 = row
            .iter()
            .enumerate()
            .map(|(own, count)| {
                if own >= stage {
                    return *count;
                }
                // Days from a random moment of its stage to the start of the wanted one: between `through` and that
                // plus its own duration, evenly.
                let through: f64 = found.durations[own + 1..stage].iter().sum();
                count * ((later - through) / found.durations[own]).clamp(0.0, 1.0)
            })
            .sum();
        sum += alive * reached;
        moment += alive * reached * (last + later);
        if alive < LEFT {
            break;
        }
    }
    (sum, moment)
}
