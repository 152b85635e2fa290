//! Keeping what was announced, as far as it can be.

use std::sync::atomic::{AtomicBool, Ordering};

use super::board::Board;
use super::eject;
use super::insert::{Insertion, Order, Standing};
use super::justify;
use super::prepared::{Prepared, looks};
use super::seat;
use super::stand::{latest_first, put, stands};
use super::structure::Member;
use super::{Effort, both, slip};
use crate::schedule::conflict::{Conflict, prove_infeasible};
use crate::schedule::problem::{ActivityId, Time};
use crate::schedule::solution::Placement;

/// What became of an announced schedule.
pub(super) enum Repair {
    NothingAnnounced,
    /// There is a schedule near it.
    Done {
        placements: Vec<Placement>,
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
/// First as announced, then with what must move pushed later, then with as few blocks as possible put in anew
/// (local rescheduling after Kuster, Jannach and Friedrich 2010; from memory): those that no longer fit, then
/// also those in their way, in ever wider circles. All of that takes little; only then is a proof of the opposite
/// looked for, and if there is none either, the knot worked on where it is.
pub(super) fn repair(prepared: &Prepared<'_>, effort: Effort) -> Result<Repair, Conflict> {
    let activities = &prepared.instance.activities;
    let announced: Vec<Option<Time>> = activities.iter().map(|it| it.announced).collect();
    if announced.iter().all(Option::is_none) {
        return Ok(Repair::NothingAnnounced);
    }
    if let Some(placements) = as_announced(prepared, Push::Later) {
        return Ok(Repair::Done {
            placements,
            kept: true,
        });
    }
    let (board, far) = anew(prepared, &announced, effort)?;
    Ok(match board {
        Some(mut board) => {
            justify::justify(&mut board, &prepared.structure, justify::Care::QUICK);
            Repair::Done {
                placements: board.placements(),
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

/// Returns the placements in which everything stands where it was announced, or was pushed to, if they hold.
pub(super) fn as_announced(prepared: &Prepared<'_>, push: Push) -> Option<Vec<Placement>> {
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
    let board = board?;
    Some(with_the_new(prepared, &announced, board))
}

/// Whoever was not announced goes where it costs least; who was stays.
fn with_the_new(
    prepared: &Prepared<'_>,
    announced: &[Option<Time>],
    mut board: Board<'_>,
) -> Vec<Placement> {
    for block in prepared.to_come() {
        let members = &prepared.structure.blocks[block].members;
        let mut members_of = members.iter();
        if members_of.all(|&Member { id, .. }| announced[id.0].is_none()) {
            justify::settle(&mut board, members, seat::Turn::From(0), 3);
        }
    }
    board.placements()
}

/// Returns a board with as much as possible where it was announced and the rest put in anew, and whether that was much.
fn anew<'a>(
    prepared: &Prepared<'a>,
    announced: &[Option<Time>],
    effort: Effort,
) -> Result<(Option<Board<'a>>, bool), Conflict> {
    let structure = &prepared.structure;
    let mut out = vec![false; structure.blocks.len()];
    for circle in 0..8_u32 {
        let mut board = prepared.board();
        board.allow(looks(prepared.to_come().len()));
        board.wary = circle % 2 == 1;
        let mut windows = (*prepared.first).clone();
        let mut standing = Standing::new(structure, &board);
        for index in latest_first(prepared, announced) {
            let block = structure.block_of[index];
            let members = &structure.blocks[block].members;
            if out[block] || members[0].id.0 != index {
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
                out[block] = true;
            }
        }
        windows.keep();
        let blocks: Vec<usize> = prepared
            .to_come()
            .into_iter()
            .filter(|&block| out[block])
            .collect();
        let key = |block: usize| {
            let members = structure.blocks[block].members.iter();
            members
                .map(|&Member { id, .. }| announced[id.0].unwrap_or(prepared.first.latest[id.0]))
                .max()
                .map_or(0, i64::from)
        };
        let keys: Vec<i64> = (0..structure.blocks.len()).map(key).collect();
        let mut insertion = Insertion {
            board: &mut board,
            windows: &mut windows,
            first: &prepared.first,
            structure,
            standing: &mut standing,
            order: Order {
                keys: &keys,
                draw: 0,
                close_first: circle % 2 == 0,
                sends_far: circle % 2 == 1,
                take_backs: effort.take_backs,
                starts: 8,
            },
        };
        // Where much is out, taking back what was put in takes out much more.
        let most = 15 * blocks.len().max(64) as u64;
        if blocks.len() > MANY {
            let untied = untie(prepared, &board, u64::from(circle), most, effort.threads)?;
            return Ok((untied, true));
        }
        match insertion.run(&blocks) {
            Ok(()) => return Ok((Some(board), false)),
            Err(failure) => {
                let mut wider = failure.by;
                wider.push(failure.activity);
                let reached: Vec<ActivityId> = wider
                    .iter()
                    .flat_map(|&id| prepared.network.neighbours(id))
                    .collect();
                wider.extend(reached);
                let before = out.iter().filter(|&&out| out).count();
                for id in wider {
                    out[structure.block_of[id.0]] = true;
                }
                let grown = out.iter().filter(|&&out| out).count() > before;
                // Ever wider circles soon hold everything; then the knot itself is worked on.
                if grown && circle < CIRCLES {
                    continue;
                }
                let untied = untie(prepared, &board, u64::from(circle), most, effort.threads)?;
                return Ok((untied, false));
            }
        }
    }
    Ok((None, false))
}

/// Puts in what does not stand and whatever that puts out, within `most` tries each time it is begun, unless that is
/// proved to be in vain.
fn untie<'a>(
    prepared: &Prepared<'a>,
    board: &Board<'a>,
    seed: u64,
    most: u64,
    threads: usize,
) -> Result<Option<Board<'a>>, Conflict> {
    // What is not untied soon mostly never is; begun again with other draws, it may be at once. Two are tried at a time,
    // and the one begun first counts, whichever is done first.
    let attempt = |number: u64, mut begun: Board<'a>, over: &AtomicBool| {
        begun.allow(looks(prepared.to_come().len()));
        eject::complete(prepared, &mut begun, seed + 8 * number, most, &mut 0, over)
            .then_some(begun)
    };
    for number in (0..ATTEMPTS).step_by(2) {
        let (one_is_over, other_is_over) = (AtomicBool::new(false), AtomicBool::new(false));
        let one = || {
            let begun = attempt(number, board.clone(), &one_is_over);
            other_is_over.store(begun.is_some(), Ordering::Relaxed);
            begun
        };
        let theirs = board.clone();
        let (other_ends, one_ends) = (&other_is_over, &one_is_over);
        let other = move || {
            if other_ends.load(Ordering::Relaxed) {
                return Ok(None);
            }
            if number == 0
                && let Some(impossible) = prove_infeasible(prepared.instance)
            {
                one_ends.store(true, Ordering::Relaxed);
                return Err(impossible);
            }
            Ok(attempt(number + 1, theirs, other_ends))
        };
        let (one, other) = both(threads, one, other);
        if one.is_some() {
            return Ok(one);
        }
        if let Some(begun) = other? {
            return Ok(Some(begun));
        }
    }
    Ok(None)
}

/// How often a knot is begun to be untied.
const ATTEMPTS: u64 = 6;

/// How often more is put in anew before what is in the way is put out instead.
const CIRCLES: u32 = 3;

/// More blocks than these are not put in one after another.
const MANY: usize = 64;

#[cfg(test)]
mod tests {
    use super::*;
    use crate::schedule::generate::generate;
    use crate::schedule::search::prepared::Past;
    use crate::schedule::search::{as_announced, starts};
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
                let found = untie(&prepared, &board, seed, 30, threads);
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
