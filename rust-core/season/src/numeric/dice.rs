//! Seeded chance.

use rand_chacha::ChaCha8Rng;
use rand_core::{Rng, SeedableRng};

/// A stream of chance that is the same for the same seed on every machine.
#[derive(Debug, Clone)]
pub(crate) struct Dice(ChaCha8Rng);

impl Dice {
    pub(crate) fn new(seed: u64) -> Self {
        Self(ChaCha8Rng::seed_from_u64(seed))
    }

    /// A whole number below `end`, which must be above 0; the multiply-shift method of Lemire D (2019) ACM Trans.
    /// Model. Comput. Simul. 29:3, whose bias for lists of plants is far below anything that could be seen.
    pub(crate) fn below(&mut self, end: usize) -> usize {
        let wide = u128::from(self.0.next_u64()) * end as u128;
        usize::try_from(wide >> 64).unwrap_or(0)
    }

    /// Evenly spread over 0 to below 1.
    pub(crate) fn unit(&mut self) -> f64 {
        (self.0.next_u64() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// From the gamma distribution with this shape above 0 and scale 1: Marsaglia G, Tsang WW (2000) ACM Trans. Math.
    /// Softw. 26:363-372.
    pub(crate) fn gamma(&mut self, shape: f64) -> f64 {
        if shape < 1.0 {
            let lift = (1.0 - self.unit()).powf(1.0 / shape);
            return self.gamma(shape + 1.0) * lift;
        }
        let d = shape - 1.0 / 3.0;
        let c = 1.0 / (9.0 * d).sqrt();
        loop {
            let x = self.normal();
            let v = (1.0 + c * x).powi(3);
            if v > 0.0 && (1.0 - self.unit()).ln() < 0.5 * x * x + d - d * v + d * v.ln() {
                return d * v;
            }
        }
    }

    /// From the Dirichlet distribution: shares that sum to 1.
    pub(crate) fn dirichlet(&mut self, weights: &[f64]) -> Vec<f64> {
        let draws: Vec<f64> =
            weights.iter().map(|&weight| if weight > 0.0 { self.gamma(weight) } else { 0.0 }).collect();
        let total: f64 = draws.iter().sum();
        if total > 0.0 {
            draws.iter().map(|draw| draw / total).collect()
        } else {
            vec![1.0 / weights.len().max(1) as f64; weights.len()]
        }
    }

    /// How many of `trials` fall to each class, classes having these shares.
    pub(crate) fn multinomial(&mut self, trials: u64, shares: &[f64]) -> Vec<f64> {
        let mut counts = vec![0.0; shares.len()];
        let whole: f64 = shares.iter().sum();
        for _ in 0..trials {
            let mut left = self.unit() * whole;
            let class = shares.iter().position(|share| {
                left -= share;
                left < 0.0
            });
            counts[class.unwrap_or(shares.len() - 1)] += 1.0;
        }
        counts
    }

    /// Standard normal, by the polar method.
    pub(crate) fn normal(&mut self) -> f64 {
        loop {
            let (u, v) = (2.0 * self.unit() - 1.0, 2.0 * self.unit() - 1.0);
            let s = u * u + v * v;
            if s > 0.0 && s < 1.0 {
                return u * (-2.0 * s.ln() / s).sqrt();
            }
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_same_seed_gives_the_same_throws_and_fair_ones() {
        let mut dice = Dice::new(7);
        let throws: Vec<usize> = (0..60_000).map(|_| dice.below(6)).collect();
        let mut again = Dice::new(7);
        assert!(throws.iter().all(|&throw| throw == again.below(6)));
        for face in 0..6 {
            let share = throws.iter().filter(|&&throw| throw == face).count() as f64 / 60_000.0;
            assert!((share - 1.0 / 6.0).abs() < 0.007, "{share}");
        }
    }

    #[test]
    fn gamma_has_its_mean_and_variance() {
        for shape in [0.2, 1.0, 4.5] {
            let mut dice = Dice::new(11);
            let draws: Vec<f64> = (0..40_000).map(|_| dice.gamma(shape)).collect();
            assert!((crate::numeric::mean(&draws) - shape).abs() < 0.05 * shape.max(0.5));
            assert!((crate::numeric::variance(&draws) - shape).abs() < 0.1 * shape.max(0.5));
        }
    }
}
