//! A caterpillar in side view on the edge of a leaf, its head to the right.

use super::form::{Bands, Collar, Hair, Head, Larva, Posture, ProlegSpots, SEEN, Skin};
use super::pen::{ellipse, horn};
use super::sketch::{Edge, FINE, GUIDE, Mm, OUTLINE, Sketch};
use super::subject::Part;
use crate::ink::Ink;
use std::f64::consts::PI;

/// Length of the head over its width.
pub(super) const HEAD_LENGTH: f64 = 0.85;
/// Parts of the body behind the head: three that bear legs, ten of the belly.
const PARTS: f64 = 13.0;
/// Jointed legs: one pair on each of the first three parts.
const LEGS: [f64; 3] = [0.5, 1.5, 2.5];
/// Fleshy legs: on the third to sixth and the last part of the belly.
const PROLEGS: [f64; 5] = [5.5, 6.5, 7.5, 8.5, 12.4];

/// How much of the animal is drawn.
#[derive(Debug, Clone, Copy, PartialEq, Eq)]
pub(super) enum Extent {
    Whole,
    /// From so many parts behind the front end to so many; the head is drawn where the first is 0.
    Parts(u8, u8),
}

/// The line through the middle of the body, an arc, and heights over it.
struct Track {
    length: f64,
    /// Angle in radians from tail to head.
    bend: f64,
}

impl Track {
    /// The point `parts` behind the front end of the body (negative: before it), at a height over the middle.
    fn at(&self, parts: f64, height: f64) -> Mm {
        let radius = self.length / self.bend;
        let angle = self.bend * (0.5 - parts / PARTS);
        Mm((radius + height) * angle.sin(), (radius + height) * angle.cos() - radius)
    }

    /// The same for a leaf, which goes on straight past the animal.
    fn leaf(&self, parts: f64, height: f64) -> Mm {
        let near = parts.clamp(-2.0, PARTS + 1.0);
        super::pen::polar(self.at(near, height), (near - parts) * self.length / PARTS, self.forward(near))
    }

    /// The direction towards the head, in radians.
    fn forward(&self, parts: f64) -> f64 {
        -self.bend * (0.5 - parts / PARTS)
    }

    /// A point at a distance and an angle from the forward direction (radians, upwards) from another.
    fn off(&self, from: (f64, f64), distance: f64, angle: f64) -> Mm {
        let base = self.at(from.0, from.1);
        super::pen::polar(base, distance, self.forward(from.0) + angle)
    }
}

struct Drawing<'a> {
    larva: &'a Larva,
    track: Track,
    extent: Extent,
    sketch: Sketch,
}

/// The animal on a leaf's edge that is bent by an angle in radians (0.02 to 2.4).
pub(super) fn larva(larva: &Larva, bend: f64, extent: Extent) -> Sketch {
    let larva = larva.drawable();
    let mut drawing = Drawing::of(&larva, bend, extent);
    drawing.leaf();
    drawing.prolegs();
    drawing.legs();
    drawing.far_filaments();
    drawing.body();
    drawing.pattern();
    drawing.outline();
    drawing.hair();
    drawing.head();
    drawing.near_filaments();
    drawing.sketch
}

/// The front end with its filaments laid forward and a line at the front of the head.
pub(super) fn laid_forward(subject: &Larva) -> Sketch {
    let laid = Larva { posture: Posture::LaidForward, ..*subject };
    let mut sketch = larva(&laid, 0.02, Extent::Parts(0, 5));
    let front = HEAD_LENGTH * laid.head_width + laid.trunk() / 2.0;
    let height = laid.length * laid.plumpness;
    sketch.line(vec![Mm(front, -height * 0.9), Mm(front, height * 1.5)], GUIDE);
    sketch
}

/// Where a ring about a part of the animal goes: its middle and radius in millimetres.
pub(super) fn spot(larva: &Larva, bend: f64, part: Part) -> Option<(Mm, f64)> {
    let larva = larva.drawable();
    let drawing = Drawing::of(&larva, bend, Extent::Whole);
    let body = larva.length * larva.plumpness;
    let pair = |place: f64, length: f64, angle: f64| {
        let base = (place, drawing.half(place));
        Some((drawing.track.off(base, length * 0.5, angle), (length * 0.6).max(body * 0.4)))
    };
    match part {
        Part::FrontFilaments => pair(1.5, larva.front, 0.6),
        Part::MiddleFilaments => pair(4.5, larva.middle, 1.35),
        Part::BackFilaments => pair(10.5, larva.back, 2.15),
        Part::Head => {
            let center = drawing.track.off((0.0, 0.0), HEAD_LENGTH * larva.head_width / 2.0, 0.0);
            Some((center, larva.head_width * 0.75))
        }
        Part::Collar => Some((drawing.track.at(0.5, 0.0), body * 0.6)),
        Part::Body => Some((drawing.track.at(6.0, 0.0), body * 0.75)),
        Part::Surface | Part::Top | Part::Base => None,
    }
}

impl<'a> Drawing<'a> {
    fn of(larva: &'a Larva, bend: f64, extent: Extent) -> Self {
        let track = Track { length: larva.trunk(), bend: bend.clamp(0.02, 2.4) };
        Self { larva, track, extent, sketch: Sketch::default() }
    }

    /// Half the height of the body so many parts behind its front.
    fn half(&self, parts: f64) -> f64 {
        let most = self.larva.length * self.larva.plumpness / 2.0;
        let neck = (self.larva.head_width * 0.52).clamp(most * 0.62, most);
        let fore = (parts / 3.5).clamp(0.0, 1.0);
        let rear = ((PARTS - parts) / 3.0).clamp(0.0, 1.0);
        let whole = (neck + (most - neck) * (fore * PI / 2.0).sin()) * (0.42 + 0.58 * (rear * PI / 2.0).sin().sqrt());
        let dent = match self.larva.skin {
            Skin::Loose => 0.20,
            Skin::Even => 0.09,
            Skin::Swollen => 0.03,
        };
        whole * (1.0 - dent * (1.0 - (PI * parts.rem_euclid(1.0)).sin()))
    }

    fn ends(&self) -> (f64, f64) {
        match self.extent {
            Extent::Whole => (0.0, PARTS),
            Extent::Parts(from, to) => (f64::from(from), f64::from(to)),
        }
    }

    fn shown(&self, parts: f64) -> bool {
        let (from, to) = self.ends();
        (from..=to).contains(&parts)
    }

    /// Those places that are drawn.
    fn those_drawn(&self, places: &[f64]) -> Vec<f64> {
        places.iter().copied().filter(|place| self.shown(*place)).collect()
    }

    /// The strip between two places, from `low` to `high` of the half height (-1 belly, 1 back).
    fn strip(&self, from: f64, to: f64, low: f64, high: f64) -> Vec<Mm> {
        let steps = ((to - from) * 6.0).ceil().max(2.0);
        let places = || {
            std::iter::successors(Some(0.0), move |step| (*step < steps).then_some(step + 1.0))
                .map(move |step| from + (to - from) * step / steps)
        };
        let upper = places().map(|place| self.track.at(place, high * self.half(place)));
        let lower = places().map(|place| self.track.at(place, low * self.half(place)));
        upper.chain(lower.collect::<Vec<_>>().into_iter().rev()).collect()
    }

    fn leaf(&mut self) {
        let floor = -self.larva.length * self.larva.plumpness * 0.72;
        let edge = (0..=60).map(|step| self.track.leaf(-20.0 + 0.88 * f64::from(step), floor));
        let edge: Vec<_> = edge.collect();
        let thick = self.larva.length * 0.12;
        let under: Vec<_> =
            (0..=60).map(|step| self.track.leaf(-20.0 + 0.88 * f64::from(step), floor - thick)).collect();
        self.sketch.ground_area(edge.iter().chain(under.iter().rev()).copied().collect(), Ink::Leaf);
        self.sketch.ground_line(edge, OUTLINE);
        self.sketch.ground_line(under, OUTLINE);
    }

    fn prolegs(&mut self) {
        let body = self.larva.length * self.larva.plumpness;
        for place in self.those_drawn(&PROLEGS) {
            let (top, foot) = (-self.half(place) * 0.6, -body * 0.70);
            let corners = [(place - 0.42, top), (place + 0.42, top), (place + 0.36, foot), (place - 0.36, foot)];
            let corners = corners.map(|(parts, height)| self.track.at(parts, height)).to_vec();
            let dark = !matches!(self.larva.bands, Bands::None | Bands::Faint | Bands::OtherPattern);
            let fill = if dark { Ink::Black } else { Ink::Shade };
            self.sketch.area(corners, fill, OUTLINE);
        }
    }

    fn proleg_spots(&mut self) {
        let body = self.larva.length * self.larva.plumpness;
        for place in self.those_drawn(&PROLEGS) {
            let center = self.track.at(place, -body * 0.59);
            match self.larva.proleg_spots {
                ProlegSpots::None => {}
                ProlegSpots::Faint => self.sketch.disc(center, body * 0.05, Ink::Shade, None),
                ProlegSpots::Clear => self.sketch.disc(center, body * 0.085, Ink::Paper, None),
            }
        }
    }

    fn legs(&mut self) {
        let body = self.larva.length * self.larva.plumpness;
        for place in self.those_drawn(&LEGS) {
            let top = (place, -self.half(place) * 0.75);
            let reach = body * self.larva.legs;
            let from = self.track.at(top.0, top.1);
            let knee = self.track.off(top, reach * 0.6, -PI / 2.0 - 0.3);
            let foot = self.track.off(top, reach + body * 0.08, -PI / 2.0 + 0.25);
            self.sketch.area(horn(from, knee, foot, (body * 0.14, body * 0.04)), Ink::Black, FINE);
        }
    }

    fn ground_ink(&self) -> Ink {
        match self.larva.bands {
            Bands::None | Bands::Faint => Ink::Shade,
            Bands::Thin | Bands::Even | Bands::Wide => Ink::Paper,
            Bands::OtherPattern => Ink::Leaf,
        }
    }

    fn body(&mut self) {
        let (from, to) = self.ends();
        let strip = self.strip(from, to, -1.0, 1.0);
        self.sketch.area(strip, self.ground_ink(), None);
    }

    /// Bands of each part: from, to (shares of the part), ink.
    fn bands(&self) -> &'static [(f64, f64, Ink)] {
        match self.larva.bands {
            Bands::None | Bands::OtherPattern => &[],
            Bands::Faint => &[(0.30, 0.60, Ink::Rule)],
            Bands::Thin => &[(0.12, 0.30, Ink::Black), (0.52, 0.72, Ink::Yellow)],
            Bands::Even => &[(0.08, 0.36, Ink::Black), (0.36, 0.66, Ink::Yellow), (0.66, 0.74, Ink::Black)],
            Bands::Wide => &[(0.02, 0.52, Ink::Black), (0.52, 0.80, Ink::Yellow), (0.80, 0.88, Ink::Black)],
        }
    }

    fn pattern(&mut self) {
        let (first, last) = self.ends();
        let skip = if self.larva.collar == Collar::Plain { 0.0 } else { 1.0 };
        for part in 0..13_u8 {
            let start = f64::from(part);
            if start < first || start + 1.0 > last + 1e-9 || start < skip {
                continue;
            }
            for (from, to, ink) in self.bands() {
                let low = if *ink == Ink::Rule { -0.3 } else { -0.92 };
                let strip = self.strip(start + from, start + to, low, 1.0);
                self.sketch.area(strip, *ink, None);
            }
        }
        match self.larva.bands {
            Bands::None => {
                let shine = (0..=24).map(|step| first + 0.8 + (last - first - 1.8) * f64::from(step) / 24.0);
                let shine = shine.map(|place| self.track.at(place, 0.45 * self.half(place))).collect();
                self.sketch.line(shine, Edge::of(Ink::Paper, 2.4));
            }
            Bands::OtherPattern => {
                for (low, high, ink) in [(-0.35, -0.1, Ink::Paper), (0.25, 0.45, Ink::Black)] {
                    let stripe = self.strip(first, last, low, high);
                    self.sketch.area(stripe, ink, FINE);
                }
            }
            Bands::Faint | Bands::Thin | Bands::Even | Bands::Wide => {}
        }
        self.collar();
        self.proleg_spots();
    }

    fn collar(&mut self) {
        if !self.shown(0.5) {
            return;
        }
        match self.larva.collar {
            Collar::Plain => {}
            Collar::Patches => {
                let patch = self.strip(0.2, 0.8, 0.1, 0.95);
                self.sketch.area(patch, Ink::Black, None);
            }
            Collar::Bars => {
                for (from, to) in [(0.08, 0.32), (0.58, 0.86)] {
                    let bar = self.strip(from, to, -0.8, 1.0);
                    self.sketch.area(bar, Ink::Black, None);
                }
            }
        }
    }

    fn outline(&mut self) {
        let (from, to) = self.ends();
        let outline = self.strip(from, to, -1.0, 1.0);
        self.sketch.area(outline, None, OUTLINE);
        if self.larva.skin == Skin::Loose {
            for fold in 1..13_u8 {
                let place = f64::from(fold);
                if place > from && place < to {
                    let crease = [0.95, 0.5, 0.1, -0.4]
                        .map(|height| self.track.at(place + 0.12 * (1.0 - height * height), height * self.half(place)));
                    self.sketch.line(crease.to_vec(), FINE);
                }
            }
        }
    }

    fn hair(&mut self) {
        let body = self.larva.length * self.larva.plumpness;
        let (count, long, spread) = match self.larva.hair {
            Hair::Bare => return,
            Hair::Bristles => (1_u8, 0.26, 0.0),
            Hair::Long => (5, 0.85, 0.42),
        };
        for part in 0..13_u8 {
            let place = f64::from(part) + 0.5;
            if !self.shown(place) {
                continue;
            }
            for hair in 0..count {
                let lean = (f64::from(hair) - f64::from(count - 1) / 2.0) * spread;
                for (height, up) in [(0.95, PI / 2.0), (0.2, 2.0)] {
                    let base = (place, height * self.half(place));
                    let tip = self.track.off(base, body * long, up - lean);
                    let from = self.track.at(base.0, base.1);
                    self.sketch.line(vec![from, tip], FINE);
                }
            }
        }
    }

    fn head(&mut self) {
        if self.ends().0 > 0.0 {
            return;
        }
        let width = self.larva.head_width;
        let ahead = HEAD_LENGTH * width / 2.0;
        let forward = |along: f64, up: f64| {
            let base = self.track.off((0.0, 0.0), along, 0.0);
            let angle = -self.track.bend / 2.0 + PI / 2.0;
            super::pen::polar(base, up, angle)
        };
        let center = forward(ahead, 0.0);
        let tilt = -self.track.bend / 2.0;
        let round = |share: f64| ellipse(center, ahead * share, width / 2.0 * share, tilt);
        let fill = match self.larva.head {
            Head::Black | Head::BlackMarked => Ink::Black,
            Head::Striped => Ink::Paper,
            Head::Pale => Ink::Cream,
        };
        let stripe = |from: f64, to: f64| {
            // A lens between two ellipses of the same height.
            let edge = |at: f64, sign: f64| {
                (0..=12).map(move |step| {
                    let angle = PI * (f64::from(step) / 12.0 - 0.5) * sign;
                    (ahead + ahead * at * angle.cos(), width / 2.0 * 0.96 * angle.sin())
                })
            };
            edge(from, 1.0).chain(edge(to, -1.0)).map(|(along, up)| forward(along, up)).collect::<Vec<_>>()
        };
        let (eye, mark) = (forward(ahead * 1.35, -width * 0.18), forward(ahead * 1.1, width * 0.05));
        let stripes = [stripe(-0.62, -0.18), stripe(0.32, 0.72)];
        self.sketch.area(round(1.0), fill, OUTLINE);
        match self.larva.head {
            Head::Black => {}
            Head::BlackMarked => {
                self.sketch.area(ellipse(mark, ahead * 0.22, width * 0.27, tilt), Ink::Paper, FINE);
            }
            Head::Striped => {
                for stripe in stripes {
                    self.sketch.area(stripe, Ink::Black, None);
                }
            }
            Head::Pale => self.sketch.disc(eye, width * 0.06, Ink::Black, None),
        }
    }

    /// Pairs of filaments: part of the body, length, whether they point backwards.
    fn pairs(&self) -> Vec<(f64, f64, f64)> {
        let larva = self.larva;
        [(1.5, larva.front, 0.6), (4.5, larva.middle, 1.35), (10.5, larva.back, 2.15)]
            .into_iter()
            .filter(|(place, length, _)| *length >= SEEN && self.shown(*place))
            .collect()
    }

    fn filament(&mut self, (place, length, angle): (f64, f64, f64), far: bool) {
        let body = self.larva.length * self.larva.plumpness;
        let thick = (body * 0.17).min(length * 0.8).max(body * 0.05);
        let base = (place, self.half(place) * 0.86);
        let forward = angle < 1.2;
        let angle = if far { angle + 0.28 } else { angle };
        let from = self.track.at(base.0, base.1);
        let (towards, tip) = match self.larva.posture {
            Posture::LaidForward if forward => {
                let start = (place, self.half(1.0).max(self.larva.head_width / 2.0) + thick * 0.7);
                let from = self.track.at(start.0, start.1);
                let lift = self.track.off(start, length, 0.0);
                let outline = horn(from, super::sketch::between(from, lift, 0.5), lift, (thick, thick * 0.45));
                if !far {
                    self.sketch.area(outline, Ink::Black, OUTLINE);
                }
                return;
            }
            Posture::Stiff | Posture::LaidForward => {
                let tip = self.track.off(base, length, angle);
                (super::sketch::between(from, tip, 0.5), tip)
            }
            Posture::Drooping => {
                let turn = if forward { -1.0 } else { 0.55 };
                (
                    self.track.off(base, length * 0.62, angle + 0.15),
                    self.track.off(base, length * 0.86, angle + turn * 0.75),
                )
            }
        };
        let outline = horn(from, towards, tip, (thick, thick * 0.4));
        let fill = if far { Ink::Slate } else { Ink::Black };
        self.sketch.area(outline, fill, FINE);
    }

    fn far_filaments(&mut self) {
        for pair in self.pairs() {
            self.filament(pair, true);
        }
    }

    fn near_filaments(&mut self) {
        for pair in self.pairs() {
            self.filament(pair, false);
        }
    }
}
