//! Least values of functions.

/// Rounds of the simplex before it is restarted around its best point.
const ROUNDS: usize = 800;
/// Restarts, each with a fresh simplex.
const RESTARTS: usize = 5;
/// Where the simplex stops: spread of its values, relative, and its size.
const FINE: (f64, f64) = (1e-13, 1e-9);
/// Share of the bracket that golden section keeps.
const GOLDEN: f64 = 0.618_033_988_749_894_9;

/// The least value near `start` and where it is, by the simplex search of Nelder JA, Mead R (1965) Computer Journal
/// 7:308-313 with restarts. Values of `f` that are no numbers count as infinite.
pub(crate) fn least(f: &dyn Fn(&[f64]) -> f64, start: &[f64], step: f64) -> (Vec<f64>, f64) {
    let safe = |point: &[f64]| {
        let value = f(point);
        if value.is_nan() { f64::INFINITY } else { value }
    };
    let mut best = (start.to_vec(), safe(start));
    let mut step = step;
    for _ in 0..RESTARTS {
        let found = simplex(&safe, &best.0, step);
        let gain = best.1 - found.1;
        if found.1 <= best.1 {
            best = found;
        }
        if gain.abs() < 1e-10 * best.1.abs().max(1.0) && step < 0.1 {
            break;
        }
        step *= 0.3;
    }
    best
}

/// Where a function of one number with a single valley is least, by golden section.
pub(crate) fn least_along(low: f64, high: f64, f: impl Fn(f64) -> f64) -> f64 {
    let (mut low, mut high) = (low, high);
    let (mut left, mut right) = (high - GOLDEN * (high - low), low + GOLDEN * (high - low));
    let (mut at_left, mut at_right) = (f(left), f(right));
    for _ in 0..64 {
        if at_left <= at_right {
            (high, right, at_right) = (right, left, at_left);
            left = high - GOLDEN * (high - low);
            at_left = f(left);
        } else {
            (low, left, at_left) = (left, right, at_right);
            right = low + GOLDEN * (high - low);
            at_right = f(right);
        }
    }
    f64::midpoint(low, high)
}

fn simplex(f: &dyn Fn(&[f64]) -> f64, start: &[f64], step: f64) -> (Vec<f64>, f64) {
    let n = start.len();
    let mut corners: Vec<(Vec<f64>, f64)> = (0..=n)
        .map(|corner| {
            let mut point = start.to_vec();
            if corner > 0 {
                point[corner - 1] += step * start[corner - 1].abs().max(1.0);
            }
            let value = f(&point);
            (point, value)
        })
        .collect();
    for _ in 0..ROUNDS * n.max(1) {
        corners.sort_by(|one, other| one.1.total_cmp(&other.1));
        let spread = corners[n].1 - corners[0].1;
        let size = corners[n].0.iter().zip(&corners[0].0).map(|(a, b)| (a - b).abs()).fold(0.0, f64::max);
        if (spread.abs() <= FINE.0 * corners[0].1.abs().max(1.0) && size < FINE.1) || size < 1e-13 {
            break;
        }
        let centre: Vec<f64> =
            (0..n).map(|axis| corners[..n].iter().map(|corner| corner.0[axis]).sum::<f64>() / n as f64).collect();
        let towards = |share: f64| {
            let point: Vec<f64> = centre.iter().zip(&corners[n].0).map(|(c, worst)| c + share * (worst - c)).collect();
            let value = f(&point);
            (point, value)
        };
        let reflected = towards(-1.0);
        let next = if reflected.1 < corners[0].1 {
            let stretched = towards(-2.0);
            if stretched.1 < reflected.1 { stretched } else { reflected }
        } else if reflected.1 < corners[n - 1].1 {
            reflected
        } else {
            let pulled = if reflected.1 < corners[n].1 { towards(-0.5) } else { towards(0.5) };
            if pulled.1 < reflected.1.min(corners[n].1) {
                pulled
            } else {
                shrink(f, &mut corners);
                continue;
            }
        };
        corners[n] = next;
    }
    corners.sort_by(|one, other| one.1.total_cmp(&other.1));
    corners.swap_remove(0)
}

fn shrink(f: &dyn Fn(&[f64]) -> f64, corners: &mut [(Vec<f64>, f64)]) {
    let best = corners[0].0.clone();
    for corner in &mut corners[1..] {
        for (value, middle) in corner.0.iter_mut().zip(&best) {
            *value = f64::midpoint(*value, *middle);
        }
        corner.1 = f(&corner.0);
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Rosenbrock HH (1960) Computer Journal 3:175-184: the least value is 0 at (1, 1).
    #[test]
    fn the_curved_valley_is_followed_to_its_end() {
        let valley = |p: &[f64]| (1.0 - p[0]).powi(2) + 100.0 * (p[1] - p[0] * p[0]).powi(2);
        let (point, value) = least(&valley, &[-1.2, 1.0], 0.5);
        assert!(value < 1e-12 && (point[0] - 1.0).abs() < 1e-5 && (point[1] - 1.0).abs() < 1e-5, "{point:?}");
    }

    #[test]
    fn the_lowest_point_of_a_line() {
        assert!((least_along(-3.0, 9.0, |x| (x - 2.5).powi(2)) - 2.5).abs() < 1e-7);
    }
}
