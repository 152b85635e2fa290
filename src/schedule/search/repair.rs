//! Keeping what was announced, as far as it can be.

use std::sync::atomic::{AtomicU64, Ordering};

use super::board::Board;
use super::eject;
use super::insert::{Insertion, Order, Standing};
use super::justify;
use super::prepared::{Prepared, looks};
use super::seat;
use super::stand::{latest_first, put, stands};
use super::structure::Member;
use super::{Effort, both, slip};
use crate::schedule::conflict::{Conflict, prove_infeasible_while};
use crate::schedule::problem::Time;

/// What became of an announced schedule.
pub(super) enum Repair<'a> {
    NothingAnnounced,
    /// There is a schedule near it.
    Done {
        board: Box<Board<'a>>,
        /// Whether everything stands where it was announced, or a little later.
        kept: bool,
    },
    /// None was found near it; whether much of it did not stand to begin with.
    NothingNear {
        far: bool,
    },
}

/// Returns a schedule near the announced one, if one is found, or a proof that there is none at all.
///
/// First as announced, then with what must move pushed later, then with what no longer fits put in anew, and if that
/// fails too, what is in its way put out (local rescheduling after Kuster, Jannach and Friedrich 2010; from memory). A
/// proof of the opposite is looked for at the same time.
pub(super) fn repair<'a>(prepared: &Prepared<'a>, effort: Effort) -> Result<Repair<'a>, Conflict> {
    let activities = &prepared.instance.activities;
    let announced: Vec<Option<Time>> = activities.iter().map(|it| it.announced).collect();
    if announced.iter().all(Option::is_none) {
        return Ok(Repair::NothingAnnounced);
    }
    if let Some(board) = as_announced(prepared, Push::Later) {
        return Ok(Repair::Done {
            board: Box::new(board),
            kept: true,
        });
    }
    let (board, far) = anew(prepared, &announced, effort)?;
    Ok(match board {
        Some(mut board) => {
            board.allow(looks(prepared.to_come().len()));
            justify::justify_the_moved(&mut board, &prepared.structure, justify::Care::FIRST);
            Repair::Done {
                board: Box::new(board),
                kept: false,
            }
        }
        None => Repair::NothingNear { far },
    })
}

/// Whether what was announced may start later than it was.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Push {
    /// It may not.
    Never,
    /// As much as what has happened, and what comes before it, force it.
    Later,
}

/// Returns the board on which everything stands where it was announced, or was pushed to, if all of that holds.
pub(super) fn as_announced<'a>(prepared: &Prepared<'a>, push: Push) -> Option<Board<'a>> {
    let instance = prepared.instance;
    let announced: Vec<Option<Time>> = instance.activities.iter().map(|it| it.announced).collect();
    let (network, first) = (&prepared.network, &prepared.first);
    let pushed = slip::pushed_on(instance, network, first, &announced);
    // What is to come and had to be pushed cannot stand where it was announced.
    let holds = pushed.as_ref().is_none_or(|pushed| {
        let mut all = instance.activities.iter().zip(announced.iter().zip(pushed));
        all.all(|(it, (told, pushed))| it.fixed.is_some() || told.is_none() || told == pushed)
    });
    let mut board = if holds {
        stands(prepared, &announced)
    } else {
        None
    };
    if board.is_none()
        && push == Push::Later
        && let Some(pushed) = &pushed
    {
        board = stands(prepared, pushed);
    }
    let mut board = board?;
    settle_the_new(prepared, &announced, &mut board);
    Some(board)
}

/// Whoever was not announced goes where it costs least; who was stays.
fn settle_the_new(prepared: &Prepared<'_>, announced: &[Option<Time>], board: &mut Board<'_>) {
    for block in prepared.to_come() {
        let members = &prepared.structure.blocks[block].members;
        let mut members_of = members.iter();
        if members_of.all(|&Member { id, .. }| announced[id.0].is_none()) {
            justify::settle(board, members, seat::Turn::From(0), 3);
        }
    }
}

/// Returns a board with as much as possible where it was announced and the rest put in anew, and whether that was much.
fn anew<'a>(
    prepared: &Prepared<'a>,
    announced: &[Option<Time>],
    effort: Effort,
) -> Result<(Option<Board<'a>>, bool), Conflict> {
    let structure = &prepared.structure;
    let mut board = prepared.board();
    board.allow(looks(prepared.to_come().len()));
    board.wary = false;
    let mut windows = (*prepared.first).clone();
    let mut standing = Standing::new(structure, &board);
    for index in latest_first(prepared, announced) {
        let block = structure.block_of[index];
        let members = &structure.blocks[block].members;
        if members[0].id.0 != index {
            continue;
        }
        windows.keep();
        let mut seated = 0;
        let fits = members.iter().all(|&Member { id, .. }| {
            let Some(start) = announced[id.0] else {
                return false;
            };
            let fits = put(&mut board, &windows, id, start).is_some();
            seated += usize::from(fits);
            fits && board.network.place(&mut windows, id, start).is_ok()
        });
        if fits {
            standing.mark(structure, block, true);
        } else {
            windows.back_to(0);
            seat::lift(&mut board, &members[..seated]);
        }
    }
    windows.keep();
    let mut blocks = prepared.to_come();
    blocks.retain(|&block| board.placed[structure.blocks[block].members[0].id.0].is_none());
    let key = |block: usize| {
        let members = structure.blocks[block].members.iter();
        members
            .map(|&Member { id, .. }| announced[id.0].unwrap_or(prepared.first.latest[id.0]))
            .max()
            .map_or(0, i64::from)
    };
    let keys: Vec<i64> = (0..structure.blocks.len()).map(key).collect();
    let far = blocks.len() > MANY;
    if !far {
        let mut insertion = Insertion {
            board: &mut board,
            windows: &mut windows,
            first: &prepared.first,
            structure,
            standing: &mut standing,
            order: Order {
                keys: &keys,
                draw: 0,
                close_first: true,
                sends_far: false,
                take_backs: effort.take_backs,
                starts: 8,
            },
        };
        if insertion.run(&blocks).is_ok() {
            return Ok((Some(board), far));
        }
    }
    // Putting out more around it and everything in again moved more, took longer and found less than working on the knot
    // itself.
    let most = 15 * blocks.len().max(64) as u64;
    Ok((untie(prepared, &board, most, effort.threads)?, far))
}

/// Puts in what does not stand and whatever that puts out, within `most` tries each time it is begun, unless that is
/// proved to be in vain.
fn untie<'a>(
    prepared: &Prepared<'a>,
    board: &Board<'a>,
    most: u64,
    threads: usize,
) -> Result<Option<Board<'a>>, Conflict> {
    // What is not untied soon mostly never is; begun again with other draws, it may be at once. Two are tried at a time:
    // the one that has it with fewer looks counts, and the other ends when it has had as many.
    let budget = looks(prepared.to_come().len());
    let least = AtomicU64::new(u64::MAX);
    let attempt = |number: u64, mut begun: Board<'a>| {
        begun.allow(budget);
        // Of two with as many looks the first counts, which goes on where the second ends.
        let more = u64::from(number.is_multiple_of(2));
        let over = |looks: u64| looks >= least.load(Ordering::Relaxed).saturating_add(more);
        let untied = eject::complete(prepared, &mut begun, 8 * number, most, &mut 0, &over);
        let looks = budget - begun.looks_left();
        untied.then(|| {
            least.fetch_min(looks, Ordering::Relaxed);
            (looks, begun)
        })
    };
    for number in (0..ATTEMPTS).step_by(2) {
        let theirs = board.clone();
        let one = || attempt(number, board.clone());
        let other = || {
            // What has been found is not impossible; what is proved impossible is not looked for.
            let wanted = || least.load(Ordering::Relaxed) == u64::MAX;
            if number == 0
                && let Some(impossible) = prove_infeasible_while(prepared.instance, &wanted)
            {
                least.store(0, Ordering::Relaxed);
                return Err(impossible);
            }
            Ok(attempt(number + 1, theirs))
        };
        let (one, other) = both(threads, one, other);
        match (one, other?) {
            (Some((looks, one)), Some((fewer, other))) => {
                return Ok(Some(if fewer < looks { other } else { one }));
            }
            (Some((_, begun)), None) | (None, Some((_, begun))) => return Ok(Some(begun)),
            (None, None) => {}
        }
    }
    Ok(None)
}

/// How often a knot is begun to be untied.
const ATTEMPTS: u64 = 6;

/// More blocks than these are not put in one after another.
const MANY: usize = 64;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::generate::generate;
    use crate::schedule::search::prepared::Past;
    use crate::schedule::search::{as_announced, starts};
    use crate::schedule::solution::Placement;
    use crate::schedule::{Outcome, solve};

    #[test]
    fn a_knot_is_untied_the_same_way_by_one_and_by_two() {
        let mut untied = 0;
        for seed in 0..12 {
            let instance = generate(seed, 60).0;
            let Outcome::Feasible(schedule) = solve(&instance, Effort::first(&instance)) else {
                continue;
            };
            let prepared = Prepared::new(&instance, &Past::new()).unwrap();
            let mut board = prepared.board_of(&schedule.placements);
            for block in prepared.to_come().into_iter().step_by(2) {
                seat::lift(&mut board, &prepared.structure.blocks[block].members);
            }
            let by = |threads| {
                let found = untie(&prepared, &board, 30, threads);
                found.unwrap().map(|board| board.placements())
            };
            let alone = by(1);
            assert_eq!(by(2), alone, "instance {seed}");
            untied += u32::from(alone.is_some());
        }
        assert!((3..12).contains(&untied), "{untied} untied");
    }

    #[test]
    fn what_was_begun_off_its_time_moves_nobody_who_can_stand() {
        let mut looked_at = 0;
        for seed in 0..6 {
            let mut instance = generate(seed, 24).0;
            let Outcome::Feasible(plan) = solve(&instance, Effort::first(&instance)) else {
                continue;
            };
            let first = (0..24).min_by_key(|&at| plan.placements[at].start).unwrap();
            for (activity, placed) in instance.activities.iter_mut().zip(&plan.placements) {
                activity.announced = Some(placed.start);
            }
            let begun = &mut instance.activities[first];
            let Placement { mode, start, .. } = plan.placements[first];
            begun.modes = vec![begun.modes.swap_remove(mode)];
            begun.fixed = Some((start, None));
            begun.announced = Some(start - 1);
            let kept = as_announced(&instance, Push::Never);
            let kept = kept.expect("all others stand where they were told");
            // Which of several equal modes is taken is not told.
            assert_eq!(starts(&kept.placements), starts(&plan.placements));
            looked_at += 1;
        }
        assert!(looked_at > 2);
    }
}
