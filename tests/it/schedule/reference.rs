//! The rules of an instance a third time, as predicates over minutes: what the check is itself held against.
//!
//! The check counts up what each demand covers; here each minute asks who covers it. Slow, and only for tiny
//! instances; of one activity with itself, or of an instance that is not well formed, it knows nothing.

use countback::schedule::verify::Violation;
use countback::schedule::*;

/// Returns every rule that placements break, sorted. The placements must be as many as the activities.
pub(super) fn broken(instance: &Instance, placements: &[Placement]) -> Vec<Violation> {
    let mut found = Vec::new();
    let mut hold_to = |holds: bool, violation: Violation| {
        if !holds {
            found.push(violation);
        }
    };
    let count = placements.len();
    let past = |index: usize| instance.activities[index].fixed.is_some();
    let edge = |(id, edge): (ActivityId, Edge)| match edge {
        Edge::Start => placements[id.0].start,
        Edge::End => placements[id.0].end,
    };
    for index in 0..count {
        let (activity, Placement { mode, start, end }) =
            (&instance.activities[index], placements[index]);
        let lasts = instance.end_of(&activity.modes[mode], start) == Some(end);
        if let Some((was, until)) = activity.fixed {
            let ended = until.map_or(lasts, |until| until == end);
            hold_to(was == start && ended, Violation::Fixed(index));
            continue;
        }
        let inside = instance.earliest <= start && end <= instance.latest;
        hold_to(inside, Violation::Horizon(index));
        hold_to(lasts, Violation::Duration(index));
        let released = activity.release.unwrap_or(Time::MIN) <= start;
        hold_to(released, Violation::Release(index));
        let in_time = end <= activity.deadline.unwrap_or(Time::MAX);
        hold_to(in_time, Violation::Deadline(index));
        for &(calendar, coverage) in &activity.calendars {
            let windows = &instance.calendars[calendar.0].windows;
            let fits = windows.iter().any(|&(from, to)| match coverage {
                Coverage::Start => (from..to).contains(&start),
                Coverage::End => (from..to).contains(&(end - 1)),
                Coverage::Whole if start == end => (from..=to).contains(&start),
                Coverage::Whole => (start..end).all(|minute| (from..to).contains(&minute)),
            });
            hold_to(fits, Violation::Calendar(index, calendar.0));
        }
    }
    for (index, lag) in instance.lags.iter().enumerate() {
        let range = lag.least..=lag.most.unwrap_or(Time::MAX);
        let both = past(lag.from.0.0) && past(lag.to.0.0);
        let kept = both || range.contains(&(edge(lag.to) - edge(lag.from)));
        hold_to(kept, Violation::Lag(index));
    }
    for (index, hold) in instance.holds.iter().enumerate() {
        let both = past(hold.from.0.0) && past(hold.to.0.0);
        hold_to(
            both || edge(hold.from) <= edge(hold.to),
            Violation::Hold(index),
        );
    }
    for (resource, it) in instance.resources.iter().enumerate() {
        let lacks = |minute: &Time| {
            let mut used = 0;
            let mut open = false;
            for index in 0..count {
                let mode = &instance.activities[index].modes[placements[index].mode];
                let of_it = mode
                    .demands
                    .iter()
                    .filter(|demand| demand.resource.0 == resource);
                let takes = of_it
                    .filter(|demand| covers(demand.when, placements[index], *minute))
                    .map(|demand| demand.quantity)
                    .max();
                used += takes.unwrap_or(0);
                open |= takes.is_some() && !past(index);
            }
            for hold in instance
                .holds
                .iter()
                .filter(|hold| hold.resource.0 == resource)
            {
                if (edge(hold.from)..edge(hold.to)).contains(minute) {
                    used += hold.quantity;
                    open |= !past(hold.from.0.0);
                }
            }
            open && used > it.capacity_at(*minute)
        };
        if let Some(minute) = (instance.earliest..instance.latest).find(lacks) {
            hold_to(false, Violation::Capacity(resource, minute));
        }
    }
    for (state, it) in instance.states.iter().enumerate() {
        let needs = |index: usize| {
            let mode = &instance.activities[index].modes[placements[index].mode];
            let needs = mode.states.iter().find(|need| need.0.0 == state);
            needs.map(|need| need.1)
        };
        for one in 0..count {
            for other in one + 1..count {
                let (Some(value), Some(another)) = (needs(one), needs(other)) else {
                    continue;
                };
                // As if each went on for as long as a change takes: then two that differ may not meet.
                let (a, b) = (placements[one], placements[other]);
                let meet = a.start < b.end + it.change && b.start < a.end + it.change;
                let both = past(one) && past(other);
                hold_to(
                    value == another || both || !meet,
                    Violation::State(one, other),
                );
            }
        }
    }
    found.sort_unstable();
    found
}

/// Returns whether a demand of a placed activity holds at a minute.
fn covers(when: Use, placed: Placement, minute: Time) -> bool {
    let Placement { start, end, .. } = placed;
    let inside = (start..end).contains(&minute);
    inside
        && match when {
            Use::Whole => true,
            Use::Part { anchor, from, to } => {
                let since = minute - if anchor == Anchor::Start { start } else { end };
                from <= since && since < to
            }
            Use::Every { every, length } => (1..=end - start)
                .map(|look| start + look * every)
                .any(|look| look <= minute && minute < look + length && look + length <= end),
        }
}
