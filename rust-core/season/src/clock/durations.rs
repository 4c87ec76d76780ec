//! How long stages last at a constant temperature.

use super::id;
use super::refusal::ClockRefusal;
use super::stages::StageClock;
use crate::degree_days::{self, Celsius, rate};
use crate::quantile;
use crate::{Estimate, Interval, Level, Sides};
use serde::Serialize;
use survey::stage::Stage;

/// How long a stage lasts.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct StageDuration {
    /// The stage.
    pub stage: Stage,
    /// Days; the interval is the spread between individuals where it is known, not an error of the mean.
    pub days: Estimate,
    /// Days from laying to its end; the interval likewise, a lower bound of the spread.
    pub days_since_laying: Estimate,
}

/// Days that each stage lasts at a constant temperature.
///
/// Duration = degree-days of the stage ÷ rate at the temperature, the rate being degrees above the lower threshold with
/// the clock's cutoff. The interval holds the stated share of individuals: duration × (1 ± z × coefficient of
/// variation). From laying on, the variances of stages are added as if independent, which is a lower bound of the spread
/// because stages of one animal go together; it is absent from the first stage on whose variation is not known.
///
/// Unit: days. Domain: temperatures at which anything develops.
///
/// Source: Zalucki MP (1982) J. Aust. Entomol. Soc. 21:241-246 for the monarch.
///
/// # Errors
/// [`ClockRefusal::NoDevelopment`] where the rate is not above 0; a number that is no temperature.
pub fn durations(clock: &StageClock, at: Celsius, level: Level) -> Result<Vec<StageDuration>, ClockRefusal> {
    if !(-100.0..=100.0).contains(&at.0) {
        return Err(crate::Refusal::NotANumber.into());
    }
    let counting = clock.counting();
    let rate = rate(at, counting.thresholds(), counting.cutoff());
    if rate <= 0.0 {
        return Err(ClockRefusal::NoDevelopment { at: at.0 });
    }
    let z = quantile::normal(1.0 - level.alpha() / 2.0);
    let estimate = |heat: f64, deviation: Option<f64>, assumed: &[crate::MessageId]| Estimate {
        value: heat / rate,
        standard_error: None,
        interval: deviation.map(|deviation| Interval {
            low: (heat - z * deviation).max(0.0) / rate,
            high: (heat + z * deviation) / rate,
            level,
            sides: Sides::Both,
        }),
        n: 0,
        method: id::STAGE_DURATION,
        assumed: [id::ASSUMED_STRAIGHT_RATE, degree_days::id::ASSUMED_AIR_IS_LEAF, id::ASSUMED_PUBLISHED_SPREAD]
            .into_iter()
            .chain(assumed.iter().copied())
            .collect(),
    };
    let mut heat_since_laying = 0.0;
    let mut variance_since_laying = Some(0.0);
    Ok(clock
        .stages()
        .iter()
        .map(|heat| {
            let deviation = heat.deviation();
            heat_since_laying += heat.degree_days;
            variance_since_laying = variance_since_laying.zip(deviation).map(|(sum, own)| sum + own * own);
            StageDuration {
                stage: heat.stage,
                days: estimate(heat.degree_days, deviation, &[]),
                days_since_laying: estimate(
                    heat_since_laying,
                    variance_since_laying.map(f64::sqrt),
                    &[id::ASSUMED_STAGES_INDEPENDENT],
                ),
            }
        })
        .collect())
}
