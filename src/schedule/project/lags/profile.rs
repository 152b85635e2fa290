//! What is left of every resource, minute by minute.
//!
//! A project's demands are constant and its minutes few, so time is an array, and each minute holds the amounts left
//! of all resources side by side in lanes of a few machine words: whether an activity fits in a minute is one
//! subtraction for each word, whatever the number of resources. A lane's top bit is a guard that a subtraction without
//! room clears.

/// Lanes of one word: sixteen bits each where capacities allow it, else thirty-two.
#[derive(Clone, Copy, Debug)]
struct Lanes {
    bits: u32,
}

impl Lanes {
    fn in_a_word(self) -> usize {
        (64 / self.bits) as usize
    }

    /// The guard bits of one word.
    fn guards(self) -> u64 {
        (0..self.in_a_word()).fold(0, |word, lane| {
            word | 1 << (self.bits * (lane as u32 + 1) - 1)
        })
    }

    fn packed(self, amounts: &[i32]) -> Vec<u64> {
        amounts
            .chunks(self.in_a_word())
            .map(|chunk| {
                chunk.iter().enumerate().fold(0, |word, (lane, &amount)| {
                    word | (amount as u64) << (self.bits * lane as u32)
                })
            })
            .collect()
    }
}

/// Demands and capacities in lanes.
#[derive(Clone, Debug)]
pub(super) struct Amounts {
    words: usize,
    guards: u64,
    full: Vec<u64>,
    demands: Vec<u64>,
}

impl Amounts {
    /// Packs `demands`, a row for each activity, and `capacities`. No amount may be negative, and no demand above its
    /// capacity.
    pub(super) fn new(demands: &[Vec<i32>], capacities: &[i32]) -> Self {
        let small = capacities.iter().all(|&capacity| capacity < 1 << 15);
        let lanes = Lanes {
            bits: if small { 16 } else { 32 },
        };
        let full = lanes.packed(capacities);
        Self {
            words: full.len(),
            guards: lanes.guards(),
            demands: demands.iter().flat_map(|row| lanes.packed(row)).collect(),
            full,
        }
    }

    #[inline]
    fn of(&self, activity: usize) -> &[u64] {
        &self.demands[activity * self.words..(activity + 1) * self.words]
    }
}

/// What is left of every resource while some activities are placed, from minute nought on.
#[derive(Clone, Debug, Default)]
pub(super) struct Profile {
    left: Vec<u64>,
    minutes: i32,
}

impl Profile {
    /// Everything is free again.
    pub(super) fn clear(&mut self, amounts: &Amounts) {
        self.left.clear();
        self.minutes = 0;
        self.reach(amounts, 64);
    }

    fn reach(&mut self, amounts: &Amounts, minutes: i32) {
        if minutes > self.minutes {
            let minutes = minutes.max(self.minutes * 2);
            for _ in self.minutes..minutes {
                self.left.extend_from_slice(&amounts.full);
            }
            self.minutes = minutes;
        }
    }

    /// Returns whether `activity` fits in the minute `at`, which the profile has reached.
    #[inline]
    fn fits(&self, amounts: &Amounts, demand: &[u64], at: i32) -> bool {
        let at = at as usize * amounts.words;
        self.left[at..at + amounts.words]
            .iter()
            .zip(demand)
            .all(|(&left, &asked)| {
                (left | amounts.guards).wrapping_sub(asked) & amounts.guards == amounts.guards
            })
    }

    /// Returns the earliest start from `from` on at which `activity` fits for `duration`.
    pub(super) fn earliest(
        &self,
        amounts: &Amounts,
        activity: usize,
        duration: i32,
        from: i32,
    ) -> i32 {
        let demand = amounts.of(activity);
        let mut start = from;
        // From `start` to here there is room.
        let mut known = start;
        loop {
            let end = (start + duration).min(self.minutes);
            // From the end backward: the last minute without room is the longest jump.
            match (known..end)
                .rev()
                .find(|&at| !self.fits(amounts, demand, at))
            {
                None => return start,
                Some(at) => start = at + 1,
            }
            known = end;
        }
    }

    /// Takes what `activity` uses.
    pub(super) fn take(&mut self, amounts: &Amounts, activity: usize, start: i32, duration: i32) {
        self.reach(amounts, start + duration);
        let demand = amounts.of(activity);
        for row in self.rows(amounts, start, duration) {
            for (left, &asked) in row.iter_mut().zip(demand) {
                *left = left.wrapping_sub(asked);
            }
        }
    }

    /// Gives back what `activity` used.
    pub(super) fn give(&mut self, amounts: &Amounts, activity: usize, start: i32, duration: i32) {
        let demand = amounts.of(activity);
        for row in self.rows(amounts, start, duration) {
            for (left, &asked) in row.iter_mut().zip(demand) {
                *left = left.wrapping_add(asked);
            }
        }
    }

    fn rows(
        &mut self,
        amounts: &Amounts,
        start: i32,
        duration: i32,
    ) -> impl Iterator<Item = &mut [u64]> {
        let words = amounts.words.max(1);
        let window = start as usize * amounts.words..(start + duration) as usize * amounts.words;
        self.left[window].chunks_exact_mut(words)
    }
}
