//! All stems around points.

use super::patch::Plane;
use super::points::points_in;
use crate::Refusal;
use serde::Serialize;
use survey::place::{Area, Pin};

/// A circle in which all stems are checked; the point is the cluster.
#[derive(Debug, Clone, Copy, PartialEq, Serialize)]
pub struct Cluster {
    /// Its middle.
    pub at: Pin,
    /// Its radius in metres.
    pub radius_m: f64,
    /// Share of the circle that lies in the patch, above 0 to 1, to half a per cent or so: stems outside are not
    /// checked, and the area searched is that share of the circle.
    pub share_inside: f64,
}

/// Spots of the sunflower pattern that judge how much of a circle is inside.
const SPOTS: u32 = 500;

/// Circles of one radius around points by chance in a patch.
///
/// Points as by [`points_in`]. A stem near the edge has a smaller chance than one in the middle, because no point falls
/// outside; the ratio of animals to stems hardly feels it while circles are small against the patch.
///
/// Unit: metres. Domain: radius above 0 to 1,000 m.
///
/// Source: cluster sampling as in Cochran WG (1977) Sampling Techniques, 3rd ed., Wiley, chapters 9 and 9A.
///
/// # Errors
/// [`Refusal::NotANumber`] for the radius, and as [`points_in`].
pub fn clusters(area: &Area, radius_m: f64, count: usize, seed: u64) -> Result<Vec<Cluster>, Refusal> {
    if !(radius_m > 0.0 && radius_m <= 1_000.0) {
        return Err(Refusal::NotANumber);
    }
    points_in(area, count, seed)?
        .into_iter()
        .map(|at| Ok(Cluster { at, radius_m, share_inside: share_inside(area, at, radius_m)? }))
        .collect()
}

/// Spots at the golden angle, farther out with the root of their number, stand for equal areas (Vogel H 1979, Math.
/// Biosci. 44:179-189).
fn share_inside(area: &Area, at: Pin, radius_m: f64) -> Result<f64, Refusal> {
    let plane = Plane::at(at)?;
    let golden = std::f64::consts::PI * (3.0 - 5.0_f64.sqrt());
    let inside = (0..SPOTS)
        .filter(|&spot| {
            let out = radius_m * ((f64::from(spot) + 0.5) / f64::from(SPOTS)).sqrt();
            let (sin, cos) = (f64::from(spot) * golden).sin_cos();
            area.contains(plane.pin((out * sin, out * cos)))
        })
        .count();
    Ok(inside.max(1) as f64 / f64::from(SPOTS))
}
