//! Placing activities from the deadline backward.
//!
//! # Method
//! Serial schedule generation on the network read backward: among the blocks (`structure`) whose successors all
//! stand, the one with the largest key is put at the latest start at which calendars and resources allow it.
//! A longest gap can leave an activity no start; then the placed activity that demands it is taken back,
//! forbidden its start, and placed earlier (unscheduling after Franck, Neumann and Schwindt, *Truncated branch
//! and bound, schedule construction, and schedule improvement procedures for resource-constrained project
//! scheduling*, OR Spektrum 23, 2001; from memory). Failed orders are tried again with the activity that found
//! no place moved to the front (squeaky wheel, Joslin and Clements 1999; from memory) and some noise.
//! Every schedule is then justified (`justify`): each activity alone is moved as late as the others allow.
//!
//! # What it promises
//! The same instance and effort give the same schedule: ties go to the smaller id, noise comes from a fixed
//! seed, and no clock is read. The outcome is `Optimal` only when every activity stands at the latest start
//! that lags and calendars alone allow, which no schedule can beat.
//!
//! # Left out for now
//! Choice among modes and state resources; an instance that has them is refused.

mod board;
mod decode;
mod justify;
mod segments;
mod slip;
mod structure;

pub use segments::segments;
pub use slip::slips;

use super::conflict::Conflict;
use super::network::Network;
use super::problem::{ActivityId, Demand, Duration, Instance, ResourceId, Time, Use};
use super::solution::{Outcome, Placement, Schedule};
use decode::Keys;
use structure::Structure;

/// How much work a search may do, counted in schedules and never in seconds.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Effort {
    /// How many orders to try as long as none has led to a schedule.
    pub orders: u32,
    /// How many further orders to try for a better one.
    pub improve: u32,
    /// How often one order may take placements back.
    pub take_backs: u32,
}

impl Effort {
    /// Returns the effort for an answer within a few hundredths of a second.
    pub fn quick(instance: &Instance) -> Self {
        let count = instance.activities.len().max(1) as u32;
        Self {
            orders: 64,
            improve: (2_000 / count).clamp(4, 40),
            take_backs: 100 + count / 2,
        }
    }
}

/// Returns a schedule in which everything starts as late as the search can make it, or why there is none.
///
/// `announced` are starts that were right before, for the activities that had one. Where all of them still hold,
/// or do once some are pushed later, they are the answer; where not, the first order tried follows them.
pub fn solve(instance: &Instance, announced: Option<&[Option<Time>]>, effort: Effort) -> Outcome {
    if let Some(conflict) = too_much_asked(instance) {
        return Outcome::Infeasible(conflict);
    }
    let network = Network::new(instance);
    let windows = match network.windows() {
        Ok(windows) => windows,
        Err(conflict) => return Outcome::Infeasible(conflict),
    };
    let bound = &windows.latest;
    let mut best: Option<(i64, Vec<Placement>)> = None;
    let mut stopped_at = None;
    let structure = Structure::new(instance, &network);
    let mut keys = Keys::new(&structure, &network, &windows, announced);
    let mut left = effort.orders.max(1);
    if let Some(board) = announced.and_then(|starts| {
        let stands = |starts: &[_]| decode::stands(instance, &network, &windows, starts);
        stands(starts).or_else(|| stands(&slip::pushed_on(instance, &network, &windows, starts)?))
    }) {
        let placements = justify::justify(board);
        // Better ones may exist; they would move what has been announced for no need.
        best = Some((cost(instance, bound, &placements), placements));
        left = 0;
    }
    for order in 0.. {
        if left == 0 || best.as_ref().is_some_and(|(least, _)| *least == 0) {
            break;
        }
        left -= 1;
        let order = keys.order(order);
        match decode::decode(
            instance,
            &network,
            &structure,
            &windows,
            &order,
            effort.take_backs,
        ) {
            Ok(board) => {
                let placements = justify::justify(board);
                let cost = cost(instance, bound, &placements);
                if best.is_none() {
                    left = effort.improve;
                }
                if best.as_ref().is_none_or(|(least, _)| cost < *least) {
                    best = Some((cost, placements));
                }
            }
            Err(failure) => {
                keys.urge(&structure, failure.activity);
                stopped_at.get_or_insert(failure.conflict);
            }
        }
    }
    let Some((cost, placements)) = best else {
        return Outcome::Unknown(stopped_at.unwrap_or(Conflict::Window {
            activity: ActivityId(0),
            earliest: instance.earliest,
            latest: instance.latest,
            moved_by: Vec::new(),
        }));
    };
    let (blocking, as_one) = justify::blocking(instance, &network, &structure, &placements);
    let proved = cost == 0;
    let cost = super::cost::cost(instance, &placements).total();
    let schedule = Schedule {
        placements,
        blocking,
        as_one,
        cost,
        bound: if proved { cost } else { 0 },
    };
    if proved {
        Outcome::Optimal(schedule)
    } else {
        Outcome::Feasible(schedule)
    }
}

/// Returns how far, in weighted minutes, a schedule starts before the latest starts that no resource limits.
fn cost(instance: &Instance, bound: &[i32], placements: &[Placement]) -> i64 {
    let activities = instance.activities.iter().zip(bound).zip(placements);
    activities
        .filter(|((activity, _), _)| activity.fixed.is_none())
        .map(|((activity, latest), placed)| {
            i64::from(activity.weight.max(1)) * i64::from(latest - placed.start)
        })
        .sum()
}

/// Returns a demand that asks for more than its resource ever has, wherever its activity stands.
fn too_much_asked(instance: &Instance) -> Option<Conflict> {
    let most = |resource: ResourceId| {
        let steps = &instance.resources[resource.0].capacity;
        steps
            .iter()
            .map(|&(_, capacity)| capacity)
            .max()
            .unwrap_or(0)
    };
    let to_come = instance
        .activities
        .iter()
        .enumerate()
        .filter(|(_, it)| it.fixed.is_none());
    for (index, activity) in to_come {
        let mode = &activity.modes[0];
        // A wait for a gate lasts at least a minute; more than that is not known beforehand.
        let length = match mode.duration {
            Duration::Fixed(length) => length,
            Duration::Until { at_least, then, .. } => at_least.max(1) + then,
        };
        let whole = |demand: &&Demand| {
            matches!(mode.duration, Duration::Fixed(_)) || demand.when == Use::Whole
        };
        let demands: Vec<Demand> = mode.demands.iter().filter(whole).copied().collect();
        for segment in segments(&demands, 0, length) {
            if segment.quantity > most(segment.resource) {
                return Some(Conflict::Capacity {
                    activity: ActivityId(index),
                    resource: segment.resource,
                    most: most(segment.resource),
                });
            }
        }
    }
    None
}
