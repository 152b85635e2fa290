//! The windows as data: bounds, what moved them, and how to take that back.

use crate::schedule::problem::{ActivityId, Time};

/// Earliest and latest starts.
#[derive(Clone, Debug)]
pub struct Windows {
    /// The earliest start of each activity.
    pub earliest: Vec<Time>,
    /// The latest start of each activity.
    pub latest: Vec<Time>,
    /// Which placed activity holds the earliest start where it is; `None` where the instance itself does.
    pub(super) source: Vec<Option<u32>>,
    /// The arc that last raised the earliest, or lowered the latest start.
    pub(super) raised_by: Vec<u32>,
    pub(super) lowered_by: Vec<u32>,
    pub(super) log: Vec<(u32, Time, Time, Option<u32>)>,
    pub(super) worklist: Worklist,
}

/// What label correction has still to look at; kept between calls so that none of them allocates.
#[derive(Clone, Debug, Default)]
pub(super) struct Worklist {
    pub(super) open: std::collections::VecDeque<u32>,
    pub(super) queued: Vec<bool>,
    pub(super) visits: Vec<(u32, u32)>,
    pub(super) call: u32,
    /// Whether the last call left something off before it came to rest.
    pub(super) left_off: bool,
}

/// A window that has become empty.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Empty {
    /// Whose.
    pub activity: ActivityId,
    /// The placed activity that holds its earliest start, if one does.
    pub source: Option<ActivityId>,
    /// By how many minutes the latest start lies before the earliest; at least 1.
    pub lacking: Time,
}

/// Nothing has moved a bound.
pub(super) const NO_ARC: u32 = u32::MAX;

impl Worklist {
    pub(super) fn put(&mut self, index: usize) {
        if !std::mem::replace(&mut self.queued[index], true) {
            self.open.push_back(index as u32);
        }
    }

    /// Returns how often this call has come by.
    pub(super) fn visit(&mut self, index: usize) -> u32 {
        let (call, visits) = &mut self.visits[index];
        if *call != self.call {
            (*call, *visits) = (self.call, 0);
        }
        *visits += 1;
        *visits
    }
}

impl Windows {
    pub(super) fn note(&mut self, index: usize) {
        self.log.push((
            index as u32,
            self.earliest[index],
            self.latest[index],
            self.source[index],
        ));
    }

    pub(super) fn empty(&self, index: usize) -> Empty {
        Empty {
            activity: ActivityId(index),
            source: self.source[index].map(|source| ActivityId(source as usize)),
            lacking: (self.earliest[index].saturating_sub(self.latest[index])).max(1),
        }
    }

    /// Forgets what could be taken back: what stands now stays.
    pub fn keep(&mut self) {
        self.log.clear();
    }

    /// Returns the place in the log to come back to.
    pub fn mark(&self) -> usize {
        self.log.len()
    }

    /// Takes back every change since `mark`.
    pub fn back_to(&mut self, mark: usize) {
        while self.log.len() > mark {
            if let Some((index, earliest, latest, source)) = self.log.pop() {
                let index = index as usize;
                self.earliest[index] = earliest;
                self.latest[index] = latest;
                self.source[index] = source;
            }
        }
    }

    /// Returns the placed activity that holds an earliest start where it is.
    pub fn source(&self, activity: ActivityId) -> Option<ActivityId> {
        self.source[activity.0].map(|source| ActivityId(source as usize))
    }
}
