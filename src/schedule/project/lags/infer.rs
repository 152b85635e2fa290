//! What demands and lags together imply.
//!
//! Two activities that ask for more than there is of something cannot overlap; nor can two that lags keep together with
//! others so that all of them would ask too much. When lags leave such a pair only one order, that order is a lag of its
//! own; when they leave none, there is no plan. This goes on until nothing changes.
//!
//! Sets of activities that must overlap pairwise share a minute (Helly's property of intervals), so their demands add up.
//! Such sets are grown greedily: some are missed, which weakens the inference and never falsifies it.
//!
//! Source: P. Brucker, S. Knust, A. Schoo and O. Thiele, "A branch and bound algorithm for the resource-constrained
//! project scheduling problem", EJOR 107 (1998), for the relations; immediate selection after Carlier and Pinson (1989);
//! both from memory.

use super::model::Model;
use super::network::{Network, PositiveCycle};

/// Pairs of activities whose order is open, though they cannot overlap.
#[derive(Clone, Debug)]
pub(super) struct Pairs {
    open: Vec<(usize, usize)>,
}

impl Pairs {
    /// Returns the pairs of `model` that cannot overlap because of their demands alone.
    pub(super) fn new(model: &Model) -> Self {
        let mut open = Vec::new();
        for one in 0..model.size() {
            for other in one + 1..model.size() {
                let too_much = model.demands[one]
                    .iter()
                    .zip(&model.demands[other])
                    .zip(&model.capacities)
                    .any(|((&a, &b), &capacity)| i64::from(a) + i64::from(b) > i64::from(capacity));
                if too_much {
                    open.push((one, other));
                }
            }
        }
        Self { open }
    }

    /// Adds to `network` every order that is forced, and to the pairs every one that is found, until nothing changes.
    /// Returns how often the network was tightened; fails if there is no plan.
    pub(super) fn settle(
        &mut self,
        model: &Model,
        network: &mut Network,
    ) -> Result<usize, PositiveCycle> {
        let mut tightened = 0;
        loop {
            tightened += self.select(model, network)?;
            if !self.grow(model, network)? {
                return Ok(tightened);
            }
        }
    }

    /// Orders the pairs with one order left, until nothing changes.
    fn select(&mut self, model: &Model, network: &mut Network) -> Result<usize, PositiveCycle> {
        let mut tightened = 0;
        loop {
            let before = tightened;
            let mut kept = 0;
            for at in 0..self.open.len() {
                let (one, other) = self.open[at];
                let forth = may_precede(model, network, one, other);
                let back = may_precede(model, network, other, one);
                let (first, second) = match (forth, back) {
                    (true, true) => {
                        self.open[kept] = (one, other);
                        kept += 1;
                        continue;
                    }
                    (true, false) => (one, other),
                    (false, true) => (other, one),
                    (false, false) => return Err(PositiveCycle),
                };
                if network.tighten(first, second, model.durations[first])? {
                    tightened += 1;
                }
            }
            self.open.truncate(kept);
            if tightened == before {
                return Ok(tightened);
            }
        }
    }

    /// Looks for sets that must overlap and ask too much, and for pairs that would complete one. Returns whether there
    /// are new pairs.
    fn grow(&mut self, model: &Model, network: &Network) -> Result<bool, PositiveCycle> {
        let size = model.size();
        let known = self.open.len();
        // Whom each activity must overlap.
        let overlapping: Vec<Vec<usize>> = (0..size)
            .map(|one| {
                let must =
                    |&other: &usize| one != other && must_overlap(model, network, one, other);
                match model.durations[one] {
                    0 => Vec::new(),
                    _ => (0..size).filter(must).collect(),
                }
            })
            .collect();
        for (resource, &capacity) in model.capacities.iter().enumerate() {
            let demand = |activity: usize| i64::from(model.demands[activity][resource]);
            let room = i64::from(capacity);
            // The most that a greedily grown set beside `those` asks for.
            let beside = |those: &[usize]| {
                let mut set: Vec<usize> = Vec::new();
                let mut candidates: Vec<usize> = overlapping[those[0]]
                    .iter()
                    .copied()
                    .filter(|&it| demand(it) > 0)
                    .filter(|it| {
                        those[1..]
                            .iter()
                            .all(|&one| overlapping[one].binary_search(it).is_ok())
                    })
                    .collect();
                candidates.sort_by_key(|&it| -demand(it));
                for it in candidates {
                    if set
                        .iter()
                        .all(|&one| overlapping[one].binary_search(&it).is_ok())
                    {
                        set.push(it);
                    }
                }
                set.into_iter().map(demand).sum::<i64>()
            };
            for one in (0..size).filter(|&one| demand(one) > 0 && !overlapping[one].is_empty()) {
                if demand(one) + beside(&[one]) > room {
                    return Err(PositiveCycle);
                }
                for other in one + 1..size {
                    if demand(other) > 0
                        && demand(one) + demand(other) <= room
                        && !overlapping[other].is_empty()
                        && overlapping[one].binary_search(&other).is_err()
                        && !is_ordered(model, network, one, other)
                        && demand(one) + demand(other) + beside(&[one, other]) > room
                        && !self.open.contains(&(one, other))
                    {
                        self.open.push((one, other));
                    }
                }
            }
        }
        Ok(self.open.len() > known)
    }
}

/// Returns whether lags let `first` end before `second` starts.
#[inline]
pub(super) fn may_precede(model: &Model, network: &Network, first: usize, second: usize) -> bool {
    network.path(second, first) + model.durations[first] <= 0
}

/// Returns whether lags leave two activities no way not to overlap.
#[inline]
fn must_overlap(model: &Model, network: &Network, one: usize, other: usize) -> bool {
    !may_precede(model, network, one, other) && !may_precede(model, network, other, one)
}

/// Returns whether lags keep two activities apart.
fn is_ordered(model: &Model, network: &Network, one: usize, other: usize) -> bool {
    network.path(one, other) >= model.durations[one]
        || network.path(other, one) >= model.durations[other]
}
