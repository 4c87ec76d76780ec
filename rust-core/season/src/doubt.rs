//! How much of what was counted is undecided.

use crate::estimate::{Estimate, Level};
use crate::sample::{Counts, Group, VisitSample};
use crate::wilson::wilson;
use crate::{Refusal, id};
use survey::stage::{Outcome, What};

/// Share of undecided things among all things that are or may be of the group, with Wilson's interval.
///
/// Value = things whose belonging to the group is undecided ÷ things that are or may be of it. A thing undecided
/// between two stages of the group is no doubt about the group. An unjudged larva is one about each single instar.
///
/// Unit: share, 0 to 1. Domain: samples with the group in scope, at least one thing.
///
/// Source: interval by Wilson EB (1927) J. Am. Stat. Assoc. 22:209-212.
///
/// # Errors
/// [`Refusal::OutOfScope`] where no sample looked for the group; [`Refusal::Nothing`] where nothing was counted.
pub fn share_undecided(samples: &[VisitSample], group: Group, level: Level) -> Result<Estimate, Refusal> {
    share(samples, group, level, |counts| counts.possible(group) - counts.certain(group))
}

/// Share of things that may be no animal of this species at all, among all that are or may be of the group.
///
/// Value = undecided things with "not an animal or not this species" among their outcomes ÷ things that are or may be
/// of the group; interval by Wilson.
///
/// Unit, domain, source and errors as for [`share_undecided`].
///
/// # Errors
/// As for [`share_undecided`].
pub fn may_be_nothing(samples: &[VisitSample], group: Group, level: Level) -> Result<Estimate, Refusal> {
    share(samples, group, level, |counts| {
        counts.sum(|what| match what {
            What::Stage(_) => false,
            What::Undecided(set) => group.may_hold(what) && set.outcomes().any(|outcome| outcome == Outcome::NotThis),
        })
    })
}

fn share(
    samples: &[VisitSample],
    group: Group,
    level: Level,
    part: impl Fn(&Counts) -> u64,
) -> Result<Estimate, Refusal> {
    let in_scope: Vec<_> = samples.iter().filter(|sample| sample.has_in_scope(group)).collect();
    if in_scope.is_empty() {
        return Err(Refusal::OutOfScope);
    }
    let part: u64 = in_scope.iter().map(|sample| sample.sum(&part)).sum();
    let whole: u64 = in_scope.iter().map(|sample| sample.sum(|counts| counts.possible(group))).sum();
    let interval = wilson(part, whole, level)?;
    Ok(Estimate {
        value: part as f64 / whole as f64,
        standard_error: None,
        interval: Some(interval),
        n: whole,
        method: id::SHARE_WILSON,
        assumed: vec![id::ASSUMED_THINGS_INDEPENDENT],
    })
}
