//! Food followed from doing to doing: what is known of it at the end of each.

use std::collections::{BTreeMap, BTreeSet};

use super::{Doing, Finding, degrees};
use crate::menu::{ColdBy, Control, Dish, Edge, Kit, Menu, Step, Temperature};
use crate::safety::Level;
use crate::safety::rules::{Out, RuleSet};
use crate::time::{Minute, Minutes, ServiceTime, Window};

/// What is known of food at the end of a doing.
#[derive(Clone, Copy, Debug)]
pub(super) struct State {
    /// Its temperature; `None` is not known.
    pub(super) at: Option<f64>,
    /// Minutes between the limits since it was cooked, all together.
    pub(super) out: i32,
    /// Minutes of the period between the limits that it is in.
    pub(super) period: i32,
    /// How many periods there have been.
    pub(super) periods: u32,
    /// Whether the period began on the hot side; `None` is not known.
    pub(super) from_hot: Option<bool>,
    /// The warmest it has been in those minutes.
    pub(super) warmest: f64,
    /// Whether it was cold when it first came out.
    pub(super) began_cold: bool,
    /// Whether it has been cooked.
    pub(super) cooked: bool,
    /// The beginning of its keeping days: when its oldest part was made or cooked.
    pub(super) oldest: Minute,
    /// Whole days it has been frozen since.
    pub(super) frozen: i64,
}

impl State {
    fn fresh(at: Minute) -> Self {
        Self {
            at: None,
            out: 0,
            period: 0,
            periods: 0,
            from_hot: Some(false),
            warmest: f64::NEG_INFINITY,
            began_cold: false,
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
            from_hot: match (self.from_hot, other.from_hot) {
                (Some(true), _) | (_, Some(true)) => Some(true),
                (one, other) => one.and(other),
            },
            warmest: self.warmest.max(other.warmest),
            began_cold: self.began_cold && other.began_cold,
            cooked: self.cooked || other.cooked,
            oldest: self.oldest.min(other.oldest),
            frozen: self.frozen.min(other.frozen),
        }
    }
}

/// A plan on its way through the rules.
pub(super) struct Walk<'a> {
    pub(super) menu: &'a Menu,
    pub(super) set: &'static RuleSet,
    pub(super) service: ServiceTime,
    pub(super) doings: &'a [Doing],
    pub(super) states: Vec<Option<State>>,
    pub(super) findings: Vec<Vec<Finding>>,
    /// The doings of each dish of which nobody has said at what temperature they are.
    unsaid: Vec<Vec<usize>>,
    /// Which doings have been followed already.
    walked: Vec<bool>,
    /// Kit that is no place to stand in the cold: vessels of dishes, and what food is heated on.
    no_place: BTreeSet<&'a str>,
    /// The doings of each dish that keep kit, for what is looked up at every gap.
    keep_kit: Vec<Vec<usize>>,
    /// The doings of each step of each dish.
    of_step: BTreeMap<(usize, usize), Vec<usize>>,
    /// What has been said of which step: batches of a step say it once.
    said: BTreeSet<(usize, usize, &'static str)>,
}

impl<'a> Walk<'a> {
    /// Follows every doing, each behind what it follows.
    pub(super) fn along(
        menu: &'a Menu,
        set: &'static RuleSet,
        service: ServiceTime,
        doings: &'a [Doing],
    ) -> Self {
        let mut walk = Self {
            menu,
            set,
            service,
            doings,
            states: vec![None; doings.len()],
            findings: vec![Vec::new(); menu.dishes.len()],
            unsaid: vec![Vec::new(); menu.dishes.len()],
            walked: vec![false; doings.len()],
            no_place: no_place(menu, set),
            keep_kit: vec![Vec::new(); menu.dishes.len()],
            of_step: BTreeMap::new(),
            said: BTreeSet::new(),
        };
        for (place, doing) in doings.iter().enumerate() {
            let of_step = walk.of_step.entry((doing.dish, doing.step)).or_default();
            of_step.push(place);
            if walk
                .dish(place)
                .is_some_and(|(_, step)| !step.keeps_kit.is_empty())
            {
                walk.keep_kit[doing.dish].push(place);
            }
        }
        let mut order: Vec<usize> = (0..doings.len()).collect();
        // What takes no time ends where what follows it starts.
        order.sort_by_key(|&place| {
            let Window { start, end } = doings[place].window;
            (start, end, place)
        });
        for place in order {
            walk.doing(place);
            walk.walked[place] = true;
        }
        walk.say_unsaid();
        walk
    }

    /// Says once for a dish of which of its steps nobody has said a temperature: a card on which none stands would else
    /// say nothing but that.
    fn say_unsaid(&mut self) {
        for (dish, places) in self.unsaid.iter().enumerate() {
            let Some(&first) = places.first() else {
                continue;
            };
            let steps = places.iter().filter_map(|&place| Some(self.dish(place)?.1));
            let names: Vec<_> = steps.map(|step| step.name.as_str()).collect();
            self.findings[dish].push(Finding {
                level: Level::NotKnown,
                doing: Some(first),
                what: format!(
                    "nobody has said at what temperature it is: {}",
                    names.join(", ")
                ),
                remedy: None,
                source: "",
            });
        }
    }

    pub(super) fn dish(&self, place: usize) -> Option<(&'a Dish, &'a Step)> {
        let doing = &self.doings[place];
        let dish = self.menu.dishes.get(doing.dish)?;
        Some((dish, dish.steps.get(doing.step)?))
    }

    /// Whether something of a kind has been said of the step of a doing.
    pub(super) fn has_said(&self, place: usize, kind: &'static str) -> bool {
        let doing = &self.doings[place];
        self.said.contains(&(doing.dish, doing.step, kind))
    }

    /// Says something of a doing, once for a step and a kind.
    pub(super) fn say(
        &mut self,
        place: usize,
        kind: &'static str,
        level: Level,
        what: String,
        source: &'static str,
    ) {
        self.say_with(place, kind, level, what, None, source);
    }

    pub(super) fn say_with(
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
            // Sugar that is dusted over a cake needs no control, and the cake under it does: what comes in is followed on.
            Some(Control::NotNeeded) if !self.comes_in(place) => return,
            Some(_) => {}
            None => self.say(
                place,
                "control",
                Level::NotKnown,
                "nobody has said whether it needs temperature control; it is held as if it did"
                    .to_owned(),
                "",
            ),
        }
        if doing.left_out {
            self.left_out(place);
            return;
        }
        let mut state: Option<State> = None;
        // Whether something comes that was cooked before and has gone down since.
        let mut again = false;
        for &before in &doing.follows {
            // Food that is taken before it is made: nothing can be followed there, and nothing is taken as fresh for it.
            if self.walked.get(before) != Some(&true) {
                let what = format!(
                    "{}: it starts before what it follows, so nothing is known of what goes into it",
                    doing.name
                );
                self.say(place, "order", Level::NotKnown, what, "");
            }
            if let Some(mut from) = self.states.get(before).copied().flatten() {
                // Within a dish that has been said where it was left unsaid.
                if from.at.is_none() && self.doings[before].dish != doing.dish {
                    let what = format!(
                        "{}: nobody has said at what temperature it is that it takes from {}",
                        doing.name, self.doings[before].name
                    );
                    self.say(place, "taken", Level::NotKnown, what, "");
                }
                self.between(before, place, &mut from);
                again |= from.cooked && from.at.is_some_and(|at| !self.set.holds_hot(at));
                state = Some(state.map_or(from, |state| state.with(from)));
            }
        }
        let begun = doing.window.start;
        let mut state = state.unwrap_or_else(|| State::fresh(begun));
        let minutes = doing.window.end.0.saturating_sub(begun.0).max(0);
        match step.temperature {
            None => {
                if self.said.insert((doing.dish, doing.step, "unsaid")) {
                    self.unsaid[doing.dish].push(place);
                }
                state.at = None;
            }
            Some(Temperature::Held { at }) => self.stands(place, &mut state, minutes, degrees(at)),
            Some(Temperature::Cooked { to, lasting }) if self.set.holds_hot(degrees(to)) => {
                if again {
                    self.reheated(place, minutes, degrees(to), lasting);
                }
                if state.cooked {
                    self.hot_again(&mut state, degrees(to));
                } else if step.control == Some(Control::NotNeeded) {
                    // Fried or baked dry: what it was before is over, and what it is now needs no control.
                    return;
                } else {
                    state = State {
                        at: Some(degrees(to)),
                        cooked: true,
                        ..State::fresh(doing.window.end)
                    };
                }
            }
            // What is only warmed stands warm: nothing begins anew by it.
            Some(Temperature::Cooked { to, .. }) => {
                self.stands(place, &mut state, minutes, degrees(to));
            }
            Some(Temperature::Reheated { to, lasting }) => {
                self.reheated(place, minutes, degrees(to), lasting);
                self.hot_again(&mut state, degrees(to));
            }
            Some(Temperature::Cooled { from, to }) => {
                self.cooled(place, &state, minutes, degrees(from), degrees(to));
                state.at = Some(degrees(to));
                state.period = 0;
            }
        }
        self.states[place] = Some(state);
    }

    /// Whether food comes into a doing that has to be followed, or may: of what is not made yet nothing is known.
    fn comes_in(&self, place: usize) -> bool {
        let before = &self.doings[place].follows;
        before.iter().any(|&before| {
            let controlled = self.dish(before).is_some_and(|(dish, step)| {
                step.control.or(dish.control) != Some(Control::NotNeeded)
            });
            self.states.get(before).is_some_and(Option::is_some)
                || (controlled && self.walked.get(before) == Some(&false))
        })
    }

    /// Food that was cooked before is hot once more: it is as old as it was.
    fn hot_again(&self, state: &mut State, to: f64) {
        state.at = Some(to);
        state.period = 0;
        if !matches!(self.set.out, Out::Added { .. }) {
            state.out = 0;
        }
    }

    /// What was to be done to the food has not been: it is as old and has been out as long as before, and nobody knows
    /// how warm it is.
    fn left_out(&mut self, place: usize) {
        let doing = &self.doings[place];
        let what = format!(
            "{}: it is left out, and nobody has said what becomes of the food without it",
            doing.name
        );
        self.say(place, "left out", Level::NotKnown, what, "");
        let before = doing.follows.iter();
        let before = before.filter_map(|&before| self.states.get(before).copied().flatten());
        let state = before.reduce(State::with);
        let state = state.unwrap_or_else(|| State::fresh(doing.window.start));
        self.states[place] = Some(State { at: None, ..state });
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
        // place is no warmer there than it was at the end, but for a bath, whose ice has gone by then.
        let left = self
            .dish(before)
            .and_then(|(_, step)| match step.temperature {
                Some(Temperature::Held { at }) => Some(degrees(at)),
                Some(Temperature::Cooled { to, .. }) => {
                    let kit = step.cooling.as_ref()?.kit.as_ref()?;
                    let cold = self.menu.kitchen.kit(kit)?.1.cold?;
                    (cold.by != ColdBy::IceBath).then(|| degrees(to))
                }
                _ => None,
            });
        let own = self.kept(before, from, to, true);
        let coldest_said = |kept: &[(&Kit, Edge)]| {
            let cold = kept.iter().filter_map(|(kit, _)| kit.cold);
            cold.map(|cold| degrees(cold.at)).reduce(f64::max)
        };
        let place = coldest_said(&own);
        // Food that is not cold and goes on in kit which may be a fridge, or goes from the cold into kit which may be
        // none: nobody has said. It is counted on as it was, and it is not known.
        if let (None, Some(at)) = (place, left)
            && let Some((kit, _)) = own.iter().find(|(kit, from)| {
                let goes_there = *from == Edge::End || !self.set.holds_cold(at);
                goes_there && self.may_be_cold(kit)
            })
        {
            let what = format!(
                "{} from the end of {} to {}: it stands in the {}, and nobody has said how cold that is, or what it holds",
                Minutes(minutes),
                self.doings[before].name,
                self.doings[after].name,
                kit.name
            );
            self.say(after, "place", Level::NotKnown, what, "");
        }
        let known = place
            .or(left)
            .or_else(|| coldest_said(&self.kept(before, from, to, false)));
        if let Some(at) = known {
            self.stands(after, state, minutes, at);
            return;
        }
        // Of what is not known before, that has been said already.
        if state.at.is_none() {
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

    /// Whether kit of which nobody has said how cold it is may be a place that is.
    fn may_be_cold(&self, kit: &Kit) -> bool {
        let is_other = kit.oven.is_some() || kit.holds.is_some();
        kit.cold.is_none() && !is_other && !self.no_place.contains(kit.id.as_str())
    }

    /// Returns the kit that the doing before keeps from `from` to `to`, each with the edge from which it does, or else any
    /// of its dish that it follows. What
    /// another branch of the dish keeps is no place for this one.
    fn kept(&self, before: usize, from: Minute, to: Minute, own: bool) -> Vec<(&'a Kit, Edge)> {
        let dish_place = self.doings[before].dish;
        let keep_kit = &self.keep_kit[dish_place];
        let (Some(dish), false) = (self.menu.dishes.get(dish_place), keep_kit.is_empty()) else {
            return Vec::new();
        };
        let edge = |window: Window, edge| match edge {
            Edge::Start => window.start,
            Edge::End => window.end,
        };
        let keepers = if own {
            BTreeSet::from([before])
        } else {
            self.upstream(before)
        };
        let mut found = Vec::new();
        for &place in keep_kit.iter().filter(|place| keepers.contains(place)) {
            let doing = &self.doings[place];
            let keeps = dish.steps.get(doing.step).map(|step| &step.keeps_kit);
            for keep in keeps.into_iter().flatten() {
                let Some((_, kit)) = self.menu.kitchen.kit(&keep.kit) else {
                    continue;
                };
                if edge(doing.window, keep.from) > from {
                    continue;
                }
                let until = dish.steps.iter().position(|step| step.id == keep.until);
                let until = until.and_then(|step| self.of_step.get(&(dish_place, step)));
                let mut until = until.into_iter().flatten();
                if until.any(|&it| edge(self.doings[it].window, keep.to) >= to) {
                    found.push((kit, keep.from));
                }
            }
        }
        found
    }

    /// Returns a doing with all that it follows, one behind another.
    fn upstream(&self, place: usize) -> BTreeSet<usize> {
        let mut found = BTreeSet::new();
        let mut ahead = vec![place];
        while let Some(place) = ahead.pop() {
            if place < self.doings.len() && found.insert(place) {
                ahead.extend(&self.doings[place].follows);
            }
        }
        found
    }
}

/// Returns the kit of a menu that is a vessel of a dish, or that a step heats something on or in.
fn no_place<'a>(menu: &'a Menu, set: &RuleSet) -> BTreeSet<&'a str> {
    let batches = menu.dishes.iter().filter_map(|dish| dish.batch.as_ref());
    let vessels = batches.flat_map(|batch| batch.vessel.iter().chain(&batch.also));
    let is_hot = |step: &&Step| match step.temperature {
        Some(Temperature::Cooked { .. } | Temperature::Reheated { .. }) => true,
        Some(Temperature::Held { at }) => set.holds_hot(degrees(at)),
        Some(Temperature::Cooled { .. }) | None => false,
    };
    let steps = menu.dishes.iter().flat_map(|dish| &dish.steps);
    let heats = steps.filter(is_hot).flat_map(|step| {
        let ways = step.ways.iter().flat_map(|way| &way.uses);
        let uses = step.uses.iter().chain(ways).map(|it| &it.kit);
        uses.chain(step.keeps_kit.iter().map(|it| &it.kit))
    });
    vessels.chain(heats).map(String::as_str).collect()
}
