//! Counts by chance.

use crate::numeric::Dice;

/// A count with this mean, 0 or more, and k, above 0: Poisson around a gamma.
pub(super) fn negative_binomial(dice: &mut Dice, mean: f64, k: f64) -> u32 {
    let around = dice.gamma(k) * mean / k;
    poisson(dice, around.clamp(0.0, 1e6))
}

/// A Poisson count, by counting exponential waits until the mean is used up.
fn poisson(dice: &mut Dice, mean: f64) -> u32 {
    let mut left = mean;
    let mut count = 0;
    loop {
        // 1 − unit is above 0, so its logarithm is finite.
        left += (1.0 - dice.unit()).ln();
        if left < 0.0 {
            return count;
        }
        count += 1;
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn counts_have_their_mean_and_variance() {
        for (mean, k) in [(0.4, 0.2), (3.0, 1.0), (20.0, 1e6)] {
            let mut dice = Dice::new(9);
            let counts: Vec<f64> = (0..60_000).map(|_| f64::from(negative_binomial(&mut dice, mean, k))).collect();
            let variance = mean + mean * mean / k;
            assert!((crate::numeric::mean(&counts) - mean).abs() < 4.0 * (variance / 60_000.0_f64).sqrt());
            assert!((crate::numeric::variance(&counts) / variance - 1.0).abs() < 0.1);
        }
    }
}
