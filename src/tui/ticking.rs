//! Ticks: what is asked of the selected step or errand becomes an effect, and what was written is said.

use super::action::Action;
use super::app::App;
use super::effect::Effect;
use super::sheet::Writing;
use super::theme::Tone;
use super::ui::{Open, Wanted};
use super::widgets::text::clean;
use crate::book::Errand;
use crate::plan::StepKey;
use crate::prep::Ask;
use crate::time::Timestamp;

/// What is said to a key that means nothing of an errand.
pub(super) const NO_STEP: &str =
    "this is no step; s or d says that it is seen to, D at another time, u takes that back";

impl App {
    /// Does what a key that ticks means: of the selected step, or of the selected errand.
    pub(super) fn tick(&mut self, action: Action) -> Vec<Effect> {
        // Where no selection is seen, none is meant.
        if !matches!(self.ui.open, None | Some(Open::Card)) {
            return Vec::new();
        }
        if let Some(errand) = self.selected_errand() {
            let errand = errand.errand.clone();
            return self.tick_errand(action, errand);
        }
        let Some(key) = self.selected_key() else {
            self.ui.say(Tone::Alarm, "no step is selected");
            return Vec::new();
        };
        let now = self.sheet.now;
        let wanted = match action {
            Action::Start => return self.ask(&key, Ask::Start, now),
            Action::Finish => return self.ask(&key, Ask::Finish, now),
            Action::Undo => return self.ask(&key, Ask::Undo, now),
            Action::StartAt => Wanted::StartedAt(key),
            Action::FinishAt => Wanted::DoneAt(key),
            _ => Wanted::Reason(key),
        };
        self.prompt(wanted);
        Vec::new()
    }

    /// Does what a key that ticks means where an errand is selected.
    fn tick_errand(&mut self, action: Action, errand: Errand) -> Vec<Effect> {
        match action {
            Action::Start | Action::Finish => self.see_to(&errand, Some(self.sheet.now)),
            Action::Undo => self.see_to(&errand, None),
            Action::StartAt | Action::FinishAt => {
                self.prompt(Wanted::SeenToAt(errand));
                Vec::new()
            }
            _ => {
                self.ui.say(Tone::Plain, NO_STEP);
                Vec::new()
            }
        }
    }

    /// Has it written that an errand was seen to, or that it was not.
    pub(super) fn see_to(&mut self, errand: &Errand, at: Option<Timestamp>) -> Vec<Effect> {
        match self.sheet.see_to(errand, at) {
            Ok(effect) => {
                self.ui.message = None;
                vec![effect]
            }
            Err(refusal) => {
                self.ui.say(Tone::Alarm, clean(&refusal).into_owned());
                Vec::new()
            }
        }
    }

    /// Has a tick written.
    pub(super) fn ask(&mut self, key: &StepKey, ask: Ask, at: Timestamp) -> Vec<Effect> {
        match self.sheet.ask(key, ask, at) {
            Ok(effect) => {
                self.ui.message = None;
                vec![effect]
            }
            Err(refusal) => {
                self.ui.say(Tone::Alarm, clean(&refusal.to_string()));
                Vec::new()
            }
        }
    }

    /// Says what has been written; of what was seen to at an odd time what is odd comes first, and stands.
    pub(super) fn say_done(&mut self, writing: &Writing) {
        let errand = writing.errand.as_ref();
        let known = errand.and_then(|errand| self.sheet.errand(errand));
        match known.and_then(|known| known.off) {
            Some(off) => {
                let said = format!("{}; {}; a slip? u takes it back", off.words(), writing.done);
                self.ui.say_for_good(Tone::Alarm, said);
            }
            None => self.ui.say(Tone::Good, writing.done.clone()),
        }
    }
}
