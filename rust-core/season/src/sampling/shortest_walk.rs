//! The shortest way past a few points.

use super::walk::{Walk, distances};
use crate::Refusal;
use survey::place::Pin;

/// With more points than this the exact answer takes too long on a phone.
pub const MOST_FOR_SHORTEST: usize = 9;

/// The shortest open way past all points, from a given one where the walk must begin there.
///
/// For every set of points and every last point of it the shortest way past the set is kept, sets growing point by
/// point.
///
/// Unit: metres. Domain: 1 to 9 points.
///
/// Source: Held M, Karp RM (1962) J. Soc. Ind. Appl. Math. 10:196-210.
///
/// # Errors
/// As [`super::short_walk`].
pub fn shortest_walk(points: &[Pin], start: Option<usize>) -> Result<Walk, Refusal> {
    let apart = distances(points, start, MOST_FOR_SHORTEST)?;
    let n = points.len();
    let all = (1_usize << n) - 1;
    // Length of the shortest way past a set that ends at a point, and the point before that.
    let mut best = vec![vec![(f64::INFINITY, usize::MAX); n]; all + 1];
    for first in (0..n).filter(|&first| start.is_none_or(|start| start == first)) {
        best[1 << first][first] = (0.0, usize::MAX);
    }
    for set in 1..=all {
        for last in (0..n).filter(|last| set & (1 << last) != 0) {
            let (so_far, _) = best[set][last];
            for next in (0..n).filter(|next| set & (1 << next) == 0) {
                let entry = &mut best[set | (1 << next)][next];
                let length = so_far + apart[last][next];
                if length < entry.0 {
                    *entry = (length, last);
                }
            }
        }
    }
    let end = (0..n).min_by(|&one, &other| best[all][one].0.total_cmp(&best[all][other].0)).unwrap_or(0);
    let (mut order, mut set, mut last) = (Vec::with_capacity(n), all, end);
    while last != usize::MAX {
        order.push(last);
        let before = best[set][last].1;
        set &= !(1 << last);
        last = before;
    }
    order.reverse();
    Ok(Walk::new(order, points))
}
