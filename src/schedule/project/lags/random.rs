//! Random numbers that are the same everywhere for the same seed.
//!
//! SplitMix64: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators" (2014); the
//! constants from memory.

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub(super) struct Random(u64);

impl Random {
    /// Returns the stream of these numbers; streams of different numbers have nothing to do with one another.
    pub(super) fn of(seed: u64, island: u64, epoch: u64) -> Self {
        let mut mixed = Self(seed);
        mixed.0 = mixed.next() ^ island;
        mixed.0 = mixed.next() ^ epoch;
        mixed.next();
        mixed
    }

    fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Returns a number below `end`, which is not zero; all about equally likely.
    pub(super) fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.next()) * end as u128) >> 64) as usize
    }

    /// Returns a number from `-most` to `most`; all about equally likely.
    pub(super) fn within(&mut self, most: i32) -> i32 {
        self.below(2 * most as usize + 1) as i32 - most
    }

    /// Returns a number with an exponential distribution of this mean, near enough.
    ///
    /// The logarithm is read off the leading zeros, and linear between powers of two.
    pub(super) fn exponential(&mut self, mean: i64) -> i64 {
        let drawn = self.next() | 1;
        let zeros = drawn.leading_zeros();
        // The ten bits behind the leading one.
        let fraction = ((drawn << zeros) >> 53 & 1023) as i64;
        // -log2 in 1/1024, then times ln 2 = 710/1024.
        let bits = i64::from(zeros + 1) * 1024 - fraction;
        mean * bits / 1024 * 710 / 1024
    }
}
