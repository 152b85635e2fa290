//! What would become of a decision, before it is taken.
//!
//! A decision (covers, the service, a cook away, kit out of use, a dish more or less, a way out) is first planned as
//! if it had been taken, on the planner's thread; the page shows the plan before beside the plan after. Only taking
//! it writes an entry, and that one entry holds the decision and the times the cooks are told with it, so that both
//! stand or neither does, and one undo takes back both.

use std::collections::BTreeMap;
use std::sync::Arc;

use super::effect::Effect;
use super::sheet::Sheet;
use super::worker::Situation;
use crate::book::{Decision, Happening};
use crate::menu::Menu;
use crate::plan::{PlanOutcome, WayOut};
use crate::prep::{Comparison, PrepState, decide, decision_words, keeps_its_covers, planned_from};
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
    /// What it leaves as it is, and what was made for fewer than it wants, a sentence each.
    pub remarks: Vec<String>,
    /// What would become of it; none until it has been planned.
    pub outcome: Option<PlanOutcome>,
    generation: u64,
}

impl Sheet {
    /// Begins the trial of a decision, or says why it makes no sense.
    pub(super) fn try_decision(&mut self, decision: Decision) -> Result<Effect, String> {
        let (menu, service) = decide(&self.menu, self.service, &decision, &self.cards.read)?;
        let says = decision_words(&decision, self.service.zone());
        let remarks = self.remarks(&decision, &menu);
        let menu = Arc::new((menu, service));
        let happened = self.prep.happened(&menu.0, service);
        let generation = self.next_generation();
        self.trial = Some(Trial {
            decision,
            says,
            menu: Arc::clone(&menu),
            remarks,
            outcome: None,
            generation,
        });
        Ok(Effect::Try {
            generation,
            situation: Situation {
                shown: self.prep.shown(service),
                now: planned_from(&happened, service.minute(self.now)),
                happened,
                announced: self.announced_for(service),
                changed: Some(menu),
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
            remarks: self.remarks(&decision, &menu),
            decision,
            says: way.says.clone(),
            menu: Arc::new((menu, service)),
            outcome: Some(way.outcome.clone()),
            generation: self.next_generation(),
        });
        Ok(())
    }

    fn remarks(&self, decision: &Decision, wanted: &Menu) -> Vec<String> {
        let keeps = keeps_its_covers(&self.menu, decision).into_iter();
        keeps.chain(self.lacking(wanted)).collect()
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
        Some(Comparison::of((before, &self.menu), (after, &trial.menu.0)))
    }
}
