//! Projects with maximum lags.
//!
//! # What it does
//! It finds short plans of projects whose activities may come too late for one another (RCPSP/max), and proves of many
//! that they have none. A plan is looked for component by component (`opening`), which finds one wherever the components
//! can be planned alone; it is improved by annealing over lists (`island`, `moves`), decoded with unscheduling in both
//! directions (`decode`). Inference on the longest paths (`infer`) and branching on what is left of a component (`branch`)
//! refute, and bounds (`bound`) say how much better a plan could be.
//!
//! # How it runs
//! Two [islands](Island) search with seeds of their own, for epochs counted in schedules, and exchange their best plans
//! at barriers in a total order; `stop` is asked there and nowhere else. The same seed and number of epochs give the same
//! plan on one thread or two. An island can be run by itself as well, beside another kind of solver: plans and bounds
//! are offered to it and asked of it between its portions.
//!
//! # What it leaves out
//! Rigid groups are not contracted: their members are placed one after another in the one place the lags leave. The
//! closure of all pairs is kept, 8 bytes a pair, so some thousand activities are its limit; it takes a fraction of
//! a second at a thousand. Time is an array of minutes.
//!
//! # Sources
//! Terms and the decomposition as in K. Neumann, C. Schwindt and J. Zimmermann, *Project Scheduling with Time Windows and
//! Scarce Resources* (2003), from memory; each file names its own.

mod bound;
mod branch;
mod decode;
mod infer;
mod island;
mod lists;
mod model;
mod moves;
mod network;
mod opening;
mod profile;
mod reading;

use std::sync::Arc;

pub use island::{Ground, Island};

pub use super::Limits;
use super::{Answer, Project, Status};
use crate::schedule::Time;

/// How many islands search.
const ISLANDS: u64 = 2;

/// Returns the best plan found within the limits, and what is proved of it.
pub fn solve(project: &Project, limits: &Limits) -> Answer {
    let ground = Arc::new(Ground::new(project));
    let mut islands: Vec<Island> = (0..ISLANDS)
        .map(|index| Island::new(&ground, limits.seed, index))
        .collect();
    let mut left = limits.schedules.unwrap_or(u64::MAX);
    while left > 0 && !islands.iter().any(Island::is_done) && !(limits.stop)() {
        // The first island gets the odd one of an odd remainder.
        let whole = (ground.epoch() * ISLANDS).min(left);
        left -= whole;
        let portions: Vec<u64> = (0..ISLANDS)
            .map(|index| (whole + ISLANDS - 1 - index) / ISLANDS)
            .collect();
        if limits.threads > 1 {
            std::thread::scope(|scope| {
                for (island, &work) in islands.iter_mut().zip(&portions) {
                    scope.spawn(move || island.run(work));
                }
            });
        } else {
            for (island, &work) in islands.iter_mut().zip(&portions) {
                island.run(work);
            }
        }
        exchange(&mut islands);
    }
    answer(&islands)
}

/// Offers each island the best plan and bound of all.
fn exchange(islands: &mut [Island]) {
    let bound = islands.iter().map(Island::bound).max().unwrap_or(0);
    let best = islands
        .iter()
        .filter_map(Island::best)
        .min_by_key(|&(starts, makespan)| (makespan, starts))
        .map(|(starts, _)| starts.to_vec());
    for island in islands {
        if let Some(best) = &best {
            island.offer(best);
        }
        island.offer_bound(bound);
    }
}

fn answer(islands: &[Island]) -> Answer {
    let schedules = islands.iter().map(Island::schedules).sum();
    let bound = islands.iter().map(Island::bound).max().unwrap_or(0);
    let infeasible = islands
        .iter()
        .any(|island| island.status() == Status::Infeasible);
    let best = islands
        .iter()
        .filter_map(Island::best)
        .min_by_key(|&(starts, makespan)| (makespan, starts))
        .filter(|_| !infeasible);
    let status = match best {
        Some((_, makespan)) if makespan <= bound => Status::Optimal,
        Some(_) => Status::Feasible,
        None if infeasible => Status::Infeasible,
        None => Status::Unknown,
    };
    Answer {
        starts: best.map(|(starts, _)| starts.to_vec()),
        makespan: best.map_or(Time::MAX, |(_, makespan)| makespan),
        bound,
        status,
        schedules,
    }
}

#[cfg(test)]
mod tests;
