//! Justification by single moves, and what keeps each activity where it ends up.
//!
//! Taking one block off and putting it back where it costs least among the others never makes a schedule worse
//! and never makes it infeasible, whatever the demands and gaps; rebuilding a whole schedule from its order may
//! do both once demands change over time or gaps have a most.

use super::board::{Board, Missing};
use super::seat::{self, Bounds, Look, Members, Turn};
use super::structure::{Member, Structure};
use crate::schedule::problem::{ActivityId, Edge, Time};
use crate::schedule::solution::{Blocking, Placement};

/// How much trouble justification takes.
#[derive(Clone, Copy, Debug)]
pub(super) struct Care {
    /// How often all blocks are looked at; fewer times when none moves.
    pub(super) rounds: u32,
    /// At how many starts beside the latest a block is looked at.
    pub(super) starts: usize,
}

impl Care {
    /// For a first answer, which somebody waits for and a search goes on from.
    pub(super) const FIRST: Self = Self {
        rounds: 1,
        starts: 3,
    };
    /// For one of many.
    pub(super) const QUICK: Self = Self {
        rounds: 2,
        starts: 3,
    };
    /// For one that is kept: each round moves at least one block by a minute, and sixteen are plenty.
    pub(super) const FULL: Self = Self {
        rounds: 16,
        starts: 24,
    };
}

/// Moves each block where it costs least among the others, until none moves.
pub(super) fn justify(board: &mut Board<'_>, structure: &Structure, care: Care) {
    justify_these(
        board,
        structure,
        care,
        (0..structure.blocks.len()).collect(),
    );
}

/// The same, but whatever stands where it was announced stays there.
pub(super) fn justify_the_moved(board: &mut Board<'_>, structure: &Structure, care: Care) {
    let stays = |&Member { id, .. }: &Member| {
        let told = board.instance.activities[id.0].announced;
        told.is_some() && told == board.placed[id.0].map(|placed| placed.start)
    };
    let moved = (0..structure.blocks.len())
        .filter(|&block| !structure.blocks[block].members.iter().all(stays))
        .collect();
    justify_these(board, structure, care, moved);
}

fn justify_these(board: &mut Board<'_>, structure: &Structure, care: Care, mut order: Vec<usize>) {
    for _ in 0..care.rounds {
        order.sort_by_key(|&block| {
            let id = structure.blocks[block].members[0].id;
            std::cmp::Reverse(board.placed[id.0].map_or(Time::MIN, |placed| placed.end))
        });
        let mut moved = false;
        for &block in &order {
            moved |= settle(
                board,
                &structure.blocks[block].members,
                Turn::From(0),
                care.starts,
            );
        }
        if !moved {
            break;
        }
    }
}

/// Moves a block where it costs least among the others, and as late as it can stand for that; returns whether it
/// moved.
pub(super) fn settle(board: &mut Board<'_>, members: &Members, turn: Turn, starts: usize) -> bool {
    let first = members[0].id;
    if board.instance.activities[first.0].fixed.is_some() {
        return false;
    }
    let Some(stands) = board.placed[first.0] else {
        return false;
    };
    let time = seat::time_of(members[0], stands);
    let stood: Vec<usize> = members
        .iter()
        .map(|&Member { id, .. }| board.placed[id.0].map_or(0, |placed| placed.mode))
        .collect();
    let choosy = members.iter().any(|&Member { id, .. }| {
        board.facts.is_choosy[id.0] || board.instance.activities[id.0].modes.len() > 1
    });
    if !choosy && latest_time(board, members) <= time {
        return false;
    }
    if choosy && is_best_here(board, members, time, &stood) {
        return false;
    }
    stands_better_elsewhere(board, members, (time, &stood), choosy, turn, starts)
}

/// Tries a block elsewhere, and leaves it where it costs less or comes later for the same; returns whether it moved.
fn stands_better_elsewhere(
    board: &mut Board<'_>,
    members: &Members,
    (time, stood): (Time, &[usize]),
    choosy: bool,
    turn: Turn,
    starts: usize,
) -> bool {
    let cost = board.cost;
    seat::lift(board, members);
    let ceiling = latest_time(board, members);
    let look = |board: &Board<'_>, id: ActivityId| {
        let mut bounds = bounds(board, members, id);
        if !choosy && members.len() == 1 {
            // Only a later start can be better.
            bounds.look_from = bounds.look_from.max(time);
        }
        bounds
    };
    let seated = seat::best_seat(
        board,
        members,
        ceiling,
        turn,
        Look {
            times: starts,
            whim: None,
        },
        &look,
    );
    if let Ok(at) = seated {
        if (board.cost, -at) < (cost, -time) {
            return true;
        }
        seat::lift(board, members);
    }
    seat::put(board, members, time, stood);
    false
}

/// Returns whether a block can be said to cost least where it stands without trying it anywhere else: it costs no more
/// than any place that its lags leave it would by earliness alone, and by what moving it counts once it was announced.
fn is_best_here(board: &mut Board<'_>, members: &Members, time: Time, stood: &[usize]) -> bool {
    let mut here = 0;
    for &Member { id, .. } in members {
        match board.costs_here(id) {
            Some(cost) => here += cost,
            None => return false,
        }
    }
    // Of a mode still open, the one that can start latest counts.
    for &Member { id, .. } in members {
        board.network.choose(id, None);
    }
    let ceiling = latest_time(board, members);
    let (mut at_this_time, mut elsewhere) = (0, 0);
    for &member in members {
        let id = member.id;
        let Some(placed) = board.placed[id.0] else {
            continue;
        };
        // In another mode it may end at another time and still start when it was announced.
        let item = &board.instance.activities[id.0];
        let moves = member.edge == Edge::Start || item.modes.len() == 1;
        let moved = if moves && item.announced == Some(placed.start) {
            board.instance.weights.moved
        } else {
            0
        };
        let latest = |time| seat::start_in(&board.network, member, time);
        at_this_time += board.least_cost(id, latest(time));
        elsewhere += board.least_cost(id, latest(ceiling)) + moved;
    }
    for (&Member { id, .. }, &mode) in members.iter().zip(stood) {
        board.network.choose(id, Some(mode));
    }
    // At the same cost a later place is the better one.
    here <= at_this_time && (here < elsewhere || (here == elsewhere && ceiling <= time))
}

/// Returns the latest time that a block's lags and deadlines allow with all others where they stand.
fn latest_time(board: &Board<'_>, members: &Members) -> Time {
    members
        .iter()
        .map(|member| {
            let latest = bounds(board, members, member.id).latest;
            seat::latest_time(&board.network, member, latest)
        })
        .min()
        .unwrap_or(Time::MAX)
}

/// Returns between what starts a member of a block may stand with all others where they are.
pub(super) fn bounds(board: &Board<'_>, members: &Members, id: ActivityId) -> Bounds {
    let instance = board.instance;
    let item = &instance.activities[id.0];
    // The members move together, so what one asks of another holds wherever they stand.
    let own = |other: ActivityId| members.iter().any(|member| member.id == other);
    let start_of = |other: ActivityId, otherwise: Time| {
        board.placed[other.0]
            .filter(|_| !own(other))
            .map_or(otherwise, |placed| placed.start)
    };
    let deadline = item
        .deadline
        .map_or(instance.latest, |by| by.min(instance.latest));
    let latest = board
        .network
        .latest_by_neighbours(|other| start_of(other, Time::MAX / 4), id)
        .min(board.network.latest_start(id, deadline));
    let release = item.release.unwrap_or(instance.earliest);
    let earliest = board
        .network
        .earliest_by_neighbours(|other| start_of(other, Time::MIN / 4), id)
        .max(release)
        .max(instance.earliest);
    Bounds {
        earliest,
        latest,
        look_from: earliest,
    }
}

/// Returns what keeps each activity, and then each block as one, from starting a minute later with all others
/// where they are. Every activity must stand.
pub(super) fn blocking(
    board: &mut Board<'_>,
    structure: &Structure,
) -> (Vec<Blocking>, Vec<Blocking>) {
    let placements = board.placements();
    let mut starts: Vec<Time> = placements.iter().map(|placed| placed.start).collect();
    let mut alone = vec![Blocking::Fixed; starts.len()];
    let mut as_one = alone.clone();
    let put_back = |board: &mut Board<'_>, id: ActivityId| {
        let Placement { mode, start, .. } = placements[id.0];
        board.place(id, mode, start);
    };
    for block in &structure.blocks {
        if board.instance.activities[block.members[0].id.0]
            .fixed
            .is_some()
        {
            continue;
        }
        for &Member { id, .. } in &block.members {
            let (stands, next) = (placements[id.0], starts[id.0] + 1);
            alone[id.0] = held_by_rules(board, &starts, id, stands, next).unwrap_or_else(|| {
                board.remove(id);
                let held = held_by_others(board, id, stands, next);
                put_back(board, id);
                held
            });
            as_one[id.0] = alone[id.0].clone();
        }
        if block.members.len() == 1 {
            continue;
        }
        for &Member { id, .. } in &block.members {
            board.remove(id);
            starts[id.0] += 1;
        }
        // What holds any member holds them all.
        let held = block
            .members
            .iter()
            .map(|&Member { id, .. }| {
                let (stands, next) = (placements[id.0], starts[id.0]);
                held_by_rules(board, &starts, id, stands, next)
                    .unwrap_or_else(|| held_by_others(board, id, stands, next))
            })
            .find(|held| !matches!(held, Blocking::Horizon | Blocking::Choice))
            .unwrap_or_else(|| alone[block.members[0].id.0].clone());
        for &Member { id, .. } in &block.members {
            starts[id.0] -= 1;
            as_one[id.0] = held.clone();
        }
        for &Member { id, .. } in &block.members {
            put_back(board, id);
        }
    }
    (alone, as_one)
}

/// Returns what keeps an activity from starting at `next`, a minute later than it does, whatever else stands; none
/// where only that may.
fn held_by_rules(
    board: &mut Board<'_>,
    starts: &[Time],
    activity: ActivityId,
    stands: Placement,
    next: Time,
) -> Option<Blocking> {
    let instance = board.instance;
    board.network.choose(activity, Some(stands.mode));
    let network = &board.network;
    let (end, next_end) = (stands.end, network.end_of(activity, next));
    let leaps = next_end > end + 1;
    if let Some((lag, other, most)) = network.lag_against(starts, activity, next) {
        return Some(if leaps {
            Blocking::Gate
        } else {
            Blocking::Lag { lag, other, most }
        });
    }
    let deadline = instance.activities[activity.0].deadline;
    if next_end > deadline.map_or(instance.latest, |by| by.min(instance.latest)) {
        return Some(match deadline {
            _ if leaps => Blocking::Gate,
            Some(by) if next_end > by => Blocking::Deadline,
            _ => Blocking::Horizon,
        });
    }
    let (calendar, edge) = network.calendar_against(activity, next)?;
    Some(Blocking::Calendar { calendar, edge })
}

/// Returns what keeps an activity that has been taken off from starting at `next` beside what stands.
fn held_by_others(
    board: &mut Board<'_>,
    activity: ActivityId,
    stands: Placement,
    next: Time,
) -> Blocking {
    match board.latest_fit(activity, stands.mode, next, next) {
        Err(Some(lack)) => {
            let by = board.users(lack);
            match lack.what {
                Missing::Resource(resource) => Blocking::Resource {
                    resource,
                    by,
                    at: lack.at,
                },
                Missing::State(state, _) => Blocking::State {
                    state,
                    by,
                    at: lack.at,
                },
            }
        }
        _ => Blocking::Choice,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::generate::generate;
    use crate::schedule::search::prepared::{Past, Prepared};
    use crate::schedule::{Effort, Outcome, solve};

    /// What is passed over unseen must be what would have been looked at in vain.
    #[test]
    fn what_costs_least_where_it_stands_finds_no_better_place() {
        let (mut passed_over, mut moved) = (0, 0);
        for seed in 0..8 {
            let mut instance = generate(seed, 40).0;
            // Evened out, a step costs something wherever it stands.
            instance.weights.uneven = 0;
            let Outcome::Feasible(schedule) = solve(&instance, Effort::first(&instance)) else {
                continue;
            };
            for announced in [false, true] {
                for (activity, placed) in instance.activities.iter_mut().zip(&schedule.placements) {
                    // Some were announced elsewhere.
                    let told = placed.start - i32::from(placed.start % 3 == 0);
                    activity.announced = announced.then_some(told);
                }
                let prepared = Prepared::new(&instance, &Past::new()).unwrap();
                let mut board = prepared.board_of(&schedule.placements);
                for block in prepared.to_come() {
                    let members = &prepared.structure.blocks[block].members;
                    let stands = board.placed[members[0].id.0].unwrap();
                    let time = seat::time_of(members[0], stands);
                    let stood = seat::modes_of(&board, members);
                    let best_here = is_best_here(&mut board, members, time, &stood);
                    let at = (time, stood.as_slice());
                    let turn = Turn::From(0);
                    let better = stands_better_elsewhere(&mut board, members, at, true, turn, 24);
                    assert!(!(best_here && better), "block {block} of instance {seed}");
                    passed_over += u32::from(best_here);
                    moved += u32::from(better);
                }
            }
        }
        assert!(passed_over > 40 && moved > 10, "{passed_over}, {moved}");
    }
}
