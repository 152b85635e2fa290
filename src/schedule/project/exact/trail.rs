//! The trail: every rise of every side, in the order it happened, with the reason for it.
//!
//! Entries of the same side are linked, so the state before any entry can be asked for later; explanations are
//! made only when a conflict asks for them, from the state they were drawn from.

use super::literal::{Literal, Side};

/// Why a side rose.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Reason {
    /// True of every plan that is still wanted.
    Root,
    /// Tried, not derived.
    Decision,
    /// A lag that always holds, by its number.
    Arc(u32),
    /// A lag that an order of two activities brings, by its number: the order is chosen, so the lag holds.
    Ordered(u32),
    /// The same lag cannot hold, so the order is the other one.
    Refused(u32),
    /// The resource would be overdrawn at that minute.
    Full { resource: u32, minute: i32 },
    /// All other literals of a learned clause are false.
    Clause(u32),
}

#[derive(Clone, Copy, Debug)]
pub(super) struct Entry {
    pub(super) side: Side,
    pub(super) bound: i32,
    /// The entry of the same side before this one.
    pub(super) before: u32,
    pub(super) reason: Reason,
}

/// A rise to be followed up.
#[derive(Clone, Copy, Debug)]
pub(super) struct Event {
    pub(super) side: Side,
    pub(super) old: i32,
    pub(super) new: i32,
    /// Whether the side has not risen further since.
    pub(super) is_latest: bool,
}

/// The state of all variables, and how it came about.
#[derive(Clone, Debug)]
pub(super) struct Trail {
    entries: Vec<Entry>,
    bounds: Vec<i32>,
    /// The latest entry of each side.
    last: Vec<u32>,
    /// Where each level begins: a level is a decision and all that follows from it.
    levels: Vec<u32>,
    /// The first entry whose consequences are not drawn yet.
    head: usize,
}

impl Trail {
    /// Starts from each variable's range, both ends included.
    pub(super) fn new(ranges: &[(i32, i32)]) -> Self {
        let bounds: Vec<i32> = ranges
            .iter()
            .flat_map(|&(least, most)| [least, -most])
            .collect();
        let entries = (0..2 * ranges.len())
            .map(|index| Entry {
                side: if index % 2 == 0 {
                    Side::least(index / 2)
                } else {
                    Side::most(index / 2)
                },
                bound: bounds[index],
                before: index as u32,
                reason: Reason::Root,
            })
            .collect();
        Self {
            entries,
            last: (0..bounds.len() as u32).collect(),
            bounds,
            levels: Vec::new(),
            head: 0,
        }
    }

    pub(super) fn len(&self) -> usize {
        self.entries.len()
    }

    pub(super) fn entry(&self, position: usize) -> Entry {
        self.entries[position]
    }

    #[inline]
    pub(super) fn bound(&self, side: Side) -> i32 {
        self.bounds[side.index()]
    }

    pub(super) fn least(&self, variable: usize) -> i32 {
        self.bounds[2 * variable]
    }

    pub(super) fn most(&self, variable: usize) -> i32 {
        -self.bounds[2 * variable + 1]
    }

    pub(super) fn is_fixed(&self, variable: usize) -> bool {
        self.bounds[2 * variable] + self.bounds[2 * variable + 1] == 0
    }

    #[inline]
    pub(super) fn is_true(&self, literal: Literal) -> bool {
        self.bounds[literal.side.index()] >= literal.bound
    }

    #[inline]
    pub(super) fn is_false(&self, literal: Literal) -> bool {
        self.bounds[literal.side.other().index()] > -literal.bound
    }

    /// Raises a side. Returns whether the variable still has a value; the entry is made either way.
    #[inline]
    pub(super) fn raise(&mut self, literal: Literal, reason: Reason) -> bool {
        let index = literal.side.index();
        debug_assert!(self.bounds[index] < literal.bound, "raised to where it is");
        let at = self.entries.len() as u32;
        self.entries.push(Entry {
            side: literal.side,
            bound: literal.bound,
            before: self.last[index],
            reason,
        });
        self.last[index] = at;
        self.bounds[index] = literal.bound;
        literal.bound + self.bounds[literal.side.other().index()] <= 0
    }

    /// Takes back the latest entry.
    pub(super) fn pop(&mut self) {
        let Some(entry) = self.entries.pop() else {
            return;
        };
        let index = entry.side.index();
        self.last[index] = entry.before;
        self.bounds[index] = self.entries[entry.before as usize].bound;
        self.head = self.head.min(self.entries.len());
    }

    /// The next rise whose consequences are not drawn.
    #[inline]
    pub(super) fn next_event(&mut self) -> Option<Event> {
        let entry = self.entries.get(self.head)?;
        let old = if entry.before as usize == self.head {
            // The entry of the beginning: everything up to it is news.
            i32::MIN
        } else {
            self.entries[entry.before as usize].bound
        };
        let is_latest = self.last[entry.side.index()] as usize == self.head;
        self.head += 1;
        Some(Event {
            side: entry.side,
            old,
            new: entry.bound,
            is_latest,
        })
    }

    pub(super) fn level(&self) -> usize {
        self.levels.len()
    }

    pub(super) fn open_level(&mut self) {
        self.levels.push(self.entries.len() as u32);
    }

    /// The level of an entry; level 0 is what holds in every plan.
    pub(super) fn level_of(&self, position: usize) -> usize {
        self.levels
            .partition_point(|&start| start as usize <= position)
    }

    /// Where a level begins.
    pub(super) fn start_of(&self, level: usize) -> usize {
        if level == 0 {
            0
        } else {
            self.levels[level - 1] as usize
        }
    }

    /// Where what holds in every plan ends.
    pub(super) fn root_end(&self) -> usize {
        self.levels
            .first()
            .map_or(self.entries.len(), |&start| start as usize)
    }

    /// Takes back all levels above the one given.
    pub(super) fn back_to(&mut self, level: usize) {
        if level >= self.levels.len() {
            return;
        }
        let start = self.levels[level] as usize;
        while self.entries.len() > start {
            self.pop();
        }
        self.levels.truncate(level);
    }

    /// Forgets how level 0 came about: nothing asks why something holds in every plan.
    pub(super) fn settle(&mut self) {
        debug_assert!(self.levels.is_empty() && self.head == self.entries.len());
        self.entries.truncate(self.bounds.len());
        for (index, entry) in self.entries.iter_mut().enumerate() {
            entry.bound = self.bounds[index];
            entry.reason = Reason::Root;
            self.last[index] = index as u32;
        }
        self.head = self.entries.len();
    }

    /// The entry that made a true literal true.
    #[inline]
    pub(super) fn position(&self, literal: Literal) -> usize {
        let mut at = self.last[literal.side.index()];
        loop {
            let before = self.entries[at as usize].before;
            if before == at || self.entries[before as usize].bound < literal.bound {
                return at as usize;
            }
            at = before;
        }
    }

    /// Where a side stood just before an entry was made.
    #[inline]
    pub(super) fn bound_before(&self, side: Side, position: usize) -> i32 {
        let mut at = self.last[side.index()];
        while at as usize >= position {
            let before = self.entries[at as usize].before;
            if before == at {
                break;
            }
            at = before;
        }
        self.entries[at as usize].bound
    }
}
