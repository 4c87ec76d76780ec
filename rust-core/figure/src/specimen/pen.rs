//! Outlines that several drawings share.

use super::sketch::{FINE, OUTLINE};
use super::sketch::{Mm, Sketch, between};
use crate::ink::Ink;
use std::f64::consts::{PI, TAU};

/// Points on an ellipse that is turned to the left by an angle in radians.
pub(super) fn ellipse(center: Mm, across: f64, up: f64, angle: f64) -> Vec<Mm> {
    let (sin, cos) = angle.sin_cos();
    (0..32)
        .map(|step| {
            let (y, x) = (TAU * f64::from(step) / 32.0).sin_cos();
            let (x, y) = (x * across, y * up);
            Mm(center.0 + x * cos - y * sin, center.1 + x * sin + y * cos)
        })
        .collect()
}

/// Points on part of an ellipse, from one angle to another, in radians from the right, to the left.
pub(super) fn arc(center: Mm, across: f64, up: f64, from: f64, to: f64) -> Vec<Mm> {
    (0..=16)
        .map(|step| {
            let (y, x) = (from + (to - from) * f64::from(step) / 16.0).sin_cos();
            Mm(center.0 + x * across, center.1 + y * up)
        })
        .collect()
}

/// A quadratic Bézier curve.
pub(super) fn bend(from: Mm, towards: Mm, to: Mm) -> Vec<Mm> {
    (0..=12)
        .map(|step| {
            let share = f64::from(step) / 12.0;
            between(between(from, towards, share), between(towards, to, share), share)
        })
        .collect()
}

/// A tapering outline along a bent line: widths at its start and end.
pub(super) fn horn(from: Mm, towards: Mm, to: Mm, widths: (f64, f64)) -> Vec<Mm> {
    let line = bend(from, towards, to);
    let last = line.len() - 1;
    let side = |sign: f64| {
        let line = &line;
        (0..=last).map(move |place| {
            let (before, after) = (line[place.saturating_sub(1)], line[(place + 1).min(last)]);
            let (dx, dy) = (after.0 - before.0, after.1 - before.1);
            let length = dx.hypot(dy).max(1e-9);
            let share = place as f64 / last as f64;
            let half = sign * f64::midpoint(widths.0 + (widths.1 - widths.0) * share, 0.0);
            Mm(line[place].0 - dy / length * half, line[place].1 + dx / length * half)
        })
    };
    let mut outline: Vec<Mm> = side(1.0).collect();
    outline.extend(side(-1.0).collect::<Vec<_>>().into_iter().rev());
    outline
}

/// A point at this distance and angle (radians to the left from the right) from another.
pub(super) fn polar(from: Mm, distance: f64, angle: f64) -> Mm {
    let (sin, cos) = angle.sin_cos();
    Mm(from.0 + distance * cos, from.1 + distance * sin)
}

/// A leaf seen from its edge, its upper side at height 0, reaching past every frame.
pub(super) fn flat_leaf(sketch: &mut Sketch, thickness: f64) {
    let far = 400.0;
    let corners = vec![Mm(-far, 0.0), Mm(far, 0.0), Mm(far, -thickness), Mm(-far, -thickness)];
    sketch.ground_area(corners, Ink::Leaf);
    sketch.ground_line(vec![Mm(-far, 0.0), Mm(far, 0.0)], OUTLINE);
    sketch.ground_line(vec![Mm(-far, -thickness), Mm(far, -thickness)], OUTLINE);
}

/// A whole leaf seen from above: pointed at both ends, with midrib and side veins; its outline, for biting into.
pub(super) fn leaf_outline(length: f64, width: f64) -> Vec<Mm> {
    let side = |sign: f64| {
        (0..=24).map(move |step| {
            let share = f64::from(step) / 24.0;
            Mm(length * share, sign * width / 2.0 * (PI * share).sin().powf(0.8))
        })
    };
    side(1.0).chain(side(-1.0).collect::<Vec<_>>().into_iter().rev()).collect()
}

/// Midrib and side veins of such a leaf.
pub(super) fn leaf_veins(sketch: &mut Sketch, length: f64, width: f64) {
    sketch.line(vec![Mm(0.0, 0.0), Mm(length, 0.0)], OUTLINE);
    for vein in 1..6 {
        let x = length * (0.05 + 0.15 * f64::from(vein));
        let reach = 0.36 * width * (PI * (x / length + 0.06)).sin();
        for sign in [1.0, -1.0] {
            sketch.line(vec![Mm(x, 0.0), Mm(x + length * 0.08, sign * reach)], FINE);
        }
    }
}
