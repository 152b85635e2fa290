//! Who works when, and how much of each kind of kit is in use.
//!
//! # Left out
//! Kit that others have at certain hours: it is not in use by this menu, and the plan keeps clear of it.

use super::{PrepState, Progress};
use crate::menu::Kitchen;
use crate::plan::{Plan, PlannedStep};
use crate::time::{Minute, Minutes, Window};

/// One cook's days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct CookDays {
    /// The name.
    pub cook: String,
    /// When on shift, in order.
    pub shifts: Vec<Window>,
    /// When hands are given to steps, in order, one after another.
    pub works: Vec<Window>,
}

/// A kind of kit over the days.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct KitDays {
    /// The name.
    pub kit: String,
    /// How many there are; of ovens, all their shelves.
    pub places: u32,
    /// Stretches with how many are in use, in order; none of what nobody uses.
    pub uses: Vec<(Window, u32)>,
}

impl CookDays {
    /// Returns how long this cook still works from a minute on.
    pub fn left(&self, now: Minute) -> Minutes {
        let left = self
            .works
            .iter()
            .map(|it| (it.end - it.start.max(now)).0.max(0));
        Minutes(left.sum())
    }
}

impl KitDays {
    /// Returns how many are in use at once at the most, from a minute on.
    pub fn most(&self, from: Minute) -> u32 {
        let to_come = self.uses.iter().filter(|(it, _)| from < it.end);
        to_come.map(|(_, count)| *count).max().unwrap_or(0)
    }
}

/// Returns the days of each cook of a plan, in the order of the kitchen.
pub fn cooks(plan: &Plan, prep: &PrepState) -> Vec<CookDays> {
    let given: Vec<_> = made(plan, prep).flat_map(|step| &step.hands).collect();
    plan.shifts
        .iter()
        .map(|shifts| {
            let mine = given
                .iter()
                .filter(|span| span.cooks.contains(&shifts.cook));
            let mut works: Vec<Window> = mine.map(|span| span.window).collect();
            works.sort_unstable_by_key(|it| (it.start, it.end));
            let mut joined: Vec<Window> = Vec::new();
            for window in works {
                match joined.last_mut() {
                    Some(last) if window.start <= last.end => last.end = last.end.max(window.end),
                    _ => joined.push(window),
                }
            }
            CookDays {
                cook: shifts.cook.clone(),
                shifts: shifts.windows.clone(),
                works: joined,
            }
        })
        .collect()
}

/// Returns each kind of kit over the days of a plan, in the order of the kitchen, but for what no step uses.
pub fn kit(plan: &Plan, prep: &PrepState, kitchen: &Kitchen) -> Vec<KitDays> {
    let spans: Vec<_> = made(plan, prep).flat_map(|step| &step.kit).collect();
    kitchen
        .kit
        .iter()
        .map(|kind| {
            let mut changes: Vec<(Minute, i64)> = Vec::new();
            for span in spans.iter().filter(|span| span.name == kind.name) {
                changes.push((span.window.start, i64::from(span.count)));
                changes.push((span.window.end, -i64::from(span.count)));
            }
            changes.sort_unstable();
            let mut uses: Vec<(Window, u32)> = Vec::new();
            let mut in_use = 0;
            for (at, &(from, change)) in changes.iter().enumerate() {
                in_use += change;
                let until = changes.get(at + 1).map(|next| next.0);
                if let Some(until) = until.filter(|&until| from < until && 0 < in_use) {
                    let count = u32::try_from(in_use).unwrap_or(u32::MAX);
                    uses.push((Window::new(from, until), count));
                }
            }
            KitDays {
                kit: kind.name.clone(),
                places: kind.places(),
                uses,
            }
        })
        .filter(|kit| !kit.uses.is_empty())
        .collect()
}

/// Returns the steps that are done, run or will be.
fn made<'a>(plan: &'a Plan, prep: &'a PrepState) -> impl Iterator<Item = &'a PlannedStep> {
    let steps = plan.steps.iter().enumerate();
    steps
        .filter(|(index, step)| {
            let skipped = matches!(prep.progress(&step.key), Progress::Skipped { .. });
            !skipped && !plan.is_given_up(*index)
        })
        .map(|(_, step)| step)
}
