//! A small generator of random numbers: the same seed gives the same numbers on every machine and for ever.
//!
//! `SplitMix64`: G. L. Steele, D. Lea, C. H. Flood, "Fast splittable pseudorandom number generators" (2014); the
//! constants from memory. Quality beyond it buys nothing here, and a library's stream may change with a version.

/// A stream of random numbers.
#[derive(Clone, Debug)]
pub(crate) struct Random(u64);

impl Random {
    /// Returns the stream of these numbers; streams of different numbers have nothing to do with one another.
    pub(crate) fn of(seed: u64, island: u64, epoch: u64) -> Self {
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
    pub(crate) fn below(&mut self, end: usize) -> usize {
        ((u128::from(self.next()) * end as u128) >> 64) as usize
    }
}
