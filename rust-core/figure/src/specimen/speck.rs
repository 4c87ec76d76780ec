//! Eggs, and what is taken for one.

use super::pen::{arc, bend, ellipse, flat_leaf, horn, polar};
use super::sketch::{Edge, FINE, Mm, OUTLINE, Sketch, between};
use super::subject::Part;
use crate::ink::Ink;
use serde::{Deserialize, Serialize};
use std::f64::consts::PI;

/// The form of a speck.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpeckForm {
    /// An oval on a flat base, narrower at the top.
    UprightOval,
    /// Much longer than wide.
    Long,
    /// A ball.
    Round,
    /// A drop without a form of its own.
    Uneven,
}

/// Whether lengthwise ridges are seen.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Surface {
    /// Ridges from the base to the top.
    Ridged,
    /// None.
    Smooth,
}

/// The colour of a speck.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpeckColour {
    /// Off-white.
    Cream,
    /// Bright white.
    MilkWhite,
    /// Yellow.
    Yellow,
    /// Grey with dark blotches.
    Blotched,
    /// Off-white with a dark top: about to hatch.
    DarkTop,
    /// Dark all over.
    Dark,
    /// See-through and empty.
    Clear,
}

/// Whether it is whole.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Wholeness {
    /// Whole.
    Whole,
    /// With a hole in its side.
    Hole,
    /// Open at the top, as a hatched shell.
    OpenTop,
    /// Caved in.
    CavedIn,
}

/// How it sits.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum SpeckPosture {
    /// On its base.
    Upright,
    /// On its side.
    Lying,
    /// On a thin stalk.
    Stalk,
    /// As a low disc.
    Flat,
}

/// Whether others are beside it.
#[derive(Debug, Clone, Copy, PartialEq, Eq, PartialOrd, Ord, Hash, Serialize, Deserialize)]
#[serde(rename_all = "kebab-case")]
pub enum Company {
    /// By itself.
    Alone,
    /// A few apart from each other.
    Few,
    /// Many that touch.
    Packed,
}

/// An egg or what looks like one.
#[derive(Debug, Clone, Copy, PartialEq, Eq, Serialize, Deserialize)]
pub struct Speck {
    /// Its form.
    pub form: SpeckForm,
    /// Its surface.
    pub surface: Surface,
    /// Its colour.
    pub colour: SpeckColour,
    /// Whether it is whole.
    pub wholeness: Wholeness,
    /// How it sits.
    pub posture: SpeckPosture,
    /// Others beside it.
    pub company: Company,
}

/// Height and width of an egg in millimetres: about 1.2 by 0.9 (petition to list the monarch, 2014, p. 20).
pub(super) const HEIGHT: f64 = 1.2;
const WIDTH: f64 = 0.9;
/// Height of the stalk of an egg on a stalk, in millimetres; shorter than most, so that the egg stays visible.
const STALK: f64 = 2.6;

impl Speck {
    /// An egg of the monarch: upright on a flat base, off-white, ridged, by itself.
    pub const EGG: Self = Self {
        form: SpeckForm::UprightOval,
        surface: Surface::Ridged,
        colour: SpeckColour::Cream,
        wholeness: Wholeness::Whole,
        posture: SpeckPosture::Upright,
        company: Company::Alone,
    };
    /// An egg within a day of hatching.
    pub const ABOUT_TO_HATCH: Self = Self { colour: SpeckColour::DarkTop, ..Self::EGG };
    /// An empty shell.
    pub const HATCHED: Self = Self { colour: SpeckColour::Clear, wholeness: Wholeness::OpenTop, ..Self::EGG };
    /// A dark egg with a hole.
    pub const DEAD: Self = Self { colour: SpeckColour::Dark, wholeness: Wholeness::Hole, ..Self::EGG };
    /// A collapsed egg.
    pub const COLLAPSED: Self = Self { wholeness: Wholeness::CavedIn, ..Self::EGG };
    /// A drop of latex.
    pub const LATEX: Self = Self {
        form: SpeckForm::Uneven,
        surface: Surface::Smooth,
        colour: SpeckColour::MilkWhite,
        wholeness: Wholeness::Whole,
        posture: SpeckPosture::Upright,
        company: Company::Alone,
    };
    /// An egg on a stalk, as lacewings lay them.
    pub const STALKED: Self = Self { form: SpeckForm::Long, posture: SpeckPosture::Stalk, ..Self::LATEX };
    /// Round yellow eggs in a mass.
    pub const MASS: Self =
        Self { form: SpeckForm::Round, colour: SpeckColour::Yellow, company: Company::Packed, ..Self::LATEX };
    /// A long egg that lies on the leaf, as hoverflies lay them.
    pub const LYING: Self = Self {
        form: SpeckForm::Long,
        surface: Surface::Ridged,
        colour: SpeckColour::MilkWhite,
        posture: SpeckPosture::Lying,
        ..Self::LATEX
    };
}

/// The speck on a leaf, and those beside it.
pub(super) fn speck(speck: Speck) -> Sketch {
    let one = one(speck);
    let mut sketch = Sketch::default();
    flat_leaf(&mut sketch, 0.32);
    for (right, up) in places(speck.company) {
        sketch.add(&one, *right, *up);
    }
    sketch
}

/// A blade of grass that touches a speck from the right: what stays, and what smears.
pub(super) fn touched(stays: bool) -> Sketch {
    let mut sketch = speck(if stays { Speck::EGG } else { Speck::LATEX });
    if !stays {
        let smear = [(0.1, 0.0), (0.25, 0.34), (0.55, 0.2), (0.9, 0.24), (1.2, 0.1), (1.5, 0.12), (1.72, 0.0)];
        sketch.area(smear.map(|(x, y)| Mm(x, y)).to_vec(), Ink::Paper, OUTLINE);
    }
    let tip = if stays { Mm(0.46, 0.55) } else { Mm(1.5, 0.16) };
    let blade = horn(tip, Mm(tip.0 + 0.5, 0.75), Mm(tip.0 + 1.0, 1.7), (0.04, 0.3));
    sketch.area(blade, Ink::Leaf, OUTLINE);
    sketch
}

/// A torn place in the leaf beside a drop.
pub(super) fn wound(sketch: &mut Sketch) {
    let tear = [(0.7, 0.0), (0.85, -0.2), (0.95, -0.12), (1.15, -0.32), (1.4, -0.16), (1.55, -0.24), (1.75, 0.0)];
    let mut points = tear.map(|(x, y)| Mm(x, y)).to_vec();
    points.extend([Mm(1.75, 0.04), Mm(0.7, 0.04)]);
    sketch.area(points, Ink::Paper, None);
    sketch.line(tear.map(|(x, y)| Mm(x, y)).to_vec(), OUTLINE);
    sketch.area(arc(Mm(1.2, -0.2), 0.3, 0.36, 0.0, PI), Ink::Paper, OUTLINE);
}

/// Plant lice beside the speck.
pub(super) fn aphids(sketch: &mut Sketch) {
    for (x, size) in [(-1.25, 0.9), (0.95, 1.1), (1.75, 0.8)] {
        for leg in [-0.3, 0.0, 0.3] {
            let hip = Mm(x + leg * size * 0.6, 0.2 * size);
            sketch.line(vec![hip, Mm(x + leg * size * 1.5, 0.0)], FINE);
        }
        for feeler in [0.5, 0.9] {
            let head = Mm(x - 0.3 * size, 0.3 * size);
            sketch.line(vec![head, polar(head, 0.35 * size, PI - feeler)], FINE);
        }
        sketch.area(ellipse(Mm(x, 0.3 * size), 0.36 * size, 0.22 * size, 0.15), Ink::Yellow, OUTLINE);
        let back = Mm(x + 0.2 * size, 0.45 * size);
        sketch.line(vec![back, polar(back, 0.22 * size, 0.9)], OUTLINE);
        sketch.disc(Mm(x - 0.26 * size, 0.34 * size), 0.035 * size, Ink::Black, None);
    }
}

/// Where a ring about a part of a speck goes: its middle and radius in millimetres.
pub(super) fn spot(speck: Speck, part: Part) -> Option<(Mm, f64)> {
    let shape = Shape::of(speck.form);
    let (foot, tall) = match speck.posture {
        SpeckPosture::Upright => (0.0, shape.height),
        SpeckPosture::Lying => (0.0, shape.width),
        SpeckPosture::Stalk => (STALK, shape.height),
        SpeckPosture::Flat => (0.0, 0.3),
    };
    match part {
        Part::Surface => Some((Mm(0.0, foot + tall * 0.5), tall * 0.42)),
        Part::Top => Some((Mm(0.0, foot + tall * 0.9), 0.32)),
        Part::Base => Some((Mm(0.0, foot / 2.0), (foot / 2.0).max(0.5))),
        Part::FrontFilaments | Part::MiddleFilaments | Part::BackFilaments | Part::Head | Part::Collar | Part::Body => {
            None
        }
    }
}

const fn places(company: Company) -> &'static [(f64, f64)] {
    match company {
        Company::Alone => &[(0.0, 0.0)],
        Company::Few => &[(-1.7, 0.0), (0.0, 0.0), (1.5, 0.0)],
        Company::Packed => &[
            (-1.35, 0.55),
            (-0.45, 0.62),
            (0.45, 0.62),
            (1.35, 0.55),
            (-1.8, 0.0),
            (-0.9, 0.0),
            (0.0, 0.0),
            (0.9, 0.0),
            (1.8, 0.0),
        ],
    }
}

fn one(speck: Speck) -> Sketch {
    match speck.posture {
        SpeckPosture::Upright => standing(speck),
        SpeckPosture::Lying => {
            let half = Shape::of(speck.form).width / 2.0;
            let tall = Shape::of(speck.form).height;
            let mut sketch = Sketch::default();
            sketch.add(&standing(speck).turned(PI / 2.0), tall / 2.0, half);
            sketch
        }
        SpeckPosture::Stalk => {
            let mut sketch = Sketch::default();
            sketch.line(bend(Mm(0.0, 0.0), Mm(0.12, STALK / 2.0), Mm(0.0, STALK)), OUTLINE);
            sketch.disc(Mm(0.0, 0.02), 0.08, Ink::Black, None);
            sketch.add(&standing(speck), 0.0, STALK);
            sketch
        }
        SpeckPosture::Flat => {
            let mut sketch = Sketch::default();
            sketch.area(arc(Mm(0.0, 0.0), 0.85, 0.3, 0.0, PI), fill(speck.colour), OUTLINE);
            sketch.line(arc(Mm(0.0, 0.0), 0.5, 0.17, 0.3, PI - 0.3), FINE);
            sketch
        }
    }
}

/// The outline of a form: half widths over its height.
struct Shape {
    form: SpeckForm,
    height: f64,
    width: f64,
}

impl Shape {
    const fn of(form: SpeckForm) -> Self {
        let (height, width) = match form {
            SpeckForm::UprightOval => (HEIGHT, WIDTH),
            SpeckForm::Long => (1.3, 0.5),
            SpeckForm::Round => (0.9, 0.9),
            SpeckForm::Uneven => (0.62, 1.25),
        };
        Self { form, height, width }
    }

    /// Half the width at a share of the height.
    fn half(&self, share: f64) -> f64 {
        let round = |share: f64| (1.0 - (2.0 * share - 1.0).powi(2)).max(0.0).sqrt();
        let part = match self.form {
            SpeckForm::UprightOval if share < 0.36 => 0.72 + 0.28 * (share / 0.36 * PI / 2.0).sin(),
            SpeckForm::UprightOval => ((share - 0.36) / 0.64).powf(1.7).mul_add(-1.0, 1.0).max(0.0).powf(0.56),
            SpeckForm::Long | SpeckForm::Round => round(share),
            SpeckForm::Uneven => (1.0 - share.powi(3)).max(0.0).sqrt() * (1.0 + 0.10 * (7.0 * share).sin()),
        };
        self.width / 2.0 * part
    }

    fn outline(&self, wholeness: Wholeness) -> Vec<Mm> {
        let top = if wholeness == Wholeness::OpenTop { 0.72 } else { 1.0 };
        // Closest together where the outline bends most: at the base and the top.
        let heights = || (0..=32).map(move |step| top * (1.0 - (PI * f64::from(step) / 32.0).cos()) / 2.0);
        let lean = if self.form == SpeckForm::Uneven { 0.16 } else { 0.0 };
        let side = |sign: f64, share: f64| {
            let dent = if wholeness == Wholeness::CavedIn && sign > 0.0 { 0.6 * bump(share) } else { 0.0 };
            Mm(sign * self.half(share) * (1.0 - dent) - lean * share, share * self.height * sag(wholeness, sign))
        };
        let left: Vec<_> = heights().map(|share| side(-1.0, share)).collect();
        let right: Vec<_> = heights().map(|share| side(1.0, share)).collect();
        let rim = jagged(wholeness, left[32], right[32]);
        left.into_iter().chain(rim).chain(right.into_iter().rev()).collect()
    }

    fn ridge(&self, place: f64, top: f64) -> Vec<Mm> {
        (0..=14)
            .map(|step| top * (0.02 + 0.95 * f64::from(step) / 14.0))
            .map(|share| Mm(place * self.half(share), share * self.height))
            .collect()
    }
}

fn bump(share: f64) -> f64 {
    (-((share - 0.55) / 0.2).powi(2)).exp()
}

const fn sag(wholeness: Wholeness, sign: f64) -> f64 {
    match wholeness {
        Wholeness::CavedIn if sign > 0.0 => 0.86,
        Wholeness::CavedIn => 0.86,
        Wholeness::Whole | Wholeness::Hole | Wholeness::OpenTop => 1.0,
    }
}

fn jagged(wholeness: Wholeness, left: Mm, right: Mm) -> Vec<Mm> {
    if wholeness != Wholeness::OpenTop {
        return Vec::new();
    }
    [(0.15, -0.16), (0.3, 0.06), (0.45, -0.2), (0.62, 0.02), (0.78, -0.16), (0.9, 0.08)]
        .map(|(share, up)| {
            let Mm(x, y) = between(left, right, share);
            Mm(x, y + up)
        })
        .to_vec()
}

fn standing(speck: Speck) -> Sketch {
    let shape = Shape::of(speck.form);
    let mut sketch = Sketch::default();
    let top = if speck.wholeness == Wholeness::OpenTop { 0.62 } else { 1.0 };
    sketch.area(shape.outline(speck.wholeness), fill(speck.colour), OUTLINE);
    if speck.colour == SpeckColour::Blotched {
        for (x, y) in [(-0.5, 0.25), (0.35, 0.3), (-0.1, 0.5), (0.55, 0.55), (-0.5, 0.66), (0.1, 0.78)] {
            let center = Mm(x * shape.half(y), y * shape.height);
            sketch.area(ellipse(center, 0.09, 0.06, 0.4), Ink::Slate, None);
        }
    }
    if speck.colour == SpeckColour::DarkTop {
        let cap = |sign: f64| {
            (0..=16)
                .map(move |step| 0.66 + 0.34 * (PI / 2.0 * f64::from(step) / 16.0).sin())
                .map(move |share| (sign, share))
        };
        let cap = cap(-1.0).chain(cap(1.0).collect::<Vec<_>>().into_iter().rev());
        let cap = cap.map(|(sign, share)| Mm(sign * shape.half(share), share * shape.height)).collect();
        sketch.area(cap, Ink::Black, None);
    }
    if speck.surface == Surface::Ridged && speck.wholeness != Wholeness::CavedIn {
        let edge = if speck.colour == SpeckColour::Dark { Edge::of(Ink::Shade, 0.6) } else { FINE };
        for place in [-0.78, -0.42, 0.0, 0.42, 0.78] {
            sketch.line(shape.ridge(place, top), edge);
        }
    }
    if speck.surface == Surface::Smooth && matches!(speck.colour, SpeckColour::MilkWhite) {
        let (across, up) = (shape.width * 0.28, shape.height * 0.55);
        sketch.line(arc(Mm(-shape.width * 0.08, shape.height * 0.2), across, up, 1.7, 2.7), FINE);
    }
    match speck.wholeness {
        Wholeness::Hole => {
            let center = Mm(0.12, shape.height * 0.5);
            sketch.area(ellipse(center, shape.width * 0.21, shape.height * 0.16, 0.4), Ink::Paper, OUTLINE);
            let inside = ellipse(center, shape.width * 0.12, shape.height * 0.09, 0.4);
            sketch.area(inside, Ink::Black, None);
        }
        Wholeness::CavedIn => {
            for (from, to) in [(0.30, 0.12), (0.52, 0.0), (0.74, 0.1)] {
                let fold = bend(
                    Mm(-0.3 * shape.width, from * shape.height),
                    Mm(0.0, (from - 0.12) * shape.height),
                    Mm(to * shape.width, (from + 0.02) * shape.height),
                );
                sketch.line(fold, FINE);
            }
        }
        Wholeness::Whole | Wholeness::OpenTop => {}
    }
    sketch
}

const fn fill(colour: SpeckColour) -> Option<Ink> {
    match colour {
        SpeckColour::Cream | SpeckColour::DarkTop => Some(Ink::Cream),
        SpeckColour::MilkWhite => Some(Ink::Paper),
        SpeckColour::Yellow => Some(Ink::Yellow),
        SpeckColour::Blotched => Some(Ink::Shade),
        SpeckColour::Dark => Some(Ink::Slate),
        SpeckColour::Clear => None,
    }
}
