//! Justification by single moves, and what keeps each activity where it ends up.
//!
//! Taking one activity off and putting it back at the latest start the others allow never makes a schedule
//! worse and never makes it infeasible, whatever the demands and gaps; rebuilding a whole schedule from its
//! order may do both once demands change over time or gaps have a most.

use super::board::Board;
use super::structure::Structure;
use crate::schedule::network::Network;
use crate::schedule::problem::{ActivityId, Instance, Time};
use crate::schedule::solution::{Blocking, Placement};

/// Moves each activity as late as the others allow, until none moves, and returns where they stand.
pub(super) fn justify(mut board: Board<'_>) -> Vec<Placement> {
    let mut order: Vec<ActivityId> = (0..board.placed.len())
        .map(ActivityId)
        .filter(|&id| board.instance.activities[id.0].fixed.is_none())
        .collect();
    // Each round moves at least one activity by a minute; sixteen are plenty and bound the work.
    for _ in 0..16 {
        order.sort_by_key(|&id| {
            std::cmp::Reverse(board.placed[id.0].map_or(Time::MIN, |placed| placed.end))
        });
        let mut moved = false;
        for &activity in &order {
            moved |= push_later(&mut board, activity);
        }
        if !moved {
            break;
        }
    }
    board.placements()
}

fn push_later(board: &mut Board<'_>, activity: ActivityId) -> bool {
    let Some(stands) = board.placed[activity.0] else {
        return false;
    };
    let latest = board
        .network
        .latest_by_neighbours(
            |other| board.placed[other.0].map_or(0, |placed| placed.start),
            activity,
        )
        .min(limit(board, activity));
    if latest <= stands.start {
        return false;
    }
    let mut latest = latest;
    loop {
        board.remove(activity);
        let start = match board.latest_fit(activity, stands.start, latest) {
            Ok(placement) => placement.start,
            Err(_) => stands.start,
        };
        board.place(activity, start);
        if start <= stands.start {
            return false;
        }
        if !board.overdraws(activity) {
            return true;
        }
        latest = start - 1;
    }
}

/// Returns the latest start by the activity's own deadline, the horizon, and the holds that end at it.
fn limit(board: &Board<'_>, activity: ActivityId) -> Time {
    let instance = board.instance;
    let deadline = instance.activities[activity.0]
        .deadline
        .unwrap_or(instance.latest);
    let mut limit = board
        .network
        .latest_start(activity, deadline.min(instance.latest));
    // A start later than the end of its own hold would give back what was never taken.
    for hold in instance
        .holds
        .iter()
        .filter(|hold| hold.from.0 == activity && hold.to.0 != activity)
    {
        let Some(to) = board.placed[hold.to.0.0] else {
            continue;
        };
        let given_back = match hold.to.1 {
            crate::schedule::Edge::Start => to.start,
            crate::schedule::Edge::End => to.end,
        };
        limit = limit.min(match hold.from.1 {
            crate::schedule::Edge::Start => given_back,
            crate::schedule::Edge::End => board.network.latest_start(activity, given_back),
        });
    }
    limit
}

fn starts(placements: &[Placement]) -> Vec<Time> {
    placements.iter().map(|placed| placed.start).collect()
}

/// Returns what keeps each activity, and then each block as one, from starting a minute later with all others
/// where they are.
pub(super) fn blocking(
    instance: &Instance,
    network: &Network<'_>,
    structure: &Structure,
    placements: &[Placement],
) -> (Vec<Blocking>, Vec<Blocking>) {
    let mut starts = starts(placements);
    let earliest = starts.clone();
    let mut board = Board::new(instance, network, &earliest);
    for (index, &start) in starts.iter().enumerate() {
        if instance.activities[index].fixed.is_none() {
            board.place(ActivityId(index), start);
        }
    }
    let mut alone = vec![Blocking::Fixed; starts.len()];
    let mut as_one = alone.clone();
    for block in &structure.blocks {
        if instance.activities[block.members[0].0.0].fixed.is_some() {
            continue;
        }
        for &(id, _) in &block.members {
            board.remove(id);
            alone[id.0] = held_by(&board, &starts, id, starts[id.0] + 1);
            board.place(id, starts[id.0]);
        }
        for &(id, _) in &block.members {
            board.remove(id);
            starts[id.0] += 1;
        }
        // What holds any member holds them all.
        let held = block
            .members
            .iter()
            .map(|&(id, _)| held_by(&board, &starts, id, starts[id.0]))
            .find(|held| *held != Blocking::Horizon)
            .unwrap_or(Blocking::Horizon);
        for &(id, _) in &block.members {
            starts[id.0] -= 1;
            as_one[id.0] = held.clone();
        }
        for &(id, _) in &block.members {
            board.place(id, starts[id.0]);
        }
    }
    (alone, as_one)
}

/// Returns what keeps an activity from starting at `next`, a minute later than it does.
fn held_by(board: &Board<'_>, starts: &[Time], activity: ActivityId, next: Time) -> Blocking {
    let (instance, network) = (board.instance, board.network);
    let (end, next_end) = (
        network.end_of(activity, next - 1),
        network.end_of(activity, next),
    );
    let leaps = next_end > end + 1;
    if let Some((lag, other, most)) = network.lag_against(starts, activity, next) {
        return if leaps {
            Blocking::Gate
        } else {
            Blocking::Lag { lag, other, most }
        };
    }
    if next > limit(board, activity) {
        let deadline = instance.activities[activity.0].deadline;
        return match deadline {
            _ if leaps => Blocking::Gate,
            Some(by) if next_end > by => Blocking::Deadline,
            _ => Blocking::Horizon,
        };
    }
    if let Some((calendar, edge)) = network.calendar_against(activity, next) {
        return Blocking::Calendar { calendar, edge };
    }
    match board.latest_fit(activity, next, next) {
        Err(Some(lack)) => Blocking::Resource {
            resource: lack.resource,
            by: board.users(lack.resource, lack.at),
            at: lack.at,
        },
        // Justification stopped at its limit of rounds with a minute still to gain.
        _ => Blocking::Horizon,
    }
}
