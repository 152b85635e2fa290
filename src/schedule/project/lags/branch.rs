//! Branching until a small project has a plan or none.
//!
//! At each node stands a network; if the earliest starts it allows use no more than there is, they are a plan. If not,
//! some minimal set of activities asks too much of a resource in one minute, and in every plan two of that set do not
//! overlap: one branch for each ordered pair that lags still allow. Before that, forced orders are added.
//!
//! This is meant for what is left of a component on which the generation of schedules keeps failing: it proves that a
//! project has no plan, and it is complete. A limit of nodes cuts it off.
//!
//! Source: B. De Reyck and W. Herroelen, "A branch-and-bound procedure for the resource-constrained project scheduling
//! problem with generalized precedence relations", EJOR 111 (1998), from memory; theirs minimizes, this one decides.

use std::rc::Rc;

use super::infer::{Pairs, may_precede};
use super::model::Model;
use super::network::Network;

/// What branching came to.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Decided {
    /// Starts that keep every rule.
    Plan(Vec<i32>),
    /// There are none.
    Infeasible,
    /// The nodes ran out.
    Open,
}

/// Pairs of activities that the networks on the stack may hold together, eight bytes each.
const MOST_HELD: usize = 1 << 24;

/// Decides whether `model` has a plan, at the cost of at most `nodes` nodes, which are counted down.
pub(super) fn decide(model: &Model, nodes: &mut u64) -> Decided {
    let root = Rc::new((model.network.clone(), Pairs::new(model)));
    let mut stack = vec![(root, None)];
    while let Some((parent, order)) = stack.pop() {
        if *nodes == 0 || stack.len() * model.size() * model.size() > MOST_HELD {
            return Decided::Open;
        }
        *nodes -= 1;
        let (mut network, mut pairs) = Rc::unwrap_or_clone(parent);
        if let Some((first, second)) = order
            && network
                .tighten(first, second, model.durations[first])
                .is_err()
        {
            continue;
        }
        if pairs.settle(model, &mut network).is_err() {
            continue;
        }
        let Some(mut orders) = cheapest_conflict(model, &network) else {
            return Decided::Plan(network.leaving(0).to_vec());
        };
        // The order that leaves most room is tried first, so it is pushed last.
        orders.sort_by_key(|&(first, second)| {
            let room = -network.path(second, first) - model.durations[first];
            (room, first, second)
        });
        let node = Rc::new((network, pairs));
        stack.extend(
            orders
                .into_iter()
                .map(|order| (Rc::clone(&node), Some(order))),
        );
    }
    Decided::Infeasible
}

/// Returns, for the conflict of the earliest starts with the fewest ways out, those ways: ordered pairs one of which any
/// plan has. Nothing if there is no conflict.
fn cheapest_conflict(model: &Model, network: &Network) -> Option<Vec<(usize, usize)>> {
    let starts = network.leaving(0);
    let mut best: Option<Vec<(usize, usize)>> = None;
    for &at in starts {
        let active: Vec<usize> = (0..model.size())
            .filter(|&it| starts[it] <= at && at - starts[it] < model.durations[it])
            .collect();
        for (resource, &capacity) in model.capacities.iter().enumerate() {
            let demand = |activity: usize| i64::from(model.demands[activity][resource]);
            let mut excess = active.iter().map(|&it| demand(it)).sum::<i64>() - i64::from(capacity);
            if excess <= 0 {
                continue;
            }
            // A minimal set: small demands go while it still asks too much.
            let mut set: Vec<usize> = active
                .iter()
                .copied()
                .filter(|&it| demand(it) > 0)
                .collect();
            set.sort_by_key(|&it| (demand(it), it));
            set.retain(|&it| {
                let spare = demand(it) < excess;
                if spare {
                    excess -= demand(it);
                }
                !spare
            });
            let orders: Vec<(usize, usize)> = set
                .iter()
                .flat_map(|&first| set.iter().map(move |&second| (first, second)))
                .filter(|&(first, second)| {
                    first != second && may_precede(model, network, first, second)
                })
                .collect();
            if best.as_ref().is_none_or(|best| orders.len() < best.len()) {
                best = Some(orders);
            }
        }
    }
    best
}
