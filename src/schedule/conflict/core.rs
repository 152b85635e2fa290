//! A smallest set that does not fit, found by taking things away.
//!
//! # Method
//! Whether a part of an instance fits is asked of an oracle, usually a search with little effort. `QuickXplain` (Junker,
//! *`QuickXplain`: preferred explanations and relaxations for over-constrained problems*, 2004; from memory) halves the
//! activities and keeps from each half what the other cannot do without, so that a set of `k` among `n` takes about
//! `k log(n / k)` questions. Then every lag between the activities left, every resource and every state is taken away
//! in turn, and stays away where nothing fits all the same.
//!
//! # What it promises
//! An oracle may not know. What it cannot find a schedule for counts as not fitting, so the set is one for which none
//! was found while one was found as soon as any of its activities was let go; `proved` says whether the oracle proves
//! as much. Questions are counted, and when they run out the set is told as it stands then.

use super::Core;
use crate::schedule::problem::{
    ActivityId, Duration, Instance, Lag, Mode, Resource, ResourceId, StateId, Weights,
};

/// What an oracle says of an instance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Verdict {
    /// A schedule was found.
    Feasible,
    /// There is none.
    Infeasible,
    /// None was found, and nothing is proved.
    Unknown,
}

/// Returns a smallest set among the activities of an instance that does not fit by itself, asking the oracle at most
/// `calls` times; `None` where the whole fits, or what has happened does not even alone.
pub fn core(
    instance: &Instance,
    calls: u32,
    oracle: &mut dyn FnMut(&Instance) -> Verdict,
) -> Option<Core> {
    let to_come: Vec<usize> = (0..instance.activities.len())
        .filter(|&index| instance.activities[index].fixed.is_none())
        .collect();
    let mut taking = Taking {
        instance,
        calls,
        oracle,
    };
    let everything = Part::of(instance, &to_come);
    if taking.ask(&everything) == Some(Verdict::Feasible) || to_come.is_empty() {
        return None;
    }
    let mut found = taking.smallest(&mut Vec::new(), &to_come, false);
    found.sort_unstable();
    if found.is_empty() {
        return None;
    }
    let mut part = Part::of(instance, &found);
    // Only what joins the activities left can be asked for away.
    part.lags.retain(|&lag| instance.lags[lag].joins(&found));
    let smallest = taking.calls > 0;
    taking.thin(&mut part, |part| &mut part.lags);
    let uses = |resource: usize| {
        let demands = found.iter().flat_map(|&it| &instance.activities[it].modes);
        let mut demands = demands.flat_map(|mode| &mode.demands);
        let mut holds = instance.holds.iter();
        demands.any(|it| it.resource.0 == resource)
            || holds.any(|hold| {
                let held = [hold.from.0.0, hold.to.0.0];
                hold.resource.0 == resource && held.iter().any(|it| found.contains(it))
            })
    };
    part.resources.retain(|&resource| uses(resource));
    taking.thin(&mut part, |part| &mut part.resources);
    let needs = |state: usize| {
        let modes = found.iter().flat_map(|&it| &instance.activities[it].modes);
        let mut states = modes.flat_map(|mode| &mode.states);
        states.any(|(id, _)| id.0 == state)
    };
    part.states.retain(|&state| needs(state));
    taking.thin(&mut part, |part| &mut part.states);
    // One question is kept back for the answer that counts.
    taking.calls = taking.calls.max(1);
    let proved = taking.ask(&part) == Some(Verdict::Infeasible);
    Some(Core {
        activities: found.into_iter().map(ActivityId).collect(),
        lags: part.lags,
        resources: part.resources.into_iter().map(ResourceId).collect(),
        states: part.states.into_iter().map(StateId).collect(),
        proved,
        smallest,
    })
}

/// Returns an instance in which only these activities, lags, resources and states ask for anything; every activity
/// keeps its place, and what has happened stays as it is.
///
/// This is what a [`Core`] speaks of.
pub fn only(
    instance: &Instance,
    activities: &[ActivityId],
    lags: &[usize],
    resources: &[ResourceId],
    states: &[StateId],
) -> Instance {
    let part = Part {
        activities: activities.iter().map(|it| it.0).collect(),
        lags: lags.to_vec(),
        resources: resources.iter().map(|it| it.0).collect(),
        states: states.iter().map(|it| it.0).collect(),
    };
    part.built(instance)
}

/// What of an instance still asks for something.
#[derive(Clone, Debug)]
struct Part {
    /// Sorted, like the others.
    activities: Vec<usize>,
    lags: Vec<usize>,
    resources: Vec<usize>,
    states: Vec<usize>,
}

impl Part {
    fn of(instance: &Instance, activities: &[usize]) -> Self {
        let mut activities = activities.to_vec();
        activities.sort_unstable();
        Self {
            lags: (0..instance.lags.len()).collect(),
            resources: (0..instance.resources.len()).collect(),
            states: (0..instance.states.len()).collect(),
            activities,
        }
    }

    fn built(&self, instance: &Instance) -> Instance {
        let has = |of: &[usize], index: usize| of.binary_search(&index).is_ok();
        let asks = |index: usize| {
            has(&self.activities, index) || instance.activities[index].fixed.is_some()
        };
        let mut part = instance.clone();
        // What is only wanted has no part in what cannot be.
        part.wishes.clear();
        part.levels.clear();
        part.weights = Weights::default();
        for (index, activity) in part.activities.iter_mut().enumerate() {
            (activity.due, activity.announced) = (None, None);
            if !asks(index) {
                activity.modes = vec![Mode {
                    duration: Duration::Fixed(0),
                    demands: Vec::new(),
                    states: Vec::new(),
                    cost: 0,
                }];
                activity.calendars.clear();
                (activity.release, activity.deadline) = (None, None);
                continue;
            }
            for mode in &mut activity.modes {
                mode.demands
                    .retain(|it| has(&self.resources, it.resource.0));
                mode.states.retain(|(id, _)| has(&self.states, id.0));
            }
        }
        let kept = |&(index, lag): &(usize, &Lag)| {
            has(&self.lags, index) && asks(lag.from.0.0) && asks(lag.to.0.0)
        };
        part.lags = instance
            .lags
            .iter()
            .enumerate()
            .filter(kept)
            .map(|(_, lag)| *lag)
            .collect();
        part.holds.retain(|hold| {
            has(&self.resources, hold.resource.0) && asks(hold.from.0.0) && asks(hold.to.0.0)
        });
        // What has happened may use a resource that is taken away.
        for (index, resource) in part.resources.iter_mut().enumerate() {
            if !has(&self.resources, index) {
                *resource = Resource {
                    capacity: vec![(instance.earliest, i32::MAX / 4)],
                    regular: None,
                };
            }
        }
        part
    }
}

impl Lag {
    /// Returns whether it joins two of these activities, or one of them to what has happened.
    fn joins(&self, activities: &[usize]) -> bool {
        activities.contains(&self.from.0.0) || activities.contains(&self.to.0.0)
    }
}

struct Taking<'a, 'b> {
    instance: &'a Instance,
    calls: u32,
    oracle: &'b mut dyn FnMut(&Instance) -> Verdict,
}

impl Taking<'_, '_> {
    fn ask(&mut self, part: &Part) -> Option<Verdict> {
        self.calls = self.calls.checked_sub(1)?;
        Some((self.oracle)(&part.built(self.instance)))
    }

    /// Whether a set is not known to fit. Out of questions, no set is said not to: what might be needed stays.
    fn clashes(&mut self, activities: &[usize]) -> bool {
        let part = Part::of(self.instance, activities);
        self.ask(&part)
            .is_some_and(|verdict| verdict != Verdict::Feasible)
    }

    /// Returns the least of `from` that clashes together with `with`; `changed` says whether `with` has grown since it
    /// was last asked about.
    fn smallest(&mut self, with: &mut Vec<usize>, from: &[usize], changed: bool) -> Vec<usize> {
        if changed && self.clashes(with) {
            return Vec::new();
        }
        if from.len() <= 1 {
            return from.to_vec();
        }
        let (first, second) = from.split_at(from.len() / 2);
        let held = with.len();
        with.extend(first);
        let of_second = self.smallest(with, second, true);
        with.truncate(held);
        with.extend(&of_second);
        let mut of_first = self.smallest(with, first, !of_second.is_empty());
        with.truncate(held);
        of_first.extend(of_second);
        of_first
    }

    /// Takes away, one after another, what is not needed for the clash.
    fn thin(&mut self, part: &mut Part, list: impl Fn(&mut Part) -> &mut Vec<usize>) {
        let mut at = 0;
        while at < list(part).len() {
            let taken = list(part).remove(at);
            let clashes = self
                .ask(part)
                .is_some_and(|verdict| verdict != Verdict::Feasible);
            if !clashes {
                list(part).insert(at, taken);
                at += 1;
            }
        }
    }
}
