//! Belts across a patch, for counting its host plants.

use super::patch::{Patch, Spot, edges};
use crate::Refusal;
use crate::numeric::Dice;
use serde::Serialize;
use survey::place::{Area, Pin};

/// A straight strip in which all host plants are counted.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Belt {
    /// Which line across the patch it lies on, from 0; a line that leaves the patch and comes back has several belts.
    pub line: usize,
    /// Where its middle line begins.
    pub from: Pin,
    /// Where its middle line ends.
    pub to: Pin,
    /// Width in metres, half on either side.
    pub width_m: f64,
    /// Length × width, m².
    pub square_metres: f64,
}

/// Parallel belts across a patch at equal distances from a random start.
///
/// The patch's extent across the belts is divided by their number; the first middle line lies evenly within the first
/// part, the others follow at that distance. Each line is cut at outline and holes. Every stem farther than half a width
/// from the edge has the same chance.
///
/// Unit: metres; `direction` is that of the belts in degrees from north over east. Domain: width above 0 and no more
/// than the distance between lines; 1 to 1,000 lines.
///
/// Source: Cochran WG (1977) Sampling Techniques, 3rd ed., Wiley, chapter 8 (systematic samples).
///
/// # Errors
/// [`Refusal::NotANumber`] outside the domain; [`Refusal::Nothing`] for a patch without area.
pub fn belts(area: &Area, lines: u16, width_m: f64, direction: f64, seed: u64) -> Result<Vec<Belt>, Refusal> {
    let patch = Patch::of(area)?;
    if !(1..=1_000).contains(&lines) || !direction.is_finite() {
        return Err(Refusal::NotANumber);
    }
    let (sin, cos) = direction.to_radians().sin_cos();
    // Along and across the belts, and back.
    let turned = |(east, north): Spot| (east * sin + north * cos, east * cos - north * sin);
    let back = |(along, across): Spot| (along * sin + across * cos, along * cos - across * sin);
    let rings: Vec<Vec<Spot>> =
        patch.rings.iter().map(|ring| ring.iter().map(|&spot| turned(spot)).collect()).collect();
    let across = || rings.iter().flatten().map(|spot| spot.1);
    let (least, most) = (across().fold(f64::MAX, f64::min), across().fold(f64::MIN, f64::max));
    let apart = (most - least) / f64::from(lines);
    if !(width_m > 0.0 && width_m <= apart) {
        return Err(Refusal::NotANumber);
    }
    let start = Dice::new(seed).unit() * apart;
    Ok((0..lines)
        .flat_map(|line| {
            let level = least + start + apart * f64::from(line);
            inside(&rings, level).into_iter().map(move |(from, to)| Belt {
                line: usize::from(line),
                from: patch.plane.pin(back((from, level))),
                to: patch.plane.pin(back((to, level))),
                width_m,
                square_metres: (to - from) * width_m,
            })
        })
        .collect())
}

/// The parts of a line that lie inside the rings.
fn inside(rings: &[Vec<Spot>], level: f64) -> Vec<(f64, f64)> {
    let mut cuts: Vec<f64> = edges(rings)
        .filter(|(from, to)| (from.1 <= level) != (to.1 <= level))
        .map(|(from, to)| from.0 + (to.0 - from.0) * (level - from.1) / (to.1 - from.1))
        .collect();
    cuts.sort_by(f64::total_cmp);
    cuts.chunks_exact(2).map(|pair| (pair[0], pair[1])).filter(|(from, to)| to > from).collect()
}
