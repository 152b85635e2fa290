//! Random numbers that are the same everywhere and for ever.

/// The generator `SplitMix64` (Steele, Lea and Flood, *Fast splittable pseudorandom number generators*, OOPSLA 2014;
/// constants from memory, checked below): good enough to invent instances with, and eight lines.
#[derive(Clone, Debug)]
pub struct Random(u64);

impl Random {
    /// Returns a generator for a seed.
    pub fn new(seed: u64) -> Self {
        Self(seed)
    }

    /// Returns 64 random bits.
    pub fn bits(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(0x9E37_79B9_7F4A_7C15);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Returns a number from `least` to `most`, both included; `least` where `most` is not larger.
    pub fn between(&mut self, least: i32, most: i32) -> i32 {
        let span = i64::from(most) - i64::from(least);
        match u64::try_from(span) {
            // The remainder favours small numbers by less than one in a thousand million.
            Ok(span) => (i64::from(least) + (self.bits() % (span + 1)) as i64) as i32,
            Err(_) => least,
        }
    }

    /// Returns a place in a list of `count`, or 0 where it is empty.
    pub fn below(&mut self, count: usize) -> usize {
        (self.bits() % count.max(1) as u64) as usize
    }

    /// Returns true so many times in a hundred.
    pub fn percent(&mut self, percent: u64) -> bool {
        self.bits() % 100 < percent
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// The first numbers of seed 1234567, as published with the generator's reference implementation (from memory).
    #[test]
    fn it_is_the_published_generator() {
        let mut random = Random::new(1_234_567);
        let first = [random.bits(), random.bits(), random.bits()];
        assert_eq!(
            first,
            [
                6_457_827_717_110_365_317,
                3_203_168_211_198_807_973,
                9_817_491_932_198_370_423,
            ]
        );
    }

    #[test]
    fn numbers_stay_in_their_range() {
        let mut random = Random::new(1);
        let drawn: Vec<i32> = (0..1000).map(|_| random.between(-2, 2)).collect();
        for number in -2..=2 {
            assert!(drawn.contains(&number));
        }
        assert!(drawn.iter().all(|number| (-2..=2).contains(number)));
        assert_eq!(random.between(5, 4), 5);
        assert_eq!(random.below(0), 0);
        assert!(!random.percent(0) && random.percent(100));
    }
}
