//! Where one block can be put among what stands, and where it is best put.

use super::board::{Board, Lack};
use crate::schedule::problem::{ActivityId, Edge, Time};

/// The members of a block, each with the offset of its start from the block's.
pub(super) type Members = [(ActivityId, Time)];

/// Why a block found no seat.
#[derive(Clone, Copy, Debug)]
pub(super) struct NoSeat {
    /// The member that found none.
    pub(super) activity: ActivityId,
    /// By how much it would start before its earliest start, where that is why.
    pub(super) short: Option<Time>,
    /// What was missing, where that is why.
    pub(super) lack: Option<Lack>,
}

/// Between what starts a member may stand in the mode now chosen for it: earliest, latest; and down to which
/// start to look for one at all.
pub(super) struct Bounds {
    pub(super) earliest: Time,
    pub(super) latest: Time,
    pub(super) look_from: Time,
}

/// Which of several modes is looked at first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Turn {
    /// All are; of equally good ones the first from here on is taken.
    From(usize),
    /// This one is taken wherever it fits at all.
    Rather(usize),
}

/// How often members of one block that clash are moved a minute: a day of minutes shows whether what they
/// clash over ever changes.
const MINUTES_TRIED: u32 = 1440;

/// Puts the members of a block at the latest start, no later than `ceiling`, at which all fit; returns it.
///
/// `turn` says which of several modes is looked at first.
pub(super) fn seat(
    board: &mut Board<'_>,
    members: &Members,
    ceiling: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    let seated = if let [(id, offset)] = *members {
        seat_one(board, id, ceiling + offset, turn, bounds).map(|start| start - offset)
    } else {
        seat_all(board, members, ceiling, turn, bounds)
    };
    if seated.is_err() {
        for &(id, _) in members {
            board.network.choose(id, None);
        }
    }
    seated
}

fn modes_in_turn(
    board: &Board<'_>,
    id: ActivityId,
    turn: Turn,
) -> impl Iterator<Item = usize> + use<> {
    let count = board.instance.activities[id.0].modes.len();
    let (Turn::From(first) | Turn::Rather(first)) = turn;
    (0..count).map(move |at| (at + first % count) % count)
}

/// Returns the best of an activity's modes with its latest start no later than `ceiling`.
fn latest(
    board: &mut Board<'_>,
    id: ActivityId,
    ceiling: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<(Time, usize), NoSeat> {
    let weights = board.instance.weights;
    let mut best: Option<(i64, Time, usize)> = None;
    let mut none = NoSeat {
        activity: id,
        short: None,
        lack: None,
    };
    for mode in modes_in_turn(board, id, turn) {
        board.network.choose(id, Some(mode));
        let Bounds {
            earliest,
            latest,
            look_from,
        } = bounds(board, id);
        match board.latest_fit(id, mode, look_from, latest.min(ceiling)) {
            Ok(placed) if placed.start >= earliest => {
                let item = &board.instance.activities[id.0];
                let worth = weights.early * i64::from(item.weight) * i64::from(placed.start)
                    - weights.mode * i64::from(item.modes[mode].cost);
                let better =
                    best.is_none_or(|(most, start, _)| (worth, placed.start) > (most, start));
                if better {
                    best = Some((worth, placed.start, mode));
                }
                if matches!(turn, Turn::Rather(_)) {
                    break;
                }
            }
            Ok(placed) => {
                let short = earliest - placed.start;
                none.short = Some(none.short.map_or(short, |least| least.min(short)));
            }
            Err(lack) => none.lack = none.lack.or(lack),
        }
    }
    best.map(|(_, start, mode)| (start, mode)).ok_or(none)
}

fn seat_one(
    board: &mut Board<'_>,
    id: ActivityId,
    mut ceiling: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    for _ in 0..MINUTES_TRIED {
        let (start, mode) = latest(board, id, ceiling, turn, bounds)?;
        board.place(id, mode, start);
        if !board.overdraws(id) {
            return Ok(start);
        }
        board.remove(id);
        ceiling = start - 1;
    }
    Err(NoSeat {
        activity: id,
        short: None,
        lack: None,
    })
}

fn seat_all(
    board: &mut Board<'_>,
    members: &Members,
    ceiling: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    let mut start = ceiling;
    for _ in 0..MINUTES_TRIED {
        start = agree(board, members, start, turn, bounds)?;
        let mut seated = 0;
        for &(id, offset) in members {
            let fitting = modes_in_turn(board, id, turn).find(|&mode| {
                board
                    .latest_fit(id, mode, start + offset, start + offset)
                    .is_ok()
            });
            let Some(mode) = fitting else { break };
            board.place(id, mode, start + offset);
            seated += 1;
            if board.overdraws(id) {
                break;
            }
        }
        let clash = seated < members.len() || members.iter().any(|&(id, _)| board.overdraws(id));
        if !clash {
            return Ok(start);
        }
        for &(id, _) in &members[..seated] {
            board.remove(id);
        }
        // Members that want the same thing at the same minute do so wherever the block stands, unless what
        // there is of it changes.
        start -= 1;
    }
    Err(NoSeat {
        activity: members[0].0,
        short: None,
        lack: None,
    })
}

/// Returns the latest start, no later than `start`, at which each member of a block fits by itself: each in turn
/// pulls the block to its own latest fit, until all agree.
fn agree(
    board: &mut Board<'_>,
    members: &Members,
    mut start: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    let mut agreed = 0;
    for &(id, offset) in members.iter().cycle() {
        if agreed == members.len() {
            break;
        }
        let found = latest(board, id, start + offset, turn, bounds)?.0 - offset;
        agreed = if found == start { agreed + 1 } else { 1 };
        start = found;
    }
    Ok(start)
}

/// Puts a block where it costs least of the starts looked at: the latest, and those at which something it pays
/// for changes; returns its start. `most` bounds how many starts are looked at.
pub(super) fn best_seat(
    board: &mut Board<'_>,
    members: &Members,
    ceiling: Time,
    turn: Turn,
    most: usize,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    let start = seat(board, members, ceiling, turn, bounds)?;
    if most == 0 || !members.iter().any(|&(id, _)| board.facts.is_choosy[id.0]) {
        return Ok(start);
    }
    let modes = |board: &Board<'_>| -> Vec<usize> {
        members
            .iter()
            .map(|&(id, _)| board.placed[id.0].map_or(0, |placed| placed.mode))
            .collect()
    };
    let mut best = (board.cost, start, modes(board));
    let mut tried = start;
    for cap in turning_points(board, members, start).into_iter().take(most) {
        if cap >= tried {
            continue;
        }
        lift(board, members);
        let Ok(at) = seat(board, members, cap, turn, bounds) else {
            // Nothing earlier fits either.
            put(board, members, best.1, &best.2);
            return Ok(best.1);
        };
        tried = at;
        if board.cost < best.0 {
            best = (board.cost, at, modes(board));
        }
    }
    if tried != best.1 {
        lift(board, members);
        put(board, members, best.1, &best.2);
    }
    Ok(best.1)
}

/// Puts a block at a start in given modes.
fn put(board: &mut Board<'_>, members: &Members, start: Time, modes: &[usize]) {
    for (&(id, offset), &mode) in members.iter().zip(modes) {
        board.place(id, mode, start + offset);
    }
}

/// Takes a block off the board.
pub(super) fn lift(board: &mut Board<'_>, members: &Members) {
    for &(id, _) in members {
        board.remove(id);
    }
}

/// Returns starts of a block before `start` at which what it costs turns: falling, without repeats.
fn turning_points(board: &Board<'_>, members: &Members, start: Time) -> Vec<Time> {
    let instance = board.instance;
    let mut points = Vec::new();
    for &(id, offset) in members {
        let item = &instance.activities[id.0];
        let mut by_end = |end: Time| points.push(board.network.latest_start(id, end) - offset);
        if let Some(due) = item.due {
            by_end(due);
        }
        for &index in &board.facts.wishes_of[id.0] {
            let wish = &instance.wishes[index as usize];
            let edge = |(other, edge): (ActivityId, Edge)| {
                let placed = board.placed[other.0].filter(|_| other != id)?;
                Some(if edge == Edge::Start {
                    placed.start
                } else {
                    placed.end
                })
            };
            let moments = [
                (wish.from, edge(wish.to), wish.least.map(|least| -least)),
                (wish.from, edge(wish.to), wish.most.map(|most| -most)),
                (wish.to, edge(wish.from), wish.least),
                (wish.to, edge(wish.from), wish.most),
            ];
            for (own, other, distance) in moments {
                if let (true, Some(other), Some(distance)) = (own.0 == id, other, distance) {
                    match own.1 {
                        Edge::Start => points.push(other + distance - offset),
                        Edge::End => {
                            points.push(board.network.latest_start(id, other + distance) - offset);
                        }
                    }
                }
            }
        }
        points.extend(item.announced.map(|announced| announced - offset));
        let resources = item.modes.iter().flat_map(|mode| &mode.demands);
        let mut seen: Vec<usize> = resources.map(|demand| demand.resource.0).collect();
        seen.sort_unstable();
        seen.dedup();
        for resource in seen {
            let steps = instance.resources[resource].regular.iter().flatten();
            let buckets = board.facts.levels_of[resource]
                .iter()
                .flat_map(|&level| &instance.levels[level as usize].buckets);
            let moments = steps
                .map(|&(from, _)| from)
                .chain(buckets.map(|&(from, _)| from));
            for moment in moments.filter(|&moment| moment <= start + offset) {
                points.push(board.network.latest_start(id, moment) - offset);
                points.push(moment - offset);
            }
        }
    }
    points.retain(|&point| point < start);
    points.sort_unstable_by_key(|&point| std::cmp::Reverse(point));
    points.dedup();
    points
}
