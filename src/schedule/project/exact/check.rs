//! Explanations are checked by other means than they were found by, in builds that check themselves.

use super::engine::Engine;
use super::literal::{Literal, Side};
use super::trail::Reason;

/// Sees to it that an explanation was true when it was drawn from, and that the rule draws that from it.
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
    let said = |side: Side| {
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
            // Wherever it starts, it runs then.
            let running = |least: i32, most: i32, duration: i32| {
                least <= most && (least..=most).all(|at| at <= minute && minute < at + duration)
            };
            let mut used = 0;
            for task in &table.tasks {
                let activity = task.start as usize;
                let mut least = known(Side::least(activity));
                let mut most = -known(Side::most(activity));
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
