//! Random numbers for tests: the same seed, the same numbers.

pub(crate) struct Dice(u64);

impl Dice {
    pub(crate) const fn seeded(seed: u64) -> Self {
        Self(seed.wrapping_mul(0x9e37_79b9_7f4a_7c15) | 1)
    }

    /// One of the whole numbers below `n`.
    pub(crate) const fn below(&mut self, n: u64) -> u64 {
        self.0 = self
            .0
            .wrapping_mul(6_364_136_223_846_793_005)
            .wrapping_add(1);
        (self.0 >> 33) % n
    }
}
