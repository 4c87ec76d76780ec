//! Advice while counting: go on, stop, or be content with less.

use super::id;
use super::precision::Precision;
use crate::{Estimate, FEWEST_FOR_A_MEAN, Level, MessageId, Refusal, occupancy};
use serde::Serialize;
use survey::protocol::StopRule;

/// What a protocol wants of a visit, for the stages that its stop rule names.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Goal {
    /// Never fewer whole checks than this.
    pub at_least: u32,
    /// Never more than this.
    pub at_most: u32,
    /// How precise the mean is to be.
    pub precision: Precision,
    /// How long people may search, in minutes, above 0.
    pub minutes: f64,
}

/// What the visit has so far.
#[derive(Debug, Clone, Copy, PartialEq)]
pub struct SoFar<'a> {
    /// Animals of the goal's stages on each whole check, the empty ones too.
    pub counts: &'a [u32],
    /// Minutes of search so far.
    pub minutes: f64,
    /// Units at the site, where known.
    pub units_at_site: Option<u32>,
}

/// What to do next.
#[derive(Debug, Clone, PartialEq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum Advice {
    /// Check about so many more.
    More {
        /// How many.
        units: u32,
        /// What for.
        why: MoreFor,
    },
    /// The goal is met.
    Enough {
        /// Half width or standard error reached, as a share of the mean.
        reached: f64,
        /// What the estimate's label must say; empty where all units of the site were checked.
        assumed: Vec<MessageId>,
    },
    /// The greatest number of checks is reached without the goal.
    Most {
        /// Share of occupied units, which is what the sample can tell.
        occupied: Estimate,
    },
    /// The goal cannot be met; the share of occupied units is offered in its place.
    OutOfReach {
        /// What stands in the way.
        why: OutOfReach,
        /// Whole checks that it would take in all.
        needed: u32,
        /// Share of occupied units so far.
        occupied: Estimate,
    },
}

/// What more checks are for.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum MoreFor {
    /// The protocol's least number.
    Least,
    /// Five animals, below which no mean is shown.
    Animals,
    /// The wanted precision.
    Precision,
}

/// What stands in the way of a goal.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize)]
#[serde(rename_all = "kebab-case")]
pub enum OutOfReach {
    /// The site has too few units: even all of them are not expected to hold five animals.
    Site,
    /// It takes more than the protocol's greatest number.
    Most,
    /// It takes longer than people may search.
    Minutes,
}

/// Minutes after which a visit tires its people.
const USUAL_MINUTES: f64 = 90.0;

impl Goal {
    /// The goal of a stop rule with the usual 90 minutes.
    pub const fn of(rule: StopRule, precision: Precision) -> Self {
        Self { at_least: rule.at_least, at_most: rule.at_most, precision, minutes: USUAL_MINUTES }
    }

    /// The precision reached, where it is enough and the counts are: what stops the counting.
    pub(super) fn reached(&self, counts: &[u32], units_at_site: Option<u32>) -> Result<Option<f64>, Refusal> {
        if (counts.len() as u64) < u64::from(self.least(units_at_site)) {
            return Ok(None);
        }
        let now = Now::of(counts, units_at_site, self.precision)?;
        Ok((now.animals >= FEWEST_FOR_A_MEAN && now.reached <= self.precision.share()).then_some(now.reached))
    }

    /// The least number at a site, which may have fewer units than the protocol asks for.
    fn least(&self, units_at_site: Option<u32>) -> u32 {
        self.at_least.max(2).min(units_at_site.unwrap_or(u32::MAX))
    }
}

/// What to do after so many checks.
///
/// Below the least number: go on. Then, with mean and variance of the counts so far, the precision reached is z × √(variance
/// ÷ n × (1 − n ÷ N)) ÷ mean, and the checks needed are n₀ ÷ (1 + n₀ ÷ N) with n₀ = (z ÷ D)² × variance ÷ mean². The
/// variance is taken as no less than the mean, because a few counts can scatter less than chance by chance. Where fewer
/// than five animals were found the mean is taken as (animals + ½) ÷ n, and the checks needed are those to five animals if
/// that is more. If they are more than the greatest number, or at this pace take longer than people may search, or if the
/// whole site is not expected to hold five, the goal is out of reach.
///
/// An estimate after stopping for precision must be labelled ([`id::ASSUMED_STOPPED_EARLY`]): its plain interval misses
/// more often than it says; [`super::check_rule`] tells how often.
///
/// Unit: units of check. Domain: goal with least ≤ greatest, minutes above 0; minutes so far of 0 or more.
///
/// Source: Green RH (1970) Res. Popul. Ecol. 12:249-251 for stopping at a fixed precision; the rules are this project's.
///
/// # Errors
/// [`Refusal::NotANumber`] for minutes or precision, [`Refusal::ImpossibleCounts`] where the least is above the greatest
/// or fewer units are at the site than were checked.
pub fn advice(goal: &Goal, so_far: &SoFar<'_>, level: Level) -> Result<Advice, Refusal> {
    let SoFar { counts, minutes, units_at_site } = *so_far;
    let n = u32::try_from(counts.len()).unwrap_or(u32::MAX);
    check(goal, n, minutes, units_at_site)?;
    let least = goal.least(units_at_site);
    if n < least {
        return Ok(Advice::More { units: least - n, why: MoreFor::Least });
    }
    if n == 0 {
        return Err(Refusal::Nothing);
    }
    let now = Now::of(counts, units_at_site, goal.precision)?;
    let all_checked = units_at_site == Some(n);
    if all_checked {
        return Ok(Advice::Enough { reached: now.reached, assumed: Vec::new() });
    }
    if let Some(reached) = goal.reached(counts, units_at_site)? {
        return Ok(Advice::Enough { reached, assumed: vec![id::ASSUMED_STOPPED_EARLY, id::ASSUMED_AT_LEAST_POISSON] });
    }
    let occupied_units = counts.iter().filter(|count| **count > 0).count() as u64;
    let occupied = occupancy(occupied_units, n.into(), level)?.assuming([id::ASSUMED_STOPPED_EARLY]);
    if n >= goal.at_most {
        return Ok(Advice::Most { occupied });
    }
    let needed = whole(now.needed).max(n + 1);
    let minutes_needed = minutes / f64::from(n) * f64::from(needed);
    let out_of_reach = if units_at_site.is_some_and(|units| now.mean * f64::from(units) < FEWEST_FOR_A_MEAN as f64) {
        Some(OutOfReach::Site)
    } else if needed > goal.at_most {
        Some(OutOfReach::Most)
    } else if minutes_needed > goal.minutes {
        Some(OutOfReach::Minutes)
    } else {
        None
    };
    Ok(match out_of_reach {
        Some(why) => Advice::OutOfReach { why, needed, occupied },
        None => Advice::More {
            units: needed - n,
            why: if now.animals < FEWEST_FOR_A_MEAN { MoreFor::Animals } else { MoreFor::Precision },
        },
    })
}

fn check(goal: &Goal, n: u32, minutes: f64, units_at_site: Option<u32>) -> Result<(), Refusal> {
    let possible = goal.minutes > 0.0 && goal.minutes <= 1e6 && (0.0..=1e6).contains(&minutes);
    if !possible {
        return Err(Refusal::NotANumber);
    }
    if goal.at_least > goal.at_most {
        return Err(Refusal::ImpossibleCounts { part: goal.at_least.into(), whole: goal.at_most.into() });
    }
    if let Some(units) = units_at_site.filter(|units| *units < n) {
        return Err(Refusal::ImpossibleCounts { part: n.into(), whole: units.into() });
    }
    Ok(())
}

/// Where the sample stands.
struct Now {
    animals: u64,
    mean: f64,
    reached: f64,
    needed: f64,
}

impl Now {
    fn of(counts: &[u32], units_at_site: Option<u32>, precision: Precision) -> Result<Self, Refusal> {
        let n = counts.len() as f64;
        let animals: u64 = counts.iter().copied().map(u64::from).sum();
        let values: Vec<f64> = counts.iter().copied().map(f64::from).collect();
        let few = animals < FEWEST_FOR_A_MEAN;
        let mean = (animals as f64 + if few { 0.5 } else { 0.0 }) / n;
        let variance = crate::numeric::variance(&values).max(mean);
        let left = units_at_site.map_or(1.0, |units| 1.0 - n / f64::from(units));
        let endless = precision.factor()? * variance / (mean * mean);
        let for_precision = units_at_site.map_or(endless, |units| endless / (1.0 + endless / f64::from(units)));
        let for_animals = if few { FEWEST_FOR_A_MEAN as f64 / mean } else { 0.0 };
        Ok(Self {
            animals,
            mean,
            reached: precision.reach() * (variance / n * left.max(0.0)).sqrt() / mean,
            needed: for_precision.max(for_animals),
        })
    }
}

#[expect(clippy::cast_possible_truncation, clippy::cast_sign_loss, reason = "held within the range of u32 first")]
fn whole(units: f64) -> u32 {
    units.ceil().clamp(0.0, 1e9) as u32
}
