//! What is used of a resource, counted minute by minute.

use super::{Violation, edge, happened};
use crate::schedule::problem::{ActivityId, Anchor, Demand, Edge, Instance, ResourceId, Time, Use};
use crate::schedule::solution::Placement;

/// What is used of one resource at a minute.
#[derive(Clone, Copy, Debug, Default)]
struct Minute {
    /// How much.
    quantity: i64,
    /// Whether anything that is still to come uses any of it.
    to_come: bool,
}

/// What is used of one resource, from the first minute of the horizon at which anything is.
#[derive(Debug)]
pub(super) struct Used {
    since: i64,
    minutes: Vec<Minute>,
}

impl Used {
    /// Returns each minute and how much is used then; minutes left out use nothing.
    pub(super) fn quantities(&self) -> impl Iterator<Item = (i64, i64)> {
        (self.since..).zip(self.minutes.iter().map(|it| it.quantity))
    }

    fn count(&mut self, minute: i64, quantity: i32, to_come: bool) {
        let at = usize::try_from(minute - self.since).ok();
        if let Some(it) = at.and_then(|at| self.minutes.get_mut(at)) {
            it.quantity += i64::from(quantity);
            it.to_come |= to_come && quantity > 0;
        }
    }
}

/// Returns how much there is at a minute, by steps `(from, amount)` that rise in time: nothing before the first.
pub(super) fn amount_at(steps: &[(Time, i32)], minute: i64) -> i64 {
    let step = steps.iter().rfind(|&&(from, _)| i64::from(from) <= minute);
    step.map_or(0, |&(_, amount)| i64::from(amount))
}

/// Finds the resources of which more is used than there is.
pub(super) fn capacities(
    instance: &Instance,
    placements: &[Placement],
    found: &mut Vec<Violation>,
) {
    for (index, resource) in instance.resources.iter().enumerate() {
        let used = used(instance, placements, ResourceId(index));
        let lacking = (used.since..).zip(&used.minutes).find(|&(minute, it)| {
            it.to_come && it.quantity > amount_at(&resource.capacity, minute)
        });
        if let Some((minute, _)) = lacking {
            found.push(Violation::Capacity(index, minute as Time));
        }
    }
}

/// Counts what activities and holds use of a resource inside the horizon.
pub(super) fn used(instance: &Instance, placements: &[Placement], resource: ResourceId) -> Used {
    let asks = |index: usize| {
        let demands = &instance.activities[index].modes[placements[index].mode].demands;
        demands.iter().any(|demand| demand.resource == resource)
    };
    let activities: Vec<usize> = (0..placements.len()).filter(|&index| asks(index)).collect();
    let stretch = |index: usize| {
        let id = ActivityId(index);
        within(
            instance,
            edge(placements, (id, Edge::Start)),
            edge(placements, (id, Edge::End)),
        )
    };
    let holds: Vec<(i64, i64, i32, bool)> = instance
        .holds
        .iter()
        .filter(|hold| hold.resource == resource)
        .map(|hold| {
            let (from, to) = within(
                instance,
                edge(placements, hold.from),
                edge(placements, hold.to),
            );
            (from, to, hold.quantity, !happened(instance, hold.from.0))
        })
        .collect();

    let mut stretches: Vec<(i64, i64)> = activities.iter().map(|&index| stretch(index)).collect();
    stretches.extend(holds.iter().map(|&(from, to, ..)| (from, to)));
    stretches.retain(|&(from, to)| from < to);
    let since = stretches.iter().map(|it| it.0).min().unwrap_or(0);
    let until = stretches.iter().map(|it| it.1).max().unwrap_or(0);
    let mut used = Used {
        since,
        minutes: vec![Minute::default(); (until - since) as usize],
    };
    for &index in &activities {
        let demands = &instance.activities[index].modes[placements[index].mode].demands;
        let to_come = !happened(instance, ActivityId(index));
        let (from, to) = stretch(index);
        // The demands of one activity do not add up: the largest of a minute is what it uses then.
        let mut largest = vec![0; (to - from).max(0) as usize];
        for demand in demands.iter().filter(|it| it.resource == resource) {
            minutes(demand, placements[index], |minute| {
                let at = usize::try_from(minute - from).ok();
                if let Some(it) = at.and_then(|at| largest.get_mut(at)) {
                    *it = demand.quantity.max(*it);
                }
            });
        }
        for (minute, &quantity) in (from..to).zip(&largest) {
            used.count(minute, quantity, to_come);
        }
    }
    for &(from, to, quantity, to_come) in &holds {
        for minute in from..to {
            used.count(minute, quantity, to_come);
        }
    }
    used
}

/// Returns a stretch cut to the horizon.
fn within(instance: &Instance, from: i64, to: i64) -> (i64, i64) {
    (
        from.max(i64::from(instance.earliest)),
        to.min(i64::from(instance.latest)),
    )
}

/// Visits the minutes at which a demand of an activity holds.
fn minutes(demand: &Demand, placed: Placement, mut visit: impl FnMut(i64)) {
    let (start, end) = (i64::from(placed.start), i64::from(placed.end));
    match demand.when {
        Use::Whole => (start..end).for_each(visit),
        Use::Part { anchor, from, to } => {
            let zero = if anchor == Anchor::Start { start } else { end };
            let first = zero + i64::from(from);
            let after = zero + i64::from(to);
            (first.max(start)..after.min(end)).for_each(visit);
        }
        Use::Every { every, length } => {
            let (every, length) = (i64::from(every.max(1)), i64::from(length));
            let mut look = start + every;
            while look + length <= end && look < end {
                (look..look + length).for_each(&mut visit);
                look += every;
            }
        }
    }
}
