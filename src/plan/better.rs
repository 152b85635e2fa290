//! A plan that is better and different, to be offered and never imposed.
//!
//! What the sheet shows keeps the times that the cooks were told. Here the same menu, after the same happenings,
//! is planned as if nobody had been told anything, for as long as somebody lets it; what comes of it is worth
//! saying when it serves more of the banquet in time or at its best, asks less overtime of anyone, or lets steps
//! start so much later that it is worth moving the ones it moves ([`weights`](super::weights)).

use super::from_menu::{Asked, Bound, Bridge};
use super::make::{keeping, planned, timeless};
use super::run_sheet::Plan;
use super::weights::WORTH_MOVING;
use crate::schedule::cost::{Cost, cost};
use crate::schedule::search::Improver;
use crate::schedule::{Placement, Schedule, verify};
use crate::time::Minutes;

/// How many epochs are searched between two looks at whether to go on.
const SLICE: u32 = 4;

/// A better plan.
#[derive(Clone, Debug, PartialEq)]
pub struct Better {
    /// The plan.
    pub plan: Plan,
    /// What it gains over the plan that keeps the times, a sentence without a full stop each; never empty.
    pub gains: Vec<String>,
    /// How many steps start at another time on it, or are done another way.
    pub moved: usize,
}

/// How much to look for a better plan.
#[derive(Clone, Copy)]
pub struct Work<'a> {
    /// How many epochs of the search at most. The same number always finds the same plan.
    pub epochs: u32,
    /// On how many threads.
    pub threads: usize,
    /// Asked again and again; ends the search when it says so, with what has been found by then.
    pub stop: &'a (dyn Fn() -> bool + Sync),
}

/// Returns a plan that is better than the one that keeps the announced times, if one worth moving for is found.
///
/// This takes as long as `work` says; it is for a thread of its own.
pub fn better(asked: Asked<'_>, work: Work<'_>) -> Option<Better> {
    let menu_alone = asked.told.is_none().then(|| timeless(asked)).flatten();
    let told = asked.told.or(menu_alone.as_ref());
    let (kept, standing) = keeping(Asked { told, ..asked }, Bound::Now(asked.now));
    let standing = standing.ok()?;
    if !kept.broken.is_empty() || (work.stop)() {
        return None;
    }
    let free = Bridge::new(
        Asked {
            told: None,
            shown: None,
            ..asked
        },
        Bound::Now(asked.now),
    );
    let mut improver = Improver::new(&free.instance, &standing, 1).ok()?;
    let mut left = work.epochs;
    while left > 0 && !(work.stop)() {
        let now = left.min(SLICE);
        improver.run(now, work.threads, work.stop);
        left -= now;
    }
    let found = improver.best();
    if !verify::verify(&free.instance, &found).is_empty() {
        return None;
    }
    let was = cost(&free.instance, &standing.placements);
    let is = cost(&free.instance, &found.placements);
    let moved = moved(&free, &standing, &found);
    let gains = gains(
        &free,
        (&was, &standing.placements),
        (&is, &found.placements),
        moved,
    );
    (!gains.is_empty()).then(|| Better {
        plan: planned(&free, &found, asked.now),
        gains,
        moved,
    })
}

/// Returns how many steps start at another time, or are done another way.
fn moved(bridge: &Bridge<'_>, standing: &Schedule, found: &Schedule) -> usize {
    let way = |index: usize, placed: &Placement| bridge.manners[index][placed.mode].way;
    (0..bridge.expanded.doings.len())
        .filter(|&index| !bridge.has_happened(index))
        .filter(|&index| {
            let (was, is) = (&standing.placements[index], &found.placements[index]);
            was.start != is.start || way(index, was) != way(index, is)
        })
        .count()
}

/// Returns what a schedule gains over another; nothing where that is not worth it.
fn gains(
    bridge: &Bridge<'_>,
    (was, before): (&Cost, &[Placement]),
    (is, after): (&Cost, &[Placement]),
    moved: usize,
) -> Vec<String> {
    let mut said = Vec::new();
    if is.total() >= was.total() {
        return said;
    }
    let weights = &bridge.instance.weights;
    let minutes = |was: i64, is: i64, weight: i64| {
        Minutes(i32::try_from((was - is) / weight.max(1)).unwrap_or(i32::MAX))
    };
    if is.wish < was.wish {
        said.push("food is nearer its best, or more of it is ready in good time".to_owned());
    }
    if is.overtime < was.overtime {
        let less = minutes(was.overtime, is.overtime, weights.overtime);
        said.push(format!("{less} less overtime"));
    }
    let outranked = !said.is_empty();
    let starts = |placements: &[Placement]| -> i64 {
        let doings = placements[..bridge.expanded.doings.len()].iter();
        doings.map(|placed| i64::from(placed.start)).sum()
    };
    let later = starts(after) - starts(before);
    let style = (was.early + was.uneven + was.mode) - (is.early + is.uneven + is.mode);
    let worth =
        WORTH_MOVING * weights.early.max(1) * i64::try_from(moved).unwrap_or(i64::MAX / 4096);
    if style >= worth || outranked {
        if was.uneven > is.uneven {
            said.push("the work is spread more evenly".to_owned());
        }
        if later >= WORTH_MOVING {
            let later = Minutes(i32::try_from(later).unwrap_or(i32::MAX));
            said.push(format!("steps start {later} later, all together"));
        }
    }
    said
}
