//! How much of a resource is free over time.
//!
//! Sorted breakpoints with the free amount from each up to the next. Instances of this kind have some hundred
//! breakpoints a resource, which fit a cache line or two per lookup; a tree would cost more than it saves.

use std::cell::Cell;

use super::problem::{Resource, Time};

/// The free amount of one resource over time. It may fall below zero where what has already happened took
/// more than there was.
#[derive(Clone, Debug)]
pub struct Profile {
    /// Sorted by time, each with another amount than the one before, the first at the beginning of time.
    steps: Vec<Step>,
    /// The place asked for last.
    asked: Cell<usize>,
}

/// From when on how much is free. Both in one word: an insertion moves one tail, a search finds what it asked for.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
struct Step {
    from: Time,
    free: i32,
}

impl Profile {
    /// Returns the profile of an unused resource.
    pub fn new(resource: &Resource) -> Self {
        Self::of_steps(&resource.capacity)
    }

    /// Returns the profile of an amount that rises and falls in these steps; nothing before the first.
    pub fn of_steps(steps: &[(Time, i32)]) -> Self {
        let mut laid = vec![Step {
            from: Time::MIN,
            free: 0,
        }];
        for &(from, free) in steps {
            if laid.last().is_some_and(|last| last.free != free) {
                laid.push(Step { from, free });
            }
        }
        Self {
            steps: laid,
            asked: Cell::new(0),
        }
    }

    /// Returns by how many unit-minutes what is used beyond this amount grows in `[from, to)` when `quantity`
    /// more is used.
    pub fn growth_beyond(&self, from: Time, to: Time, quantity: i32) -> i64 {
        let mut grown = 0;
        let mut steps = self.steps[self.at(from)..].iter().peekable();
        while let Some(&step) = steps.next_if(|step| step.from < to) {
            let until = steps.peek().map_or(to, |next| next.from.min(to));
            let minutes = until - step.from.max(from);
            let (before, after) = ((-step.free).max(0), (quantity - step.free).max(0));
            grown += i64::from(minutes) * i64::from(after - before);
        }
        grown
    }

    /// Returns the place of the stretch that holds `time`.
    ///
    /// A search asks for the same hours over and over: whether something fits, then with it there, then without. So the
    /// place is looked for from the last one, in leaps that double (Bentley and Yao, *An almost optimal algorithm for
    /// unbounded searching*, 1976; from memory).
    fn at(&self, time: Time) -> usize {
        let steps = &self.steps;
        let (mut low, mut leap) = (self.asked.get().min(steps.len() - 1), 1);
        let mut high = low + 1;
        if steps[low].from <= time {
            while high < steps.len() && steps[high].from <= time {
                (low, leap) = (high, 2 * leap);
                high = (low + leap).min(steps.len());
            }
        } else {
            while steps[low].from > time {
                (high, leap) = (low, 2 * leap);
                // The first step is at the beginning of time.
                low = low.saturating_sub(leap);
            }
        }
        let place = low + steps[low..high].partition_point(|step| step.from <= time) - 1;
        self.asked.set(place);
        place
    }

    /// Adds `amount` (negative to take) to what is free in `[from, to)`.
    ///
    /// What no longer parts two amounts goes, so that a search that moves things for hours stays quick. What follows is
    /// moved once, by as many steps as come or go at both ends together: mostly none or two.
    pub fn add(&mut self, from: Time, to: Time, amount: i32) {
        if to <= from || amount == 0 {
            return;
        }
        let first = self.at(from);
        let steps = &mut self.steps;
        let mut last = first;
        // Most stretches span few steps; a second search would cost more.
        while steps.get(last + 1).is_some_and(|next| next.from <= to) {
            last += 1;
        }
        let begins = steps[first].from == from;
        let ends = steps[last].from == to;
        let before = if begins {
            first.checked_sub(1).map(|at| steps[at].free)
        } else {
            Some(steps[first].free)
        };
        let lead = Step {
            from,
            free: steps[first].free + amount,
        };
        let after = Step {
            from: to,
            free: steps[last].free,
        };
        let end = if ends {
            steps[last - 1].free
        } else {
            after.free
        } + amount;
        // The steps strictly between stay, each with the amount; the one that leads and the one after come or go.
        let (inner, tail) = (first + 1..last + usize::from(!ends), last + 1);
        let leads = before != Some(lead.free);
        let follows = end != after.free;
        let head = first + usize::from(!begins);
        let inner_to = head + usize::from(leads);
        let after_at = inner_to + inner.len();
        let tail_to = after_at + usize::from(follows);
        let length = steps.len();
        if tail_to > tail {
            steps.resize(length + tail_to - tail, after);
            steps.copy_within(tail..length, tail_to);
        }
        steps.copy_within(inner.clone(), inner_to);
        for step in &mut steps[inner_to..after_at] {
            step.free += amount;
        }
        if tail_to < tail {
            steps.copy_within(tail..length, tail_to);
            steps.truncate(length + tail_to - tail);
        }
        if leads {
            steps[head] = lead;
        }
        if follows {
            steps[after_at] = after;
        }
    }

    /// Takes from what is free in each of these stretches, which are sorted, not empty, and do not overlap:
    /// `(from, to, quantity)`, negative to give back.
    ///
    /// One pass over what they reach across. Laid down one by one, the hundred looks of a long simmer move the rest of
    /// the profile a hundred times.
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
        let old = &self.steps;
        let new = &mut scratch.steps;
        new.clear();
        // What leads up to the first is asked, so that the first may go on as it ends.
        new.extend(begin.checked_sub(1).map(|at| old[at]));
        let kept = new.len();
        let mut lay = |from: Time, free: i32| {
            if new.len() > kept && new.last().is_some_and(|last| last.from == from) {
                new.pop();
            }
            if new.last().is_none_or(|last| last.free != free) {
                new.push(Step { from, free });
            }
        };
        let mut at = begin;
        lay(old[at].from, old[at].free);
        for &(from, to, quantity) in parts {
            while at < end && old[at + 1].from <= from {
                at += 1;
                lay(old[at].from, old[at].free);
            }
            lay(from, old[at].free - quantity);
            while at < end && old[at + 1].from < to {
                at += 1;
                lay(old[at].from, old[at].free - quantity);
            }
            if at < end && old[at + 1].from == to {
                at += 1;
            }
            lay(to, old[at].free);
        }
        // The last amount laid is what was free there before, so what follows differs from it.
        let after = end + 1;
        let (length, tail_to) = (old.len(), begin + new.len() - kept);
        let steps = &mut self.steps;
        if tail_to > after {
            let spare = Step { from: 0, free: 0 };
            steps.resize(length + tail_to - after, spare);
        }
        steps.copy_within(after..length, tail_to);
        steps.truncate(length + tail_to - after);
        steps[begin..tail_to].copy_from_slice(&new[kept..]);
    }

    /// Returns the first minute in `[from, to)` at which less than `amount` is free.
    pub fn first_lack(&self, from: Time, to: Time, amount: i32) -> Option<Time> {
        if to <= from {
            return None;
        }
        self.steps[self.at(from)..]
            .iter()
            .take_while(|step| step.from < to)
            .find(|step| step.free < amount)
            .map(|step| step.from.max(from))
    }

    /// Returns the latest moment, no later than `to`, before which `amount` is free for at least a minute; the
    /// beginning of time when it never is.
    pub fn free_until(&self, to: Time, amount: i32) -> Time {
        let mut until = to;
        for step in self.steps[..=self.at(to - 1)].iter().rev() {
            if step.free >= amount {
                return until;
            }
            until = step.from;
        }
        Time::MIN / 4
    }

    /// Returns the start of the unbroken stretch before `to` in which `amount` is free, no earlier than
    /// `floor`; `to` itself when even the minute before it lacks.
    pub fn free_since(&self, to: Time, amount: i32, floor: Time) -> Time {
        let mut since = to;
        for step in self.steps[..=self.at(to - 1)].iter().rev() {
            if step.free < amount {
                return since;
            }
            since = step.from.max(floor);
            if step.from <= floor {
                return since;
            }
        }
        since
    }
}

/// From how many stretches on they are laid down in one pass.
const FEW: usize = 3;

/// Room to write a profile anew in.
#[derive(Clone, Debug, Default)]
pub struct Scratch {
    steps: Vec<Step>,
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
        let mut by_minute: Vec<i32> = (-20..140)
            .map(|minute| if (0..100).contains(&minute) { 2 } else { 0 })
            .collect();
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
                let free = |profile: &Profile| profile.steps[profile.at(minute)].free;
                let laid = parts.iter().find(|it| it.0 <= minute && minute < it.1);
                by_minute[(minute + 20) as usize] -= laid.map_or(0, |it| it.2);
                assert_eq!(free(&at_once), by_minute[(minute + 20) as usize]);
                assert_eq!(free(&one_by_one), free(&at_once), "{parts:?} at {minute}");
            }
            // No step too many, none too few: so both are the same, step by step.
            for profile in [&at_once, &one_by_one] {
                let mut pairs = profile.steps.windows(2);
                assert!(
                    pairs.all(|pair| pair[0].from < pair[1].from && pair[0].free != pair[1].free)
                );
            }
            assert_eq!(at_once.steps, one_by_one.steps);
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
