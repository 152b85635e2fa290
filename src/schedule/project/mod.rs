//! Projects: the part of the model in which nothing changes over time.
//!
//! The published instances ask one question, the shortest makespan of activities with constant durations, demands
//! and capacities and start-to-start lags; read backward it is "how late can all of this start?". What an
//! [`Instance`](super::Instance) can ask is wider, and is answered by [`search`](super::search); this kernel is
//! leaner, because it has less to look after.
//!
//! # Reading order
//! Here stand the project, what can be read off it at once, and the plain check of an answer; [`mirror`] leads to
//! the general instance and back. Projects without maximum lags: `room` keeps the resources over time, `serial`
//! builds schedules, `breeding` makes new ones of old ones, `islands` is the search. Projects with them have a
//! kernel of their own in [`lags`]. For both, [`bound`] says how good a schedule can be, [`exact`] proves it where it
//! can, and `together` lets all of them work side by side.

pub mod bound;
mod breeding;
pub mod exact;
mod islands;
pub mod lags;
pub mod mirror;
mod random;
mod room;
mod serial;
mod together;

use super::problem::Time;

/// A project: activities with constant demands, start-to-start lags, constant capacities.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Project {
    /// Minutes each activity takes. The first and the last activity are the beginning and the end: they take
    /// nothing, need nothing, and lie before and after all others.
    pub durations: Vec<Time>,
    /// What each activity uses of each resource while it lasts: one row for each activity.
    pub demands: Vec<Vec<i32>>,
    /// How much there is of each resource.
    pub capacities: Vec<i32>,
    /// `(from, to, lag)`: `to` starts no earlier than `lag` minutes after `from` starts. A negative lag is a
    /// maximum, reversed.
    pub arcs: Vec<(usize, usize, Time)>,
}

/// What a list of starts breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Fault {
    /// There is not one start for each activity.
    Count,
    /// This activity starts before the beginning.
    Early(usize),
    /// This arc, by its place in [`Project::arcs`], is shorter than its lag.
    Arc(usize),
    /// More of a resource is used than there is.
    Resource {
        /// Which.
        resource: usize,
        /// A minute in which it is.
        at: Time,
    },
}

/// What a solver can say of a project.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Status {
    /// The starts are proved best.
    Optimal,
    /// The starts keep every rule; better ones may exist.
    Feasible,
    /// Proved that there are none.
    Infeasible,
    /// None found, nothing proved.
    Unknown,
}

/// The answer of a solver.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// A start for each activity, where any were found.
    pub starts: Option<Vec<Time>>,
    /// The start of the last activity; [`Time::MAX`] without starts.
    pub makespan: Time,
    /// No schedule is shorter than this.
    pub bound: Time,
    /// What is proved.
    pub status: Status,
    /// How many schedules were built to find it; one pass over all activities is one schedule.
    pub schedules: u64,
}

/// How far a solver may go.
#[derive(Clone, Copy)]
pub struct Limits<'a> {
    /// How many schedules may be built at most; the answer then depends on nothing but this and the seed.
    pub schedules: Option<u64>,
    /// How many threads may work.
    pub threads: usize,
    /// Where random numbers begin.
    pub seed: u64,
    /// Whether to stop; asked now and then, about every thousand schedules of short projects.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

/// Returns the shortest schedule found within the limits, and what is proved of it.
///
/// Where the number of schedules is limited, they are all there is: nothing is spent on proofs but what is quick.
/// Otherwise the search for schedules and the search for a proof take turns, or a thread each.
pub fn solve(project: &Project, limits: &Limits) -> Answer {
    if project.is_empty() {
        return Answer::of(Vec::new(), 0, 0, 0);
    }
    let Some(bound) = bound::quick(project) else {
        return Answer::none(Status::Infeasible, Time::MAX, 0);
    };
    let answer = match project.order() {
        Some(order) => together::solve(
            project,
            islands::Colony::new(project, &order, bound, limits),
            limits,
        ),
        None if limits.schedules.is_some() => lags::solve(project, limits),
        None => together::solve(project, together::Lags::new(project, limits), limits),
    };
    // What leaves is checked plainly, whoever found it.
    match &answer.starts {
        Some(starts) if project.verify(starts).is_some() => {
            Answer::none(Status::Unknown, answer.bound, answer.schedules)
        }
        _ => answer,
    }
}

impl Answer {
    fn none(status: Status, bound: Time, schedules: u64) -> Self {
        Self {
            starts: None,
            makespan: Time::MAX,
            bound,
            status,
            schedules,
        }
    }

    fn of(starts: Vec<Time>, makespan: Time, bound: Time, schedules: u64) -> Self {
        Self {
            starts: Some(starts),
            makespan,
            bound,
            status: if bound >= makespan {
                Status::Optimal
            } else {
                Status::Feasible
            },
            schedules,
        }
    }
}

impl Project {
    /// Returns how many activities there are, the beginning and the end among them.
    pub fn len(&self) -> usize {
        self.durations.len()
    }

    /// Returns whether there is no activity at all.
    pub fn is_empty(&self) -> bool {
        self.durations.is_empty()
    }

    /// Returns the earliest start of each activity if there were enough of every resource, or `None` where the
    /// lags contradict one another.
    pub fn critical_path(&self) -> Option<Vec<Time>> {
        let mut starts = vec![0; self.len()];
        // No path without a circle is longer than all lags together; what is longer grows for ever.
        let all: i64 = self.arcs.iter().map(|arc| i64::from(arc.2.max(0))).sum();
        // After as many rounds as there are activities, one that still grows goes round a circle, too.
        for _ in 0..=self.len() {
            let mut grew = false;
            for &(from, to, lag) in &self.arcs {
                let least = i64::from(starts[from]) + i64::from(lag);
                if i64::from(starts[to]) < least {
                    if least > all {
                        return None;
                    }
                    starts[to] = Time::try_from(least).ok()?;
                    grew = true;
                }
            }
            if !grew {
                return Some(starts);
            }
        }
        None
    }

    /// Returns the length of the critical path, or `None` where the lags contradict one another.
    pub fn critical_path_length(&self) -> Option<Time> {
        Some(self.critical_path()?.last().copied().unwrap_or(0))
    }

    /// Returns the activities in an order in which every arc leads onward (of those that may come next, the
    /// smallest first), or `None` where the arcs go round in a circle.
    pub fn order(&self) -> Option<Vec<usize>> {
        let mut before = vec![0_usize; self.len()];
        let mut after = vec![Vec::new(); self.len()];
        for &(from, to, _) in &self.arcs {
            before[to] += 1;
            after[from].push(to);
        }
        let mut ready: std::collections::BTreeSet<usize> =
            (0..self.len()).filter(|&it| before[it] == 0).collect();
        let mut order = Vec::with_capacity(self.len());
        while let Some(next) = ready.pop_first() {
            order.push(next);
            for &to in &after[next] {
                before[to] -= 1;
                if before[to] == 0 {
                    ready.insert(to);
                }
            }
        }
        (order.len() == self.len()).then_some(order)
    }

    /// Returns whether an activity can come too late for another: whether the arcs go round in a circle. Where
    /// they do not, every activity can wait as long as it likes, and a schedule exists whenever each demand
    /// alone is met.
    pub fn has_maximum_lags(&self) -> bool {
        self.order().is_none()
    }

    /// Returns what the starts break first, checked the plain way; `None` where they keep every rule.
    pub fn verify(&self, starts: &[Time]) -> Option<Fault> {
        if starts.len() != self.len() {
            return Some(Fault::Count);
        }
        if let Some(early) = starts.iter().position(|&start| start < 0) {
            return Some(Fault::Early(early));
        }
        let kept = |&(from, to, lag): &(usize, usize, Time)| {
            i64::from(starts[to]) >= i64::from(starts[from]) + i64::from(lag)
        };
        if let Some(arc) = self.arcs.iter().position(|arc| !kept(arc)) {
            return Some(Fault::Arc(arc));
        }
        // What is used only rises where something starts.
        for (resource, &capacity) in self.capacities.iter().enumerate() {
            for &at in starts {
                let used: i64 = (0..self.len())
                    .filter(|&it| starts[it] <= at && at - starts[it] < self.durations[it])
                    .map(|it| i64::from(self.demands[it][resource]))
                    .sum();
                if used > i64::from(capacity) {
                    return Some(Fault::Resource { resource, at });
                }
            }
        }
        None
    }
}
