//! When each step of a dish first begins, for whoever must be ready for it.

use std::collections::BTreeMap;

use super::{PrepState, is_to_start};
use crate::plan::Plan;
use crate::time::Minute;

/// When a step begins, whatever batch, part or round of it comes first.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Begin {
    /// At this minute.
    At(Minute),
    /// Each doing of it has begun, is over or will not be done, or its dish is left out of what can still be.
    Begun,
}

/// Returns when each step of a plan first begins, by the places of its dish and of itself in the menu.
pub fn begins(plan: &Plan, prep: &PrepState) -> BTreeMap<(usize, usize), Begin> {
    let mut found = BTreeMap::new();
    for (index, planned) in plan.steps.iter().enumerate() {
        let at = (planned.dish, planned.step);
        let begin = found.entry(at).or_insert(Begin::Begun);
        if !is_to_start(plan, prep, index) {
            continue;
        }
        let start = planned.window.start;
        *begin = match *begin {
            Begin::At(known) => Begin::At(known.min(start)),
            Begin::Begun => Begin::At(start),
        };
    }
    found
}
