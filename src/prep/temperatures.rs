//! The plan, and what was measured, held against the rules for temperatures.
//!
//! [`crate::safety`] knows the rules and no plan, so here its questions are put in the plan's terms, once for the screen,
//! the printed page and the calls.

use super::PrepState;
use crate::menu::Menu;
use crate::plan::{PlanOutcome, StepKey};
use crate::safety::Level;
use crate::safety::readings::sentences;
use crate::safety::rules::{RuleSet, set_of, unnamed};
use crate::safety::timeline::{self, Checked, Doing};
use crate::time::{ServiceTime, Zone};

/// Returns the rules a menu is held against: those it names, else the three that differ most.
pub fn rule_sets(menu: &Menu) -> Vec<&'static RuleSet> {
    match menu.rules {
        Some(rules) => vec![set_of(rules)],
        None => unnamed().to_vec(),
    }
}

/// Returns a menu held against each of these sets, at the times of a plan; without one every time is missing, and what
/// is missing is not known.
pub fn held_against(
    menu: &Menu,
    service: ServiceTime,
    outcome: Option<&PlanOutcome>,
    sets: &[&'static RuleSet],
) -> Vec<Checked> {
    let steps = outcome.and_then(PlanOutcome::times);
    let steps = steps.map_or(&[][..], |plan| plan.steps.as_slice());
    let doings: Vec<Doing> = steps
        .iter()
        .map(|step| Doing {
            dish: step.dish,
            step: step.step,
            name: step.name.clone(),
            window: step.window,
            follows: step.follows.clone(),
        })
        .collect();
    sets.iter()
        .map(|set| timeline::check(menu, set, service, &doings))
        .collect()
}

/// Returns what the temperatures measured at each step say of cooling by a set of rules, with how much that weighs; only
/// the steps of which they say something.
pub fn measured_against(
    prep: &PrepState,
    set: &RuleSet,
    zone: Zone,
) -> Vec<(StepKey, Vec<(Level, String)>)> {
    let steps = prep.temperatures().into_iter();
    steps
        .map(|(step, readings)| (step, sentences(set, &readings, zone)))
        .filter(|(_, said)| !said.is_empty())
        .collect()
}
