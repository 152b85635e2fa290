//! What is true: the menu, the plan, the prep, the time. Drawing reads it and cannot change it.

use super::effect::{Effect, Ticket};
use super::theme::Colour;
use super::view::{Row, View};
use crate::book::{Entry, Note};
use crate::menu::Menu;
use crate::plan::{Plan, PlanOutcome, StepKey};
use crate::prep::{Ask, PrepState, Refusal, Standing};
use crate::time::{Minute, ServiceTime, Timestamp};

/// What is known when the sheet opens.
#[derive(Clone, Debug)]
pub struct Opening {
    /// The menu.
    pub menu: Menu,
    /// Service and zone.
    pub service: ServiceTime,
    /// The banquet's name in the book.
    pub event: String,
    /// The book's entries about it, oldest first.
    pub entries: Vec<Entry>,
    /// Who ticks.
    pub who: String,
    /// Where.
    pub place: String,
    /// What to say once.
    pub notices: Vec<String>,
    /// Whether colours are used.
    pub colour: Colour,
}

/// What is true.
#[derive(Debug)]
pub struct Sheet {
    /// The menu.
    pub menu: Menu,
    /// Service and zone.
    pub service: ServiceTime,
    /// Whether colours are used.
    pub colour: Colour,
    /// What to tell the cook of, kept for the whole sitting.
    pub notices: Vec<String>,
    /// Where the prep stands.
    pub prep: PrepState,
    /// What became of planning; none until the planner has answered once.
    pub outcome: Option<PlanOutcome>,
    /// The time.
    pub now: Timestamp,
    /// Ticks on their way to the book.
    pub writing: Vec<Writing>,
    /// Whether a plan has been asked for that has not come.
    pub planning: bool,
    /// The plan in rows.
    pub view: View,
    event: String,
    who: String,
    place: String,
    generation: u64,
    tickets: u64,
}

/// A tick on its way to the book.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Writing {
    /// Comes back with the answer.
    pub ticket: Ticket,
    /// The step it is about.
    pub key: StepKey,
    /// What to say once it is written: "started …".
    pub done: String,
}

impl Sheet {
    /// Returns the sheet as it opens.
    pub fn new(opening: Opening, now: Timestamp) -> Self {
        Self {
            prep: PrepState::fold(&opening.entries),
            menu: opening.menu,
            service: opening.service,
            colour: opening.colour,
            notices: opening.notices,
            outcome: None,
            now,
            writing: Vec::new(),
            planning: false,
            view: View::default(),
            event: opening.event,
            who: opening.who,
            place: opening.place,
            generation: 0,
            tickets: 0,
        }
    }

    /// Returns now as a minute of the plan.
    pub fn now_minute(&self) -> Minute {
        self.service.minute(self.now)
    }

    /// Returns the times to show, where there are any.
    pub fn times(&self) -> Option<&Plan> {
        self.outcome.as_ref().and_then(PlanOutcome::times)
    }

    /// Returns whether the planner has said that there is no plan at all.
    pub fn has_no_plan(&self) -> bool {
        matches!(self.outcome, Some(PlanOutcome::Impossible(_)))
    }

    /// Returns whether the times are those that would have been needed.
    pub fn is_too_late(&self) -> bool {
        matches!(self.outcome, Some(PlanOutcome::TooLate { .. }))
    }

    /// Returns whether a tick of this step is on its way to the book.
    pub fn is_writing(&self, key: &StepKey) -> bool {
        self.writing.iter().any(|writing| writing.key == *key)
    }

    /// Returns whether a row's time is one that would have been needed, not one of a plan.
    pub fn is_needed_only(&self, row: &Row) -> bool {
        self.view.needed_only
            && matches!(
                row.standing,
                Standing::Due | Standing::Ready | Standing::Waiting
            )
    }

    /// Returns the sentences about why there is no plan that holds, where there is none.
    pub fn reasons(&self) -> Vec<String> {
        match &self.outcome {
            Some(PlanOutcome::TooLate { late, because, .. }) => {
                let mut said = vec![super::words::too_late(self, late, because)];
                said.extend(because.iter().skip(1).cloned());
                said
            }
            Some(PlanOutcome::Impossible(because)) => because.clone(),
            Some(PlanOutcome::Planned(_)) | None => Vec::new(),
        }
    }

    pub(super) fn rebuild(&mut self) {
        self.view = View::of(self);
    }

    /// Asks for a plan as of now.
    pub(super) fn replan(&mut self) -> Effect {
        self.generation += 1;
        self.planning = true;
        Effect::Replan {
            generation: self.generation,
            happened: self.prep.happened(self.service),
            now: self.now_minute(),
        }
    }

    /// Takes in an answer of the planner; returns whether it is the one waited for, or the first of all.
    pub(super) fn planned(&mut self, generation: u64, outcome: PlanOutcome) -> bool {
        let latest = generation == self.generation;
        if latest {
            self.planning = false;
        }
        if !latest && self.outcome.is_some() {
            return false;
        }
        self.outcome = Some(outcome);
        self.rebuild();
        true
    }

    /// Takes in the time; returns whether the minute is another.
    pub(super) fn time(&mut self, now: Timestamp) -> bool {
        let before = self.now_minute();
        self.now = now;
        let changed = self.now_minute() != before;
        if changed {
            self.rebuild();
        }
        changed
    }

    /// Has a tick written, or says why it makes no sense.
    pub(super) fn ask(
        &mut self,
        key: &StepKey,
        ask: Ask,
        at: Timestamp,
        done: String,
    ) -> Result<Effect, Refusal> {
        if self.is_writing(key) {
            return Err(Refusal(
                "the last tick of this step is still being written; wait for it".to_owned(),
            ));
        }
        let what = self.prep.ask(key, ask, at)?;
        self.tickets += 1;
        let ticket = Ticket(self.tickets);
        self.writing.push(Writing {
            ticket,
            key: key.clone(),
            done,
        });
        let note = Note {
            event: self.event.clone(),
            at,
            written: self.now,
            who: self.who.clone(),
            place: self.place.clone(),
            what,
        };
        Ok(Effect::Append { ticket, note })
    }

    /// Takes in an answer of the book; returns what was waited for. Only an entry that stands in the book
    /// changes the prep.
    pub(super) fn recorded(
        &mut self,
        ticket: Ticket,
        result: Result<Entry, String>,
    ) -> Option<Result<Writing, String>> {
        let place = self
            .writing
            .iter()
            .position(|writing| writing.ticket == ticket)?;
        let writing = self.writing.remove(place);
        Some(result.map(|entry| {
            self.prep.apply(&entry);
            self.rebuild();
            writing
        }))
    }
}
