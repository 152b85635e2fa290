//! The plan, and what was measured, held against the rules for temperatures.
//!
//! [`crate::safety`] knows the rules and no plan, so here its questions are put in the plan's terms, once for the screen,
//! the printed page and the calls.

use super::PrepState;
use crate::forecast;
use crate::menu::{Control, Menu, Step, Temperature};
use crate::plan::{Done, Plan, PlanOutcome, StepKey};
use crate::safety::Level;
use crate::safety::cooling::card::cooked_to;
use crate::safety::readings::{out_too_long, sentences};
use crate::safety::rules::{Legs, RuleSet, set_of, unnamed};
use crate::safety::timeline::{self, Checked, Doing, Verdict};
use crate::time::{Minute, ServiceTime, Timestamp, Zone};

/// A temperature that differs from the one before by less than this is no slip.
pub(super) const SLIP: f64 = 10.0;

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

/// Returns the legs that the food of a step is held to, by what its card and those it follows say of how warm it was, and
/// by what was read of it.
pub(super) fn cooling_of(
    menu: &Menu,
    set: &RuleSet,
    step: &StepKey,
    readings: &[(Timestamp, f64)],
) -> Legs {
    let dish = menu.dish(&step.dish).map(|(_, dish)| dish);
    let card = dish.and_then(|dish| Some((dish, dish.step(&step.step)?.1)));
    let by_cards = card.map_or(f64::NEG_INFINITY, |(dish, step)| {
        let from = match step.temperature {
            Some(Temperature::Cooled { from, .. }) => f64::from(from) / 10.0,
            _ => f64::NEG_INFINITY,
        };
        cooked_to(menu, dish, step).map_or(from, |cooked| cooked.max(from))
    });
    let read = readings.iter().map(|&(_, degrees)| degrees);
    set.cooling_of(read.fold(by_cards, f64::max))
}

/// Returns the temperatures measured at a step that are no slips, as far as the others show it.
pub(super) fn believed(readings: &[(Timestamp, f64)]) -> Vec<(Timestamp, f64)> {
    let first = readings.first().map_or(0, |(at, _)| at.0);
    let points: Vec<(f64, f64)> = readings
        .iter()
        .map(|(at, degrees)| ((at.0 - first) as f64 / 60.0, *degrees))
        .collect();
    let believed = forecast::believed(&points, SLIP);
    let believed = readings.iter().zip(believed).filter(|(_, it)| *it);
    believed.map(|(reading, _)| *reading).collect()
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
    /// Where the rule stands.
    pub source: &'static str,
}

/// Raises what each dish comes to by what was measured: what was not kept is not made good by how it was planned.
pub fn with_measured(checked: &mut Checked, measured: &[AsMeasured]) {
    for one in measured {
        let verdict = match one.level {
            Level::Note => continue,
            Level::NotKnown => Verdict::NotKnown,
            Level::Advice => Verdict::Doubtful,
            Level::Breaks => Verdict::Breaks,
        };
        if let Some(dish) = checked.dishes.get_mut(one.dish) {
            dish.verdict = dish.verdict.max(verdict);
        }
    }
}

/// Returns what the temperatures measured at each step say of cooling and of time out of the cold by a set of rules; only of the steps of which they
/// say something. As it is known now, on the clock of a zone.
pub fn measured_against(
    menu: &Menu,
    prep: &PrepState,
    set: &RuleSet,
    now: (Timestamp, Zone),
) -> Vec<AsMeasured> {
    let mut found = Vec::new();
    for (step, readings) in prep.temperatures() {
        let Some((dish, card)) = menu.dish(&step.dish) else {
            continue;
        };
        // What is to be held is held against the time out of the cold; what is to be cooled goes through it, by its legs.
        let held = card.step(&step.step).map(|(_, step)| step);
        let held = held.filter(|step| matches!(step.temperature, Some(Temperature::Held { .. })));
        let is_watched = |step: &Step| step.control.or(card.control) != Some(Control::NotNeeded);
        let believed = believed(&readings);
        // A slip into the cold must not part what was too warm for too long.
        let out = || out_too_long(set, &readings).or_else(|| out_too_long(set, &believed));
        if held.is_some_and(is_watched)
            && let Some(what) = out()
        {
            found.push(AsMeasured {
                dish,
                step: step.clone(),
                level: Level::Breaks,
                what,
                source: set.out_source,
            });
        }
        // How hot it was is what is believed: a slip must not make it food that may take longer.
        let legs = cooling_of(menu, set, &step, &believed);
        for (level, what) in sentences(set, &legs, (&readings, &believed), now) {
            found.push(AsMeasured {
                dish,
                step: step.clone(),
                level,
                what,
                source: legs.source,
            });
        }
    }
    found
}
