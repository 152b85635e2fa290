//! How much of a resource is free over time.
//!
//! Sorted breakpoints with the free amount from each up to the next. Instances of this kind have some hundred
//! breakpoints a resource, which fit a cache line or two per lookup; a tree would cost more than it saves.

use super::problem::{Resource, Time};

/// The free amount of one resource over time. It may fall below zero where what has already happened took
/// more than there was.
#[derive(Clone, Debug)]
pub struct Profile {
    times: Vec<Time>,
    free: Vec<i32>,
}

impl Profile {
    /// Returns the profile of an unused resource.
    pub fn new(resource: &Resource) -> Self {
        Self::of_steps(&resource.capacity)
    }

    /// Returns the profile of an amount that rises and falls in these steps; nothing before the first.
    pub fn of_steps(steps: &[(Time, i32)]) -> Self {
        let mut profile = Self {
            times: vec![Time::MIN],
            free: vec![0],
        };
        for &(from, amount) in steps {
            profile.times.push(from);
            profile.free.push(amount);
        }
        profile
    }

    /// Returns by how many unit-minutes what is used beyond this amount grows in `[from, to)` when `quantity`
    /// more is used.
    pub fn growth_beyond(&self, from: Time, to: Time, quantity: i32) -> i64 {
        let mut grown = 0;
        for at in self.at(from)..self.times.len() {
            if self.times[at] >= to {
                break;
            }
            let until = self.times.get(at + 1).map_or(to, |&next| next.min(to));
            let minutes = until - self.times[at].max(from);
            let (before, after) = ((-self.free[at]).max(0), (quantity - self.free[at]).max(0));
            grown += i64::from(minutes) * i64::from(after - before);
        }
        grown
    }

    /// Returns the place of the stretch that holds `time`.
    fn at(&self, time: Time) -> usize {
        self.times.partition_point(|&from| from <= time) - 1
    }

    /// Makes `time` a breakpoint and returns its place.
    fn split(&mut self, time: Time) -> usize {
        let at = self.at(time);
        if self.times[at] == time {
            return at;
        }
        self.times.insert(at + 1, time);
        self.free.insert(at + 1, self.free[at]);
        at + 1
    }

    /// Adds `amount` (negative to take) to what is free in `[from, to)`.
    pub fn add(&mut self, from: Time, to: Time, amount: i32) {
        if to <= from {
            return;
        }
        let first = self.split(from);
        let last = self.split(to);
        for free in &mut self.free[first..last] {
            *free += amount;
        }
        // What no longer parts two amounts goes, so that a search that moves things for hours stays quick.
        self.join(last);
        self.join(first);
    }

    /// Takes from what is free in each of these stretches, which are sorted, not empty, and do not overlap:
    /// `(from, to, quantity)`, negative to give back.
    ///
    /// One pass over what they reach across. Laid down one by one, the hundred looks of a long simmer move the rest of
    /// the profile two hundred times.
    pub fn use_all(&mut self, parts: &[(Time, Time, i32)], scratch: &mut Scratch) {
        let (Some(first), Some(last)) = (parts.first(), parts.last()) else {
            return;
        };
        if parts.len() < FEW {
            for &(from, to, quantity) in parts {
                self.add(from, to, -quantity);
            }
            return;
        }
        let begin = self.at(first.0);
        let end = self.at(last.1);
        let (times, free) = (&mut scratch.times, &mut scratch.free);
        times.clear();
        free.clear();
        let mut lay = |time: Time, amount: i32| {
            if times.last() == Some(&time) {
                times.pop();
                free.pop();
            }
            if free.last() != Some(&amount) {
                times.push(time);
                free.push(amount);
            }
        };
        let mut at = begin;
        lay(self.times[at], self.free[at]);
        for &(from, to, quantity) in parts {
            while at < end && self.times[at + 1] <= from {
                at += 1;
                lay(self.times[at], self.free[at]);
            }
            lay(from, self.free[at] - quantity);
            while at < end && self.times[at + 1] < to {
                at += 1;
                lay(self.times[at], self.free[at] - quantity);
            }
            if at < end && self.times[at + 1] == to {
                at += 1;
            }
            lay(to, self.free[at]);
        }
        // What follows may go on as the last ends.
        let mut after = end + 1;
        if self.free.get(after) == free.last() {
            after += 1;
        }
        self.times.splice(begin..after, times.drain(..));
        self.free.splice(begin..after, free.drain(..));
        self.join(begin);
    }

    /// Removes a breakpoint that parts nothing.
    fn join(&mut self, at: usize) {
        if at > 0 && self.free[at] == self.free[at - 1] {
            self.times.remove(at);
            self.free.remove(at);
        }
    }

    /// Returns the first minute in `[from, to)` at which less than `amount` is free.
    pub fn first_lack(&self, from: Time, to: Time, amount: i32) -> Option<Time> {
        if to <= from {
            return None;
        }
        (self.at(from)..self.times.len())
            .take_while(|&at| self.times[at] < to)
            .find(|&at| self.free[at] < amount)
            .map(|at| self.times[at].max(from))
    }

    /// Returns the latest moment, no later than `to`, before which `amount` is free for at least a minute; the
    /// beginning of time when it never is.
    pub fn free_until(&self, to: Time, amount: i32) -> Time {
        let mut until = to;
        for at in (0..=self.at(to - 1)).rev() {
            if self.free[at] >= amount {
                return until;
            }
            until = self.times[at];
        }
        Time::MIN / 4
    }

    /// Returns the start of the unbroken stretch before `to` in which `amount` is free, no earlier than
    /// `floor`; `to` itself when even the minute before it lacks.
    pub fn free_since(&self, to: Time, amount: i32, floor: Time) -> Time {
        let mut at = self.at(to - 1);
        let mut since = to;
        loop {
            if self.free[at] < amount {
                return since;
            }
            since = self.times[at].max(floor);
            if self.times[at] <= floor || at == 0 {
                return since;
            }
            at -= 1;
        }
    }
}

/// From how many stretches on they are laid down in one pass.
const FEW: usize = 3;

/// Room to write a profile anew in.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    times: Vec<Time>,
    free: Vec<i32>,
}

#[cfg(test)]
mod tests {
    use super::*;

    fn two_from_zero_to_hundred() -> Profile {
        Profile::new(&Resource {
            capacity: vec![(0, 2), (100, 0)],
            regular: None,
        })
    }

    #[test]
    fn taking_and_giving_back_leaves_no_trace() {
        let mut profile = two_from_zero_to_hundred();
        profile.add(10, 20, -2);
        assert_eq!(profile.first_lack(0, 100, 1), Some(10));
        assert_eq!(profile.first_lack(12, 15, 1), Some(12));
        assert_eq!(profile.first_lack(20, 100, 2), None);
        profile.add(10, 20, 2);
        assert_eq!(profile.first_lack(0, 100, 2), None);
        assert_eq!(profile.first_lack(0, 101, 1), Some(100));
        assert_eq!(profile.first_lack(-1, 5, 1), Some(-1));
    }

    #[test]
    fn many_stretches_at_once_are_as_one_after_another() {
        let mut drawn = 7_u64;
        let mut below = |count: u64| {
            // The constants of Knuth's MMIX generator, from memory; any would do.
            drawn = drawn
                .wrapping_mul(6_364_136_223_846_793_005)
                .wrapping_add(1_442_695_040_888_963_407);
            ((drawn >> 33) % count) as i32
        };
        let (mut at_once, mut one_by_one) =
            (two_from_zero_to_hundred(), two_from_zero_to_hundred());
        let mut scratch = Scratch::default();
        for _ in 0..500 {
            let mut parts = Vec::new();
            let mut from = below(30) - 10;
            for _ in 0..below(9) {
                let to = from + 1 + below(12);
                parts.push((from, to, below(5) - 2));
                from = to + below(6);
            }
            at_once.use_all(&parts, &mut scratch);
            for &(from, to, quantity) in &parts {
                one_by_one.add(from, to, -quantity);
            }
            for minute in -20..140 {
                let free = |profile: &Profile| profile.free[profile.at(minute)];
                assert_eq!(free(&at_once), free(&one_by_one), "{parts:?} at {minute}");
            }
            assert!(at_once.times.is_sorted_by(|one, other| one < other));
            assert_eq!(at_once.times.len(), at_once.free.len());
        }
    }

    #[test]
    fn free_stretches_are_found_backward() {
        let mut profile = two_from_zero_to_hundred();
        profile.add(40, 50, -2);
        assert_eq!(profile.free_since(100, 1, -1000), 50);
        assert_eq!(profile.free_since(50, 1, -1000), 50);
        assert_eq!(profile.free_since(40, 1, -1000), 0);
        assert_eq!(profile.free_since(40, 1, 25), 25);
        assert_eq!(profile.free_until(60, 1), 60);
        assert_eq!(profile.free_until(50, 1), 40);
        assert_eq!(profile.free_until(50, 3), Time::MIN / 4);
    }
}
