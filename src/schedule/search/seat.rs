//! Where one block can be put among what stands, and where it is best put.

use super::board::{Board, Lack};
use super::structure::Member;
use crate::schedule::network::Network;
use crate::schedule::problem::{ActivityId, Duration, Edge, Time};
use crate::schedule::solution::Placement;

/// The members of a block.
pub(super) type Members = [Member];

/// Returns where a block stands by where one of its members does.
pub(super) fn time_of(member: Member, placed: Placement) -> Time {
    let edge = match member.edge {
        Edge::Start => placed.start,
        Edge::End => placed.end,
    };
    edge - member.offset
}

/// Returns the latest time a block may stand at when a member starts no later than `start` in any mode.
pub(super) fn latest_time(network: &Network<'_>, member: &Member, start: Time) -> Time {
    let edge = match member.edge {
        Edge::Start => start,
        Edge::End => network.latest_end_of(member.id, start),
    };
    edge.saturating_sub(member.offset)
}

/// Returns when a member starts, in the mode now chosen for it, in a block that stands at `time`.
pub(super) fn start_in(network: &Network<'_>, member: Member, time: Time) -> Time {
    let edge = time.saturating_add(member.offset);
    match member.edge {
        Edge::Start => edge,
        Edge::End => network.latest_start(member.id, edge),
    }
}

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

/// Puts a block at the latest time, no later than `ceiling`, at which all its members fit; returns it.
///
/// `turn` says which of several modes is looked at first.
pub(super) fn seat(
    board: &mut Board<'_>,
    members: &Members,
    ceiling: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    board.lacked = None;
    let seated = if let [member] = *members {
        seat_one(board, member, ceiling, turn, bounds)
    } else {
        seat_all(board, members, ceiling, turn, bounds)
    };
    if seated.is_err() {
        for &Member { id, .. } in members {
            board.network.choose(id, None);
        }
    }
    // What kept a block from standing later is more use than what kept it from standing nowhere at all.
    seated.map_err(|none| NoSeat {
        lack: board.lacked.or(none.lack),
        ..none
    })
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

/// Returns the best of a member's modes with the latest time of the block, no later than `ceiling`.
fn latest(
    board: &mut Board<'_>,
    member: Member,
    ceiling: Time,
    turn: Turn,
    alone: bool,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<(Time, usize), NoSeat> {
    let (id, weights) = (member.id, board.instance.weights);
    let mut best: Option<((i64, i64), Time, usize)> = None;
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
        let ceiling = start_in(&board.network, member, ceiling);
        match board.latest_fit(id, mode, look_from, latest.min(ceiling)) {
            Ok(placed) if placed.start >= earliest => {
                let item = &board.instance.activities[id.0];
                let worth = weights.early * i64::from(item.weight) * i64::from(placed.start)
                    - weights.mode * i64::from(item.modes[mode].cost);
                let time = time_of(member, placed);
                // A member that pulls the whole block earlier costs all of them.
                let key = if alone {
                    (worth, i64::from(time))
                } else {
                    (i64::from(time), worth)
                };
                if best.is_none_or(|(most, ..)| key > most) {
                    best = Some((key, time, mode));
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
    best.map(|(_, time, mode)| (time, mode)).ok_or(none)
}

fn seat_one(
    board: &mut Board<'_>,
    member: Member,
    mut ceiling: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    for _ in 0..MINUTES_TRIED {
        let (time, mode) = latest(board, member, ceiling, turn, true, bounds)?;
        put(board, &[member], time, &[mode]);
        if !board.overdraws(member.id) {
            return Ok(time);
        }
        board.remove(member.id);
        ceiling = time - 1;
    }
    Err(NoSeat {
        activity: member.id,
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
    let mut time = ceiling;
    for _ in 0..MINUTES_TRIED {
        time = agree(board, members, time, turn, bounds)?;
        let mut seated = 0;
        for &member in members {
            let id = member.id;
            let seats = modes_in_turn(board, id, turn)
                .any(|mode| seats_at(board, members.len() == 1, member, time, mode, bounds));
            if !seats {
                break;
            }
            seated += 1;
            if board.overdraws(id) {
                break;
            }
        }
        let overdrawn = |&Member { id, .. }: &Member| board.overdraws(id);
        if seated == members.len() && !members.iter().any(overdrawn) {
            return Ok(time);
        }
        let modes = modes_of(board, &members[..seated]);
        lift(board, &members[..seated]);
        // What is lacking for all of them together says how far to go; where nothing is, what they keep does
        // not fit, and a minute is as far as is safe.
        time = together(board, members, &modes, time).unwrap_or(time - 1);
    }
    Err(NoSeat {
        activity: members[0].id,
        short: None,
        lack: None,
    })
}

/// Returns the latest time before `time` that could clear what members in these modes lack together; `None`
/// when they lack nothing, or when how far to go cannot be said.
fn together(board: &mut Board<'_>, members: &Members, modes: &[usize], time: Time) -> Option<Time> {
    let mut uses: Vec<(usize, Time, Time, i32)> = Vec::new();
    for (at, &member) in members.iter().enumerate() {
        let id = member.id;
        let item = &board.instance.activities[id.0];
        // What is used around the end of a wait does not move with its start; with a mode still open nothing is
        // sure.
        let mode = match modes.get(at) {
            Some(&mode) => mode,
            None if item.modes.len() == 1 => 0,
            None => return None,
        };
        if matches!(item.modes[mode].duration, Duration::Until { .. }) {
            return None;
        }
        board.network.choose(id, Some(mode));
        let start = start_in(&board.network, member, time);
        let placed = Placement {
            mode,
            start,
            end: board.network.end_of(id, start),
        };
        board.facts.each_segment(id, placed, |segment| {
            uses.push((
                segment.resource.0,
                segment.from,
                segment.to,
                segment.quantity,
            ));
            true
        });
        board.network.choose(id, None);
    }
    uses.sort_unstable();
    let mut next: Option<Time> = None;
    for group in uses.chunk_by(|one, other| one.0 == other.0) {
        let mut cuts: Vec<Time> = group.iter().flat_map(|it| [it.1, it.2]).collect();
        cuts.sort_unstable();
        cuts.dedup();
        for pair in cuts.windows(2) {
            let covering = group.iter().filter(|it| it.1 <= pair[0] && pair[1] <= it.2);
            let quantity: i32 = covering.map(|it| it.3).sum();
            if quantity > 0
                && let Some(at) = board.first_lack(group[0].0, pair[0], pair[1], quantity)
            {
                let clear = time - (pair[1] - at);
                next = Some(next.map_or(clear, |least| least.min(clear)));
            }
        }
    }
    next
}

/// Returns the latest time of a block, no later than `time`, at which each member fits by itself: each in turn
/// pulls the block to its own latest fit, until all agree.
fn agree(
    board: &mut Board<'_>,
    members: &Members,
    mut time: Time,
    turn: Turn,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    let mut agreed = 0;
    for &member in members.iter().cycle() {
        if agreed == members.len() {
            break;
        }
        let found = latest(board, member, time, turn, false, bounds)?.0;
        agreed = if found == time { agreed + 1 } else { 1 };
        time = found;
    }
    Ok(time)
}

/// How a block is put where it is best put.
#[derive(Clone, Copy, Debug)]
pub(super) struct Look {
    /// How many times beside the latest are looked at.
    pub(super) times: usize,
    /// Where this is drawn, one of those looked at is taken, and not the best: what it leaves to others may be worth
    /// more.
    pub(super) whim: Option<u64>,
}

/// Puts a block where it costs least of the times looked at: the latest, those at which something it pays for
/// changes, and those around the best of them; returns its time.
pub(super) fn best_seat(
    board: &mut Board<'_>,
    members: &Members,
    ceiling: Time,
    turn: Turn,
    look: Look,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Result<Time, NoSeat> {
    let before = board.cost;
    let start = seat(board, members, ceiling, turn, bounds)?;
    let choosy = |&Member { id, .. }: &Member| board.facts.is_choosy[id.0];
    if look.times == 0 || !members.iter().any(choosy) {
        return Ok(start);
    }
    // What an earlier time costs at least is not said where what is kept counts, nor where a member that is tied by
    // its end may start later there, in a shorter mode.
    let unsaid = |&Member { id, edge, .. }: &Member| {
        let modes = board.instance.activities[id.0].modes.len();
        board.facts.keeps_counted[id.0] || (edge == Edge::End && modes > 1)
    };
    if look.whim.is_none() && !members.iter().any(unsaid) {
        // Where it costs nothing but its earliness, no earlier time costs less.
        let starts = members.iter().filter_map(|&Member { id, .. }| {
            let placed = board.placed[id.0]?;
            Some(board.least_cost(id, placed.start))
        });
        if board.cost - before <= starts.sum() {
            return Ok(start);
        }
    }
    let mut seats = vec![(board.cost, start, modes_of(board, members))];
    let points = turning_points(board, members, start, bounds);
    // The times nearest to the latest are the likeliest; of the others some are looked at all the same.
    let stride = points.len().div_ceil(look.times).max(1);
    let near = points.len().min(look.times.div_ceil(2));
    let far = points[near..].iter().step_by(stride);
    for &cap in points[..near].iter().chain(far) {
        if seats.last().is_some_and(|&(_, tried, _)| cap >= tried) {
            continue;
        }
        lift(board, members);
        let Ok(at) = seat(board, members, cap, turn, bounds) else {
            // Nothing earlier fits either; the last one tried is put back, to be lifted again below.
            if let Some((_, at, modes)) = seats.last() {
                put(board, members, *at, modes);
            }
            break;
        };
        seats.push((board.cost, at, modes_of(board, members)));
    }
    let chosen = match look.whim {
        Some(draw) => draw as usize % seats.len(),
        None => (0..seats.len())
            .min_by_key(|&at| (seats[at].0, std::cmp::Reverse(seats[at].1)))
            .unwrap_or(0),
    };
    let (cost, mut time, modes) = seats.swap_remove(chosen);
    lift(board, members);
    put(board, members, time, &modes);
    if look.whim.is_none() && look.times > CLOSE {
        time = around(board, members, (cost, time, modes), ceiling, bounds);
    }
    Ok(time)
}

/// From how many times on a block is also looked at around the best of them.
const CLOSE: usize = 4;

/// Moves a block by less and less to either side of where it stands as long as it costs less; returns its time.
fn around(
    board: &mut Board<'_>,
    members: &Members,
    (mut cost, mut time, modes): (i64, Time, Vec<usize>),
    ceiling: Time,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Time {
    let mut step = 32;
    while step > 0 {
        let mut moved = false;
        for next in [time + step, time - step] {
            if next > ceiling {
                continue;
            }
            lift(board, members);
            if stands(board, members, next, &modes, bounds) && board.cost < cost {
                (cost, time, moved) = (board.cost, next, true);
                break;
            }
            lift(board, members);
            put(board, members, time, &modes);
        }
        if !moved {
            step /= 2;
        }
    }
    time
}

/// Puts a block at just this time in these modes; returns whether it fits there. Some of it may stand when it does
/// not.
pub(super) fn stands(
    board: &mut Board<'_>,
    members: &Members,
    time: Time,
    modes: &[usize],
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> bool {
    let all = members
        .iter()
        .zip(modes)
        .all(|(&member, &mode)| seats_at(board, members.len() == 1, member, time, mode, bounds));
    all && !members.iter().any(|&Member { id, .. }| board.overdraws(id))
}

/// Puts one member of a block where the block stands, in this mode; returns whether it fits there, beside the members
/// that stand too: a member tied by one edge alone has the other elsewhere in a longer mode, and what is asked of that
/// may then not hold. `alone` where there are none beside it.
fn seats_at(
    board: &mut Board<'_>,
    alone: bool,
    member: Member,
    time: Time,
    mode: usize,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> bool {
    let id = member.id;
    board.network.choose(id, Some(mode));
    let start = start_in(&board.network, member, time);
    let Bounds {
        earliest, latest, ..
    } = bounds(board, id);
    let fits = (earliest..=latest).contains(&start)
        && latest_time(&board.network, &member, start) == time
        && board.latest_fit(id, mode, start, start).is_ok();
    if !fits {
        board.network.choose(id, None);
        return false;
    }
    board.place(id, mode, start);
    if !alone && !board.against(id).is_empty() {
        board.remove(id);
        return false;
    }
    true
}

pub(super) fn modes_of(board: &Board<'_>, members: &Members) -> Vec<usize> {
    let mode = |&Member { id, .. }: &Member| board.placed[id.0].map_or(0, |placed| placed.mode);
    members.iter().map(mode).collect()
}

/// Puts a block at a time in given modes.
pub(super) fn put(board: &mut Board<'_>, members: &Members, time: Time, modes: &[usize]) {
    for (&member, &mode) in members.iter().zip(modes) {
        board.network.choose(member.id, Some(mode));
        let start = start_in(&board.network, member, time);
        board.place(member.id, mode, start);
    }
}

/// Takes a block off the board.
pub(super) fn lift(board: &mut Board<'_>, members: &Members) {
    for &Member { id, .. } in members {
        board.remove(id);
    }
}

/// Returns starts of a block before `start` at which what it costs turns: falling, without repeats.
fn turning_points(
    board: &Board<'_>,
    members: &Members,
    start: Time,
    bounds: &dyn Fn(&Board<'_>, ActivityId) -> Bounds,
) -> Vec<Time> {
    let instance = board.instance;
    let mut points = Vec::new();
    for member in members {
        let id = member.id;
        let item = &instance.activities[id.0];
        let by_start = |start: Time| latest_time(&board.network, member, start);
        let by_end = |end: Time| match member.edge {
            Edge::Start => board.network.latest_start(id, end) - member.offset,
            Edge::End => end - member.offset,
        };
        // What is wanted may be earlier than can be: as early as can be is then the best there is.
        points.push(by_start(bounds(board, id).earliest));
        if let Some(due) = item.due {
            points.push(by_end(due));
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
                    points.push(match own.1 {
                        Edge::Start => by_start(other + distance),
                        Edge::End => by_end(other + distance),
                    });
                }
            }
        }
        points.extend(item.announced.map(by_start));
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
            for moment in moments {
                points.push(by_end(moment));
                points.push(by_start(moment));
            }
        }
    }
    points.retain(|&point| point < start);
    points.sort_unstable_by_key(|&point| std::cmp::Reverse(point));
    points.dedup();
    points
}
