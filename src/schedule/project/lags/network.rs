//! Longest paths between all pairs of activities, and what follows from them.
//!
//! `d(i, j)` is the least difference `S_j - S_i` that the arcs imply; `-d(j, i)` is the most. They are found by
//! Johnson's method: potentials from one label-correcting pass, which also meets every positive cycle, then one
//! Dijkstra pass for each activity. That is `O(n m log n)`, so a thousand activities with a few thousand arcs open
//! in a fraction of a second; the closure is kept whole after that (8 bytes for each pair), because every decision of
//! the search reads rows of it. New arcs are added one by one in `O(n²)`.
//!
//! Source: D. B. Johnson, "Efficient algorithms for shortest paths in sparse networks", J. ACM 24 (1977), from memory.

use std::cmp::Reverse;
use std::collections::{BinaryHeap, VecDeque};

/// No path: below every length that occurs ([`LONGEST`]), and far enough from the end of `i32` that two may be added.
pub(super) const NO_PATH: i32 = i32::MIN / 4;

/// The longest path a network may hold, in minutes: all durations and all lags together stay below it.
pub(super) const LONGEST: i64 = 1 << 26;

/// All longest paths of a set of arcs without a positive cycle.
#[derive(Clone, Debug)]
pub(super) struct Network {
    size: usize,
    /// Row `i`: `d(i, j)` for each `j`.
    leaving: Vec<i32>,
    /// Row `j`: `d(i, j)` for each `i`.
    reaching: Vec<i32>,
}

/// The arcs ask for more time than there is.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) struct PositiveCycle;

impl Network {
    /// Returns all longest paths along `arcs` between `size` activities.
    pub(super) fn new(size: usize, arcs: &[(usize, usize, i32)]) -> Result<Self, PositiveCycle> {
        let mut out: Vec<Vec<(usize, i32)>> = vec![Vec::new(); size];
        for &(from, to, lag) in arcs {
            if from != to {
                out[from].push((to, lag));
            } else if lag > 0 {
                return Err(PositiveCycle);
            }
        }
        let potential = potentials(&out)?;
        let mut network = Self {
            size,
            leaving: vec![NO_PATH; size * size],
            reaching: vec![NO_PATH; size * size],
        };
        // Reduced lengths `potential[j] - potential[i] - lag` are never negative: shortest by them is longest by lags.
        let mut heap = BinaryHeap::new();
        let mut reduced = vec![i32::MAX; size];
        for from in 0..size {
            reduced.fill(i32::MAX);
            reduced[from] = 0;
            heap.push(Reverse((0, from)));
            while let Some(Reverse((length, at))) = heap.pop() {
                if length > reduced[at] {
                    continue;
                }
                for &(to, lag) in &out[at] {
                    let next = length + potential[to] - potential[at] - lag;
                    if next < reduced[to] {
                        reduced[to] = next;
                        heap.push(Reverse((next, to)));
                    }
                }
            }
            for (to, &length) in reduced.iter().enumerate() {
                if length < i32::MAX {
                    let longest = potential[to] - potential[from] - length;
                    network.leaving[from * size + to] = longest;
                    network.reaching[to * size + from] = longest;
                }
            }
        }
        Ok(network)
    }

    /// Returns `d(from, to)`, or [`NO_PATH`].
    #[inline]
    pub(super) fn path(&self, from: usize, to: usize) -> i32 {
        self.leaving[from * self.size + to]
    }

    /// Returns `d(from, j)` for every `j`.
    #[inline]
    pub(super) fn leaving(&self, from: usize) -> &[i32] {
        &self.leaving[from * self.size..(from + 1) * self.size]
    }

    /// Returns `d(i, to)` for every `i`.
    #[inline]
    pub(super) fn reaching(&self, to: usize) -> &[i32] {
        &self.reaching[to * self.size..(to + 1) * self.size]
    }

    /// Adds the arc `(from, to, lag)` and every path through it. Returns whether anything changed.
    pub(super) fn tighten(
        &mut self,
        from: usize,
        to: usize,
        lag: i32,
    ) -> Result<bool, PositiveCycle> {
        if lag <= self.path(from, to) {
            return Ok(false);
        }
        if lag + self.path(to, from) > 0 {
            return Err(PositiveCycle);
        }
        let size = self.size;
        // Row and column of the two ends are read while others are written, and are written themselves: a path
        // through the arc never gets longer by using it twice, so the old values serve.
        let onward = self.leaving(to).to_vec();
        let before = self.reaching(from).to_vec();
        for (at, &head) in before.iter().enumerate() {
            if head > NO_PATH / 2 && head + lag > self.path(at, to) {
                raise(
                    &mut self.leaving[at * size..(at + 1) * size],
                    &onward,
                    head + lag,
                );
            }
        }
        for (at, &tail) in onward.iter().enumerate() {
            if tail > NO_PATH / 2 {
                raise(
                    &mut self.reaching[at * size..(at + 1) * size],
                    &before,
                    tail + lag,
                );
            }
        }
        Ok(true)
    }

    /// Returns the strongly connected components in an order in which no later one reaches an earlier one; members
    /// ascend.
    pub(super) fn components(&self) -> Vec<Vec<usize>> {
        let mut rank = vec![usize::MAX; self.size];
        let mut found: Vec<Vec<usize>> = Vec::new();
        for at in 0..self.size {
            if rank[at] == usize::MAX {
                let members: Vec<usize> = (at..self.size)
                    .filter(|&other| {
                        self.path(at, other) > NO_PATH / 2 && self.path(other, at) > NO_PATH / 2
                    })
                    .collect();
                for &member in &members {
                    rank[member] = found.len();
                }
                found.push(members);
            }
        }
        // In a closure, whatever reaches more comes first.
        let mut reach: Vec<(Reverse<usize>, usize)> = found
            .iter()
            .enumerate()
            .map(|(index, members)| {
                let reached = self
                    .leaving(members[0])
                    .iter()
                    .filter(|&&length| length > NO_PATH / 2)
                    .count();
                (Reverse(reached), index)
            })
            .collect();
        reach.sort_unstable();
        reach
            .into_iter()
            .map(|(_, index)| std::mem::take(&mut found[index]))
            .collect()
    }
}

/// Raises `row` to `more + by`, componentwise, where there is a path.
#[inline]
fn raise(row: &mut [i32], more: &[i32], by: i32) {
    for (value, &length) in row.iter_mut().zip(more) {
        let longer = length.wrapping_add(by);
        let longer = if length > NO_PATH / 2 {
            longer
        } else {
            NO_PATH
        };
        *value = (*value).max(longer);
    }
}

/// Returns the longest path to each activity from a point before all of them.
fn potentials(out: &[Vec<(usize, i32)>]) -> Result<Vec<i32>, PositiveCycle> {
    let size = out.len();
    let mut potential = vec![0; size];
    let mut queue: VecDeque<usize> = (0..size).collect();
    let mut waiting = vec![true; size];
    let mut arcs_in_path = vec![0_usize; size];
    while let Some(at) = queue.pop_front() {
        waiting[at] = false;
        for &(to, lag) in &out[at] {
            if potential[at] + lag > potential[to] {
                potential[to] = potential[at] + lag;
                arcs_in_path[to] = arcs_in_path[at] + 1;
                if arcs_in_path[to] >= size {
                    return Err(PositiveCycle);
                }
                if !waiting[to] {
                    waiting[to] = true;
                    queue.push_back(to);
                }
            }
        }
    }
    Ok(potential)
}
