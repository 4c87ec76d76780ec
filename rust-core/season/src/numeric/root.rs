//! Where a function crosses zero.

/// Steps of bisection: enough to halve any bracket down to the spacing of doubles.
const STEPS: u32 = 200;

/// The point between `low` and `high` where `f` changes sign; `None` where both ends have the same sign.
pub(crate) fn root(low: f64, high: f64, f: impl Fn(f64) -> f64) -> Option<f64> {
    let (mut low, mut high) = (low, high);
    let (at_low, at_high) = (f(low), f(high));
    if at_low == 0.0 {
        return Some(low);
    }
    if at_high == 0.0 {
        return Some(high);
    }
    let crosses = at_low * at_high < 0.0;
    if !crosses {
        return None;
    }
    for _ in 0..STEPS {
        let middle = f64::midpoint(low, high);
        if middle <= low || middle >= high {
            break;
        }
        if (f(middle) > 0.0) == (at_low > 0.0) { low = middle } else { high = middle }
    }
    Some(f64::midpoint(low, high))
}

#[cfg(test)]
mod tests {
    use super::root;

    #[test]
    fn crossings_are_found_and_none_invented() {
        assert!((root(0.0, 2.0, |x| x * x - 2.0).unwrap() - 2.0_f64.sqrt()).abs() < 1e-14);
        assert_eq!(root(0.0, 1.0, |x| x + 1.0), None);
        assert_eq!(root(0.0, 1.0, |_| f64::NAN), None);
    }
}
