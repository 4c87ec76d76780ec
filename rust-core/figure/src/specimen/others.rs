//! Other larvae, the pupa and other cases, bites in leaves, places on a plant.

use super::pen::{arc, bend, ellipse, flat_leaf, horn, leaf_outline, leaf_veins, polar};
use super::sketch::{Edge, FINE, Mm, OUTLINE, POINTER, Sketch};
use crate::ink::Ink;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// Larvae that are no caterpillars of this kind.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum OtherForm {
    /// No legs, no head to be seen, narrow in front: as of hoverflies.
    Legless,
    /// Six long legs and large jaws: as of lacewings.
    SixLegs,
    /// Legs at both ends only, walks in loops.
    Looping,
}

/// Kinds of cases.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum CaseForm {
    /// Smooth, green, hanging: the pupa of the monarch.
    SmoothGreen,
    /// Rough, brown, spun to the stem.
    Other,
    /// A bare stem.
    None,
}

/// Feeding marks.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Bites {
    Holes,
    Edge,
    NotchedStalk,
    NoneNear,
}

/// Places on or off a plant.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Place {
    UnderLeaf,
    OnLeaf,
    BudOrFlower,
    Stem,
    OffPlant,
}

pub(super) fn other(form: OtherForm) -> Sketch {
    match form {
        OtherForm::Legless => legless(),
        OtherForm::SixLegs => six_legs(),
        OtherForm::Looping => looping(),
    }
}

/// About 12 mm long.
fn legless() -> Sketch {
    let mut sketch = Sketch::default();
    flat_leaf(&mut sketch, 2.0);
    let half = |share: f64| 1.9 * (share * PI).sin().max(0.0).powf(0.55) * (1.0 - 0.62 * share);
    let top = (0..=30).map(|step| {
        let share = f64::from(step) / 30.0;
        Mm(12.0 * share, 2.0 * half(share) + 0.12 * (share * 26.0).sin() * half(share))
    });
    sketch.area(top.chain([Mm(12.0, 0.0), Mm(0.0, 0.0)]).collect(), Ink::Leaf, OUTLINE);
    for fold in 1..9 {
        let share = 0.08 + 0.095 * f64::from(fold);
        let (x, tall) = (12.0 * share, 2.0 * half(share));
        sketch.line(bend(Mm(x, tall * 0.92), Mm(x + 0.5, tall * 0.5), Mm(x, tall * 0.12)), FINE);
    }
    let stripe = (1..=20).map(|step| {
        let share = 0.04 + 0.85 * f64::from(step) / 20.0;
        Mm(12.0 * share, 1.45 * half(share))
    });
    sketch.line(stripe.collect(), Edge::of(Ink::Paper, 1.6));
    sketch.line(vec![Mm(0.3, 1.2), Mm(-0.5, 1.5)], OUTLINE);
    sketch
}

/// About 9 mm long with its jaws.
fn six_legs() -> Sketch {
    let mut sketch = Sketch::default();
    flat_leaf(&mut sketch, 1.6);
    for (hip, foot) in [(4.6, 3.4), (5.4, 5.5), (6.0, 7.4)] {
        let knee = Mm(f64::midpoint(hip, foot) + (foot - hip) * 0.35, 2.7);
        sketch.line(vec![Mm(hip, 1.4), knee, Mm(foot, 0.0)], Edge::of(Ink::Black, 1.4));
    }
    let half = |share: f64| 1.15 * (share * PI).sin().max(0.0).powf(0.8) * (1.25 - 0.5 * share);
    let side = |sign: f64| {
        (0..=24).map(move |step| {
            let share = f64::from(step) / 24.0;
            Mm(6.4 * share, 1.5 + sign * half(share) * (1.0 + 0.1 * (share * 50.0).sin()))
        })
    };
    sketch.area(side(1.0).chain(side(-1.0).collect::<Vec<_>>().into_iter().rev()).collect(), Ink::Shade, OUTLINE);
    for fold in 1..8 {
        let share = f64::from(fold) / 8.5;
        let (x, tall) = (6.4 * share, half(share));
        sketch.line(vec![Mm(x, 1.5 + tall * 0.9), Mm(x + 0.15, 1.5 - tall * 0.6)], FINE);
        sketch.line(vec![Mm(x, 1.5 + tall), Mm(x - 0.25, 1.5 + tall + 0.5)], FINE);
    }
    for up in [0.35, -0.25] {
        let jaw = horn(Mm(6.9, 1.5 + up), Mm(8.4, 1.5 + up * 4.0), Mm(8.9, 1.45 + up * 0.4), (0.32, 0.08));
        sketch.area(jaw, Ink::Black, FINE);
    }
    sketch.area(ellipse(Mm(6.7, 1.5), 0.6, 0.55, 0.0), Ink::Shade, OUTLINE);
    sketch.disc(Mm(6.9, 1.75), 0.13, Ink::Black, None);
    sketch
}

/// About 18 mm long, body raised in a loop.
fn looping() -> Sketch {
    let mut sketch = Sketch::default();
    flat_leaf(&mut sketch, 2.0);
    for (x, lean) in [(0.4, -0.1), (1.5, 0.1), (9.0, -0.1), (9.7, 0.1), (10.4, 0.3)] {
        sketch.line(vec![Mm(x, 1.0), Mm(x + lean, 0.0)], Edge::of(Ink::Black, 1.8));
    }
    let line = |outer: f64| {
        let foot = Mm(-0.6, 1.3 + outer * 0.7);
        let rise = arc(Mm(5.2, 1.3), 3.6 + outer, 6.2 + outer, PI - 0.12 * (outer + 0.7), 0.12 * (outer + 0.7));
        std::iter::once(foot).chain(rise).chain([Mm(11.4, 1.3 + outer)]).collect::<Vec<_>>()
    };
    let (outer, inner) = (line(0.7), line(-0.7));
    sketch.area(outer.into_iter().chain(inner.into_iter().rev()).collect(), Ink::Leaf, OUTLINE);
    sketch.line(arc(Mm(5.2, 1.3), 3.6, 6.2, PI, 0.0), FINE);
    sketch.area(ellipse(Mm(11.6, 1.3), 0.8, 0.85, 0.0), Ink::Shade, OUTLINE);
    sketch.disc(Mm(11.9, 1.5), 0.14, Ink::Black, None);
    sketch
}

/// A case under a stem, or the bare stem; the pupa is about 27 mm long (22 to 32, from memory).
pub(super) fn case(form: CaseForm) -> Sketch {
    let mut sketch = Sketch::default();
    sketch.area(vec![Mm(-16.0, 1.0), Mm(16.0, 1.6), Mm(16.0, 3.6), Mm(-16.0, 3.0)], Ink::Leaf, OUTLINE);
    match form {
        CaseForm::SmoothGreen => {
            sketch.line(vec![Mm(0.0, 1.6), Mm(0.0, -2.0)], Edge::of(Ink::Black, 2.4));
            let half = |share: f64| match share {
                share if share < 0.4 => 6.2 * (share / 0.4 * PI / 2.0).sin().powf(0.7),
                share => 6.2 - 1.1 * ((share - 0.4) / 0.3).min(1.0) - 4.6 * (((share - 0.7) / 0.3).max(0.0)).powf(2.4),
            };
            let side = |sign: f64| {
                (0..=30).map(move |step| {
                    let share = f64::from(step) / 30.0;
                    Mm(sign * half(share), -1.8 - 25.5 * share)
                })
            };
            let outline = side(1.0).chain(side(-1.0).collect::<Vec<_>>().into_iter().rev());
            sketch.area(outline.collect(), Ink::Leaf, OUTLINE);
            let rim = bend(Mm(-half(0.3), -9.2), Mm(0.0, -10.6), Mm(half(0.3), -9.2));
            sketch.line(rim.clone(), Edge::of(Ink::Black, 2.6));
            for place in rim.iter().skip(2).step_by(2).take(5) {
                sketch.disc(Mm(place.0, place.1 + 0.9), 0.45, Ink::Yellow, FINE);
            }
            for (x, y) in [(-2.6, -22.0), (2.6, -22.0), (0.0, -25.0)] {
                sketch.disc(Mm(x, y), 0.55, Ink::Yellow, FINE);
            }
            sketch.line(bend(Mm(-4.9, -17.0), Mm(-1.0, -16.0), Mm(-0.8, -24.0)), FINE);
        }
        CaseForm::Other => {
            sketch.area(ellipse(Mm(0.0, -3.6), 10.0, 4.6, 0.05), Ink::Shade, OUTLINE);
            for thread in 0..9 {
                let x = -8.0 + 2.0 * f64::from(thread);
                sketch.line(vec![Mm(x, -6.6 + 0.1 * x.abs()), Mm(x + 1.8, -0.8 - 0.1 * x.abs())], FINE);
                sketch.line(vec![Mm(x + 1.8, -6.2 + 0.1 * x.abs()), Mm(x, -0.9 - 0.1 * x.abs())], FINE);
                sketch.line(vec![Mm(x, -7.2 + 0.25 * x.abs()), Mm(x - 0.5, -9.4 + 0.25 * x.abs())], FINE);
            }
        }
        CaseForm::None => {
            let leaf = horn(Mm(-4.0, 1.2), Mm(-8.0, -4.0), Mm(-6.0, -12.0), (4.5, 0.4));
            sketch.area(leaf, Ink::Leaf, OUTLINE);
            sketch.line(bend(Mm(-4.0, 1.2), Mm(-8.0, -4.0), Mm(-6.0, -12.0)), FINE);
        }
    }
    sketch
}

/// A leaf about 60 mm long with feeding marks.
pub(super) fn bites(marks: Bites) -> Sketch {
    let mut sketch = Sketch::default();
    if marks == Bites::NotchedStalk {
        return notched_stalk();
    }
    sketch.line(vec![Mm(-9.0, 0.0), Mm(0.0, 0.0)], Edge::of(Ink::Black, 2.2));
    sketch.area(leaf_outline(60.0, 26.0), Ink::Leaf, OUTLINE);
    leaf_veins(&mut sketch, 60.0, 26.0);
    match marks {
        Bites::Holes => {
            for (x, y, size) in [(17.0, 6.2, 2.3), (30.0, -6.0, 2.8), (44.0, 5.0, 2.0), (22.0, -7.0, 1.5)] {
                sketch.disc(Mm(x, y), size, Ink::Paper, OUTLINE);
            }
            for (x, y) in [(31.0, 6.5), (45.0, -5.0)] {
                let outer = arc(Mm(x, y), 4.0, 3.6, -0.3, PI + 0.3);
                let inner = arc(Mm(x, y - 1.4), 3.8, 2.5, PI, 0.0);
                sketch.area(outer.into_iter().chain(inner).collect(), Ink::Paper, OUTLINE);
            }
        }
        Bites::Edge => {
            for (x, y, across, up) in [(18.0, 13.2, 7.5, 6.5), (33.0, -14.4, 9.0, 7.5), (46.0, 11.2, 6.5, 6.0)] {
                let inward = if y > 0.0 { (PI, 2.0 * PI) } else { (0.0, PI) };
                let scoop = arc(Mm(x, y), across, up, inward.0, inward.1);
                let out = if y > 0.0 { y + 3.0 } else { y - 3.0 };
                let cover = [Mm(scoop[16].0, out), Mm(scoop[0].0, out)];
                sketch.area(scoop.iter().copied().chain(cover).collect(), Ink::Paper, None);
                sketch.line(scoop, OUTLINE);
            }
        }
        Bites::NotchedStalk | Bites::NoneNear => {}
    }
    sketch
}

/// The stalk is cut half through near the leaf, and the leaf hangs from it.
fn notched_stalk() -> Sketch {
    let mut sketch = Sketch::default();
    let mut leaf = Sketch::default();
    leaf.area(leaf_outline(44.0, 22.0), Ink::Leaf, OUTLINE);
    leaf_veins(&mut leaf, 44.0, 22.0);
    sketch.area(vec![Mm(-24.0, -50.0), Mm(-20.0, -50.0), Mm(-20.0, 12.0), Mm(-24.0, 12.0)], Ink::Leaf, OUTLINE);
    sketch.add(&leaf.turned(-PI / 2.0 + 0.12), 6.0, -6.0);
    let stalk = horn(Mm(-20.0, 0.0), Mm(4.0, 8.0), Mm(6.0, -6.5), (4.2, 3.2));
    sketch.area(stalk, Ink::Leaf, OUTLINE);
    sketch.area(vec![Mm(-6.5, 6.4), Mm(-2.2, 7.2), Mm(-4.2, 2.9)], Ink::Paper, None);
    sketch.line(vec![Mm(-6.3, 5.0), Mm(-4.2, 2.9), Mm(-2.2, 5.0)], Edge::of(Ink::Black, 1.6));
    sketch.area(arc(Mm(-4.2, 3.1), 1.1, 1.4, 0.0, PI), Ink::Paper, FINE);
    sketch
}

/// A plant about 300 mm tall with the place pointed at.
pub(super) fn place(place: Place) -> Sketch {
    let mut sketch = Sketch::default();
    sketch.area(vec![Mm(-3.0, 0.0), Mm(3.0, 0.0), Mm(2.0, 78.0), Mm(-2.0, 78.0)], Ink::Leaf, OUTLINE);
    for (y, sign) in [(30.0, 1.0), (30.0, -1.0), (56.0, 1.0), (56.0, -1.0)] {
        let blade = horn(Mm(sign * 2.0, y), Mm(sign * 20.0, y + 13.0), Mm(sign * 42.0, y + 3.0), (3.0, 1.0));
        let belly = bend(Mm(sign * 42.0, y + 3.0), Mm(sign * 20.0, y - 8.0), Mm(sign * 2.0, y));
        let top = bend(Mm(sign * 2.0, y), Mm(sign * 18.0, y + 18.0), Mm(sign * 42.0, y + 3.0));
        sketch.area(top.into_iter().chain(belly).collect(), Ink::Leaf, OUTLINE);
        sketch.line(bend(blade[0], Mm(sign * 20.0, y + 6.0), Mm(sign * 42.0, y + 3.0)), FINE);
    }
    for step in 0..5 {
        let tip = polar(Mm(0.0, 78.0), 16.0, PI * (0.14 + 0.18 * f64::from(step)));
        sketch.line(vec![Mm(0.0, 78.0), tip], FINE);
        sketch.disc(tip, 4.0, Ink::Shade, OUTLINE);
    }
    let far = Mm(-64.0, 0.0);
    sketch.line(vec![far, Mm(64.0, 0.0)], OUTLINE);
    sketch.area(vec![Mm(52.0, 0.0), Mm(58.0, 0.0), Mm(58.0, 44.0), Mm(52.0, 44.0)], Ink::Shade, OUTLINE);
    let (spot, from) = match place {
        Place::UnderLeaf => (Mm(23.0, 24.0), Mm(38.0, 8.0)),
        Place::OnLeaf => (Mm(22.0, 68.0), Mm(38.0, 84.0)),
        Place::BudOrFlower => (Mm(0.0, 99.0), Mm(24.0, 108.0)),
        Place::Stem => (Mm(0.0, 44.0), Mm(34.0, 47.0)),
        Place::OffPlant => (Mm(55.0, 48.0), Mm(40.0, 66.0)),
    };
    sketch.disc(spot, 4.6, Ink::Black, OUTLINE);
    arrow(&mut sketch, from, spot, 6.5);
    sketch
}

/// An arrow that ends a little before what it points at.
fn arrow(sketch: &mut Sketch, from: Mm, to: Mm, short: f64) {
    let angle = (from.1 - to.1).atan2(from.0 - to.0);
    let tip = polar(to, short, angle);
    sketch.line(vec![from, tip], POINTER);
    let barbs = [polar(tip, 5.5, angle + 0.5), tip, polar(tip, 5.5, angle - 0.5)];
    sketch.line(barbs.to_vec(), POINTER);
}
