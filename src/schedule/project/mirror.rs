//! A project as an instance, and back.
//!
//! A project starts at zero and should end soon; an [`Instance`] ends at its horizon and should begin late. One
//! is the other in a mirror: what starts at `s` in the project ends `s` minutes before the horizon, so that a
//! start-to-start arc of the project is an end-to-end lag of the instance with the same length, whatever the
//! durations are. The end of the project becomes the first thing to start, and the only one whose earliness
//! costs anything.

use super::super::problem::{
    Activity, ActivityId, Demand, Duration, Edge, Instance, Lag, Mode, Resource, ResourceId, Time,
    Use, Weights,
};
use super::super::solution::{Placement, Schedule};
use super::{Answer, Project, Status};

/// An instance seen as a project.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Mirrored {
    /// The project; its makespan is what the instance's horizon has to hold.
    pub project: Project,
    /// Where the instance's first activity stands in the project.
    first: usize,
    /// How many activities the instance has.
    count: usize,
    /// The end of the instance's horizon.
    latest: Time,
    /// How long the horizon is.
    horizon: Time,
    /// What a minute of the makespan costs.
    price: i64,
}

impl Mirrored {
    /// Returns the instance's placements for the project's starts.
    pub fn placements(&self, starts: &[Time]) -> Vec<Placement> {
        let own = self.first..self.first + self.count;
        starts[own.clone()]
            .iter()
            .zip(&self.project.durations[own])
            .map(|(&start, &length)| Placement {
                mode: 0,
                start: self.latest - start - length,
                end: self.latest - start,
            })
            .collect()
    }

    /// Returns the instance's schedule for an answer to the project; `None` where it has no starts, or they do not fit
    /// the instance's horizon. What holds an activity back is not said.
    pub fn schedule(&self, answer: &Answer) -> Option<Schedule> {
        let starts = answer.starts.as_deref()?;
        (answer.makespan <= self.horizon).then(|| Schedule {
            placements: self.placements(starts),
            cost: self.price * i64::from(answer.makespan),
            bound: self.price * i64::from(answer.bound),
            ..Schedule::default()
        })
    }

    /// Returns whether an answer to the project proves that the instance has no schedule.
    pub fn is_impossible(&self, answer: &Answer) -> bool {
        answer.status == Status::Infeasible || answer.bound > self.horizon
    }
}

impl Project {
    /// Returns the project as an instance whose horizon is so many minutes and ends at zero; the activities keep
    /// their places.
    pub fn instance(&self, horizon: Time) -> Instance {
        let activity = |(at, &length): (usize, &Time)| Activity {
            modes: vec![Mode {
                duration: Duration::Fixed(length),
                demands: self.demands[at]
                    .iter()
                    .enumerate()
                    .filter(|&(_, &quantity)| quantity > 0)
                    .map(|(resource, &quantity)| Demand {
                        resource: ResourceId(resource),
                        quantity,
                        when: Use::Whole,
                    })
                    .collect(),
                states: Vec::new(),
                cost: 0,
            }],
            weight: i32::from(at + 1 == self.len()),
            ..Activity::default()
        };
        Instance {
            earliest: -horizon,
            latest: 0,
            resources: self
                .capacities
                .iter()
                .map(|&capacity| Resource {
                    capacity: vec![(-horizon, capacity)],
                    regular: None,
                })
                .collect(),
            activities: self.durations.iter().enumerate().map(activity).collect(),
            lags: self
                .arcs
                .iter()
                .map(|&(from, to, lag)| Lag {
                    from: (ActivityId(to), Edge::End),
                    to: (ActivityId(from), Edge::End),
                    least: lag,
                    most: None,
                })
                .collect(),
            weights: Weights {
                early: 1,
                ..Weights::default()
            },
            ..Instance::default()
        }
    }

    /// Returns the placements of [`instance`](Self::instance) for these starts.
    pub fn placements(&self, starts: &[Time]) -> Vec<Placement> {
        let placed = |(&start, &length): (&Time, &Time)| Placement {
            mode: 0,
            start: -start - length,
            end: -start,
        };
        starts.iter().zip(&self.durations).map(placed).collect()
    }

    /// Returns the instance as a project, or `None` where it asks anything a project cannot say: more than one
    /// mode, a capacity that changes within the horizon, a demand for part of an activity, a calendar, gate,
    /// state, hold, wish, level or fixed activity; or another aim than that the activity before all others
    /// starts late.
    ///
    /// Releases and deadlines become arcs from and to the beginning. Whether the project's schedule fits between
    /// the instance's `earliest` and `latest` is for the caller to see: its makespan says so.
    pub fn of(instance: &Instance) -> Option<Mirrored> {
        let aim = aim(instance)?;
        let horizon = instance.latest.checked_sub(instance.earliest)?;
        let mut project = Project {
            capacities: capacities(instance)?,
            ..Project::default()
        };
        let bounded = |activity: &Activity| {
            activity.release.is_some_and(|it| it > instance.earliest)
                || activity.deadline.is_some_and(|it| it < instance.latest)
        };
        for activity in &instance.activities {
            let (length, demands) = constant(activity, project.capacities.len())?;
            project.durations.push(length);
            project.demands.push(demands);
        }
        for lag in &instance.lags {
            let (from, to) = (lag.from.0.0, lag.to.0.0);
            let inset = |(id, edge): (ActivityId, Edge)| match edge {
                Edge::Start => project.durations[id.0],
                Edge::End => 0,
            };
            let least = lag.least.checked_add(inset(lag.to) - inset(lag.from))?;
            project.arcs.push((to, from, least));
            if let Some(most) = lag.most {
                let most = most.checked_add(inset(lag.to) - inset(lag.from))?;
                project.arcs.push((from, to, most.checked_neg()?));
            }
        }
        if !project.all_reach(aim) {
            return None;
        }
        let count = project.len();
        let idle =
            |at: usize| project.durations[at] == 0 && project.demands[at].iter().all(|&it| it == 0);
        let begins = count > 1 && aim != 0 && idle(0) && project.reaches_all(0);
        let ends = count > 1 && aim + 1 == count && idle(aim);
        let first = usize::from(!begins || instance.activities.iter().any(bounded));
        if first == 1 {
            project.durations.insert(0, 0);
            project.demands.insert(0, vec![0; project.capacities.len()]);
            for (from, to, _) in &mut project.arcs {
                (*from, *to) = (*from + 1, *to + 1);
            }
            for (at, activity) in instance.activities.iter().enumerate() {
                let at = at + 1;
                let deadline = activity.deadline.unwrap_or(instance.latest);
                let after = instance.latest.checked_sub(deadline)?.max(0);
                project.arcs.push((0, at, after));
                if let Some(release) = activity.release.filter(|&it| it > instance.earliest) {
                    let within = instance.latest.checked_sub(release)?;
                    let within = within.min(horizon).checked_sub(project.durations[at])?;
                    project.arcs.push((at, 0, within.checked_neg()?));
                }
            }
        }
        if !ends {
            project.durations.push(0);
            project.demands.push(vec![0; project.capacities.len()]);
            let last = project.len() - 1;
            project
                .arcs
                .push((aim + first, last, project.durations[aim + first]));
            for at in 0..last {
                if at != aim + first {
                    project.arcs.push((at, last, project.durations[at]));
                }
            }
        }
        Some(Mirrored {
            project,
            first,
            count,
            latest: instance.latest,
            horizon,
            price: instance.weights.early * i64::from(instance.activities[aim].weight),
        })
    }

    /// Returns whether the arcs alone see to it that every activity has ended when `last` has.
    pub(crate) fn all_reach(&self, last: usize) -> bool {
        self.spread(last, |&(from, to, lag)| {
            let ends = i64::from(lag) + i64::from(self.durations[to]);
            (to, from, ends >= i64::from(self.durations[from]))
        })
        .iter()
        .all(|&it| it)
    }

    /// Returns whether the arcs alone see to it that no activity starts before `first`.
    pub(crate) fn reaches_all(&self, first: usize) -> bool {
        self.spread(first, |&(from, to, lag)| (from, to, lag >= 0))
            .iter()
            .all(|&it| it)
    }

    /// Returns what is reached from an activity over the arcs that count, each as `(known, new, counts)`.
    pub(crate) fn spread(
        &self,
        from: usize,
        step: impl Fn(&(usize, usize, Time)) -> (usize, usize, bool),
    ) -> Vec<bool> {
        let mut next = vec![Vec::new(); self.len()];
        for (known, new, _) in self.arcs.iter().map(step).filter(|step| step.2) {
            next[known].push(new);
        }
        let mut reached = vec![false; self.len()];
        let mut open = vec![from];
        while let Some(at) = open.pop() {
            if !std::mem::replace(&mut reached[at], true) {
                open.extend(&next[at]);
            }
        }
        reached
    }
}

/// Returns the one activity whose earliness costs, where the instance asks for nothing else.
fn aim(instance: &Instance) -> Option<usize> {
    let plain = instance.wishes.is_empty()
        && instance.levels.is_empty()
        && instance.holds.is_empty()
        && instance.weights.early > 0;
    let mut weighted =
        (0..instance.activities.len()).filter(|&at| instance.activities[at].weight > 0);
    let aim = weighted.next()?;
    (plain && weighted.next().is_none()).then_some(aim)
}

/// Returns how much there is of each resource, where that never changes within the horizon.
fn capacities(instance: &Instance) -> Option<Vec<i32>> {
    let constant = |resource: &Resource| {
        let capacity = resource.capacity_at(instance.earliest);
        let changes = resource.capacity.iter().any(|&(from, amount)| {
            instance.earliest < from && from < instance.latest && amount != capacity
        });
        (resource.regular.is_none() && !changes && capacity >= 0).then_some(capacity)
    };
    instance.resources.iter().map(constant).collect()
}

/// Returns length and demands of an activity that always takes and needs the same.
fn constant(activity: &Activity, resources: usize) -> Option<(Time, Vec<i32>)> {
    let [mode] = activity.modes.as_slice() else {
        return None;
    };
    let Duration::Fixed(length) = mode.duration else {
        return None;
    };
    let plain = activity.calendars.is_empty()
        && activity.due.is_none()
        && activity.fixed.is_none()
        && activity.announced.is_none()
        && mode.states.is_empty()
        && mode.cost == 0
        && mode.demands.iter().all(|demand| demand.when == Use::Whole);
    let mut demands = vec![0_i32; resources];
    for demand in &mode.demands {
        let sum = demands[demand.resource.0].checked_add(demand.quantity)?;
        demands[demand.resource.0] = sum;
    }
    plain.then_some((length, demands))
}
