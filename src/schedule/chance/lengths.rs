//! How long an activity may take, and lengths drawn from that.
//!
//! Three points stand for the beta distribution of PERT: over `a..b` with the most likely value `m`,
//! `α = 1 + 4(m − a)/(b − a)`, `β = 1 + 4(b − m)/(b − a)`. Its mean is the handbooks' `(a + 4m + b)/6`; its variance
//! is `(μ − a)(b − μ)/7`, which is *not* the handbooks' shortcut `((b − a)/6)²` (45/90/225 has 1028.57, not 900).
//! A range without a usual value is taken as uniform: nothing is known inside it, and no distribution over it
//! that has one peak at its usual place spreads wider than it should.
//!
//! Lengths are whole minutes. Each is given the probability of what rounds to it, once for each activity
//! (Gauss–Legendre quadrature of the density); drawing from that table is then a matter of integers (Walker's
//! alias method, 1977, in Vose's form, 1991; from memory), and so the same everywhere. Powers come from `libm`,
//! because those of the standard library may differ from one build to another.

use crate::schedule::problem::Time;

/// How long an activity may take, in minutes.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Spread {
    /// As long as planned.
    Planned,
    /// Anything in a range, as likely as anything else in it.
    Range {
        /// The shortest.
        shortest: Time,
        /// The longest.
        longest: Time,
    },
    /// Three points: the beta distribution of PERT.
    Points {
        /// The shortest.
        shortest: Time,
        /// The most likely.
        usual: Time,
        /// The longest.
        longest: Time,
    },
}

/// Lengths told apart at most; a wider range is divided into so many cells, even inside.
const CELLS: i64 = 1024;

/// Pieces over which the density is integrated at least.
const PIECES: i64 = 256;

impl Spread {
    /// Returns the mean, in minutes; `None` where the length is as planned.
    pub fn mean(self) -> Option<f64> {
        match self.parts() {
            None => None,
            Some((shortest, None, longest)) => Some(f64::midpoint(shortest, longest)),
            Some((shortest, Some(usual), longest)) => {
                Some((shortest + 4.0 * usual + longest) / 6.0)
            }
        }
    }

    /// Returns the variance, in minutes squared; `None` where the length is as planned.
    pub fn variance(self) -> Option<f64> {
        let mean = self.mean()?;
        match self.parts()? {
            (shortest, None, longest) => Some((longest - shortest) * (longest - shortest) / 12.0),
            (shortest, Some(_), longest) => Some((mean - shortest) * (longest - mean) / 7.0),
        }
    }

    /// Returns shortest, most likely and longest, in order.
    fn parts(self) -> Option<(f64, Option<f64>, f64)> {
        match self {
            Self::Planned => None,
            Self::Range { shortest, longest } => {
                let longest = longest.max(shortest);
                Some((f64::from(shortest), None, f64::from(longest)))
            }
            Self::Points {
                shortest,
                usual,
                longest,
            } => {
                let longest = longest.max(shortest);
                let usual = usual.clamp(shortest, longest);
                let (shortest, longest) = (f64::from(shortest), f64::from(longest));
                Some((shortest, Some(f64::from(usual)), longest))
            }
        }
    }
}

/// Numbers that look random: `SplitMix64` (Steele, Lea and Flood, 2014; from memory). Each sample has its own,
/// so that a sample is the same whatever others are drawn.
#[derive(Clone, Debug)]
pub(super) struct Numbers(u64);

impl Numbers {
    const STEP: u64 = 0x9E37_79B9_7F4A_7C15;

    pub(super) fn of(seed: u64, sample: u32) -> Self {
        let mut numbers = Self(seed);
        let start = numbers.next() ^ u64::from(sample).wrapping_mul(Self::STEP);
        let mut numbers = Self(start);
        Self(numbers.next())
    }

    pub(super) fn next(&mut self) -> u64 {
        self.0 = self.0.wrapping_add(Self::STEP);
        let mut mixed = self.0;
        mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
        mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
        mixed ^ (mixed >> 31)
    }

    /// Returns a number below `count`, which is positive, each as likely as the others to 1 in 2³².
    fn below(&mut self, count: u64) -> u64 {
        ((self.next() >> 32) * count) >> 32
    }
}

/// The lengths an activity may take, ready to be drawn from.
#[derive(Clone, Debug)]
pub(super) struct Lengths {
    /// The first length of the first cell.
    first: Time,
    /// The least length there is.
    least: Time,
    /// The last length there is.
    last: Time,
    /// Lengths in a cell.
    width: Time,
    /// For each cell: how often of 2³² it is itself, and which cell it is otherwise.
    cells: Vec<(u64, u32)>,
}

impl Lengths {
    /// Returns the lengths of a spread that are at least `least`; `planned` where it is as planned.
    pub(super) fn new(spread: Spread, planned: Time, least: Option<Time>) -> Self {
        let floor = |length: Time| least.map_or(length, |least| length.max(least));
        let only = |length: Time| Self {
            first: floor(length),
            least: floor(length),
            last: floor(length),
            width: 1,
            cells: vec![(1 << 32, 0)],
        };
        let (first, last) = match spread {
            Spread::Planned => return only(planned),
            Spread::Range { shortest, longest }
            | Spread::Points {
                shortest, longest, ..
            } => (shortest, longest.max(shortest)),
        };
        if last <= floor(first) {
            return only(last);
        }
        let count = i64::from(last) - i64::from(first) + 1;
        let width = (count + CELLS - 1) / CELLS;
        let mut shares = shares(spread, first, last, width);
        // A length that is over already cannot be.
        for (cell, share) in shares.iter_mut().enumerate() {
            let end = i64::from(first) + (cell as i64 + 1) * width - 1;
            if least.is_some_and(|least| end < i64::from(least)) {
                *share = 0.0;
            }
        }
        if shares.iter().all(|share| *share <= 0.0) {
            return only(last);
        }
        Self {
            first,
            least: floor(first),
            last,
            width: width as Time,
            cells: aliases(&shares),
        }
    }

    /// Returns one length.
    pub(super) fn draw(&self, numbers: &mut Numbers) -> Time {
        if self.first == self.last {
            return self.first;
        }
        let number = numbers.next();
        let cell = ((number >> 32) * self.cells.len() as u64) >> 32;
        let (itself, other) = self.cells[cell as usize];
        let cell = if number & 0xFFFF_FFFF < itself {
            cell as Time
        } else {
            other as Time
        };
        let inside = if self.width > 1 {
            numbers.below(self.width as u64) as Time
        } else {
            0
        };
        (self.first + cell * self.width + inside).clamp(self.least, self.last)
    }
}

/// Returns how likely each cell of `width` lengths is, up to a common factor.
fn shares(spread: Spread, first: Time, last: Time, width: i64) -> Vec<f64> {
    let (low, high) = (f64::from(first), f64::from(last));
    let range = high - low;
    let count = (i64::from(last) - i64::from(first)) / width + 1;
    let powers = match spread {
        Spread::Points { usual, .. } => {
            let usual = f64::from(usual.clamp(first, last));
            Some((4.0 * (usual - low) / range, 4.0 * (high - usual) / range))
        }
        Spread::Range { .. } | Spread::Planned => None,
    };
    let pieces = PIECES / count + 1;
    (0..count)
        .map(|cell| {
            // What rounds to these lengths; the first and the last have half a minute on one side only.
            let begin = (low + (cell * width) as f64 - 0.5).max(low);
            let end = (low + ((cell + 1) * width) as f64 - 0.5).min(high);
            match powers {
                None => end - begin,
                Some((rising, falling)) => {
                    let piece = (end - begin) / pieces as f64;
                    let mut share = 0.0;
                    for at in 0..pieces {
                        let middle = begin + (at as f64 + 0.5) * piece;
                        for (offset, weight) in GAUSS {
                            let x = (middle + offset * piece / 2.0 - low) / range;
                            let density = libm::pow(x, rising) * libm::pow(1.0 - x, falling);
                            share += weight * density * piece;
                        }
                    }
                    share
                }
            }
        })
        .collect()
}

/// Nodes and weights of Gauss–Legendre quadrature with three points over −1..1 (weights halved).
const GAUSS: [(f64, f64); 3] = [
    (-0.774_596_669_241_483_4, 5.0 / 18.0),
    (0.0, 8.0 / 18.0),
    (0.774_596_669_241_483_4, 5.0 / 18.0),
];

/// Returns the alias table of shares that are not all zero.
fn aliases(shares: &[f64]) -> Vec<(u64, u32)> {
    let total: f64 = shares.iter().sum();
    let scale = shares.len() as f64 / total;
    let mut left: Vec<f64> = shares.iter().map(|share| share * scale).collect();
    let (mut small, mut large): (Vec<usize>, Vec<usize>) =
        (0..left.len()).partition(|&cell| left[cell] < 1.0);
    let mut cells: Vec<(u64, u32)> = (0..left.len()).map(|cell| (1 << 32, cell as u32)).collect();
    while let (Some(&less), Some(&more)) = (small.last(), large.last()) {
        small.pop();
        let itself = (left[less] * 4_294_967_296.0) as u64;
        cells[less] = (itself.min(1 << 32), more as u32);
        left[more] -= 1.0 - left[less];
        if left[more] < 1.0 {
            large.pop();
            small.push(more);
        }
    }
    // A cell of no share that rounding has left over is still never drawn.
    for &cell in &small {
        if shares[cell] <= 0.0 {
            let likely =
                (0..shares.len()).max_by(|&one, &other| shares[one].total_cmp(&shares[other]));
            cells[cell] = (0, likely.unwrap_or(cell) as u32);
        }
    }
    cells
}

#[cfg(test)]
mod tests {
    use super::*;

    const DRAWS: u32 = 200_000;

    fn points(shortest: Time, usual: Time, longest: Time) -> Spread {
        Spread::Points {
            shortest,
            usual,
            longest,
        }
    }

    fn drawn(spread: Spread, seed: u64) -> Vec<Time> {
        let lengths = Lengths::new(spread, 0, None);
        (0..DRAWS)
            .map(|sample| lengths.draw(&mut Numbers::of(seed, sample)))
            .collect()
    }

    fn moments(drawn: &[Time]) -> (f64, f64) {
        let count = drawn.len() as f64;
        let mean = drawn.iter().map(|&it| f64::from(it)).sum::<f64>() / count;
        let squares = drawn.iter().map(|&it| (f64::from(it) - mean).powi(2));
        (mean, squares.sum::<f64>() / (count - 1.0))
    }

    #[test]
    fn handbook_values_of_pert() {
        // Mean (a + 4m + b)/6: 45/90/225 → 105 (pmbypm.com); 4/6/12 → 6.67, here in hundredths; 4-7-10 → 7,
        // 6-9-24 → 11, 17-29-45 → 29.67 (a list of eleven activities, Course Hero).
        for (spread, mean) in [
            (points(45, 90, 225), 105.0),
            (points(4, 6, 12), 6.67),
            (points(4, 7, 10), 7.0),
            (points(6, 9, 24), 11.0),
            (points(17, 29, 45), 29.67),
        ] {
            let found = spread.mean().expect("it varies");
            assert!((found - mean).abs() < 0.005, "{spread:?}: {found}");
        }
        // The exact variance of the beta distribution; the handbooks' shortcut would say 900.
        let variance = points(45, 90, 225).variance().expect("it varies");
        assert!((variance - 1028.571).abs() < 0.001, "{variance}");
        // α 2 and β 4 say the same by the textbook variance of a beta distribution, αβ/((α+β)²(α+β+1)).
        let textbook = 2.0 * 4.0 / (36.0 * 7.0) * 180.0 * 180.0;
        assert!((variance - textbook).abs() < 1e-9);
    }

    #[test]
    fn drawn_lengths_have_the_mean_and_the_variance_they_should() {
        for (spread, seed) in [
            (points(45, 90, 225), 1),
            (points(400, 600, 1200), 2),
            (points(60, 90, 240), 3),
            (points(100, 100, 400), 4),
            (points(0, 5_000, 9_000), 5),
            (
                Spread::Range {
                    shortest: 360,
                    longest: 420,
                },
                6,
            ),
        ] {
            let (mean, variance) = moments(&drawn(spread, seed));
            let exact = (
                spread.mean().expect("it varies"),
                spread.variance().expect("it varies"),
            );
            // Four standard errors of the mean; rounding to minutes adds a twelfth to the variance.
            let error = 4.0 * (exact.1 / f64::from(DRAWS)).sqrt();
            assert!((mean - exact.0).abs() < error + 0.01, "{spread:?}: {mean}");
            let ratio = variance / (exact.1 + 1.0 / 12.0);
            assert!((ratio - 1.0).abs() < 0.015, "{spread:?}: {variance}");
        }
    }

    #[test]
    fn drawn_lengths_have_the_quantiles_they_should() {
        // Quantiles of the beta distribution with α 2 and β 4: the roots of 1 − (1−x)⁵ − 5x(1−x)⁴ = p, found here
        // by halving (the closed form of the incomplete beta function for whole α and β).
        let below = |x: f64| 1.0 - (1.0 - x).powi(5) - 5.0 * x * (1.0 - x).powi(4);
        let mut lengths = drawn(points(45, 90, 225), 11);
        lengths.sort_unstable();
        for share in [0.05, 0.25, 0.5, 0.75, 0.95, 0.99] {
            let (mut low, mut high) = (0.0, 1.0);
            for _ in 0..60 {
                let middle = f64::midpoint(low, high);
                if below(middle) < share {
                    low = middle;
                } else {
                    high = middle;
                }
            }
            let exact = 45.0 + 180.0 * low;
            let found = f64::from(lengths[(share * f64::from(DRAWS)) as usize]);
            assert!((found - exact).abs() < 1.5, "{share}: {found}, not {exact}");
        }
    }

    #[test]
    fn nothing_is_drawn_outside_the_range_or_below_what_has_passed() {
        for spread in [
            points(10, 12, 40),
            points(0, 0, 3),
            points(5, 5_000, 30_000),
            Spread::Range {
                shortest: 10,
                longest: 40,
            },
        ] {
            let Some((shortest, _, longest)) = spread.parts() else {
                continue;
            };
            for least in [None, Some(25), Some(39), Some(90_000)] {
                let lengths = Lengths::new(spread, 0, least);
                for sample in 0..2_000 {
                    let length = lengths.draw(&mut Numbers::of(3, sample));
                    let floor = least.map_or(shortest, f64::from);
                    let end = longest.max(floor);
                    let length = f64::from(length);
                    assert!(
                        floor <= length && length <= end,
                        "{spread:?} {least:?}: {length}"
                    );
                }
            }
        }
    }

    #[test]
    fn the_first_numbers_of_a_seed_are_those_of_every_build() {
        // SplitMix64 from seed 0: the published first output is e220a8397b1dcdaf.
        assert_eq!(Numbers(0).next(), 0xe220_a839_7b1d_cdaf);
        let lengths = Lengths::new(points(45, 90, 225), 0, None);
        let drawn: Vec<Time> = (0..8)
            .map(|sample| lengths.draw(&mut Numbers::of(1, sample)))
            .collect();
        assert_eq!(drawn, [79, 98, 65, 117, 151, 48, 91, 67]);
    }
}
