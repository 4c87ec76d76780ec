//! Points by chance in a patch.

use super::patch::Patch;
use crate::Refusal;
use crate::numeric::Dice;
use survey::place::{Area, Pin};

/// The most points that one call draws.
const MOST_POINTS: usize = 100_000;
/// Rounding can put a point on an edge; drawing again this often always suffices, or the patch is too thin to stand in.
const TRIES: usize = 1_000;

/// Points spread evenly over a patch, in the order in which the seed draws them.
///
/// The patch, taken as a plane, is cut into triangles; each point falls into a triangle with a chance in proportion to
/// its area and evenly within it. Every point lies inside the outline and in no hole.
///
/// Unit: WGS 84 degrees. Domain: at most 100,000 points in a patch of up to about 10 km between 89° south and north.
/// Fewer points of the same seed are the first of more.
///
/// Source: for the triangle Turk G (1990) Graphics Gems, Academic Press, 24-28.
///
/// # Errors
/// [`Refusal::Nothing`] for a patch without area, or one that is too thin for a point inside; [`Refusal::NotANumber`]
/// near a pole; [`Refusal::ImpossibleCounts`] for too many points.
pub fn points_in(area: &Area, count: usize, seed: u64) -> Result<Vec<Pin>, Refusal> {
    if count > MOST_POINTS {
        return Err(Refusal::ImpossibleCounts { part: count as u64, whole: MOST_POINTS as u64 });
    }
    let patch = Patch::of(area)?;
    let mut dice = Dice::new(seed);
    (0..count).map(|_| inside(area, &patch, &mut dice).ok_or(Refusal::Nothing)).collect()
}

fn inside(area: &Area, patch: &Patch, dice: &mut Dice) -> Option<Pin> {
    (0..TRIES)
        .map(|_| patch.plane.pin(patch.choose(dice.unit(), dice.unit(), dice.unit())))
        .find(|pin| area.contains(*pin))
}
