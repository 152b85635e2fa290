//! An independent check of a schedule, minute by minute.
//!
//! It knows the instance and the placements and nothing else: no windows, no profiles, no code of the search or of
//! its [`cost`](super::cost). Every rule of [`problem`](super::problem) and every term of
//! [`Weights`](super::Weights) is written here a second time in the plainest way there is, so that a fault in the
//! clever version has somewhere to show: one minute after another is counted into an array, and one pair of
//! activities after another is compared. That is O(activities × minutes), a few milliseconds for a thousand
//! activities over days, and nothing that runs in the inner loop of a search.
//!
//! # What has already happened
//! A fixed activity is held only to its fixed times (and, where its end is not given, to its duration). A lag, a
//! hold, a clash of states or a lack of capacity among fixed activities alone is no fault of the schedule: the past
//! is what it is. Between an activity that is still to come and one that has happened every rule counts in full.
//! A hold counts as still to come when the activity that takes it is.
//!
//! # What it does not check
//! That the instance is well formed: ids name something, steps and windows rise. Who reads instances sees to that.
//! Nor what keeps activities where they are (`Schedule::blocking`): that explains a schedule and is not part of it.

mod cost;
mod rules;
mod used;

use std::fmt;

use super::problem::{ActivityId, Edge, Instance, Time};
use super::solution::{Placement, Schedule};

/// A rule a schedule breaks. Numbers are places in the instance.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Violation {
    /// There is not exactly one placement for each activity.
    Count,
    /// The mode does not exist.
    Mode(usize),
    /// It lies outside the instance's horizon.
    Horizon(usize),
    /// Its end is not where its duration puts it.
    Duration(usize),
    /// It does not stand where it has already happened.
    Fixed(usize),
    /// It starts before its release.
    Release(usize),
    /// It ends after its deadline.
    Deadline(usize),
    /// It does not fit a calendar: activity, calendar.
    Calendar(usize, usize),
    /// A lag does not hold.
    Lag(usize),
    /// A hold ends before it begins.
    Hold(usize),
    /// More of a resource is used than there is: resource, the first such minute.
    Capacity(usize, Time),
    /// Two activities need one state resource in different states at once, or too soon after one another; twice
    /// the same activity where it needs two states by itself.
    State(usize, usize),
    /// The cost that the schedule claims is not what it costs.
    Cost {
        /// What it claims.
        said: i64,
        /// What the formula gives.
        is: i64,
    },
    /// It claims that no schedule costs less than this, and costs less itself.
    Bound {
        /// What it claims.
        said: i64,
        /// What it costs.
        cost: i64,
    },
}

impl fmt::Display for Violation {
    fn fmt(&self, f: &mut fmt::Formatter<'_>) -> fmt::Result {
        write!(f, "{self:?}")
    }
}

/// Returns everything that is wrong with `schedule`: rules of `instance` that it breaks, a cost that is not its own,
/// a bound above it. None when it is right.
pub fn verify(instance: &Instance, schedule: &Schedule) -> Vec<Violation> {
    let mut found = placements(instance, &schedule.placements);
    // What a schedule costs whose activities or modes do not exist nobody can say.
    let counted =
        |violation: &Violation| !matches!(violation, Violation::Count | Violation::Mode(_));
    if found.iter().all(counted) {
        let is = cost(instance, &schedule.placements);
        if schedule.cost != is {
            let said = schedule.cost;
            found.push(Violation::Cost { said, is });
        }
        if schedule.bound > is {
            let said = schedule.bound;
            found.push(Violation::Bound { said, cost: is });
        }
    }
    found
}

/// Returns every rule of `instance` that `placements` break, whatever they cost; none when they are right.
pub fn placements(instance: &Instance, placements: &[Placement]) -> Vec<Violation> {
    if placements.len() != instance.activities.len() {
        return vec![Violation::Count];
    }
    let mut found = Vec::new();
    for (index, (activity, &placed)) in instance.activities.iter().zip(placements).enumerate() {
        rules::activity(instance, index, activity, placed, &mut found);
    }
    if found.iter().any(|it| matches!(it, Violation::Mode(_))) {
        return found;
    }
    rules::lags(instance, placements, &mut found);
    rules::holds(instance, placements, &mut found);
    used::capacities(instance, placements, &mut found);
    rules::states(instance, placements, &mut found);
    found
}

/// Returns what placements cost by the formula at [`Weights`](super::Weights), counted minute by minute; the largest
/// number there is where it is more than that. The placements must be as many as the activities, in modes that exist.
pub fn cost(instance: &Instance, placements: &[Placement]) -> i64 {
    cost::cost(instance, placements)
}

/// Returns the moment of an edge.
fn edge(placements: &[Placement], (activity, edge): (ActivityId, Edge)) -> i64 {
    let placed = &placements[activity.0];
    i64::from(match edge {
        Edge::Start => placed.start,
        Edge::End => placed.end,
    })
}

/// Returns whether an activity has already happened.
fn happened(instance: &Instance, activity: ActivityId) -> bool {
    instance.activities[activity.0].fixed.is_some()
}
