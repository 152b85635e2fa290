//! The end of a dish: until it is served, and on which of its days.

use std::collections::BTreeSet;

use super::walk::{State, Walk};
use super::{Finding, degrees};
use crate::menu::Control;
use crate::safety::Level;
use crate::safety::rules::day_of_keeping;
use crate::time::{Minute, Minutes};

impl Walk<'_> {
    /// What becomes of a finished dish until it is served, and its days.
    pub(super) fn served(&mut self, place: usize) {
        let Some(dish) = self.menu.dishes.get(place) else {
            return;
        };
        let at_pass = Minute::SERVICE + self.menu.course_of(dish).offset;
        let own: Vec<usize> = (0..self.doings.len())
            .filter(|&doing| self.doings[doing].dish == place)
            .collect();
        let followed: BTreeSet<usize> = own
            .iter()
            .flat_map(|&doing| self.doings[doing].follows.iter().copied())
            .collect();
        if own.is_empty() && !dish.steps.is_empty() && dish.control != Some(Control::NotNeeded) {
            self.findings[place].push(Finding {
                level: Level::NotKnown,
                doing: None,
                what: "no plan gives its times".to_owned(),
                remedy: None,
                source: "",
            });
        }
        for last in own.into_iter().filter(|doing| !followed.contains(doing)) {
            let Some(mut state) = self.states[last] else {
                continue;
            };
            let waits = at_pass.0.saturating_sub(self.doings[last].window.end.0);
            match dish.waits_at {
                _ if waits <= 0 => {}
                Some(at) => self.stands(last, &mut state, waits, degrees(at)),
                None => {
                    let what = format!(
                        "from the end of {} it waits {} for its course, and nobody has said at what temperature",
                        self.doings[last].name,
                        Minutes(waits)
                    );
                    self.say(last, "waits", Level::NotKnown, what, "");
                }
            }
            self.days(last, &state, at_pass);
        }
    }

    fn days(&mut self, place: usize, state: &State, at_pass: Minute) {
        let Some(keeping) = self.set.keeping else {
            return;
        };
        let date = |minute| self.service.local(minute).date;
        let made = date(state.oldest);
        let day = day_of_keeping(made, date(at_pass), state.frozen);
        if day > keeping.days {
            let what = format!(
                "its oldest part was made on {made}, so it is served on day {day}; {} days are allowed, the day it is made being the first",
                keeping.days
            );
            self.say(place, "days", Level::Breaks, what, keeping.source);
        }
    }
}
