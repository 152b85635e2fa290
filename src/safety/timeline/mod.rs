//! Every dish of a plan held against the rules of a country, before anything is cooked.
//!
//! The food of a dish is followed from doing to doing along what follows what. Each says what it does to the
//! temperature, and kit that is kept says where the food stands in between; so the time between the cold and the
//! hot limit adds up, periods are counted, cooling is forecast ([`super::cooling`]), and the days are counted as the
//! rule counts them. Where two ways meet, the worse of each counts.
//!
//! **What nobody has said is not known**: a doing without a temperature, a gap without kit, cooling without a depth,
//! a dish of which nobody has said whether it needs temperature control. A dish is [`Verdict::Within`] only where
//! all of that is said and nothing is against the rule; leaving a field out can never make it so, which a property
//! over menus holds.
//!
//! Left out on purpose: what other food does in the same fridge, and anything that has happened; readings are
//! [`super::readings`]'s.

mod cooled;

use std::collections::BTreeSet;

use super::Level;
use super::rules::{Out, RuleSet, Weight};
use crate::menu::{Control, Dish, Edge, Menu, Step, Temperature};
use crate::time::{Minute, Minutes, ServiceTime, Window};

/// One doing of one step, with its times on the plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doing {
    /// The dish's place in the menu.
    pub dish: usize,
    /// The step's place in the dish.
    pub step: usize,
    /// As the sheet names it.
    pub name: String,
    /// When.
    pub window: Window,
    /// The places of the doings it follows in the same list.
    pub follows: Vec<usize>,
}

/// Something to know of a dish or of kit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How much it weighs.
    pub level: Level,
    /// The doing it is about, by its place in the list.
    pub doing: Option<usize>,
    /// What it is, as a sentence without a full stop.
    pub what: String,
    /// What would do, where that can be reckoned.
    pub remedy: Option<String>,
    /// Where the rule stands; empty where it is about something left unsaid.
    pub source: &'static str,
}

/// What all the findings of a dish come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Everything is said, and all of it keeps the rule as planned.
    Within,
    /// Not enough is said to tell.
    NotKnown,
    /// Against advice, or it may not be met.
    Doubtful,
    /// Against the rule as planned.
    Breaks,
}

impl Verdict {
    /// Returns it in a word or two.
    pub fn word(self) -> &'static str {
        match self {
            Self::Within => "within the rule as planned",
            Self::NotKnown => "not known",
            Self::Doubtful => "take care",
            Self::Breaks => "against the rule",
        }
    }
}

/// One dish, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DishChecked {
    /// Its place in the menu.
    pub dish: usize,
    /// What it comes to.
    pub verdict: Verdict,
    /// Everything to know, the heaviest first.
    pub findings: Vec<Finding>,
}

/// A whole menu, checked by one set of rules.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// The set.
    pub set: &'static RuleSet,
    /// What is to know of the kit.
    pub kit: Vec<Finding>,
    /// The dishes, in the order of the menu.
    pub dishes: Vec<DishChecked>,
}

/// Returns degrees of a number of tenths.
pub(super) fn degrees(tenths: i32) -> f64 {
    f64::from(tenths) / 10.0
}

/// Returns degrees as a sheet says them.
pub(super) fn said(degrees: f64) -> String {
    format!("{} °C", (degrees * 10.0).round() / 10.0)
}

/// Holds a plan against a set of rules. A dish without doings in the list (none of its steps has a time) is not
/// known.
pub fn check(
    menu: &Menu,
    set: &'static RuleSet,
    service: ServiceTime,
    doings: &[Doing],
) -> Checked {
    let mut order: Vec<usize> = (0..doings.len()).collect();
    order.sort_by_key(|&place| (doings[place].window.start, place));
    let mut walk = Walk {
        menu,
        set,
        service,
        doings,
        states: vec![None; doings.len()],
        findings: vec![Vec::new(); menu.dishes.len()],
        said: BTreeSet::new(),
    };
    for place in order {
        walk.doing(place);
    }
    for dish in 0..menu.dishes.len() {
        walk.served(dish);
    }
    let dishes = walk
        .findings
        .into_iter()
        .enumerate()
        .map(|(dish, mut findings)| {
            findings.sort_by_key(|finding| std::cmp::Reverse(finding.level));
            let verdict = match findings.first().map(|finding| finding.level) {
                None | Some(Level::Note) => Verdict::Within,
                Some(Level::NotKnown) => Verdict::NotKnown,
                Some(Level::Advice) => Verdict::Doubtful,
                Some(Level::Breaks) => Verdict::Breaks,
            };
            DishChecked {
                dish,
                verdict,
                findings,
            }
        })
        .collect();
    Checked {
        set,
        kit: kit(menu, set),
        dishes,
    }
}

/// Returns what is to know of fridges: a place that is neither frozen nor cold enough keeps nothing.
fn kit(menu: &Menu, set: &RuleSet) -> Vec<Finding> {
    let cold = menu.kitchen.kit.iter().filter_map(|kit| {
        let at = degrees(kit.cold?.at);
        set.is_out(at).then(|| Finding {
            level: of_weight(set.cold.weight),
            doing: None,
            what: format!(
                "{} stands at {}; cold food is kept at {} or below",
                kit.name,
                said(at),
                said(set.cold.degrees)
            ),
            remedy: None,
            source: set.cold.source,
        })
    });
    cold.collect()
}

pub(super) fn of_weight(weight: Weight) -> Level {
    match weight {
        Weight::Law => Level::Breaks,
        Weight::Advice => Level::Advice,
    }
}

/// What is known of food at the end of a doing.
#[derive(Clone, Copy, Debug)]
struct State {
    /// Its temperature; `None` is not known.
    at: Option<f64>,
    /// Minutes between the limits since it was cooked, all together.
    out: i32,
    /// Minutes of the period between the limits that it is in.
    period: i32,
    /// How many periods there have been.
    periods: u32,
    /// Whether the period began on the hot side.
    from_hot: bool,
    /// The warmest it has been in those minutes.
    warmest: f64,
    /// Whether it was cold when it first came out.
    began_cold: bool,
    /// Whether it has been cooked.
    cooked: bool,
    /// The beginning of its keeping days: when its oldest part was made or cooked.
    oldest: Minute,
    /// Whole days it has been frozen since.
    frozen: i64,
}

impl State {
    fn fresh(at: Minute) -> Self {
        Self {
            at: None,
            out: 0,
            period: 0,
            periods: 0,
            from_hot: false,
            warmest: f64::NEG_INFINITY,
            began_cold: true,
            cooked: false,
            oldest: at,
            frozen: 0,
        }
    }

    /// Two foods put together: the worse of each.
    fn with(self, other: Self) -> Self {
        Self {
            at: self.at.zip(other.at).map(|(one, other)| one.max(other)),
            out: self.out.max(other.out),
            period: self.period.max(other.period),
            periods: self.periods.max(other.periods),
            // The hot side allows less.
            from_hot: self.from_hot || other.from_hot,
            warmest: self.warmest.max(other.warmest),
            began_cold: self.began_cold && other.began_cold,
            cooked: self.cooked || other.cooked,
            oldest: self.oldest.min(other.oldest),
            frozen: self.frozen.min(other.frozen),
        }
    }
}

struct Walk<'a> {
    menu: &'a Menu,
    set: &'static RuleSet,
    service: ServiceTime,
    doings: &'a [Doing],
    states: Vec<Option<State>>,
    findings: Vec<Vec<Finding>>,
    /// What has been said of which step: batches of a step say it once.
    said: BTreeSet<(usize, usize, &'static str)>,
}

impl<'a> Walk<'a> {
    fn dish(&self, place: usize) -> Option<(&'a Dish, &'a Step)> {
        let doing = &self.doings[place];
        let dish = self.menu.dishes.get(doing.dish)?;
        Some((dish, dish.steps.get(doing.step)?))
    }

    /// Whether something of a kind has been said of the step of a doing.
    fn has_said(&self, place: usize, kind: &'static str) -> bool {
        let doing = &self.doings[place];
        self.said.contains(&(doing.dish, doing.step, kind))
    }

    /// Says something of a doing, once for a step and a kind.
    fn say(
        &mut self,
        place: usize,
        kind: &'static str,
        level: Level,
        what: String,
        source: &'static str,
    ) {
        self.say_with(place, kind, level, what, None, source);
    }

    fn say_with(
        &mut self,
        place: usize,
        kind: &'static str,
        level: Level,
        what: String,
        remedy: Option<String>,
        source: &'static str,
    ) {
        let doing = &self.doings[place];
        // A time that adds up over a dish is told where it first goes too far.
        let step = if matches!(kind, "out" | "days" | "control" | "written" | "periods") {
            usize::MAX
        } else {
            doing.step
        };
        if self.said.insert((doing.dish, step, kind)) {
            self.findings[doing.dish].push(Finding {
                level,
                doing: Some(place),
                what,
                remedy,
                source,
            });
        }
    }

    fn doing(&mut self, place: usize) {
        let Some((dish, step)) = self.dish(place) else {
            return;
        };
        let doing = &self.doings[place];
        match step.control.or(dish.control) {
            Some(Control::NotNeeded) => return,
            Some(Control::Needed) => {}
            None => self.say(
                place,
                "control",
                Level::NotKnown,
                "nobody has said whether it needs temperature control; it is held as if it did"
                    .to_owned(),
                "",
            ),
        }
        let mut state: Option<State> = None;
        for &before in &doing.follows {
            if let Some(mut from) = self.states.get(before).copied().flatten() {
                self.between(before, place, &mut from);
                state = Some(state.map_or(from, |state| state.with(from)));
            }
        }
        let begun = doing.window.start;
        let mut state = state.unwrap_or_else(|| State::fresh(begun));
        let minutes = doing.window.end.0.saturating_sub(begun.0).max(0);
        match step.temperature {
            None => {
                self.say(
                    place,
                    "unsaid",
                    Level::NotKnown,
                    format!("{}: nobody has said at what temperature it is", doing.name),
                    "",
                );
                state.at = None;
            }
            Some(Temperature::Held { at }) => self.stands(place, &mut state, minutes, degrees(at)),
            Some(Temperature::Cooked { to, .. }) => {
                state = State {
                    at: Some(degrees(to)),
                    cooked: true,
                    began_cold: false,
                    ..State::fresh(doing.window.end)
                };
            }
            Some(Temperature::Reheated { to, lasting }) => {
                self.reheated(place, minutes, degrees(to), lasting);
                state.at = Some(degrees(to));
                state.period = 0;
                if !matches!(self.set.out, Out::Added { .. }) {
                    state.out = 0;
                }
            }
            Some(Temperature::Cooled { from, to }) => {
                self.cooled(place, &state, minutes, degrees(from), degrees(to));
                state.at = Some(degrees(to));
                state.period = 0;
            }
        }
        self.states[place] = Some(state);
    }

    /// What becomes of food between two doings.
    fn between(&mut self, before: usize, after: usize, state: &mut State) {
        let from = self.doings[before].window.end;
        let to = self.doings[after].window.start;
        if to <= from {
            return;
        }
        let minutes = to.0 - from.0;
        // What has been held somewhere stands there until the next step takes it; what has been cooled in a cold
        // place is no warmer there than it was at the end.
        let left = self
            .dish(before)
            .and_then(|(_, step)| match step.temperature {
                Some(Temperature::Held { at }) => Some(degrees(at)),
                Some(Temperature::Cooled { to, .. }) => {
                    step.cooling.as_ref()?.kit.as_ref()?;
                    Some(degrees(to))
                }
                _ => None,
            });
        let own = self.kept_at(before, from, to, true);
        let known = own
            .or(left)
            .or_else(|| self.kept_at(before, from, to, false));
        if let Some(at) = known {
            self.stands(after, state, minutes, at);
            return;
        }
        let what = format!(
            "{} from the end of {} to {}: nobody has said where it stands",
            Minutes(minutes),
            self.doings[before].name,
            self.doings[after].name
        );
        self.say(after, "between", Level::NotKnown, what, "");
        state.at = None;
    }

    /// Returns how cold the kit is that the doing before keeps from `from` to `to`, or any doing of its dish, where
    /// the kit says how cold it is; of several the warmest.
    fn kept_at(&self, before: usize, from: Minute, to: Minute, own: bool) -> Option<f64> {
        let dish_place = self.doings[before].dish;
        let dish = self.menu.dishes.get(dish_place)?;
        let edge = |window: Window, edge| match edge {
            Edge::Start => window.start,
            Edge::End => window.end,
        };
        let mut found: Option<f64> = None;
        for (place, doing) in self.doings.iter().enumerate() {
            if doing.dish != dish_place || (own && place != before) {
                continue;
            }
            let keeps = dish.steps.get(doing.step).map(|step| &step.keeps_kit);
            for keep in keeps.into_iter().flatten() {
                let cold = self
                    .menu
                    .kitchen
                    .kit(&keep.kit)
                    .and_then(|(_, kit)| kit.cold);
                let Some(cold) = cold.filter(|_| edge(doing.window, keep.from) <= from) else {
                    continue;
                };
                let until = self.doings.iter().any(|it| {
                    it.dish == dish_place
                        && dish
                            .steps
                            .get(it.step)
                            .is_some_and(|step| step.id == keep.until)
                        && edge(it.window, keep.to) >= to
                });
                if until {
                    let at = degrees(cold.at);
                    found = Some(found.map_or(at, |found| found.max(at)));
                }
            }
        }
        found
    }

    /// Food stands at a temperature for a while.
    fn stands(&mut self, place: usize, state: &mut State, minutes: i32, at: f64) {
        let set = self.set;
        if let Some(was) = state.at
            && was - at >= 5.0
            && !set.holds_cold(was)
            && !set.holds_hot(at)
            // Between the limits all of it counts as out, however fast it goes from one to the other.
            && !(set.is_out(was) && set.is_out(at))
        {
            let what = format!(
                "{}: it comes at {} and is to stand at {}; how fast it cools is not said",
                self.doings[place].name,
                said(was),
                said(at)
            );
            self.say(place, "cools", Level::NotKnown, what, "");
        }
        if set.is_out(at) {
            if state.period == 0 {
                state.periods += 1;
                state.from_hot = state.at.is_some_and(|was| set.holds_hot(was));
            }
            if state.out == 0 {
                state.began_cold = state.at.is_none_or(|was| set.holds_cold(was)) && !state.cooked
                    || state.at.is_some_and(|was| set.holds_cold(was));
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
        match set.out {
            Out::Written { most, cool, below } => {
                let limit = if state.began_cold && state.warmest <= below {
                    cool
                } else {
                    most
                };
                if state.out > limit {
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
            Out::Single { cold, hot } => {
                let limit = if state.from_hot { hot } else { cold };
                if state.period >= limit {
                    let what = format!(
                        "by the end of {name} it has been {between} for {} at a stretch; less than {} is allowed",
                        Minutes(state.period),
                        Minutes(limit)
                    );
                    self.say(place, "out", Level::Breaks, what, set.out_source);
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
                if state.out > discard {
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

    fn reheated(&mut self, place: usize, minutes: i32, to: f64, lasting: Option<u32>) {
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

    /// What becomes of a finished dish until it is served, and its days.
    fn served(&mut self, place: usize) {
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
        let day = super::rules::day_of_keeping(made, date(at_pass), state.frozen);
        if day > keeping.days {
            let what = format!(
                "its oldest part was made on {made}, so it is served on day {day}; {} days are allowed, the day it is made being the first",
                keeping.days
            );
            self.say(place, "days", Level::Breaks, what, keeping.source);
        }
    }
}

#[cfg(test)]
mod tests;
