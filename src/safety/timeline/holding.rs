//! Food that stands, out of the cold or in it, and food that is made hot again.

use super::walk::{State, Walk};
use super::{of_weight, said};
use crate::safety::Level;
use crate::safety::rules::Out;
use crate::time::Minutes;

impl Walk<'_> {
    /// Food stands at a temperature for a while.
    pub(super) fn stands(&mut self, place: usize, state: &mut State, minutes: i32, at: f64) {
        let set = self.set;
        // Between the limits all of it counts as out, however fast it goes from one to the other. Into the cold from a
        // little above it is what a door that opens does.
        let falls = |was: f64| match (set.is_out(was), set.is_out(at)) {
            (true, true) => false,
            (true, false) => set.holds_cold(at) && was - set.cold.degrees > 3.0,
            (false, _) => set.holds_hot(was) && !set.holds_hot(at) && was - at >= 5.0,
        };
        if let Some(was) = state.at
            && falls(was)
        {
            let what = format!(
                "{}: it comes at {} and is to stand at {}; how fast it cools is not said",
                self.doings[place].name,
                said(was),
                said(at)
            );
            self.say(place, "cools", Level::NotKnown, what, "");
        }
        if let Some(was) = state.at
            && !set.holds_hot(was)
            && set.holds_hot(at)
        {
            let what = format!(
                "{}: it comes at {} and is to stand at {}; nobody has said how it is made hot",
                self.doings[place].name,
                said(was),
                said(at)
            );
            self.say(place, "heats", Level::NotKnown, what, "");
        }
        if set.is_out(at) {
            if state.period == 0 {
                state.periods += 1;
                state.from_hot = state.at.map(|was| set.holds_hot(was));
            }
            if state.out == 0 {
                // Of what nobody knows how it came, the shorter time holds.
                state.began_cold = state.at.is_some_and(|was| set.holds_cold(was));
            }
            state.out = state.out.saturating_add(minutes);
            state.period = state.period.saturating_add(minutes);
            state.warmest = state.warmest.max(at);
            self.out(place, state);
        } else {
            if set.holds_cold(at)
                && let Out::Added { use_now, .. } = set.out
                && state.out >= use_now
            {
                let what = format!(
                    "{}: it goes back into the cold after {} out of it; from {} on it is to be used",
                    self.doings[place].name,
                    Minutes(state.out),
                    Minutes(use_now)
                );
                self.say(place, "back", Level::Breaks, what, set.out_source);
            }
            state.period = 0;
            if at < -0.5 {
                state.frozen += i64::from(minutes / 1440);
            }
        }
        state.at = Some(at);
    }

    /// Holds the time between the limits against the rule.
    fn out(&mut self, place: usize, state: &State) {
        let set = self.set;
        let name = &self.doings[place].name;
        let between = format!(
            "between {} and {}",
            said(set.cold.degrees),
            said(set.hot.degrees)
        );
        let began_cold = state.began_cold.then_some(state.warmest);
        let limit = set.out.allowed(state.from_hot == Some(true), began_cold);
        match set.out {
            Out::Written { .. } => {
                if set.out.is_over(state.out, limit) {
                    let what = format!(
                        "by the end of {name} it has been {between} for {}; {} is the most, then it is thrown away",
                        Minutes(state.out),
                        Minutes(limit)
                    );
                    self.say(place, "out", Level::Breaks, what, set.out_source);
                } else {
                    let what =
                        format!("it is out of the cold for a while ({name}): {}", set.remark);
                    self.say(place, "written", Level::Note, what, set.out_source);
                }
            }
            Out::Single { hot, .. } => {
                if set.out.is_over(state.period, limit) {
                    let what = format!(
                        "by the end of {name} it has been {between} for {} at a stretch; less than {} is allowed",
                        Minutes(state.period),
                        Minutes(limit)
                    );
                    self.say(place, "out", Level::Breaks, what, set.out_source);
                } else if state.from_hot.is_none() && state.period >= hot {
                    let what = format!(
                        "by the end of {name} it has been {between} for {} at a stretch; less than {} is allowed of what came hot, and nobody has said how it came",
                        Minutes(state.period),
                        Minutes(hot)
                    );
                    self.say(place, "came", Level::NotKnown, what, set.out_source);
                } else if state.periods > 1 && state.out >= limit {
                    let what = format!(
                        "by the end of {name} it has been {between} for {} in all, in {} periods; one single period is allowed for display, and for work only as long as safety bears",
                        Minutes(state.out),
                        state.periods
                    );
                    self.say(place, "periods", Level::Advice, what, set.out_source);
                }
            }
            Out::Added { discard, .. } => {
                if set.out.is_over(state.out, limit) {
                    let what = format!(
                        "by the end of {name} it has been {between} for {} in all; beyond {} it is thrown away",
                        Minutes(state.out),
                        Minutes(discard)
                    );
                    self.say(place, "out", Level::Breaks, what, set.out_source);
                }
            }
        }
    }

    /// Holds a reheating against the rule.
    pub(super) fn reheated(&mut self, place: usize, minutes: i32, to: f64, lasting: Option<u32>) {
        let Some(rule) = self.set.reheating else {
            return;
        };
        let name = self.doings[place].name.clone();
        let points: Vec<_> = rule
            .points
            .iter()
            .map(|&(degrees, seconds)| match seconds {
                0 => said(degrees),
                seconds => format!("{} for {seconds} s", said(degrees)),
            })
            .collect();
        let points = points.join(" or ");
        match rule.is_met(to, lasting) {
            Some(true) => {}
            Some(false) => {
                let what = format!("{name}: reheated to {}; it should be {points}", said(to));
                self.say(place, "reheated", of_weight(rule.weight), what, rule.source);
            }
            None => {
                let what = format!(
                    "{name}: nobody has said how long it stays at {}; it should be {points}",
                    said(to)
                );
                self.say(place, "reheated", Level::NotKnown, what, rule.source);
            }
        }
        if let Some(within) = rule.within
            && minutes > within
        {
            let what = format!(
                "{name}: reheating takes {}; {} is the most",
                Minutes(minutes),
                Minutes(within)
            );
            self.say(
                place,
                "reheating",
                of_weight(rule.weight),
                what,
                rule.source,
            );
        }
    }
}
