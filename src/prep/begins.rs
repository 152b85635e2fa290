//! When each step of a dish first begins, for whoever must be ready for it.

use std::collections::BTreeMap;

use super::{PrepState, Progress};
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
        let is_left = prep.progress(&planned.key) == Progress::Waiting && !planned.is_presumed;
        if !is_left || plan.is_given_up(index) {
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
