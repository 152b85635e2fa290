//! Calls for attention: shown until they are answered, rung once when they begin.
//!
//! What calls is the prep's to say ([`calls`]); here it is held against the answers in the book. A
//! call that begins rings the bell once and runs the cook's own command; one that was put off does so again when its
//! time is up, and no call does so twice for nothing. What a cook answers at one terminal is an entry, and so is quiet
//! at every other.

use std::collections::BTreeSet;

use super::alert::Alert;
use super::app::App;
use super::effect::Effect;
use super::sheet::Sheet;
use super::theme::Tone;
use super::widgets::text::clean;
use crate::book::Happening;
use crate::prep::{Call, Watched, calls};
use crate::time::{Minutes, Timestamp};

/// For how long a call is put off.
const PUT_OFF: Minutes = Minutes(10);

/// The most commands that are run for what begins to call at once: after a night's sleep everything does.
const TOLD_AT_ONCE: usize = 3;

/// Which calls have rung.
#[derive(Clone, Debug, Default)]
pub(super) struct Rung {
    names: BTreeSet<String>,
    bell: bool,
    has_failed: bool,
}

impl Rung {
    /// Takes in what calls unanswered; returns what of it begins to.
    fn begins<'a>(&mut self, calls: &'a [Call]) -> Vec<&'a Call> {
        // What was answered, or has gone by, may ring when it comes again.
        self.names
            .retain(|name| calls.iter().any(|call| call.name == *name));
        let mut begins = Vec::new();
        for call in calls {
            if self.names.insert(call.name.clone()) {
                begins.push(call);
            }
        }
        begins
    }
}

impl Sheet {
    /// Returns what calls now and has not been answered, the most urgent first.
    pub(super) fn unanswered(&self) -> Vec<Call> {
        let Some(outcome) = &self.outcome else {
            return Vec::new();
        };
        let watched = Watched {
            menu: &self.menu,
            outcome,
            prep: &self.prep,
            errands: &self.view.errands,
            latest_ends: &self.latest_ends,
            now: self.now_minute(),
        };
        let mut calls = calls(watched);
        calls.retain(|call| !self.prep.is_heeded(&call.name, self.now));
        calls
    }
}

impl App {
    /// Rings for what begins to call; returns what is to be run for it.
    pub(super) fn attend(&mut self) -> Vec<Effect> {
        let begins = self.rung.begins(&self.sheet.calls);
        if begins.is_empty() {
            return Vec::new();
        }
        self.rung.bell = true;
        let service = self.sheet.service;
        let told = begins.into_iter().take(TOLD_AT_ONCE);
        told.map(|call| Effect::Alert(Alert::of(call, service)))
            .collect()
    }

    /// Returns whether the bell is to ring, since this was last asked.
    pub fn take_bell(&mut self) -> bool {
        std::mem::take(&mut self.rung.bell)
    }

    /// Answers the call of the selected step, or else the most urgent: for good, or for a while.
    pub(super) fn answer(&mut self, put_off: bool) -> Vec<Effect> {
        // Where no selection is seen, none is meant.
        let is_seen = self.ui.open.is_none();
        let errand = self.selected_errand().filter(|_| is_seen);
        let step = self.selected_key().filter(|_| is_seen && errand.is_none());
        let calls = &self.sheet.calls;
        let of_selected = calls.iter().find(|call| match (&call.step, errand) {
            (Some(of), _) => Some(of) == step.as_ref(),
            (None, Some(errand)) => call.name.ends_with(&errand.says),
            (None, None) => false,
        });
        let Some(call) = of_selected.or(calls.first()).cloned() else {
            self.ui.say(Tone::Plain, "nothing calls");
            return Vec::new();
        };
        let says = clean(&call.says).into_owned();
        let again = put_off.then(|| Timestamp(self.sheet.now.0 + 60 * i64::from(PUT_OFF.0)));
        let done = match again {
            Some(again) => {
                let again = again.local(self.sheet.service.zone()).clock();
                format!("put off until {again}: {says}")
            }
            None => format!("heeded: {says}"),
        };
        let what = Happening::Heeded {
            call: call.name,
            again,
        };
        let now = self.sheet.now;
        vec![self.sheet.append(what, None, now, done)]
    }

    /// Says once that the cook's own command failed.
    pub(super) fn alert_failed(&mut self, why: &str) {
        if !std::mem::replace(&mut self.rung.has_failed, true) {
            let said = format!("the command of --on-alert failed: {}", clean(why));
            self.ui.say_for_good(Tone::Alarm, said);
        }
    }
}
