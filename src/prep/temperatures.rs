//! The plan, and what was measured, held against the rules for temperatures.
//!
//! [`crate::safety`] knows the rules and no plan, so here its questions are put in the plan's terms, once for the screen,
//! the printed page and the calls.

use super::PrepState;
use crate::menu::Menu;
use crate::plan::{Done, Plan, PlanOutcome, StepKey};
use crate::safety::Level;
use crate::safety::readings::sentences;
use crate::safety::rules::{RuleSet, set_of, unnamed};
use crate::safety::timeline::{self, Checked, Doing};
use crate::time::{Minute, ServiceTime, Zone};

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
    let doings = outcome.and_then(PlanOutcome::times).map(doings);
    let doings = doings.unwrap_or_default();
    sets.iter()
        .map(|set| timeline::check(menu, set, service, &doings))
        .collect()
}

/// Returns when the oldest part of what each step of a plan ends with was made or cooked; nothing of what needs no
/// temperature control.
pub fn oldest_parts(menu: &Menu, plan: &Plan, set: &'static RuleSet) -> Vec<Option<Minute>> {
    timeline::oldest(menu, set, plan.service, &doings(plan))
}

fn doings(plan: &Plan) -> Vec<Doing> {
    let steps = plan.steps.iter();
    steps
        .map(|step| Doing {
            dish: step.dish,
            step: step.step,
            name: step.name.clone(),
            window: step.window,
            follows: step.follows.clone(),
            left_out: matches!(step.happened, Some(Done::Skipped(_))),
        })
        .collect()
}

/// What the temperatures measured at a step say of one leg of a rule.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct AsMeasured {
    /// The dish's place in the menu.
    pub dish: usize,
    /// Where it was measured.
    pub step: StepKey,
    /// How much it weighs.
    pub level: Level,
    /// What it is, as a sentence without a full stop.
    pub what: String,
}

/// Returns what the temperatures measured at each step say of cooling by a set of rules; only of the steps of which they
/// say something.
pub fn measured_against(
    menu: &Menu,
    prep: &PrepState,
    set: &RuleSet,
    zone: Zone,
) -> Vec<AsMeasured> {
    let mut found = Vec::new();
    for (step, readings) in prep.temperatures() {
        let Some((dish, _)) = menu.dish(&step.dish) else {
            continue;
        };
        for (level, what) in sentences(set, &readings, zone) {
            found.push(AsMeasured {
                dish,
                step: step.clone(),
                level,
                what,
            });
        }
    }
    found
}
