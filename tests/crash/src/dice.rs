//! Seeded chance.

use rand_chacha::ChaCha8Rng;
use rand_core::{Rng, SeedableRng};

/// A stream of chance that is the same for the same seed on every machine.
#[derive(Debug, Clone)]
pub struct Dice(ChaCha8Rng);

impl Dice {
    /// The stream of this seed; `part` names one of many streams of a seed.
    pub fn new(seed: u64, part: u64) -> Self {
        let mut dice = ChaCha8Rng::seed_from_u64(seed);
        dice.set_stream(part);
        Self(dice)
    }

    /// A whole number below `end`, which must be above 0; the multiply-shift method of Lemire D (2019) ACM Trans.
    /// Model. Comput. Simul. 29:3.
    pub fn below(&mut self, end: usize) -> usize {
        let wide = u128::from(self.0.next_u64()) * end as u128;
        usize::try_from(wide >> 64).unwrap_or(0)
    }

    /// True once in so many times.
    pub fn once_in(&mut self, times: usize) -> bool {
        self.below(times) == 0
    }

    /// One of these.
    ///
    /// # Panics
    /// Where there are none.
    pub fn one_of<T: Copy>(&mut self, of: &[T]) -> T {
        of[self.below(of.len())]
    }

    /// So many octets.
    pub fn octets(&mut self, number: usize) -> Vec<u8> {
        let mut octets = vec![0; number];
        self.0.fill_bytes(&mut octets);
        octets
    }
}
