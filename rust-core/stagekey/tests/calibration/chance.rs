//! Chance for simulated animals and observers: the same seed gives the same animals.

/// The generator splitmix64 of Steele, Lea and Flood 2014.
pub(crate) struct Chance(u64);

impl Chance {
    pub(crate) const fn seeded(seed: u64) -> Self {
        Self(seed)
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9e37_79b9_7f4a_7c15);
        let mut z = self.0;
        z = (z ^ (z >> 30)).wrapping_mul(0xbf58_476d_1ce4_e5b9);
        z = (z ^ (z >> 27)).wrapping_mul(0x94d0_49bb_1331_11eb);
        z ^ (z >> 31)
    }

    /// Even between 0 and 1, never either.
    pub(crate) fn even(&mut self) -> f64 {
        ((self.next() >> 11) as f64 + 0.5) / (1_u64 << 53) as f64
    }

    pub(crate) fn happens(&mut self, chance: f64) -> bool {
        self.even() < chance
    }

    /// Normal with this standard deviation (Box and Muller 1958).
    pub(crate) fn normal(&mut self, sd: f64) -> f64 {
        sd * (-2.0 * self.even().ln()).sqrt() * (std::f64::consts::TAU * self.even()).cos()
    }

    /// A factor whose logarithm is normal with this standard deviation.
    pub(crate) fn about(&mut self, sd: f64) -> f64 {
        self.normal(sd).exp()
    }

    /// One of these, by weight.
    pub(crate) fn one<'a>(&mut self, weighted: &[(&'a str, f64)]) -> &'a str {
        let mut left = self.even() * weighted.iter().map(|one| one.1).sum::<f64>();
        for (name, weight) in weighted {
            left -= weight;
            if left < 0.0 {
                return name;
            }
        }
        weighted[weighted.len() - 1].0
    }
}
