//! A short way past all points.

use super::patch::{Plane, Spot};
use crate::Refusal;
use serde::Serialize;
use survey::place::Pin;

/// An order in which to visit points.
#[derive(Debug, Clone, PartialEq, Serialize)]
pub struct Walk {
    /// Indices of the points, each once.
    pub order: Vec<usize>,
    /// Length of the way from the first to the last, on the ellipsoid, in metres.
    pub metres: f64,
}

/// The most points that are put in order.
const MOST_POINTS: usize = 1_000;
/// Starts that are tried where the start is free.
const MOST_STARTS: usize = 40;
/// A change that shortens the way by less than this many metres is none.
const SHORTER: f64 = 1e-6;
/// Rounds of improving; each shortens the way, and few are needed.
const MOST_ROUNDS: usize = 200;

/// A short open way past all points, from a given one where the walk must begin there.
///
/// From each of up to 40 starts the nearest point not yet visited comes next; then stretches are turned round (2-opt)
/// and up to three points moved elsewhere (Or-opt) as long as that shortens the way, and the shortest way is kept.
/// Against the exact optimum of [`super::shortest_walk`] it is longer by a few parts in a thousand on the mean.
///
/// Unit: metres. Domain: 1 to 1,000 points within some tens of kilometres.
///
/// Source: Croes GA (1958) Oper. Res. 6:791-812; Or I (1976) thesis, Northwestern University.
///
/// # Errors
/// [`Refusal::Nothing`] without a point; [`Refusal::ImpossibleCounts`] for too many points or a start that is none;
/// [`Refusal::NotANumber`] near a pole.
pub fn short_walk(points: &[Pin], start: Option<usize>) -> Result<Walk, Refusal> {
    let apart = distances(points, start, MOST_POINTS)?;
    let n = points.len();
    let starts: Vec<usize> = match start {
        Some(start) => vec![start],
        None => (0..n.min(MOST_STARTS)).map(|index| index * n / n.min(MOST_STARTS)).collect(),
    };
    let best = starts
        .into_iter()
        .map(|from| improve(nearest_next(&apart, from), &apart, usize::from(start.is_some())))
        .min_by(|one, other| length(one, &apart).total_cmp(&length(other, &apart)))
        .unwrap_or_default();
    Ok(Walk::new(best, points))
}

impl Walk {
    pub(super) fn new(order: Vec<usize>, points: &[Pin]) -> Self {
        let metres = order.windows(2).map(|pair| points[pair[0]].distance_m(points[pair[1]])).sum();
        Self { order, metres }
    }
}

pub(super) type Distances = Vec<Vec<f64>>;

pub(super) fn distances(points: &[Pin], start: Option<usize>, most: usize) -> Result<Distances, Refusal> {
    let n = points.len();
    if n == 0 {
        return Err(Refusal::Nothing);
    }
    if n > most || start.is_some_and(|start| start >= n) {
        let part = start.unwrap_or(n) as u64;
        return Err(Refusal::ImpossibleCounts { part, whole: most.min(n) as u64 });
    }
    let plane = Plane::at(points[0])?;
    let spots: Vec<Spot> = points.iter().map(|&pin| plane.spot(pin)).collect();
    Ok(spots.iter().map(|a| spots.iter().map(|b| (a.0 - b.0).hypot(a.1 - b.1)).collect()).collect())
}

pub(super) fn length(order: &[usize], apart: &Distances) -> f64 {
    order.windows(2).map(|pair| apart[pair[0]][pair[1]]).sum()
}

fn nearest_next(apart: &Distances, from: usize) -> Vec<usize> {
    let mut left: Vec<usize> = (0..apart.len()).filter(|&point| point != from).collect();
    let mut order = vec![from];
    let mut here = from;
    while let Some((index, _)) =
        left.iter().enumerate().min_by(|(_, one), (_, other)| apart[here][**one].total_cmp(&apart[here][**other]))
    {
        here = left.swap_remove(index);
        order.push(here);
    }
    order
}

/// Turns stretches and moves points until neither helps; the first `fixed` points stay where they are.
fn improve(mut order: Vec<usize>, apart: &Distances, fixed: usize) -> Vec<usize> {
    for _ in 0..MOST_ROUNDS {
        let turned = turn_stretches(&mut order, apart, fixed);
        let moved = move_points(&mut order, apart, fixed);
        if !turned && !moved {
            break;
        }
    }
    order
}

/// The way from one place in the order to another; 0 where one of them is off its ends.
fn step(order: &[usize], apart: &Distances, from: Option<usize>, to: Option<usize>) -> f64 {
    let at = |place: Option<usize>| place.and_then(|place| order.get(place)).copied();
    at(from).zip(at(to)).map_or(0.0, |(from, to)| apart[from][to])
}

fn turn_stretches(order: &mut [usize], apart: &Distances, fixed: usize) -> bool {
    let n = order.len();
    let mut any = false;
    for from in fixed..n {
        for to in from + 1..n {
            let (before, after) = (from.checked_sub(1), Some(to + 1));
            let now = step(order, apart, before, Some(from)) + step(order, apart, Some(to), after);
            let then = step(order, apart, before, Some(to)) + step(order, apart, Some(from), after);
            if then + SHORTER < now {
                order[from..=to].reverse();
                any = true;
            }
        }
    }
    any
}

fn move_points(order: &mut Vec<usize>, apart: &Distances, fixed: usize) -> bool {
    let n = order.len();
    let mut any = false;
    for size in 1..=3.min(n.saturating_sub(fixed + 1)) {
        for from in fixed..=n - size {
            let last = from + size - 1;
            let before = from.checked_sub(1);
            let saved = step(order, apart, before, Some(from)) + step(order, apart, Some(last), Some(last + 1))
                - step(order, apart, before, Some(last + 1));
            // Places between which the points may go: before `gap`, the end of the order included.
            let better = (fixed..=n).filter(|gap| *gap < from || *gap > last + 1).find_map(|gap| {
                let left = gap.checked_sub(1);
                let open = step(order, apart, left, Some(gap));
                let forward = step(order, apart, left, Some(from)) + step(order, apart, Some(last), Some(gap)) - open;
                let backward = step(order, apart, left, Some(last)) + step(order, apart, Some(from), Some(gap)) - open;
                (forward.min(backward) + SHORTER < saved).then_some((gap, backward < forward))
            });
            if let Some((gap, turned)) = better {
                let mut moved: Vec<usize> = order.drain(from..=last).collect();
                if turned {
                    moved.reverse();
                }
                let place = if gap > last { gap - size } else { gap };
                order.splice(place..place, moved);
                any = true;
            }
        }
    }
    any
}
