//! What would become of a decision, before it is taken.
//!
//! A decision (covers, the service, a cook away, kit out of use, a dish more or less, a way out) is first planned as
//! if it had been taken, on the planner's thread; the page shows the plan before beside the plan after. Only taking
//! it writes an entry, and that one entry holds the decision and the times the cooks are told with it, so that both
//! stand or neither does, and one undo takes back both.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::effect::Effect;
use super::sheet::{Move, Sheet};
use super::worker::Situation;
use crate::book::{Decision, Happening};
use crate::menu::Menu;
use crate::plan::{Plan, PlanOutcome, WayOut};
use crate::prep::{PrepState, decide, decision_words};
use crate::time::ServiceTime;

/// A decision on trial.
#[derive(Clone, Debug)]
pub struct Trial {
    /// What is to be decided.
    pub decision: Decision,
    /// It in words.
    pub says: String,
    /// The menu as it would be.
    pub menu: Arc<(Menu, ServiceTime)>,
    /// What would become of it; none until it has been planned.
    pub outcome: Option<PlanOutcome>,
    generation: u64,
}

/// What changes for one dish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DishChange {
    /// Its name.
    pub name: String,
    /// How it was: portions and when it was ready.
    pub was: Option<(u32, String)>,
    /// How it would be.
    pub is: Option<(u32, String)>,
}

/// The plan before beside the plan after.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comparison {
    /// Dishes of which anything changes, in the order of the menu, those that are gone last.
    pub dishes: Vec<DishChange>,
    /// Steps that start at other times, in their new order.
    pub moves: Vec<Move>,
    /// Steps there were none of before: their names.
    pub new: Vec<String>,
    /// Steps there would be none of.
    pub gone: Vec<String>,
}

impl Sheet {
    /// Begins the trial of a decision, or says why it makes no sense.
    pub(super) fn try_decision(&mut self, decision: Decision) -> Result<Effect, String> {
        let (menu, service) = decide(&self.menu, self.service, &decision, &self.cards.read)?;
        let says = decision_words(&decision, self.service.zone());
        let menu = Arc::new((menu, service));
        let generation = self.next_generation();
        self.trial = Some(Trial {
            decision,
            says,
            menu: Arc::clone(&menu),
            outcome: None,
            generation,
        });
        Ok(Effect::Try {
            generation,
            situation: Situation {
                happened: self.prep.happened(&menu.0, service),
                announced: self.announced_for(service),
                changed: Some(menu),
                now: service.minute(self.now),
            },
        })
    }

    /// Puts a way out on trial: what it leads to is known already.
    pub(super) fn try_way_out(&mut self, way: &WayOut) -> Result<(), String> {
        let decision =
            crate::prep::decision_of(&way.way, &self.menu, self.service, way.gives.begins)
                .ok_or_else(|| "nothing is to be decided for that".to_owned())?;
        let (menu, service) = decide(&self.menu, self.service, &decision, &self.cards.read)?;
        self.trial = Some(Trial {
            decision,
            says: way.says.clone(),
            menu: Arc::new((menu, service)),
            outcome: Some(PlanOutcome::Planned(way.plan.clone())),
            generation: self.next_generation(),
        });
        Ok(())
    }

    /// Takes in what would become of a decision; returns whether it is the one on trial.
    pub(super) fn tried_decision(&mut self, generation: u64, outcome: PlanOutcome) -> bool {
        match &mut self.trial {
            Some(trial) if trial.generation == generation => {
                trial.outcome = Some(outcome);
                true
            }
            _ => false,
        }
    }

    /// Has the decision on trial written, or says why not yet. One that leaves no plan can be taken all the same: the
    /// cook has fallen ill whether the plan likes it or not.
    pub(super) fn take_decision(&mut self) -> Result<Effect, String> {
        let Some(trial) = &self.trial else {
            return Err("nothing is on trial".to_owned());
        };
        let Some(outcome) = &trial.outcome else {
            return Err("it is still being planned; wait for it".to_owned());
        };
        let steps = match outcome {
            PlanOutcome::Planned(plan) => {
                PrepState::announcement_of(&plan.announced(), plan.service)
            }
            _ => BTreeMap::new(),
        };
        let what = Happening::Decided {
            decision: trial.decision.clone(),
            steps,
        };
        let done = format!("decided: {}; U takes it back", trial.says);
        Ok(self.append(what, None, self.now, done))
    }

    /// Returns the plan shown beside the one on trial; none before both are known.
    pub fn comparison(&self) -> Option<Comparison> {
        let trial = self.trial.as_ref()?;
        let after = trial.outcome.as_ref()?.times()?;
        let before = self.times()?;
        Some(Comparison {
            dishes: dishes(before, after),
            moves: moves(self, before, after, &trial.menu.0),
            new: names(after, before, &trial.menu.0),
            gone: names(before, after, &self.menu),
        })
    }
}

fn dishes(before: &Plan, after: &Plan) -> Vec<DishChange> {
    let said = |plan: &Plan, name: &str| {
        let dish = plan.dishes.iter().find(|dish| dish.name == name)?;
        let ready = plan.service.local(dish.ready).weekday_clock();
        Some((dish.portions, ready))
    };
    let names = after.dishes.iter().map(|dish| &dish.name);
    let lost = before.dishes.iter().map(|dish| &dish.name);
    let lost = lost.filter(|name| after.dishes.iter().all(|dish| dish.name != **name));
    names
        .chain(lost)
        .map(|name| DishChange {
            name: name.clone(),
            was: said(before, name),
            is: said(after, name),
        })
        .filter(|change| change.was != change.is)
        .collect()
}

fn full_name(menu: &Menu, step: &crate::plan::PlannedStep) -> String {
    let dish = menu.dishes.get(step.dish);
    format!(
        "{} – {}",
        dish.map_or("", |dish| dish.name.as_str()),
        step.name
    )
}

/// Minutes of both plans are told from the service as it stands, so that a service that moves moves no step.
fn moves(sheet: &Sheet, before: &Plan, after: &Plan, menu: &Menu) -> Vec<Move> {
    let order = after.order.iter().filter_map(|&step| after.steps.get(step));
    let moves = order.filter_map(|is| {
        let (_, was) = before.find(&is.key)?;
        let to = sheet
            .service
            .minute(after.service.timestamp(is.window.start));
        let from = was.window.start;
        (from != to && is.happened.is_none()).then(|| Move {
            name: full_name(menu, is),
            from,
            to,
            way: None,
        })
    });
    moves.collect()
}

/// Returns the steps of one plan that the other has none of.
fn names(of: &Plan, other: &Plan, menu: &Menu) -> Vec<String> {
    let order = of.order.iter().filter_map(|&step| of.steps.get(step));
    order
        .filter(|step| other.find(&step.key).is_none())
        .map(|step| full_name(menu, step))
        .collect()
}
