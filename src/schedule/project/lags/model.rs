//! A project made ready for the search.

use super::super::Project;
use super::network::{LONGEST, NO_PATH, Network, PositiveCycle};
use super::profile::Amounts;

/// A project with its closure, its demands in lanes, and an order that every list of activities respects.
#[derive(Clone, Debug)]
pub(super) struct Model {
    pub(super) durations: Vec<i32>,
    pub(super) demands: Vec<Vec<i32>>,
    pub(super) capacities: Vec<i32>,
    pub(super) amounts: Amounts,
    pub(super) network: Network,
    /// Place of each activity in a fixed order of the strict precedences: `i` before `j` if `d(i, j) > 0`, or
    /// `d(i, j) = 0` and `d(j, i) < 0`.
    pub(super) rank: Vec<usize>,
}

/// Why a project has no model.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Refused {
    /// No plan exists.
    Infeasible,
    /// Times or amounts are beyond what this kernel counts in.
    TooLarge,
}

impl From<PositiveCycle> for Refused {
    fn from(_: PositiveCycle) -> Self {
        Self::Infeasible
    }
}

impl Model {
    /// Returns the model of `project`.
    pub(super) fn new(project: &Project) -> Result<Self, Refused> {
        let size = project.durations.len();
        let sum: i64 = project
            .durations
            .iter()
            .map(|&duration| i64::from(duration))
            .chain(project.arcs.iter().map(|&(_, _, lag)| i64::from(lag).abs()))
            .sum();
        if sum >= LONGEST || project.durations.iter().any(|&duration| duration < 0) {
            return Err(Refused::TooLarge);
        }
        let mut arcs = project.arcs.clone();
        let last = size.saturating_sub(1);
        for activity in 1..last {
            arcs.push((0, activity, 0));
            arcs.push((activity, last, project.durations[activity]));
        }
        arcs.push((0, last, 0));
        // What takes no time needs nothing.
        let demands: Vec<Vec<i32>> = project
            .demands
            .iter()
            .zip(&project.durations)
            .map(|(row, &duration)| match duration {
                0 => vec![0; row.len()],
                _ => row.clone(),
            })
            .collect();
        for row in &demands {
            for (&demand, &capacity) in row.iter().zip(&project.capacities) {
                if demand < 0 {
                    return Err(Refused::TooLarge);
                }
                if demand > capacity {
                    return Err(Refused::Infeasible);
                }
            }
        }
        Ok(Self::with(
            project.durations.clone(),
            demands,
            &project.capacities,
            Network::new(size, &arcs)?,
        ))
    }

    /// Returns the model of durations, demands within capacities, and a closure.
    fn with(
        durations: Vec<i32>,
        demands: Vec<Vec<i32>>,
        capacities: &[i32],
        network: Network,
    ) -> Self {
        // A capacity above all demands together never binds.
        let capacities: Vec<i32> = capacities
            .iter()
            .enumerate()
            .map(|(resource, &capacity)| {
                let all: i64 = demands.iter().map(|row| i64::from(row[resource])).sum();
                capacity.max(0).min(i32::try_from(all).unwrap_or(i32::MAX))
            })
            .collect();
        let mut model = Self {
            amounts: Amounts::new(&demands, &capacities),
            rank: Vec::new(),
            durations,
            demands,
            capacities,
            network,
        };
        model.rank = model.ranks();
        model
    }

    /// Returns the model of `members` alone, between a beginning and an end of its own; `members[i]` is its activity
    /// `i + 1`.
    pub(super) fn of(&self, members: &[usize]) -> Self {
        let size = members.len() + 2;
        let mut arcs = Vec::new();
        let mut durations = vec![0; size];
        let mut demands = vec![vec![0; self.capacities.len()]; size];
        for (at, &member) in members.iter().enumerate() {
            durations[at + 1] = self.durations[member];
            demands[at + 1].clone_from(&self.demands[member]);
            arcs.push((0, at + 1, 0));
            arcs.push((at + 1, size - 1, self.durations[member]));
            for (to, &other) in members.iter().enumerate() {
                let lag = self.network.path(member, other);
                if to != at && lag > NO_PATH / 2 {
                    arcs.push((at + 1, to + 1, lag));
                }
            }
        }
        // Part of a closure without a positive cycle has none.
        let network = Network::new(size, &arcs).expect("part of a closure is a closure");
        Self::with(durations, demands, &self.capacities, network)
    }

    /// Returns how many activities there are, beginning and end included.
    #[inline]
    pub(super) fn size(&self) -> usize {
        self.durations.len()
    }

    /// Returns the last activity, the end.
    #[inline]
    pub(super) fn end(&self) -> usize {
        self.durations.len() - 1
    }

    /// Returns whether lags alone put `before` at or before the start of `after` and not the other way round.
    #[inline]
    pub(super) fn precedes(&self, before: usize, after: usize) -> bool {
        let least = self.network.path(before, after);
        least > 0 || (least == 0 && self.network.path(after, before) < 0)
    }

    /// Takes over a closure with more lags, all of them implied.
    pub(super) fn adopt(&mut self, network: Network) {
        self.network = network;
        self.rank = self.ranks();
    }

    /// Returns whether all activities lie between beginning and end, the first of which is at 0.
    pub(super) fn is_within(&self, starts: &[i32]) -> bool {
        let end = starts[self.end()];
        starts[0] == 0
            && starts
                .iter()
                .zip(&self.durations)
                .all(|(&start, &duration)| 0 <= start && start + duration <= end)
    }

    fn ranks(&self) -> Vec<usize> {
        // By head: strict predecessors start earlier at their earliest, or at the same minute and have then fewer
        // strict predecessors of their own.
        let heads = self.network.leaving(0);
        let mut keyed: Vec<(i32, usize, usize)> = (0..self.size())
            .map(|activity| {
                let before = (0..self.size())
                    .filter(|&other| self.precedes(other, activity))
                    .count();
                (heads[activity], before, activity)
            })
            .collect();
        keyed.sort_unstable();
        let mut rank = vec![0; self.size()];
        for (place, &(_, _, activity)) in keyed.iter().enumerate() {
            rank[activity] = place;
        }
        rank
    }
}
