//! Densities of what is measured, on the scale of the natural logarithm.

use serde::{Deserialize, Serialize};
use std::f64::consts::{PI, SQRT_2};

/// How a measure is spread over the animals of one outcome.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub enum Spread {
    /// Even on the log scale between the size just after a moult and the size just before the next.
    Growing {
        /// Just after the moult.
        from: f64,
        /// Just before the next.
        to: f64,
    },
    /// Log-normal about a middle: hard parts that do not grow between moults.
    About {
        /// The median.
        middle: f64,
        /// Standard deviation of the natural logarithm among animals.
        spread: f64,
    },
    /// Nothing is known, or there is no such part: even on the log scale over all that is accepted.
    Broad,
}

/// A numeric character by one means: what is accepted, and how wrong a reading may be.
#[derive(Debug, Clone, Copy, PartialEq, Serialize, Deserialize)]
pub struct Reading {
    /// Least value accepted.
    pub least: f64,
    /// Greatest value accepted.
    pub most: f64,
    /// Standard deviation of the natural logarithm of a reading about the true size: 0.05 is about 5 %.
    pub error: f64,
    /// The share of readings that say nothing at all (a slip of the finger, the wrong part measured).
    pub slip: f64,
}

impl Reading {
    /// The density of ln(`value`): (1 − slip) · model + slip · broad, so that no single slip decides.
    ///
    /// The model is the spread among animals blurred by a normal error on the log scale. `more_error` is a further
    /// error of this one reading, in the same unit as [`Reading::error`], added in quadrature.
    pub fn density(self, spread: Spread, value: f64, more_error: f64) -> f64 {
        let broad = 1.0 / (self.most / self.least).ln();
        let blur = self.error.hypot(more_error);
        let model = match spread {
            Spread::Growing { from, to } => growing(value.ln(), from.ln(), to.ln(), blur),
            Spread::About { middle, spread } => normal_density(value.ln() - middle.ln(), spread.hypot(blur)),
            Spread::Broad => broad,
        };
        (1.0 - self.slip).mul_add(model, self.slip * broad)
    }
}

/// Head width in the given instar when it grows by a constant ratio at each moult
/// (Dyar 1890, Psyche 5: 420-422): `first` · `ratio`^(`instar` − 1).
pub fn dyar(first: f64, ratio: f64, instar: i32) -> f64 {
    first * ratio.powi(instar - 1)
}

/// Slope and intercept of ln(size) on the number of the instar, by least squares, from geometric means by instar
/// weighted by their number of animals: `(instar, ln of size, animals)`. The slope is the ln of Dyar's ratio.
///
/// Nothing is returned for fewer than two different instars.
pub fn dyar_fit(points: &[(f64, f64, f64)]) -> Option<(f64, f64)> {
    let total: f64 = points.iter().map(|point| point.2).sum();
    let mean_x = points.iter().map(|point| point.0 * point.2).sum::<f64>() / total;
    let mean_y = points.iter().map(|point| point.1 * point.2).sum::<f64>() / total;
    let sxx: f64 = points.iter().map(|point| point.2 * (point.0 - mean_x).powi(2)).sum();
    let sxy: f64 = points.iter().map(|point| point.2 * (point.0 - mean_x) * (point.1 - mean_y)).sum();
    let slope = sxy / sxx;
    slope.is_finite().then(|| (slope, slope.mul_add(-mean_x, mean_y)))
}

/// A uniform spread from `low` to `high` with normal error `blur`: the difference of two normal distributions.
fn growing(at: f64, low: f64, high: f64, blur: f64) -> f64 {
    let (above_low, above_high) = ((at - low) / blur, (at - high) / blur);
    // In the upper tail both are near one: the difference of the complements keeps its digits.
    let inside = if above_high > 0.0 {
        upper_tail(above_high) - upper_tail(above_low)
    } else {
        upper_tail(-above_low) - upper_tail(-above_high)
    };
    inside / (high - low)
}

fn upper_tail(z: f64) -> f64 {
    0.5 * libm::erfc(z / SQRT_2)
}

fn normal_density(deviation: f64, sd: f64) -> f64 {
    (-0.5 * (deviation / sd).powi(2)).exp() / (sd * (2.0 * PI).sqrt())
}

#[cfg(test)]
mod tests {
    use super::*;

    const READING: Reading = Reading { least: 0.5, most: 80.0, error: 0.1, slip: 0.03 };

    fn integral(spread: Spread) -> f64 {
        let (low, high, steps) = (0.02_f64.ln(), 2000.0_f64.ln(), 200_000);
        let step = (high - low) / f64::from(steps);
        (0..steps)
            .map(|i| {
                let at = (f64::from(i) + 0.5).mul_add(step, low);
                // The broad part stands only between least and most.
                let inside = at > READING.least.ln() && at < READING.most.ln();
                let density = READING.density(spread, at.exp(), 0.0);
                let broad = READING.slip / (READING.most / READING.least).ln();
                (if inside { density } else { density - broad }) * step
            })
            .sum()
    }

    #[test]
    fn densities_integrate_to_one() {
        for spread in [Spread::Growing { from: 6.0, to: 15.0 }, Spread::About { middle: 1.26, spread: 0.08 }] {
            assert!((integral(spread) - 1.0).abs() < 1e-5, "{spread:?}: {}", integral(spread));
        }
    }

    #[test]
    fn far_away_only_the_slip_is_left() {
        let far = READING.density(Spread::Growing { from: 1.0, to: 2.0 }, 79.0, 0.0);
        assert!((far - 0.03 / 160.0_f64.ln()).abs() < 1e-12);
    }

    #[test]
    fn head_widths_grow_by_a_constant_ratio() {
        // First width 0.60 mm and ratio 1.45, computed by hand: 0.6000 0.8700 1.2615 1.8292 2.6523.
        for (instar, expected) in (1..).zip([0.6000, 0.8700, 1.2615, 1.8292, 2.6523]) {
            assert!((dyar(0.60, 1.45, instar) - expected).abs() < 5e-5);
        }
    }

    #[test]
    fn fit_gives_back_the_progression_and_refuses_one_instar() {
        let points: Vec<_> = (1..=5).map(|i| (f64::from(i), dyar(0.6, 1.45, i).ln(), f64::from(i))).collect();
        let (slope, intercept) = dyar_fit(&points).unwrap();
        assert!((slope - 1.45_f64.ln()).abs() < 1e-12 && (intercept - (0.6_f64 / 1.45).ln()).abs() < 1e-12);
        assert_eq!(dyar_fit(&points[..1]), None);
    }

    /// Masses of tobacco hornworms by instar, 267 animals (data set Caterpillars of the collection `Stat2Data`; geometric
    /// means, and both fits with numpy): through the five means as they stand the slope is 1.867176 and the intercept
    /// -7.787743, with the animals of each instar as weights 1.873626 and -7.800110.
    #[test]
    fn fit_of_a_measured_series() {
        let means = [0.002_953_87, 0.018_097_2, 0.090_556_7, 0.673_140, 5.491_165];
        for (animals, slope, intercept) in
            [([1.0; 5], 1.867_176, -7.787_743), ([51.0, 41.0, 45.0, 64.0, 66.0], 1.873_626, -7.800_110)]
        {
            let points: Vec<_> =
                (0..5).map(|place| (1.0 + place as f64, f64::ln(means[place]), animals[place])).collect();
            let found = dyar_fit(&points).unwrap();
            assert!((found.0 - slope).abs() < 1e-5 && (found.1 - intercept).abs() < 1e-5, "{found:?}");
        }
    }
}
