//! The rules of single activities, of lags, of holds and of states.

use super::{Violation, edge, happened};
use crate::schedule::problem::{
    Activity, ActivityId, Coverage, Duration, Edge, Instance, Mode, StateId, Time,
};
use crate::schedule::solution::Placement;

/// Finds what is wrong with one activity by itself.
pub(super) fn activity(
    instance: &Instance,
    index: usize,
    activity: &Activity,
    placed: Placement,
    found: &mut Vec<Violation>,
) {
    let Some(mode) = activity.modes.get(placed.mode) else {
        found.push(Violation::Mode(index));
        return;
    };
    if let Some((start, end)) = activity.fixed {
        let ends_right = match end {
            Some(end) => placed.end == end,
            None => duration_is_right(instance, mode, placed),
        };
        if placed.start != start || !ends_right {
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
    if activity.release.is_some_and(|it| placed.start < it) {
        found.push(Violation::Release(index));
    }
    if activity.deadline.is_some_and(|it| placed.end > it) {
        found.push(Violation::Deadline(index));
    }
    for &(calendar, coverage) in &activity.calendars {
        if !fits(&instance.calendars[calendar.0].windows, coverage, placed) {
            found.push(Violation::Calendar(index, calendar.0));
        }
    }
}

fn duration_is_right(instance: &Instance, mode: &Mode, placed: Placement) -> bool {
    let (start, end) = (i64::from(placed.start), i64::from(placed.end));
    match mode.duration {
        Duration::Fixed(length) => end == start + i64::from(length),
        Duration::Until {
            gate,
            count,
            at_least,
            then,
        } => {
            let mut opened = 0;
            for opening in instance.gates[gate.0]
                .openings
                .iter()
                .copied()
                .map(i64::from)
            {
                if opening > start {
                    opened += 1;
                }
                if opened >= count.max(1) && opening >= start + i64::from(at_least) {
                    return end == opening + i64::from(then);
                }
            }
            false
        }
    }
}

fn fits(windows: &[(Time, Time)], coverage: Coverage, placed: Placement) -> bool {
    let Placement { start, end, .. } = placed;
    // One window must do: two that touch are still two.
    windows.iter().any(|&(from, to)| match coverage {
        Coverage::Start => from <= start && start < to,
        // It ends when its last minute is over; that minute must lie inside.
        Coverage::End => from < end && end <= to,
        Coverage::Whole => from <= start && end <= to,
    })
}

/// Finds the lags that do not hold.
pub(super) fn lags(instance: &Instance, placements: &[Placement], found: &mut Vec<Violation>) {
    for (index, lag) in instance.lags.iter().enumerate() {
        if happened(instance, lag.from.0) && happened(instance, lag.to.0) {
            continue;
        }
        let between = edge(placements, lag.to) - edge(placements, lag.from);
        let too_much = lag.most.is_some_and(|most| between > i64::from(most));
        if between < i64::from(lag.least) || too_much {
            found.push(Violation::Lag(index));
        }
    }
}

/// Finds the holds that end before they begin.
pub(super) fn holds(instance: &Instance, placements: &[Placement], found: &mut Vec<Violation>) {
    for (index, hold) in instance.holds.iter().enumerate() {
        if happened(instance, hold.from.0) && happened(instance, hold.to.0) {
            continue;
        }
        if edge(placements, hold.to) < edge(placements, hold.from) {
            found.push(Violation::Hold(index));
        }
    }
}

/// Finds the pairs of activities that clash over a state.
pub(super) fn states(instance: &Instance, placements: &[Placement], found: &mut Vec<Violation>) {
    for (resource, state) in instance.states.iter().enumerate() {
        // Whoever needs a state of this resource, and which; more than once where a mode names it more than once.
        let mut needs: Vec<(usize, i32)> = Vec::new();
        for (index, placed) in placements.iter().enumerate() {
            for &(needed, value) in &instance.activities[index].modes[placed.mode].states {
                if needed == StateId(resource) {
                    needs.push((index, value));
                }
            }
        }
        let change = i64::from(state.change);
        let after = |later: usize, sooner: usize| {
            edge(placements, (ActivityId(later), Edge::Start))
                >= edge(placements, (ActivityId(sooner), Edge::End)) + change
        };
        let mut clashes = Vec::new();
        for (at, &(one, value)) in needs.iter().enumerate() {
            for &(other, another) in &needs[at + 1..] {
                let apart = one != other && (after(one, other) || after(other, one));
                let past =
                    happened(instance, ActivityId(one)) && happened(instance, ActivityId(other));
                if value != another && !apart && !past {
                    clashes.push(Violation::State(one, other));
                }
            }
        }
        clashes.dedup();
        found.append(&mut clashes);
    }
}
