//! Chance from a seed, cheap and the same everywhere.

/// The generator of Marsaglia (2003, "Xorshift RNGs", Journal of Statistical Software 8(14), triple 13, 7, 17).
#[derive(Debug, Clone)]
pub struct Dice(u64);

impl Dice {
    /// Dice of this seed.
    pub const fn new(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1)
    }

    /// The next 64 bits.
    pub const fn next(&mut self) -> u64 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        self.0
    }

    /// A number below `end`, which is at least 1.
    pub const fn below(&mut self, end: u64) -> u64 {
        (self.next() >> 11) % end
    }

    /// Sixteen octets.
    pub fn octets(&mut self) -> [u8; 16] {
        ((u128::from(self.next()) << 64) | u128::from(self.next())).to_be_bytes()
    }
}
