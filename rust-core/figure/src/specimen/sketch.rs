//! A drawing in millimetres, and fitting it into a frame.

use crate::ink::Ink;
use crate::shape::{Dash, Shape, Stroke, Xy};

/// A point in millimetres: to the right, and up from the ground.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Mm(pub(super) f64, pub(super) f64);

/// A line: its ink, its width in parts of the pen's, whether it is whole.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Edge {
    ink: Ink,
    weight: f64,
    dash: Dash,
}

/// The usual outline.
pub(super) const OUTLINE: Edge = Edge::of(Ink::Black, 1.0);
/// A line inside an outline.
pub(super) const FINE: Edge = Edge::of(Ink::Black, 0.55);
/// A line that shows where to compare.
pub(super) const GUIDE: Edge = Edge { ink: Ink::Doubt, weight: 0.9, dash: Dash::Dashed };
/// A line that measures or points.
pub(super) const POINTER: Edge = Edge::of(Ink::Doubt, 1.2);

impl Edge {
    pub(super) const fn of(ink: Ink, weight: f64) -> Self {
        Self { ink, weight, dash: Dash::Solid }
    }
}

#[derive(Debug, Clone, PartialEq)]
enum Mark {
    Area { points: Vec<Mm>, fill: Option<Ink>, edge: Option<Edge> },
    Line { points: Vec<Mm>, edge: Edge },
    Disc { center: Mm, radius: f64, fill: Option<Ink>, edge: Option<Edge> },
}

/// Marks in the order in which they are painted: what the subject sits on, then the subject.
#[derive(Debug, Clone, Default, PartialEq)]
pub(super) struct Sketch {
    ground: Vec<Mark>,
    subject: Vec<Mark>,
}

/// A rectangle in figure units.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct Frame {
    pub(super) left: f64,
    pub(super) top: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

/// A rectangle in millimetres.
#[derive(Debug, Clone, Copy, PartialEq)]
pub(super) struct View {
    pub(super) left: f64,
    pub(super) bottom: f64,
    pub(super) width: f64,
    pub(super) height: f64,
}

impl Sketch {
    pub(super) fn area(&mut self, points: Vec<Mm>, fill: impl Into<Option<Ink>>, edge: impl Into<Option<Edge>>) {
        self.subject.push(Mark::Area { points, fill: fill.into(), edge: edge.into() });
    }

    pub(super) fn line(&mut self, points: Vec<Mm>, edge: Edge) {
        self.subject.push(Mark::Line { points, edge });
    }

    pub(super) fn disc(
        &mut self,
        center: Mm,
        radius: f64,
        fill: impl Into<Option<Ink>>,
        edge: impl Into<Option<Edge>>,
    ) {
        self.subject.push(Mark::Disc { center, radius, fill: fill.into(), edge: edge.into() });
    }

    pub(super) fn ground_area(&mut self, points: Vec<Mm>, fill: Ink) {
        self.ground.push(Mark::Area { points, fill: Some(fill), edge: None });
    }

    pub(super) fn ground_line(&mut self, points: Vec<Mm>, edge: Edge) {
        self.ground.push(Mark::Line { points, edge });
    }

    /// Everything of another sketch, moved by this much.
    pub(super) fn add(&mut self, other: &Self, right: f64, up: f64) {
        let moved = |mark: &Mark| mark.mapped(|Mm(x, y)| Mm(x + right, y + up), 1.0);
        self.ground.extend(other.ground.iter().map(moved));
        self.subject.extend(other.subject.iter().map(moved));
    }

    /// The same without what the subject sits on.
    pub(super) fn without_ground(mut self) -> Self {
        self.ground.clear();
        self
    }

    /// The same turned to the left about the origin, in radians.
    pub(super) fn turned(&self, angle: f64) -> Self {
        let (sin, cos) = angle.sin_cos();
        let turned = |mark: &Mark| mark.mapped(|Mm(x, y)| Mm(x * cos - y * sin, x * sin + y * cos), 1.0);
        Self { ground: self.ground.iter().map(turned).collect(), subject: self.subject.iter().map(turned).collect() }
    }

    /// The least view that holds the subject; a square millimetre about the origin where there is none.
    pub(super) fn bounds(&self) -> View {
        let reach = self.subject.iter().flat_map(Mark::extremes);
        let (low, high) = reach
            .fold(None, |found: Option<(Mm, Mm)>, Mm(x, y)| {
                let (low, high) = found.unwrap_or((Mm(x, y), Mm(x, y)));
                Some((Mm(low.0.min(x), low.1.min(y)), Mm(high.0.max(x), high.1.max(y))))
            })
            .unwrap_or((Mm(-0.5, -0.5), Mm(0.5, 0.5)));
        View { left: low.0, bottom: low.1, width: high.0 - low.0, height: high.1 - low.1 }
    }

    /// The shapes with `view` in the middle of `frame`, as large as fits; what lies outside the frame is cut off.
    pub(super) fn shapes(&self, view: View, frame: Frame, pen: f64) -> Vec<Shape> {
        let scale = view.scale_in(frame);
        let (middle, center) = (view.middle(), frame.middle());
        let place = |Mm(x, y): Mm| Mm(center.0 + (x - middle.0) * scale, center.1 - (y - middle.1) * scale);
        let inner = frame.inset(pen / 2.0);
        self.ground.iter().chain(&self.subject).flat_map(|mark| mark.mapped(place, scale).shapes(inner, pen)).collect()
    }
}

impl View {
    /// Figure units per millimetre when it is fitted into the frame.
    pub(super) fn scale_in(self, frame: Frame) -> f64 {
        (frame.width.max(0.0) / self.width.max(1e-6)).min(frame.height.max(0.0) / self.height.max(1e-6))
    }

    /// Wider on every side by this share of its longer side.
    pub(super) fn padded(self, share: f64) -> Self {
        let pad = share * self.width.max(self.height);
        let (left, bottom) = (self.left - pad, self.bottom - pad);
        Self { left, bottom, width: self.width + 2.0 * pad, height: self.height + 2.0 * pad }
    }

    fn middle(self) -> Mm {
        Mm(self.left + self.width / 2.0, self.bottom + self.height / 2.0)
    }
}

impl Frame {
    pub(super) fn inset(self, by: f64) -> Self {
        let (width, height) = ((self.width - 2.0 * by).max(0.0), (self.height - 2.0 * by).max(0.0));
        Self { left: self.left + by, top: self.top + by, width, height }
    }

    fn middle(self) -> Mm {
        Mm(self.left + self.width / 2.0, self.top + self.height / 2.0)
    }

    fn right(self) -> f64 {
        self.left + self.width
    }

    fn bottom(self) -> f64 {
        self.top + self.height
    }

    fn holds(self, Mm(x, y): Mm, margin: f64) -> bool {
        x - margin >= self.left && x + margin <= self.right() && y - margin >= self.top && y + margin <= self.bottom()
    }
}

impl Mark {
    fn mapped(&self, place: impl Fn(Mm) -> Mm, scale: f64) -> Self {
        let all = |points: &[Mm]| points.iter().map(|point| place(*point)).collect();
        match self {
            Self::Area { points, fill, edge } => Self::Area { points: all(points), fill: *fill, edge: *edge },
            Self::Line { points, edge } => Self::Line { points: all(points), edge: *edge },
            Self::Disc { center, radius, fill, edge } => {
                Self::Disc { center: place(*center), radius: radius * scale, fill: *fill, edge: *edge }
            }
        }
    }

    fn extremes(&self) -> Vec<Mm> {
        match self {
            Self::Area { points, .. } | Self::Line { points, .. } => points.clone(),
            Self::Disc { center: Mm(x, y), radius, .. } => vec![Mm(x - radius, y - radius), Mm(x + radius, y + radius)],
        }
    }

    /// Shapes of a mark that is in figure units already, cut to the frame.
    fn shapes(&self, frame: Frame, pen: f64) -> Vec<Shape> {
        let stroke = |edge: Edge| Stroke { ink: edge.ink, width: hundredths(edge.weight * pen), dash: edge.dash };
        let area = |points: &[Mm], fill: Option<Ink>, edge: Option<Edge>| {
            let points = cut_area(points, frame);
            let shape = || Shape::Polygon { points: points.iter().map(xy).collect(), fill, stroke: edge.map(stroke) };
            (points.len() > 2).then(shape).into_iter().collect::<Vec<_>>()
        };
        match self {
            Self::Area { points, fill, edge } => area(points, *fill, *edge),
            Self::Line { points, edge } => cut_line(points, frame)
                .into_iter()
                .map(|points| Shape::Polyline { points: points.iter().map(xy).collect(), stroke: stroke(*edge) })
                .collect(),
            Self::Disc { center, radius, fill, edge } if frame.holds(*center, *radius) => vec![Shape::Circle {
                center: xy(center),
                radius: hundredths(*radius),
                fill: *fill,
                stroke: edge.map(stroke),
            }],
            Self::Disc { center, radius, fill, edge } => {
                area(&super::pen::ellipse(*center, *radius, *radius, 0.0), *fill, *edge)
            }
        }
    }
}

/// Sutherland and Hodgman (1974), Communications of the ACM 17: 32-42, against the four sides of the frame.
fn cut_area(points: &[Mm], frame: Frame) -> Vec<Mm> {
    sides(frame).into_iter().fold(points.to_vec(), |points, side| {
        let previous = points.iter().cycle().skip(points.len().saturating_sub(1));
        previous
            .zip(&points)
            .flat_map(|(from, to)| {
                let (out, into) = (side(*from), side(*to));
                let crossing = (out < 0.0) != (into < 0.0);
                let meeting = crossing.then(|| between(*from, *to, out / (out - into)));
                meeting.into_iter().chain((into >= 0.0).then_some(*to))
            })
            .collect()
    })
}

/// The parts of a line inside the frame, each segment cut by the four sides in turn.
fn cut_line(points: &[Mm], frame: Frame) -> Vec<Vec<Mm>> {
    let mut parts: Vec<Vec<Mm>> = Vec::new();
    for pair in points.windows(2) {
        let Some((from, to)) = cut_segment(pair[0], pair[1], frame) else { continue };
        match parts.last_mut() {
            Some(part) if part.last() == Some(&from) => part.push(to),
            _ => parts.push(vec![from, to]),
        }
    }
    parts
}

fn cut_segment(from: Mm, to: Mm, frame: Frame) -> Option<(Mm, Mm)> {
    sides(frame).into_iter().try_fold((from, to), |(from, to), side| {
        let (start, end) = (side(from), side(to));
        match (start >= 0.0, end >= 0.0) {
            (true, true) => Some((from, to)),
            (false, false) => None,
            (true, false) => Some((from, between(from, to, start / (start - end)))),
            (false, true) => Some((between(from, to, start / (start - end)), to)),
        }
    })
}

/// How far inside of each side a point lies.
fn sides(frame: Frame) -> [Box<dyn Fn(Mm) -> f64>; 4] {
    [
        Box::new(move |point| point.0 - frame.left),
        Box::new(move |point| frame.right() - point.0),
        Box::new(move |point| point.1 - frame.top),
        Box::new(move |point| frame.bottom() - point.1),
    ]
}

/// The point at this share of the way.
pub(super) fn between(from: Mm, to: Mm, share: f64) -> Mm {
    Mm(from.0 + (to.0 - from.0) * share, from.1 + (to.1 - from.1) * share)
}

fn xy(point: &Mm) -> Xy {
    Xy { x: hundredths(point.0), y: hundredths(point.1) }
}

pub(super) fn hundredths(number: f64) -> f64 {
    (number * 100.0).round() / 100.0
}

#[cfg(test)]
mod tests {
    use super::*;
    use proptest::prelude::*;

    const FRAME: Frame = Frame { left: 10.0, top: 20.0, width: 30.0, height: 40.0 };

    fn inside(Mm(x, y): Mm) -> bool {
        (9.999..=40.001).contains(&x) && (19.999..=60.001).contains(&y)
    }

    #[test]
    fn a_square_over_the_corner_is_cut_to_its_inner_quarter() {
        let square = [Mm(0.0, 10.0), Mm(20.0, 10.0), Mm(20.0, 30.0), Mm(0.0, 30.0)];
        let mut cut: Vec<_> = cut_area(&square, FRAME).iter().map(|point| format!("{} {}", point.0, point.1)).collect();
        cut.sort_unstable();
        cut.dedup();
        assert_eq!(cut, ["10 20", "10 30", "20 20", "20 30"]);
        assert_eq!(cut_line(&[Mm(0.0, 30.0), Mm(50.0, 30.0)], FRAME), [[Mm(10.0, 30.0), Mm(40.0, 30.0)]]);
        assert!(cut_line(&[Mm(0.0, 0.0), Mm(5.0, 5.0)], FRAME).is_empty());
    }

    proptest! {
        #[test]
        fn what_is_cut_lies_inside(points in prop::collection::vec((-50.0_f64..90.0, -50.0_f64..90.0), 3..12)) {
            let points: Vec<_> = points.into_iter().map(|(x, y)| Mm(x, y)).collect();
            prop_assert!(cut_area(&points, FRAME).into_iter().all(inside));
            prop_assert!(cut_line(&points, FRAME).into_iter().flatten().all(inside));
        }
    }
}
