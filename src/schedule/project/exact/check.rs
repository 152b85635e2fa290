//! What the search says is checked by other means than it was found by.

#[cfg(debug_assertions)]
use super::engine::Engine;
#[cfg(debug_assertions)]
use super::literal::Literal;
#[cfg(debug_assertions)]
use super::trail::Reason;
use crate::schedule::project::Project;

/// Whether starts are a plan of a project: every lag, every minute of every resource.
pub(super) fn is_plan(project: &Project, starts: &[i32]) -> bool {
    let end = starts.last().copied().unwrap_or(0);
    let within = (project.durations.iter().zip(starts))
        .all(|(duration, &start)| start >= 0 && start + duration <= end);
    let lags = (project.arcs.iter()).all(|&(from, to, lag)| starts[to] >= starts[from] + lag);
    starts.first() == Some(&0)
        && within
        && lags
        && project
            .capacities
            .iter()
            .enumerate()
            .all(|(resource, &capacity)| {
                (0..end).all(|minute| {
                    let used: i32 = (0..starts.len())
                        .filter(|&it| {
                            starts[it] <= minute && minute < starts[it] + project.durations[it]
                        })
                        .map(|it| project.demands[it][resource])
                        .sum();
                    used <= capacity
                })
            })
}

/// Sees to it that an explanation was true when it was drawn from, and that the rule draws that from it.
#[cfg(debug_assertions)]
pub(super) fn explanation(engine: &Engine, position: usize, drawn: Literal, why: &[Literal]) {
    let entry = engine.trail.entry(position);
    if engine.trail.level() == 0 {
        // Nothing is learned from what clashes in every plan.
        return;
    }
    assert!(entry.side == drawn.side && entry.bound >= drawn.bound);
    for literal in why {
        let bound = engine.trail.bound_before(literal.side, position);
        assert!(bound >= literal.bound, "{literal:?} was not so yet");
    }
    let said = |side: super::literal::Side| {
        (why.iter().filter(|it| it.side == side))
            .map(|it| it.bound)
            .max()
    };
    // What can be said of a side: the explanation, or what holds anyway.
    let root = |side| engine.trail.bound_before(side, engine.trail.root_end());
    let known = |side| said(side).unwrap_or(i32::MIN).max(root(side));
    match entry.reason {
        Reason::Root | Reason::Decision => assert!(why.is_empty()),
        Reason::Arc(number) => {
            let arc = engine.model.arcs.item(number as usize);
            assert!(arc.to == drawn.side && known(arc.from) + arc.lag >= drawn.bound);
        }
        Reason::Ordered(number) => {
            let item = engine.model.ordered.item(number as usize);
            assert!(known(item.order.side) >= item.order.bound);
            assert!(item.arc.to == drawn.side);
            assert!(known(item.arc.from) + item.arc.lag >= drawn.bound);
        }
        Reason::Refused(number) => {
            let item = engine.model.ordered.item(number as usize);
            assert!(item.order.opposite() == drawn);
            assert!(known(item.arc.from) + item.arc.lag + known(item.arc.to.other()) > 0);
        }
        Reason::Full { resource, minute } => {
            let table = &engine.model.tables[resource as usize];
            let running = |least: i32, most: i32, duration: i32| {
                // Wherever it starts, it runs then.
                least <= most && (least..=most).all(|at| at <= minute && minute < at + duration)
            };
            let mut used = 0;
            for task in &table.tasks {
                let activity = task.start as usize;
                let mut least = known(super::literal::Side::least(activity));
                let mut most = -known(super::literal::Side::most(activity));
                if activity == drawn.side.variable() {
                    // The opposite of what was drawn.
                    if drawn.side.is_most() {
                        least = least.max(1 - drawn.bound);
                    } else {
                        most = most.min(drawn.bound - 1);
                    }
                    assert!(running(least, most, task.duration));
                    used += task.demand;
                } else if running(least, most, task.duration) {
                    used += task.demand;
                }
            }
            assert!(used > table.capacity, "the resource is not overdrawn");
        }
        Reason::Clause(clause) => {
            let literals = engine.clauses.of(clause);
            assert!(literals[0].side == drawn.side && literals[0].bound >= drawn.bound);
            for literal in &literals[1..] {
                assert!(known(literal.side.other()) >= literal.opposite().bound);
            }
        }
    }
}
