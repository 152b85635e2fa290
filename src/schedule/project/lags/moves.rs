//! How annealing disturbs a plan, and what chance it takes.
//!
//! A plan is disturbed as keys, by which its list is sorted anew. Five disturbances take turns; without the last, or with
//! the fourth twice as often, plans of published instances came out longer.

use super::decode::Direction;
use super::model::Model;
use crate::schedule::Time;
use crate::schedule::project::random::Random;

/// Steps of a key for each minute, so that disturbances can be finer than a minute.
const FINE: i32 = 4;

/// Returns when the last activity starts.
pub(super) fn makespan(starts: &[Time]) -> Time {
    starts.last().copied().unwrap_or(0)
}

/// Writes the plan as keys of `direction`.
pub(super) fn write_keys(
    model: &Model,
    starts: &[Time],
    direction: Direction,
    keys: &mut Vec<i32>,
) {
    let span = makespan(starts);
    keys.clear();
    match direction {
        Direction::Forward => keys.extend(starts.iter().map(|&start| FINE * start)),
        Direction::Backward => keys.extend(
            starts
                .iter()
                .zip(&model.durations)
                .map(|(&start, &duration)| FINE * (span - start - duration)),
        ),
    }
}

/// Disturbs the keys of a plan of this makespan in one of five ways.
pub(super) fn disturb(
    components: &[Vec<usize>],
    span: Time,
    random: &mut Random,
    keys: &mut [i32],
) {
    let size = keys.len();
    match random.below(5) {
        // A few activities move far.
        0 => {
            let far = FINE * (span / 8 + 1);
            for _ in 0..=random.below(8) {
                keys[random.below(size)] += within(random, far);
            }
        }
        // All move a little.
        1 => {
            let near = FINE * (1 + random.below(12) as i32);
            for key in keys {
                *key += within(random, near);
            }
        }
        // A component moves as one.
        2 => {
            let by = within(random, FINE * (span / 8 + 1));
            for &member in &components[random.below(components.len())] {
                keys[member] += by;
            }
        }
        // Some time is shuffled.
        3 => {
            let length = FINE * (span / 16 + random.below(span as usize / 6 + 1) as i32);
            let begin = random.below((FINE * span + length / 2) as usize) as i32 - length / 2;
            let far = FINE * (2 + random.below(span as usize / 12 + 1) as i32);
            for key in keys {
                if (begin..begin + length).contains(key) {
                    *key += within(random, far);
                }
            }
        }
        // Two activities change places, and one of them moves besides.
        _ => {
            let one = random.below(size);
            keys[one] += within(random, FINE * (span / 4 + 1));
            keys.swap(one, random.below(size));
        }
    }
}

/// Returns a number from `-most` to `most`; all about equally likely.
fn within(random: &mut Random, most: i32) -> i32 {
    random.below(2 * most as usize + 1) as i32 - most
}

/// Returns a number with an exponential distribution of this mean, near enough, without leaving the whole numbers: the
/// logarithm is read off the leading zeros, and linear between powers of two.
pub(super) fn exponential(random: &mut Random, mean: i64) -> i64 {
    let drawn = random.below(1 << 32) as u32 | 1;
    let zeros = drawn.leading_zeros();
    // The ten bits behind the leading one.
    let fraction = i64::from((drawn << zeros) >> 21 & 1023);
    // -log2 in 1/1024, then times ln 2 = 710/1024.
    let bits = i64::from(zeros + 1) * 1024 - fraction;
    mean * bits / 1024 * 710 / 1024
}
