//! A patch of ground as a plane, cut into triangles.

use crate::Refusal;
use survey::place::{Area, Pin};

/// A point of the plane: metres east and north of the patch's middle.
pub(super) type Spot = (f64, f64);

/// The plane that touches the ellipsoid at a point: good to a part in a thousand over ten kilometres.
#[derive(Debug, Clone, Copy)]
pub(super) struct Plane {
    middle: Pin,
    metres_per_lat: f64,
    metres_per_lon: f64,
}

/// A patch cut into triangles.
#[derive(Debug, Clone)]
pub(super) struct Patch {
    pub(super) plane: Plane,
    /// Outline and holes, not closed.
    pub(super) rings: Vec<Vec<Spot>>,
    triangles: Vec<[Spot; 3]>,
    /// Area of each triangle and all before it, m².
    sums: Vec<f64>,
}

/// Nearer to a pole degrees of longitude are too short to make a plane of.
const FARTHEST_NORTH: f64 = 89.0;
/// Semi-major axis and squared eccentricity of WGS 84.
const AXIS: f64 = 6_378_137.0;
const ECCENTRICITY: f64 = 0.006_694_379_990_141_3;

impl Plane {
    pub(super) fn at(middle: Pin) -> Result<Self, Refusal> {
        if middle.lat().abs() > FARTHEST_NORTH {
            return Err(Refusal::NotANumber);
        }
        let (sin, cos) = middle.lat().to_radians().sin_cos();
        let bulge = 1.0 - ECCENTRICITY * sin * sin;
        let degree = std::f64::consts::PI / 180.0;
        Ok(Self {
            middle,
            metres_per_lat: AXIS * (1.0 - ECCENTRICITY) / bulge.powf(1.5) * degree,
            metres_per_lon: AXIS / bulge.sqrt() * cos * degree,
        })
    }

    pub(super) fn spot(self, pin: Pin) -> Spot {
        let east = (pin.lon() - self.middle.lon()) * self.metres_per_lon;
        (east, (pin.lat() - self.middle.lat()) * self.metres_per_lat)
    }

    /// The pin of a spot; beyond the globe's edges the nearest one.
    pub(super) fn pin(self, (east, north): Spot) -> Pin {
        let lat = (self.middle.lat() + north / self.metres_per_lat).clamp(-90.0, 90.0);
        let lon = (self.middle.lon() + east / self.metres_per_lon).clamp(-180.0, 180.0);
        Pin::new(lat, lon).unwrap_or(self.middle)
    }
}

impl Patch {
    /// Cuts a patch into triangles.
    ///
    /// Level lines through all corners cut it into slabs; within a slab the edges lie beside each other, and every
    /// second gap between them is inside. Each such piece has four corners and is cut into two triangles.
    pub(super) fn of(area: &Area) -> Result<Self, Refusal> {
        let plane = Plane::at(area.middle())?;
        let ring = |pins: &[Pin]| pins.iter().map(|&pin| plane.spot(pin)).collect::<Vec<_>>();
        let rings: Vec<_> =
            std::iter::once(ring(area.outline())).chain(area.holes().iter().map(|hole| ring(hole))).collect();
        let mut levels: Vec<f64> = rings.iter().flatten().map(|spot| spot.1).collect();
        levels.sort_by(f64::total_cmp);
        levels.dedup();
        let triangles: Vec<_> = levels.windows(2).flat_map(|level| slab(&rings, level[0], level[1])).collect();
        let sums: Vec<_> = triangles
            .iter()
            .scan(0.0, |sum, triangle| {
                *sum += size(triangle);
                Some(*sum)
            })
            .collect();
        if sums.last().copied().unwrap_or(0.0) <= 0.0 {
            return Err(Refusal::Nothing);
        }
        Ok(Self { plane, rings, triangles, sums })
    }

    /// Area in m².
    pub(super) fn square_metres(&self) -> f64 {
        self.sums.last().copied().unwrap_or(0.0)
    }

    /// The spot that three numbers of 0 to below 1 choose: the first a triangle by its area, the others a place in it.
    pub(super) fn choose(&self, which: f64, r1: f64, r2: f64) -> Spot {
        let wanted = which * self.square_metres();
        let index = self.sums.partition_point(|sum| *sum <= wanted).min(self.triangles.len() - 1);
        in_triangle(&self.triangles[index], r1, r2)
    }
}

/// Edges of all rings.
pub(super) fn edges(rings: &[Vec<Spot>]) -> impl Iterator<Item = (Spot, Spot)> + '_ {
    rings.iter().flat_map(|ring| ring.iter().copied().zip(ring.iter().copied().cycle().skip(1)))
}

fn slab(rings: &[Vec<Spot>], low: f64, high: f64) -> Vec<[Spot; 3]> {
    let at = |(from, to): (Spot, Spot), level: f64| from.0 + (to.0 - from.0) * (level - from.1) / (to.1 - from.1);
    let mut crossing: Vec<_> = edges(rings)
        .filter(|(from, to)| from.1.min(to.1) <= low && from.1.max(to.1) >= high)
        .map(|edge| (at(edge, low), at(edge, high)))
        .collect();
    crossing.sort_by(|one, other| (one.0 + one.1).total_cmp(&(other.0 + other.1)));
    crossing
        .chunks_exact(2)
        .flat_map(|pair| {
            let ((left_low, left_high), (right_low, right_high)) = (pair[0], pair[1]);
            [
                [(left_low, low), (right_low, low), (left_high, high)],
                [(right_low, low), (right_high, high), (left_high, high)],
            ]
        })
        .filter(|triangle| size(triangle) > 0.0)
        .collect()
}

fn size([a, b, c]: &[Spot; 3]) -> f64 {
    ((b.0 - a.0) * (c.1 - a.1) - (c.0 - a.0) * (b.1 - a.1)).abs() / 2.0
}

/// (1 − √r1) A + √r1 (1 − r2) B + √r1 r2 C: evenly over the triangle (Turk G 1990, Graphics Gems, 24-28).
fn in_triangle([a, b, c]: &[Spot; 3], r1: f64, r2: f64) -> Spot {
    let root = r1.sqrt();
    let (first, second, third) = (1.0 - root, root * (1.0 - r2), root * r2);
    (first * a.0 + second * b.0 + third * c.0, first * a.1 + second * b.1 + third * c.1)
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Computed by hand from the formula.
    #[test]
    fn a_quarter_and_a_half_choose_the_middle() {
        let spot = in_triangle(&[(0.0, 0.0), (4.0, 0.0), (0.0, 4.0)], 0.25, 0.5);
        assert!((spot.0 - 1.0).abs() < 1e-12 && (spot.1 - 1.0).abs() < 1e-12);
    }

    #[test]
    fn triangles_fill_the_patch_and_leave_the_hole() {
        let pin = |lat, lon| Pin::new(lat, lon).unwrap();
        let square = |from: f64, to: f64| vec![pin(from, from), pin(from, to), pin(to, to), pin(to, from)];
        let area = Area::new(square(0.0, 0.01), vec![square(0.004, 0.006)]).unwrap();
        let patch = Patch::of(&area).unwrap();
        assert!((patch.square_metres() / area.square_metres() - 1.0).abs() < 1e-5);
    }
}
