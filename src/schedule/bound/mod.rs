//! What no schedule can cost less than.
//!
//! # Theory
//! The [cost](super::Weights) is a sum of terms, and a sum is at least the sum of what each term costs at least:
//! - **Early, late, mode, moved** depend on one activity each. Within the window that lags, gates, calendars and
//!   bare capacity leave a mode (`reach`), each is piecewise linear in the start, so the least of their sum stands at
//!   a breakpoint. This is the critical path bound, mirrored: everything at its latest.
//! - **Wishes** fall short by what the windows and the lags between the two activities make certain.
//! - **Early again**: activities that share a resource cannot all start at their latest. `busy` charges what the
//!   preemptive relaxation of one resource says they must give up (mean busy time: Goemans, Queyranne, Schulz,
//!   Skutella and Wang, *Single machine scheduling with release dates*, 2002; from memory).
//! - **Overtime** is at least the work that finds no regular minute within its window, and **unevenness** at least
//!   that of the evenest spread over the buckets each piece of work can reach (`spread`).
//!
//! # What adds up
//! No minute is charged twice: an activity takes part in the relaxation of one resource only, and there only with
//! the slope by which its own cost rises as it starts earlier.
//!
//! # Left out
//! Orders forced by lags between activities that wait for a resource, and what different resources ask of the
//! same activity together; the search's own proof is then worth its time.

mod busy;
mod spread;

use super::problem::{ActivityId, Duration, Instance, Time};
use super::reach::{Counted, Reach};

pub use spread::{Work, unserved, works};

/// Returns a cost that no schedule of the instance is below, in the units of
/// [`Cost::total`](super::Cost::total); 0 for an instance whose windows leave no schedule at all.
pub fn lower_bound(instance: &Instance) -> i64 {
    match Reach::of(instance, Counted::Capacity) {
        Ok(reach) => by_reach(&reach),
        Err(_) => 0,
    }
}

/// Returns the bound that follows from the windows of an instance.
pub fn by_reach(reach: &Reach<'_>) -> i64 {
    let instance = reach.instance();
    let alone: Vec<Alone> = (0..instance.activities.len())
        .map(|index| alone(reach, ActivityId(index)))
        .collect();
    let mut total: i128 = alone.iter().map(|it| it.least).sum();
    total += busy::increment(reach, &alone);
    total += wishes(reach);
    total += spread::overtime(reach);
    total += spread::uneven(reach);
    i64::try_from(total.max(0)).unwrap_or(i64::MAX)
}

/// What one activity costs whatever the others do.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
struct Alone {
    /// The least.
    least: i128,
    /// The latest start in any mode.
    latest: Time,
    /// Each minute it starts before `latest` costs so much more than `least`, at least.
    slope: i64,
}

fn alone(reach: &Reach<'_>, id: ActivityId) -> Alone {
    let instance = reach.instance();
    let activity = &instance.activities[id.0];
    if activity.fixed.is_some() {
        return Alone::default();
    }
    let weights = &instance.weights;
    let early = i128::from(weights.early) * i128::from(activity.weight);
    // What a start in a mode costs, at points between which it is linear.
    let mut points: Vec<(Time, i128)> = Vec::new();
    for (mode, &(first, last)) in activity.modes.iter().zip(reach.modes(id)) {
        if first > last {
            continue;
        }
        let late_after = match (activity.due, mode.duration) {
            (Some(due), Duration::Fixed(length)) => Some(due - length),
            _ => None,
        };
        // A wait's end is a step function of its start: the least it can be late stands for all starts.
        let certain = match (activity.due, mode.duration) {
            (Some(due), Duration::Until { .. }) => {
                let end = instance.end_of(mode, first).unwrap_or(due);
                i128::from(weights.late) * i128::from((end - due).max(0))
            }
            _ => 0,
        } + i128::from(weights.mode) * i128::from(mode.cost);
        let cost = |start: Time| {
            let minutes = |count: Time| i128::from(count);
            let mut cost = certain + early * minutes(instance.latest - start);
            if let Some(after) = late_after {
                cost += i128::from(weights.late) * minutes((start - after).max(0));
            }
            if let Some(announced) = activity.announced.filter(|&it| it != start) {
                cost += i128::from(weights.moved);
                cost += i128::from(weights.moved_by) * minutes((start - announced).abs());
            }
            cost
        };
        let inside = |start: &Time| (first..=last).contains(start);
        let bends = [Some(first), Some(last), late_after, activity.announced];
        points.extend(
            bends
                .into_iter()
                .flatten()
                .filter(inside)
                .map(|start| (start, cost(start))),
        );
    }
    let Some(least) = points.iter().map(|&(_, cost)| cost).min() else {
        return Alone::default();
    };
    let latest = reach.edge((id, super::Edge::Start)).1;
    // The steepest line through (latest, least) that stays under every point, and so under the lines between them.
    let slope = points
        .iter()
        .filter(|&&(start, _)| start < latest)
        .map(|&(start, cost)| (cost - least) / i128::from(latest - start))
        .min()
        .unwrap_or(0);
    Alone {
        least,
        latest,
        slope: i64::try_from(slope).unwrap_or(i64::MAX),
    }
}

fn wishes(reach: &Reach<'_>) -> i128 {
    let instance = reach.instance();
    let happened = |id: ActivityId| instance.activities[id.0].fixed.is_some();
    instance
        .wishes
        .iter()
        .filter(|wish| !(happened(wish.from.0) && happened(wish.to.0)))
        .map(|wish| {
            let (least, most) = reach.between(wish.from, wish.to);
            let short = wish
                .least
                .map_or(0, |wanted| (i64::from(wanted) - most).max(0));
            let past = wish
                .most
                .map_or(0, |wanted| (least - i64::from(wanted)).max(0));
            // Both cannot be certain at once unless the wish contradicts itself, and then both count.
            i128::from(instance.weights.wish)
                * i128::from(wish.weight)
                * i128::from(short.saturating_add(past))
        })
        .sum()
}
