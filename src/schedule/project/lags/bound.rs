//! Lower bounds on the makespan.
//!
//! Critical path and head–tail energy (what must run between a head and a tail takes at least its energy over the
//! capacity), then destructive: a makespan is supposed, and refuted if the orders it forces contradict each other or
//! leave too much energy.
//!
//! Source: R. Klein and A. Scholl, "Computing lower bounds by destructive improvement", EJOR 112 (1999), from memory.

use super::infer::Pairs;
use super::model::Model;
use super::network::Network;

/// Returns a makespan that no plan is below, from the lags of `network` and the energy of each resource.
pub(super) fn energy(model: &Model, network: &Network) -> i32 {
    let end = model.end();
    let heads = network.leaving(0);
    let tails = network.reaching(end);
    let mut bound = i64::from(network.path(0, end));
    for (resource, &capacity) in model.capacities.iter().enumerate() {
        let mut users: Vec<usize> = (0..model.size())
            .filter(|&it| model.demands[it][resource] > 0)
            .collect();
        // By falling tail after the end: each prefix of what starts late enough must lie before the last tail.
        users.sort_by_key(|&it| (model.durations[it] - tails[it], it));
        let mut thresholds: Vec<i32> = users.iter().map(|&it| heads[it]).collect();
        thresholds.sort_unstable();
        thresholds.dedup();
        for head in thresholds {
            let mut energy = 0;
            for &it in users.iter().filter(|&&it| heads[it] >= head) {
                energy += i64::from(model.durations[it]) * i64::from(model.demands[it][resource]);
                let least = (energy + i64::from(capacity) - 1) / i64::from(capacity);
                bound =
                    bound.max(i64::from(head) + least + i64::from(tails[it] - model.durations[it]));
            }
        }
    }
    // Durations and lags together are far below an i32, and energy over capacity is below the durations.
    i32::try_from(bound).unwrap_or(i32::MAX)
}

/// Returns whether no plan of `model` has a makespan of at most `makespan`, and what it cost to ask, in schedules.
pub(super) fn refutes(model: &Model, pairs: &Pairs, makespan: i32) -> (bool, u64) {
    let mut network = model.network.clone();
    let mut pairs = pairs.clone();
    if network.tighten(model.end(), 0, -makespan).is_err() {
        return (true, 1);
    }
    match pairs.settle(model, &mut network) {
        Err(_) => (true, model.size() as u64),
        Ok(tightened) => (
            energy(model, &network) > makespan,
            (model.size() + tightened) as u64,
        ),
    }
}
