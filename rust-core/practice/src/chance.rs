//! Chance from a seed: the same seed gives the same practice.

/// The generator splitmix64 of Steele, Lea and Flood 2014.
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) const fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    pub(crate) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even from 0 up to, but not including, 1.
    pub(crate) fn even(&mut self) -> f64 {
        (self.next() >> 11) as f64 / (1_u64 << 53) as f64
    }

    /// Even between these.
    pub(crate) fn between(&mut self, low: f64, high: f64) -> f64 {
        (high - low).mul_add(self.even(), low)
    }

    /// One of these.
    pub(crate) fn pick<T: Copy>(&mut self, of: &[T]) -> Option<T> {
        // The remainder favours the first few by less than one in 2^59 for so short a list.
        let place = self.next() % of.len().max(1) as u64;
        of.iter().copied().nth(usize::try_from(place).unwrap_or(0))
    }

    /// A place by weight; nothing where no weight is above zero.
    pub(crate) fn weighted(&mut self, weights: &[f64]) -> Option<usize> {
        let mut left = self.even() * weights.iter().sum::<f64>();
        let last = weights.iter().rposition(|weight| *weight > 0.0);
        let found = weights.iter().position(|weight| {
            left -= weight;
            left < 0.0
        });
        found.or(last)
    }
}
