//! Mean per unit where some things are undecided.

use super::clumped_mean;
use crate::{Counts, Estimate, Group, Level, Refusal, id};

/// Mean animals of a group per unit, from units some of whose things are undecided.
///
/// The value rests on what is certain ([`clumped_mean`]); the interval reaches from the lower end of that to the upper end
/// of the mean that would hold if every undecided thing that may be of the group were of it. So it spans both extremes and
/// the doubt of sampling.
///
/// Unit: animals per unit. Domain: at least two units and five animals certainly of the group.
///
/// Source: the interval is [`clumped_mean`]'s; spanning the extremes is the bound of Manski CF (1989) J. Hum. Resour.
/// 24:343-360 (from memory).
///
/// # Errors
/// As for [`clumped_mean`].
pub fn mean_with_undecided(units: &[Counts], group: Group, level: Level) -> Result<Estimate, Refusal> {
    let of = |count: fn(&Counts, Group) -> u64| -> Vec<u32> {
        units.iter().map(|unit| u32::try_from(count(unit, group)).unwrap_or(u32::MAX)).collect()
    };
    let (certain, possible) = (of(Counts::certain), of(Counts::possible));
    let value = clumped_mean(&certain, level)?;
    if certain == possible {
        return Ok(value);
    }
    let widest = clumped_mean(&possible, level)?;
    Ok(value.reaching_to(&widest).assuming([id::ASSUMED_INTERVAL_SPANS_UNDECIDED]))
}

/// Share of units with at least one animal of a group, from units some of whose things are undecided.
///
/// The value rests on what is certain ([`crate::occupancy`]); the interval reaches up to that of the share which would
/// hold if every undecided thing that may be of the group were of it.
///
/// Unit: share of units. Domain: at least one unit.
///
/// Source: as for [`crate::occupancy`] and [`mean_with_undecided`].
///
/// # Errors
/// As for [`crate::occupancy`].
pub fn occupancy_with_undecided(units: &[Counts], group: Group, level: Level) -> Result<Estimate, Refusal> {
    let of = |count: fn(&Counts, Group) -> u64| {
        let occupied = units.iter().filter(|unit| count(unit, group) > 0).count() as u64;
        crate::occupancy(occupied, units.len() as u64, level)
    };
    let (value, widest) = (of(Counts::certain)?, of(Counts::possible)?);
    if value.value >= widest.value {
        return Ok(value);
    }
    Ok(value.reaching_to(&widest).assuming([id::ASSUMED_INTERVAL_SPANS_UNDECIDED]))
}
