//! Placing activities from the deadline backward, and improving what comes of it.
//!
//! # Method
//! Serial schedule generation on the network read backward (`insert`): among the blocks (`structure`) whose
//! successors all stand, the one with the largest key is put where it costs least, which is mostly the latest
//! start that calendars, states and resources allow (`seat`). A longest gap can leave an activity no start; then
//! the placed activity that demands it is taken back, forbidden its start, and placed earlier (unscheduling after
//! Franck, Neumann and Schwindt, *Truncated branch and bound, schedule construction, and schedule improvement
//! procedures for resource-constrained project scheduling*, OR Spektrum 23, 2001; from memory). Failed orders are
//! tried again with the activity that found no place moved to the front (squeaky wheel, Joslin and Clements 1999;
//! from memory) and some noise. The schedule found is then justified (`justify`): each block alone is moved where it
//! costs least among the others.
//!
//! A schedule is improved by a large-neighbourhood search (`improve`): some blocks are taken off and put back in
//! another order, again and again, on two islands that keep a small population each.
//!
//! What was announced is kept where it can be (`repair`): first as it stands, then with what must move pushed
//! later, then with as few blocks as possible put in anew.
//!
//! # What it promises
//! An end. Efforts are counted in orders and placements, and what these look at is counted too (`prepared::looks`),
//! because a step looked at each minute for days makes one placement dear. What is not counted is done once for each
//! activity: justifying what was announced, and saying what holds each back. The slowest of 1,500 menus drawn at random
//! took three seconds in a test build.
//!
//! The same instance and effort give the same schedule: ties go to the smaller id, noise comes from the seed, no
//! clock is read, and the number of threads changes nothing. The outcome is `Optimal` only when the cost equals a
//! lower bound, which no schedule can beat.

mod board;
mod eject;
mod facts;
mod improve;
mod insert;
mod justify;
mod neighbourhood;
mod order;
mod prepared;
mod repair;
mod seat;
mod slip;
mod stand;
mod structure;

pub use improve::Improver;
pub use repair::Push;
pub use slip::slips;

use std::panic::resume_unwind;

use super::bound::lower_bound;
use super::conflict::{Conflict, prove_infeasible};
use super::problem::{ActivityId, Instance, Time};
use super::solution::{Outcome, Placement, Schedule};
use board::Board;
use justify::Care;
use order::Keys;
use prepared::{Prepared, looks};
use repair::Repair;

/// How much work a search may do, counted in work and never in seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// How many orders to try as long as none has led to a schedule.
    pub orders: u32,
    /// How many epochs to go on improving at most, as long as that pays.
    pub improve: u32,
    /// How often one order may take placements back.
    pub take_backs: u32,
    /// On how many threads to improve; one and two give the same schedule.
    pub threads: usize,
    /// What noise comes from.
    pub seed: u64,
}

impl Effort {
    /// Returns the effort for an answer within a few hundredths of a second.
    pub fn quick(instance: &Instance) -> Self {
        let count = instance.activities.len().max(1) as u32;
        Self {
            orders: 64,
            improve: 4,
            take_backs: 100 + count / 2,
            // Somebody waits for it, and the other core has nothing better to do.
            threads: 2,
            seed: 1,
        }
    }

    /// Returns the effort for a first answer: as soon as there is a schedule, no more is done.
    pub fn first(instance: &Instance) -> Self {
        Self {
            improve: 0,
            ..Self::quick(instance)
        }
    }
}

/// Returns a schedule that costs as little as the search can make it, or why there is none.
///
/// Where activities have announced starts and all of them still hold, or do once some are pushed later, those are
/// the answer; where not, what does not hold is put in anew among the rest.
pub fn solve(instance: &Instance, effort: Effort) -> Outcome {
    let (past, sure) = match prepared::likely_past(instance) {
        Ok(past) => past,
        Err(conflict) => return Outcome::Infeasible(conflict),
    };
    let prepared = match Prepared::new(instance, &past) {
        Ok(prepared) => prepared,
        Err(conflict) if sure => return Outcome::Infeasible(conflict),
        Err(conflict) => return Outcome::Unknown(conflict),
    };
    solve_prepared(prepared, effort)
}

/// Where nothing near what was announced was found, this part of the orders is tried from nothing, or less where all but
/// a little of it stood: then mostly there is nothing, and somebody waits to be told.
const NOTHING_NEAR: u32 = 8;
const NOTHING_VERY_NEAR: u32 = 16;

fn nothing(instance: &Instance) -> Conflict {
    Conflict::Window {
        activity: ActivityId(0),
        earliest: instance.earliest,
        latest: instance.latest,
        moved_by: Vec::new(),
    }
}

fn solve_prepared(prepared: Prepared<'_>, effort: Effort) -> Outcome {
    let (board, kept) = match repair::repair(&prepared, effort) {
        Err(impossible) => return Outcome::Infeasible(impossible),
        Ok(Repair::Done { board, kept }) => (*board, kept),
        Ok(Repair::NothingAnnounced) => match first(&prepared, effort) {
            Ok(board) => (board, false),
            // A search that finds nothing proves nothing; something else may.
            Err(conflict) => {
                let proof = prove_infeasible(prepared.instance);
                return proof.map_or(Outcome::Unknown(conflict), Outcome::Infeasible);
            }
        },
        Ok(Repair::NothingNear { far }) => {
            let part = if far { NOTHING_NEAR } else { NOTHING_VERY_NEAR };
            let effort = Effort {
                orders: effort.orders.div_ceil(part),
                ..effort
            };
            match first(&prepared, effort) {
                Ok(board) => (board, false),
                Err(conflict) => return Outcome::Unknown(conflict),
            }
        }
    };
    let instance = prepared.instance;
    // Better ones than what was announced may exist; they would move it for no need.
    let schedule = if kept || effort.improve == 0 {
        as_it_is(&prepared, board, effort.threads)
    } else {
        let mut improver = Improver::with(prepared, &board.placements(), effort.seed);
        improver.run_while_it_pays(effort.improve, effort.threads);
        let found = improver.best();
        Schedule {
            bound: free_bound(instance).unwrap_or(found.bound).min(found.cost),
            ..found
        }
    };
    let schedule = Schedule { kept, ..schedule };
    if schedule.cost == schedule.bound {
        Outcome::Optimal(schedule)
    } else {
        Outcome::Feasible(schedule)
    }
}

/// Returns the schedule in which whatever has been announced starts when it was announced, or is pushed later where
/// that is allowed, if that still holds; what was not announced goes as late as the rest lets it.
pub fn as_announced(instance: &Instance, push: Push) -> Option<Schedule> {
    let (past, _) = prepared::likely_past(instance).ok()?;
    let prepared = Prepared::new(instance, &past).ok()?;
    let board = repair::as_announced(&prepared, push)?;
    Some(Schedule {
        kept: true,
        ..as_it_is(&prepared, board, 1)
    })
}

/// Returns a schedule that nobody means to improve, with its bound.
fn as_it_is(prepared: &Prepared<'_>, board: Board<'_>, threads: usize) -> Schedule {
    let (schedule, bound) = both(
        threads,
        || explained(prepared, board),
        || free_bound(prepared.instance).unwrap_or_else(|| lower_bound(prepared.instance)),
    );
    Schedule {
        bound: bound.min(schedule.cost),
        ..schedule
    }
}

/// Returns the bound on an instance of which something has been announced as if nothing were: what it costs to keep that is
/// no reason why nothing better exists. None where nothing has been.
fn free_bound(instance: &Instance) -> Option<i64> {
    let free = instance.has_announced().then(|| instance.unannounced())?;
    Some(lower_bound(&free))
}

/// Of the looks a search has, each order adds one part in so many.
const ORDERS_A_SHARE: u64 = 16;

/// Returns the first schedule found, justified, or where the first order that failed was stopped.
fn first<'a>(prepared: &Prepared<'a>, effort: Effort) -> Result<Board<'a>, Conflict> {
    let mut keys = Keys::new(prepared);
    let mut stopped_at = None;
    // An order that fails at once has cost next to nothing; what is bounded is the work.
    let most = 2 * u64::from(effort.orders.max(1)) * prepared.to_come().len().max(16) as u64;
    let mut work = 0;
    let mut left =
        looks(prepared.to_come().len()) / ORDERS_A_SHARE * u64::from(effort.orders.max(4));
    for number in 0..effort.orders.max(1).saturating_mul(32) {
        if work > most || left == 0 {
            break;
        }
        let order = keys.order(number);
        match prepared.decode(&order, effort.take_backs, left, &mut work) {
            Ok(mut board) => {
                board.allow(looks(prepared.to_come().len()));
                justify::justify(&mut board, &prepared.structure, Care::FIRST);
                return Ok(board);
            }
            Err(failed) => {
                let (failure, mut board) = *failed;
                // A few whole orders are worth more than a knot untied; after them, both in turn.
                let most = (2 * most).min(30 * prepared.to_come().len() as u64);
                let seed = u64::from(number);
                if eject::complete(prepared, &mut board, seed, most, &mut work, &|_| false) {
                    board.allow(looks(prepared.to_come().len()));
                    justify::justify(&mut board, &prepared.structure, Care::FIRST);
                    return Ok(board);
                }
                left = board.looks_left();
                keys.urge(&prepared.structure, failure.activity);
                stopped_at.get_or_insert(failure.conflict);
            }
        }
    }
    Err(stopped_at.unwrap_or_else(|| nothing(prepared.instance)))
}

/// Returns the schedule on a board, with what holds each activity back.
fn explained(prepared: &Prepared<'_>, mut board: Board<'_>) -> Schedule {
    let (placements, cost) = (board.placements(), board.cost);
    debug_assert_eq!(
        cost,
        super::cost::cost(prepared.instance, &placements).total(),
        "the cost that follows the moves is the cost"
    );
    // However it was searched for.
    board.wary = true;
    board.allow(u64::MAX);
    let (blocking, as_one) = justify::blocking(&mut board, &prepared.structure);
    Schedule {
        placements,
        blocking,
        as_one,
        cost,
        bound: prepared.bound.min(cost),
        kept: false,
    }
}

/// Does two things, on two threads where there may be as many, else one after the other; returns what came of each.
fn both<One, Other: Send>(
    threads: usize,
    one: impl FnOnce() -> One,
    other: impl FnOnce() -> Other + Send,
) -> (One, Other) {
    if threads < 2 {
        return (one(), other());
    }
    std::thread::scope(|scope| {
        let other = scope.spawn(other);
        let one = one();
        (
            one,
            other.join().unwrap_or_else(|panic| resume_unwind(panic)),
        )
    })
}

/// Returns a well-mixed number for each number (the finaliser of `SplitMix64`, Steele, Lea and Flood 2014).
pub(super) fn mix(number: u64) -> u64 {
    let mut mixed = number.wrapping_add(0x9E37_79B9_7F4A_7C15);
    mixed = (mixed ^ (mixed >> 30)).wrapping_mul(0xBF58_476D_1CE4_E5B9);
    mixed = (mixed ^ (mixed >> 27)).wrapping_mul(0x94D0_49BB_1331_11EB);
    mixed ^ (mixed >> 31)
}

/// Returns the starts of placements.
fn starts(placements: &[Placement]) -> Vec<Time> {
    placements.iter().map(|placed| placed.start).collect()
}
