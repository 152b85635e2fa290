//! An independent check of a schedule, minute by minute.
//!
//! It knows the instance and the placements and nothing else: no windows, no profiles, no code of the search.
//! Every rule is written here a second time in the plainest way there is, so that a fault in the clever
//! version has somewhere to show. What has already happened (a fixed activity) is held only to its fixed
//! times; rules between an activity that is still to come and one that has happened count in full.

use std::fmt;

use super::problem::{
    Anchor, Coverage, Demand, Duration, Edge, Hold, Instance, Mode, ResourceId, Time, Use,
};
use super::solution::{Placement, Schedule};

/// A rule a schedule breaks. Numbers are places in the instance.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Violation {
    /// There is not exactly one placement for each activity.
    Count,
    /// The mode does not exist.
    Mode(usize),
    /// It lies outside the instance's horizon.
    Horizon(usize),
    /// Its end is not where its duration puts it.
    Duration(usize),
    /// It does not stand where it has already happened.
    Fixed(usize),
    /// It starts before its release.
    Release(usize),
    /// It ends after its deadline.
    Deadline(usize),
    /// It does not fit a calendar: activity, calendar.
    Calendar(usize, usize),
    /// A lag does not hold.
    Lag(usize),
    /// More of a resource is used than there is at a minute: resource, minute.
    Capacity(usize, Time),
    /// Two activities need one state resource in different states, or too soon after one another.
    State(usize, usize),
    /// A hold ends before it begins.
    Hold(usize),
}

impl fmt::Display for Violation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self:?}")
    }
}

/// Returns every rule of `instance` that `schedule` breaks; none when it is right.
pub fn verify(instance: &Instance, schedule: &Schedule) -> Vec<Violation> {
    let placements = &schedule.placements;
    if placements.len() != instance.activities.len() {
        return vec![Violation::Count];
    }
    let mut found = Vec::new();
    for (index, &placed) in placements.iter().enumerate() {
        activity(instance, index, placed, &mut found);
    }
    if found
        .iter()
        .any(|violation| matches!(violation, Violation::Mode(_)))
    {
        return found;
    }
    lags(instance, placements, &mut found);
    resources(instance, placements, &mut found);
    states(instance, placements, &mut found);
    found
}

fn activity(instance: &Instance, index: usize, placed: Placement, found: &mut Vec<Violation>) {
    let activity = &instance.activities[index];
    let Some(mode) = activity.modes.get(placed.mode) else {
        found.push(Violation::Mode(index));
        return;
    };
    if let Some((start, end)) = activity.fixed {
        let right = placed.start == start
            && match end {
                Some(end) => placed.end == end,
                None => duration_is_right(instance, mode, placed),
            };
        if !right {
            found.push(Violation::Fixed(index));
        }
        return;
    }
    if placed.start < instance.earliest || placed.end > instance.latest {
        found.push(Violation::Horizon(index));
    }
    if !duration_is_right(instance, mode, placed) {
        found.push(Violation::Duration(index));
    }
    if activity
        .release
        .is_some_and(|release| placed.start < release)
    {
        found.push(Violation::Release(index));
    }
    if activity
        .deadline
        .is_some_and(|deadline| placed.end > deadline)
    {
        found.push(Violation::Deadline(index));
    }
    for &(calendar, coverage) in &activity.calendars {
        let open = |minute: Time| {
            instance.calendars[calendar.0]
                .windows
                .iter()
                .any(|&(from, to)| from <= minute && minute < to)
        };
        let fits = match coverage {
            Coverage::Start => open(placed.start),
            // It ends when its last minute is over; that minute must lie inside.
            Coverage::End => open(placed.end - 1),
            Coverage::Whole if placed.start == placed.end => instance.calendars[calendar.0]
                .windows
                .iter()
                .any(|&(from, to)| from <= placed.start && placed.start <= to),
            // One window must hold it all: touching windows are still two.
            Coverage::Whole => instance.calendars[calendar.0]
                .windows
                .iter()
                .any(|&(from, to)| {
                    (placed.start..placed.end).all(|minute| from <= minute && minute < to)
                }),
        };
        if !fits {
            found.push(Violation::Calendar(index, calendar.0));
        }
    }
}

fn duration_is_right(instance: &Instance, mode: &Mode, placed: Placement) -> bool {
    match mode.duration {
        Duration::Fixed(length) => placed.end == placed.start + length,
        Duration::Until {
            gate,
            count,
            at_least,
            then,
        } => {
            let mut passed = 0;
            for &opening in &instance.gates[gate.0].openings {
                if opening > placed.start {
                    passed += 1;
                }
                if passed >= count.max(1) && opening >= placed.start + at_least {
                    return placed.end == opening + then;
                }
            }
            false
        }
    }
}

fn edge(placements: &[Placement], (activity, edge): (super::ActivityId, Edge)) -> Time {
    match edge {
        Edge::Start => placements[activity.0].start,
        Edge::End => placements[activity.0].end,
    }
}

fn lags(instance: &Instance, placements: &[Placement], found: &mut Vec<Violation>) {
    for (index, lag) in instance.lags.iter().enumerate() {
        let happened = |activity: usize| instance.activities[activity].fixed.is_some();
        if happened(lag.from.0.0) && happened(lag.to.0.0) {
            continue;
        }
        let between = edge(placements, lag.to) - edge(placements, lag.from);
        if between < lag.least || lag.most.is_some_and(|most| between > most) {
            found.push(Violation::Lag(index));
        }
    }
}

/// Returns what one activity uses of a resource at a minute: the largest of its demands.
fn use_at(demands: &[Demand], placed: Placement, resource: ResourceId, minute: Time) -> i32 {
    let in_use = |demand: &&Demand| {
        if demand.resource != resource || minute < placed.start || minute >= placed.end {
            return false;
        }
        match demand.when {
            Use::Whole => true,
            Use::Part { anchor, from, to } => {
                let zero = if anchor == Anchor::Start {
                    placed.start
                } else {
                    placed.end
                };
                zero + from <= minute && minute < zero + to
            }
            Use::Every { every, length } => {
                let since = minute - placed.start;
                let look = since - since % every;
                look > 0 && since - look < length && placed.start + look + length <= placed.end
            }
        }
    };
    demands
        .iter()
        .filter(in_use)
        .map(|demand| demand.quantity)
        .max()
        .unwrap_or(0)
}

fn resources(instance: &Instance, placements: &[Placement], found: &mut Vec<Violation>) {
    let kept = |hold: &Hold| (edge(placements, hold.from), edge(placements, hold.to));
    for (index, hold) in instance.holds.iter().enumerate() {
        let (from, to) = kept(hold);
        if to < from {
            found.push(Violation::Hold(index));
        }
    }
    for resource in 0..instance.resources.len() {
        let id = ResourceId(resource);
        let length = usize::try_from(instance.latest - instance.earliest).unwrap_or(0);
        // How much is used at each minute, and whether anything still to come uses any of it.
        let mut used = vec![(0_i32, false); length];
        let mut count = |minute: Time, quantity: i32, to_come: bool| {
            let at = usize::try_from(minute - instance.earliest)
                .ok()
                .and_then(|at| used.get_mut(at));
            if let Some((total, open)) = at {
                *total += quantity;
                *open |= to_come && quantity > 0;
            }
        };
        for (index, placed) in placements.iter().enumerate() {
            let activity = &instance.activities[index];
            let demands = &activity.modes[placed.mode].demands;
            if demands.iter().any(|demand| demand.resource == id) {
                for minute in placed.start..placed.end {
                    count(
                        minute,
                        use_at(demands, *placed, id, minute),
                        activity.fixed.is_none(),
                    );
                }
            }
        }
        for hold in instance.holds.iter().filter(|hold| hold.resource == id) {
            let (from, to) = kept(hold);
            let to_come = instance.activities[hold.from.0.0].fixed.is_none();
            for minute in from..to {
                count(minute, hold.quantity, to_come);
            }
        }
        for (at, &(total, to_come)) in used.iter().enumerate() {
            let minute = instance.earliest + at as Time;
            if to_come && total > instance.resources[resource].capacity_at(minute) {
                found.push(Violation::Capacity(resource, minute));
                break;
            }
        }
    }
}

fn states(instance: &Instance, placements: &[Placement], found: &mut Vec<Violation>) {
    for (resource, state) in instance.states.iter().enumerate() {
        let needs: Vec<(usize, i32, Placement)> = placements
            .iter()
            .enumerate()
            .filter_map(|(index, placed)| {
                let states = &instance.activities[index].modes[placed.mode].states;
                let (_, value) = states.iter().find(|(id, _)| id.0 == resource)?;
                Some((index, *value, *placed))
            })
            .collect();
        for (at, one) in needs.iter().enumerate() {
            for other in &needs[at + 1..] {
                let apart = other.2.start >= one.2.end + state.change
                    || one.2.start >= other.2.end + state.change;
                let fixed = |index: usize| instance.activities[index].fixed.is_some();
                if one.1 != other.1 && !apart && !(fixed(one.0) && fixed(other.0)) {
                    found.push(Violation::State(one.0, other.0));
                }
            }
        }
    }
}
