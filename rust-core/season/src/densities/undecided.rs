//! Splitting undecided things among their outcomes.

use super::id;
use crate::observers::FEWEST_AUDITS;
use crate::{Counts, Level, MessageId, Refusal, quantile};
use serde::Serialize;
use std::collections::BTreeMap;
use survey::stage::{Outcome, Stage, Undecided, What};

/// What audited things of one undecided set turned out to be.
#[derive(Debug, Clone, PartialEq, Eq)]
pub struct Audited {
    /// The set they were recorded as.
    pub set: Undecided,
    /// How many were judged to be what; outcomes outside the set count too.
    pub judged: BTreeMap<Outcome, u64>,
}

/// Counts of a visit with its undecided things split.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Split {
    /// One for each outcome that was counted or may have been.
    pub outcomes: Vec<SplitOutcome>,
    /// Undecided things in all.
    pub undecided: u64,
    /// What was taken for true without being known.
    pub assumed: Vec<MessageId>,
}

/// One outcome.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct SplitOutcome {
    /// The outcome.
    pub outcome: Outcome,
    /// How many were decided to be it.
    pub decided: u64,
    /// Decided ones and the share of the undecided.
    pub expected: f64,
    /// Lower end: no undecided thing is one, unless audits say more.
    pub low: f64,
    /// Upper end: every undecided thing that may be one is, unless audits say less.
    pub high: f64,
    /// Chance that there was none at all.
    pub chance_of_none: f64,
}

/// Rounds of expectation and maximisation.
const ROUNDS: usize = 10_000;
/// Weight of an outcome that nobody decided for, so that a zero is no proof of absence: Jeffreys' half.
const ZERO_CELL: f64 = 0.5;

const INSTARS: [Stage; 5] = [Stage::Larva1, Stage::Larva2, Stage::Larva3, Stage::Larva4, Stage::Larva5];

/// Splits the undecided things of a visit among their outcomes.
///
/// By expectation and maximisation: each undecided set is shared among its outcomes as their shares are among all
/// things, and the shares are computed anew until they stand still. `neighbours` (visits near in date) lend their
/// shares, never their numbers. An outcome that nobody decided for keeps the weight of half a thing, so that a zero is
/// no proof. The interval reaches from none of the undecided to all that may be of the outcome. A set with at least
/// [`FEWEST_AUDITS`] audited things is split as the audit says instead, with the interval of a Dirichlet distribution
/// with prior ½. An unjudged larva is one undecided among the five instars.
///
/// Unit: things in the sample. Domain: any counts of one visit. The shares are shares of things, not corrected for what
/// nobody saw.
///
/// Source: Dempster AP, Laird NM, Rubin DB (1977) J. R. Stat. Soc. B 39:1-38; audits Hoenig JM, Heisey DM (1987) Trans.
/// Am. Fish. Soc. 116:232-243.
///
/// # Errors
/// [`Refusal::Nothing`] without a thing.
pub fn split_undecided(
    visit: &[Counts],
    neighbours: &[Counts],
    audits: &[Audited],
    level: Level,
) -> Result<Split, Refusal> {
    let own = Things::of(visit);
    if own.is_empty() {
        return Err(Refusal::Nothing);
    }
    let shares = shares(&own, &Things::of(neighbours));
    let tail = level.alpha() / 2.0;
    let mut outcomes: BTreeMap<Outcome, SplitOutcome> = BTreeMap::new();
    let mut assumed = vec![crate::id::ASSUMED_ALL_SEEN];
    for (&outcome, &count) in &own.decided {
        let entry = blank(&mut outcomes, outcome);
        entry.decided = count;
        entry.expected += count as f64;
        entry.low += count as f64;
        entry.high += count as f64;
        if count > 0 {
            entry.chance_of_none = 0.0;
        }
    }
    for (set, &count) in &own.undecided {
        let n = count as f64;
        let audit = audits.iter().find(|audit| audit.set.outcomes().eq(set.iter().copied()));
        let judged = audit.map(|audit| (audit, audit.judged.values().sum::<u64>()));
        let mut add = |outcome: Outcome, share: f64, low: f64, high: f64| {
            let entry = blank(&mut outcomes, outcome);
            entry.expected += n * share;
            entry.low += n * low;
            entry.high += n * high;
            entry.chance_of_none *= (1.0 - share).max(0.0).powf(n);
        };
        if let Some((audit, total)) = judged.filter(|(_, total)| *total >= FEWEST_AUDITS) {
            let mut possible: Vec<Outcome> = set.iter().copied().chain(audit.judged.keys().copied()).collect();
            possible.sort_unstable();
            possible.dedup();
            let weight = total as f64 + possible.len() as f64 / 2.0;
            for outcome in possible {
                let a = audit.judged.get(&outcome).copied().unwrap_or(0) as f64 + 0.5;
                let end = |share| quantile::beta(a, weight - a, share);
                add(outcome, a / weight, end(tail)?, end(1.0 - tail)?);
            }
            assumed.push(id::ASSUMED_SPLIT_LIKE_AUDITED);
        } else {
            if judged.is_some() {
                assumed.push(crate::observers::id::REFUSED_AUDITS_TOO_FEW);
            }
            let whole: f64 = set.iter().map(|outcome| shares[outcome]).sum();
            for &outcome in set {
                add(outcome, shares[&outcome] / whole, 0.0, 1.0);
            }
            assumed.push(id::ASSUMED_SPLIT_LIKE_DECIDED);
            assumed.push(crate::id::ASSUMED_INTERVAL_SPANS_UNDECIDED);
        }
    }
    if !neighbours.is_empty() {
        assumed.push(id::ASSUMED_NEIGHBOURING_VISITS);
    }
    assumed.sort_unstable();
    assumed.dedup();
    let undecided = own.undecided.values().sum();
    Ok(Split { outcomes: outcomes.into_values().collect(), undecided, assumed })
}

fn blank(outcomes: &mut BTreeMap<Outcome, SplitOutcome>, outcome: Outcome) -> &mut SplitOutcome {
    outcomes.entry(outcome).or_insert(SplitOutcome {
        outcome,
        decided: 0,
        expected: 0.0,
        low: 0.0,
        high: 0.0,
        chance_of_none: 1.0,
    })
}

#[derive(Default)]
struct Things {
    decided: BTreeMap<Outcome, u64>,
    undecided: BTreeMap<Vec<Outcome>, u64>,
}

impl Things {
    fn of(counts: &[Counts]) -> Self {
        let mut things = Self::default();
        for (what, number) in counts.iter().flat_map(Counts::iter).filter(|(_, number)| *number > 0) {
            let number = u64::from(number);
            match what {
                What::Stage(Stage::Larva) => {
                    *things.undecided.entry(INSTARS.map(Outcome::Stage).to_vec()).or_default() += number;
                }
                What::Stage(stage) => *things.decided.entry(Outcome::Stage(*stage)).or_default() += number,
                What::Undecided(set) => *things.undecided.entry(instars(set)).or_default() += number,
            }
        }
        things
    }

    fn is_empty(&self) -> bool {
        self.decided.is_empty() && self.undecided.is_empty()
    }
}

/// Outcomes of a set, the unjudged larva standing for its five instars.
fn instars(set: &Undecided) -> Vec<Outcome> {
    let mut outcomes: Vec<Outcome> = set
        .outcomes()
        .flat_map(|outcome| match outcome {
            Outcome::Stage(Stage::Larva) => INSTARS.map(Outcome::Stage).to_vec(),
            other => vec![other],
        })
        .collect();
    outcomes.sort_unstable();
    outcomes.dedup();
    outcomes
}

fn shares(own: &Things, neighbours: &Things) -> BTreeMap<Outcome, f64> {
    let both = [own, neighbours];
    let mut fixed: BTreeMap<Outcome, f64> = BTreeMap::new();
    for things in both {
        for (&outcome, &count) in &things.decided {
            *fixed.entry(outcome).or_default() += count as f64;
        }
        for &outcome in things.undecided.keys().flatten() {
            fixed.entry(outcome).or_default();
        }
    }
    for weight in fixed.values_mut().filter(|weight| **weight == 0.0) {
        *weight = ZERO_CELL;
    }
    let mut shares: BTreeMap<Outcome, f64> = fixed.keys().map(|&outcome| (outcome, 1.0)).collect();
    for _ in 0..ROUNDS {
        let mut next = fixed.clone();
        for (set, &count) in both.iter().flat_map(|things| &things.undecided) {
            let whole: f64 = set.iter().map(|outcome| shares[outcome]).sum();
            for outcome in set {
                *next.entry(*outcome).or_default() += count as f64 * shares[outcome] / whole;
            }
        }
        let moved = next.iter().map(|(outcome, value)| (value - shares[outcome]).abs()).fold(0.0, f64::max);
        shares = next;
        if moved < 1e-10 {
            break;
        }
    }
    shares
}
