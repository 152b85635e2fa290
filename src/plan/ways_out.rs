//! Ways out of a menu that cannot be done, each of them planned.
//!
//! What might help is changed in the menu, one thing at a time, and the menu is planned anew around the same
//! happenings: whoever works stays on after the shift, one more of a kind of kit, one more pair of hands on one shift (or
//! on every shift), work that begins before the menu lets it, a later service, a dish left out. What is told is what a
//! plan was found for, and the plan comes with it.
//!
//! # Order
//! First what the guests do not notice (staying on, kit, hands, an earlier start), then what they do (a later service, a
//! dish less); among the same, the smaller change. More hands on every shift come last of what is not noticed.
//!
//! # Bounds
//! A search makes so many plannings at most and no more, each as long as one plan takes; between two of them it can
//! be left and gone on with. Of shifts the last ones before service are tried first, because a plan counts back from
//! there, and single shifts only where hands on all of them help at all.
//!
//! Where nothing makes all of it possible, the same changes are tried again for what they save: one is told after which
//! more dishes are in time than as it stands, the most first. Each is forecast, which takes longer than a plan.
//!
//! # Left out
//! Two changes at once, margins (they are wishes, and given up already where they must be), and what only a cook can
//! judge: a recipe done otherwise. That it should have begun before now is said by
//! [`TooLate`](PlanOutcome::TooLate) itself, with the steps and when.

use std::cmp::Reverse;

use super::from_menu::{Asked, Bound, Bridge};
use super::hours::between;
use super::make;
use super::more_hands::{more_hands, shifts};
use super::run_sheet::{Announced, Done, Happened, Plan, PlanOutcome};
use super::staying_on::{FURTHEST, overrun, shift_ends, with_staying_on};
use crate::menu::Menu;
use crate::time::{Minute, Minutes, ServiceTime, Window};

/// How many plannings are enough to try everything of all but the largest menus.
pub const PLANNINGS: u32 = 80;

/// How far a service is put off at most.
const LATEST: Minutes = Minutes::hours(8);

/// To what a later service is told.
const GRAIN: i32 = 10;

/// How many shifts are tried by themselves.
const SHIFTS: usize = 12;

/// After how many shifts it is tried that somebody stays on.
const ENDS: usize = 4;

/// A change that makes a plan possible, or saves some of it.
#[derive(Clone, Debug, PartialEq, Eq)]
pub enum Way {
    /// Whoever works until the start of this stretch stays until its end.
    StayingOn(Window),
    /// One more of a kind of kit, by its place in the kitchen.
    Kit(usize),
    /// One more pair of hands over a shift, in minutes from the service that was asked for.
    Hands(Window),
    /// Work that begins before the day from which the menu lets it, by so much.
    Earlier(Minutes),
    /// One more pair of hands on every shift, these.
    HandsThroughout(Vec<Window>),
    /// A service that is so much later.
    Later(Minutes),
    /// Without a dish, by its place in the menu.
    Without(usize),
}

/// A way out.
#[derive(Clone, Debug, PartialEq)]
pub struct WayOut {
    /// What is changed.
    pub way: Way,
    /// What is changed and what comes of it, as a sentence without a full stop.
    pub says: String,
    /// What it gives.
    pub gives: Gives,
    /// The menu so changed.
    pub menu: Menu,
    /// What comes of it: a plan, or a forecast that has more dishes in time than as it stands.
    pub outcome: PlanOutcome,
}

/// What a way out gives.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Gives {
    /// When the first step that is still to come starts, in minutes from the service that was asked for; none
    /// where nothing is left to do.
    pub begins: Option<Minute>,
    /// How many steps to come start at other times than those that would have been needed; none where there were
    /// no such times.
    pub moved: Option<usize>,
    /// How many dishes are in time; none where all are.
    pub in_time: Option<usize>,
}

/// A search for ways out that can be left and gone on with.
#[derive(Debug)]
pub struct WaysOut<'a> {
    asked: Asked<'a>,
    needed: Option<&'a Plan>,
    /// What the menu alone has told, where nothing else has.
    told: Option<Announced>,
    shifts: Vec<Window>,
    /// How many dishes are in time as it stands, where some are late, a forecast says which, and it is asked what saves some.
    in_time: Option<usize>,
    /// Whether changes are looked for that save some of it.
    saves_some: bool,
    stage: Stage,
    found: Vec<WayOut>,
}

/// What is tried next.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Stage {
    StayingOn(usize),
    Kit(usize),
    HandsThroughout,
    Hands(usize),
    Earlier,
    /// The latest delay known not to do, and the one to try; a delay that did is kept in `found`.
    Later {
        fails: i32,
        tried: i32,
    },
    Without(usize),
    Over,
}

/// Returns the ways out that so many plannings find, in order; none for a menu that can be done.
///
/// `stop` is asked between plannings; what has been found by then is returned.
pub fn ways_out(
    asked: Asked<'_>,
    outcome: &PlanOutcome,
    plannings: u32,
    stop: &dyn Fn() -> bool,
) -> Vec<WayOut> {
    WaysOut::new(asked, outcome).found_by(plannings, stop)
}

/// Returns only those that make all of it possible, which is soon known: for whoever waits for the answer.
pub fn whole_ways_out(asked: Asked<'_>, outcome: &PlanOutcome, plannings: u32) -> Vec<WayOut> {
    let search = WaysOut {
        in_time: None,
        ..WaysOut::new(asked, outcome)
    };
    search.found_by(plannings, &|| false)
}

impl<'a> WaysOut<'a> {
    /// Returns the search for what became of planning; it is over at once for a menu that can be done.
    pub fn new(asked: Asked<'a>, outcome: &'a PlanOutcome) -> Self {
        let (needed, stage) = match outcome {
            PlanOutcome::Planned(_) => (None, Stage::Over),
            PlanOutcome::TooLate { needed, .. } => (Some(needed), Stage::StayingOn(0)),
            PlanOutcome::Impossible(_) => (None, Stage::StayingOn(0)),
        };
        let shifts = if stage == Stage::Over {
            Vec::new()
        } else {
            shifts(asked)
        };
        let by_menu = stage != Stage::Over && asked.told.is_none();
        let told = by_menu.then(|| make::told_by_menu(asked.menu, asked.service));
        Self {
            asked,
            needed,
            told: told.flatten(),
            shifts,
            in_time: outcome.forecast().and_then(some_in_time),
            saves_some: false,
            stage,
            found: Vec::new(),
        }
    }

    fn found_by(mut self, plannings: u32, stop: &dyn Fn() -> bool) -> Vec<WayOut> {
        for _ in 0..plannings {
            if stop() || !self.step() {
                break;
            }
        }
        self.into_found()
    }

    /// Plans one change; returns whether there is more to try.
    pub fn step(&mut self) -> bool {
        match self.stage {
            Stage::Over => {}
            Stage::StayingOn(place) => self.try_staying_on(place),
            Stage::Kit(place) => self.try_kit(place),
            Stage::HandsThroughout => {
                let all = self.shifts.clone();
                let helps = self.try_hands(&all, Way::HandsThroughout(all.clone()));
                self.stage = if helps {
                    Stage::Hands(0)
                } else {
                    Stage::Earlier
                };
            }
            Stage::Hands(at) => {
                let last = self.shifts.len().saturating_sub(SHIFTS);
                match self.shifts.len().checked_sub(at + 1) {
                    Some(place) if place >= last => {
                        let shift = self.shifts[place];
                        self.try_hands(&[shift], Way::Hands(shift));
                        self.stage = Stage::Hands(at + 1);
                    }
                    _ => self.stage = Stage::Earlier,
                }
            }
            Stage::Earlier => {
                self.try_earlier();
                self.stage = Stage::Later {
                    fails: 0,
                    tried: 3 * GRAIN,
                };
            }
            Stage::Later { fails, tried } => self.try_later(fails, tried),
            Stage::Without(place) => self.try_without(place),
        }
        if self.stage == Stage::Over
            && self.found.is_empty()
            && self.in_time.is_some()
            && !self.saves_some
        {
            self.saves_some = true;
            self.stage = Stage::StayingOn(0);
        }
        self.stage != Stage::Over
    }

    /// Returns what has been found so far, in order.
    pub fn into_found(mut self) -> Vec<WayOut> {
        let saved = |found: &WayOut| found.gives.in_time.unwrap_or(usize::MAX);
        // A shift that helps as much says more than all of them.
        let single = self
            .found
            .iter()
            .filter(|it| matches!(it.way, Way::Hands(_)));
        if let Some(most) = single.map(saved).max() {
            self.found
                .retain(|it| !matches!(it.way, Way::HandsThroughout(_)) || most < saved(it));
        }
        self.found
            .sort_by_key(|found| (Reverse(saved(found)), found.way.size()));
        self.found
    }

    /// Tries the ends of shifts, the next first: what is late by minutes is made good tonight.
    fn try_staying_on(&mut self, place: usize) {
        let Asked {
            menu, service, now, ..
        } = self.asked;
        let last = menu.courses.iter().map(|course| course.offset).max();
        let last = Minute::SERVICE + last.unwrap_or_default();
        let ends = shift_ends(&menu.kitchen, service, Window::new(now - FURTHEST, last));
        let Some(&from) = ends.get(place).filter(|_| place < ENDS) else {
            self.stage = Stage::Kit(0);
            return;
        };
        self.stage = Stage::StayingOn(place + 1);
        // As long as a forecast made now lets them.
        let latest = overrun(from, now);
        let within = |until: Minute| Window::new(from, until);
        let Some(kitchen) = with_staying_on(menu, service, within(latest)) else {
            return;
        };
        let mut changed = menu.clone();
        changed.kitchen = kitchen;
        if !self.plan(Way::StayingOn(within(latest)), changed, String::new()) {
            return;
        }
        let Some(longest) = self.found.pop() else {
            return;
        };
        // For how long is known once it is planned. Where nobody stays after all, no change is asked of anyone.
        let plan = longest.outcome.times();
        let Some(until) = plan.and_then(|plan| self.stays_until(plan, within(latest))) else {
            return;
        };
        let until = from + Minutes(((until - from).0 + GRAIN - 1) / GRAIN * GRAIN);
        let says = |until: Minute| {
            let clock = |minute: Minute| service.local(minute).weekday_clock();
            format!(
                "whoever works until {} stays until {}",
                clock(from),
                clock(until)
            )
        };
        if until < latest
            && let Some(kitchen) = with_staying_on(menu, service, within(until))
        {
            let mut changed = menu.clone();
            changed.kitchen = kitchen;
            if self.plan(Way::StayingOn(within(until)), changed, says(until)) {
                return;
            }
        }
        let says = format!("{}{}", says(latest), longest.says);
        self.found.push(WayOut { says, ..longest });
    }

    /// Returns until when anybody stays within a stretch on a plan: with hands, or because a step wants somebody in the
    /// building when nobody would be.
    fn stays_until(&self, plan: &Plan, stay: Window) -> Option<Minute> {
        let bridge = Bridge::new(self.asked, Bound::Now(self.asked.now));
        let hands = plan.overtime.iter().flat_map(|cook| &cook.windows).copied();
        let about = plan.steps.iter();
        let about = about.filter(|step| step.someone_about && step.happened.is_none());
        let alone = about.flat_map(|step| between(&bridge.regular, step.window));
        let within = hands.chain(alone).map(|it| it.intersect(stay));
        within.filter(|it| !it.is_empty()).map(|it| it.end).max()
    }

    fn try_kit(&mut self, from: usize) {
        let menu = self.asked.menu;
        let used = |place: &usize| {
            let id = &menu.kitchen.kit[*place].id;
            menu.dishes.iter().any(|dish| {
                let batch = dish.batch.iter();
                let mut vessels = batch.flat_map(|batch| batch.vessel.iter().chain(&batch.also));
                let steps = dish.steps.iter().any(|step| {
                    let ways = step.ways.iter().flat_map(|way| &way.uses);
                    step.uses.iter().chain(ways).any(|it| it.kit == *id)
                        || step.keeps_kit.iter().any(|it| it.kit == *id)
                });
                steps || vessels.any(|vessel| vessel == id)
            })
        };
        let Some(place) = (from..menu.kitchen.kit.len()).find(used) else {
            self.stage = Stage::HandsThroughout;
            return self.skip_empty();
        };
        let mut changed = menu.clone();
        changed.kitchen.kit[place].count += 1;
        let says = format!("one more {}", menu.kitchen.kit[place].name);
        self.plan(Way::Kit(place), changed, says);
        self.stage = Stage::Kit(place + 1);
    }

    /// Passes over what there is nothing to try of.
    fn skip_empty(&mut self) {
        if self.shifts.is_empty() {
            self.stage = Stage::Earlier;
        }
    }

    fn try_hands(&mut self, shifts: &[Window], way: Way) -> bool {
        let service = self.asked.service;
        let mut changed = self.asked.menu.clone();
        let more = more_hands(&changed.kitchen, shifts, service);
        changed.kitchen.cooks.push(more);
        let says = match way {
            Way::Hands(shift) => format!(
                "one more pair of hands from {} to {}",
                service.local(shift.start).weekday_clock(),
                service.local(shift.end).weekday_clock()
            ),
            _ => "one more pair of hands on every shift".to_owned(),
        };
        self.plan(way, changed, says)
    }

    fn try_earlier(&mut self) {
        let (menu, service) = (self.asked.menu, self.asked.service);
        let from = menu.prep_from.map(|date| service.at_minute_of_day(date, 0));
        let Some(from) = from.filter(|&from| from > self.asked.now) else {
            return;
        };
        let mut changed = menu.clone();
        changed.prep_from = None;
        // By how much is known once it is planned.
        if self.plan(Way::Earlier(Minutes::ZERO), changed, String::new())
            && let Some(found) = self.found.last_mut()
        {
            match found.gives.begins {
                Some(begins) if begins < from => {
                    let by = from - begins;
                    found.way = Way::Earlier(by);
                    let comes = found.gives.in_time.map_or_else(String::new, |in_time| {
                        saves(in_time, found.menu.dishes.len())
                    });
                    found.says = format!(
                        "work that begins {by} before the menu lets it, on {}{comes}",
                        service.local(begins)
                    );
                }
                // It keeps the day after all: no change is asked of anyone.
                _ => {
                    self.found.pop();
                }
            }
        }
    }

    fn try_later(&mut self, fails: i32, tried: i32) {
        let found = matches!(self.found.last(), Some(last) if matches!(last.way, Way::Later(_)));
        let does = self.plan_later(Minutes(tried));
        if does && found {
            // The shorter of two takes the place of the longer.
            let place = self.found.len() - 2;
            self.found.remove(place);
        }
        let fails = if does { fails } else { tried.max(fails) };
        let works = match self.found.last().map(|last| &last.way) {
            Some(Way::Later(by)) => Some(by.0),
            _ => None,
        };
        self.stage = match works {
            Some(works) if works - fails > GRAIN => Stage::Later {
                fails,
                tried: fails + (works - fails) / 2 / GRAIN * GRAIN,
            },
            None if tried < LATEST.0 => Stage::Later {
                fails,
                tried: (2 * tried).min(LATEST.0),
            },
            _ => Stage::Without(0),
        };
    }

    fn plan_later(&mut self, by: Minutes) -> bool {
        let Asked {
            menu,
            service,
            happened,
            now,
            ..
        } = self.asked;
        // The same moments, counted from a service that is so much later.
        let later = ServiceTime::new(service.local(Minute(by.0)), service.zone());
        let moved = |minute: Minute| later.minute(service.timestamp(minute));
        let happened: Happened = happened
            .iter()
            .map(|(key, done)| (key.clone(), moved_on(*done, moved)))
            .collect();
        let asked = Asked {
            menu,
            service: later,
            happened: &happened,
            now: moved(now),
            told: None,
            shown: None,
        };
        let says = format!(
            "service {by} later, at {}",
            later.local(Minute::SERVICE).weekday_clock()
        );
        self.plan_asked(asked, Way::Later(by), menu.clone(), says)
    }

    fn try_without(&mut self, from: usize) {
        let menu = self.asked.menu;
        // A dish that another takes from cannot be left out by itself.
        let alone = |place: &usize| {
            let taken = format!("{}/", menu.dishes[*place].id);
            let steps = menu.dishes.iter().enumerate();
            let mut others = steps
                .filter(|(other, _)| other != place)
                .flat_map(|(_, dish)| &dish.steps);
            !others.any(|step| step.after.iter().any(|it| it.step.starts_with(&taken)))
        };
        let several = menu.dishes.len() > 1;
        let next = (from..menu.dishes.len()).find(|place| several && alone(place));
        let Some(place) = next else {
            self.stage = Stage::Over;
            return;
        };
        let mut changed = menu.clone();
        let dish = changed.dishes.remove(place);
        self.plan(
            Way::Without(place),
            changed,
            format!("without {}", dish.name),
        );
        self.stage = Stage::Without(place + 1);
    }

    /// Plans a menu changed in one thing; keeps it where it can be done.
    fn plan(&mut self, way: Way, menu: Menu, says: String) -> bool {
        self.plan_asked(self.asked, way, menu, says)
    }

    fn plan_asked(&mut self, asked: Asked<'_>, way: Way, menu: Menu, says: String) -> bool {
        // A service that moves has its own minutes; what was told is counted from the one that was asked for.
        let told = asked.told.or(self
            .told
            .as_ref()
            .filter(|_| asked.service == self.asked.service));
        let by_menu = told
            .is_none()
            .then(|| make::told_by_menu(&menu, asked.service));
        let asked = Asked {
            menu: &menu,
            told: told.or(by_menu.as_ref().and_then(Option::as_ref)),
            ..asked
        };
        let outcome = if self.saves_some {
            make::plan_asked(asked)
        } else {
            make::as_it_stands(asked)
        };
        let Some(gives) = self.gives(&outcome) else {
            return false;
        };
        let says = match (gives.in_time, gives.begins) {
            (Some(in_time), _) => format!("{says}{}", saves(in_time, menu.dishes.len())),
            (None, _) if outcome.forecast().is_some() => {
                format!("{says}: every dish can be in time, {}", hangs_on(&outcome))
            }
            (None, Some(begins)) => format!(
                "{says}: first step {}",
                self.asked.service.local(begins).weekday_clock()
            ),
            (None, None) => says,
        };
        self.found.push(WayOut {
            way,
            says,
            gives,
            menu,
            outcome,
        });
        true
    }

    /// Returns what a change gives; none where that is nothing.
    fn gives(&self, outcome: &PlanOutcome) -> Option<Gives> {
        let (plan, saved) = match outcome {
            PlanOutcome::Planned(plan) => (plan, None),
            behind => {
                let plan = behind.forecast().filter(|_| self.saves_some)?;
                let saved = some_in_time(plan);
                let is_more = saved.is_none() || saved > self.in_time;
                is_more.then_some((plan, saved))?
            }
        };
        let asked = self.asked.service;
        let to_come = || plan.steps.iter().filter(|step| step.happened.is_none());
        let at = |minute: Minute| asked.minute(plan.service.timestamp(minute));
        let moved = self.needed.map(|needed| {
            let same = |key: &super::StepKey, start: Minute| {
                needed
                    .find(key)
                    .is_some_and(|(_, step)| step.window.start == start)
            };
            to_come()
                .filter(|step| !same(&step.key, at(step.window.start)))
                .count()
        });
        Some(Gives {
            begins: to_come().map(|step| at(step.window.start)).min(),
            moved,
            in_time: saved,
        })
    }
}

fn saves(in_time: usize, all: usize) -> String {
    format!(": {in_time} of {all} dishes in time")
}

/// Returns on what it hangs that every dish of a forecast is in time, in a few words.
fn hangs_on(outcome: &PlanOutcome) -> &'static str {
    match outcome.only_behind() {
        Some(plan) if !plan.overtime.is_empty() => "if somebody stays on",
        Some(_) => "with steps after their time",
        None => "if what is past its limit may be served",
    }
}

/// Returns how many dishes of a forecast are in time, where not all are.
fn some_in_time(forecast: &Plan) -> Option<usize> {
    let in_time = forecast.dishes.iter().filter(|dish| dish.late.is_none());
    let in_time = in_time.count();
    (in_time < forecast.dishes.len()).then_some(in_time)
}

impl Way {
    /// Orders ways by how small a change they are.
    fn size(&self) -> (u8, i32, usize) {
        match *self {
            Self::StayingOn(stay) => (0, stay.length().0, 0),
            Self::Kit(place) => (1, 0, place),
            Self::Hands(shift) => (
                2,
                shift.length().0,
                usize::try_from(-shift.start.0).unwrap_or(0),
            ),
            Self::Earlier(by) => (3, by.0, 0),
            Self::HandsThroughout(_) => (4, 0, 0),
            Self::Later(by) => (5, by.0, 0),
            Self::Without(place) => (6, 0, place),
        }
    }
}

/// Returns what has happened with its moments moved.
fn moved_on(done: Done, moved: impl Fn(Minute) -> Minute) -> Done {
    match done {
        Done::Started(at) => Done::Started(moved(at)),
        Done::Expected { since, end } => Done::Expected {
            since: moved(since),
            end: moved(end),
        },
        Done::Finished(from, to) => Done::Finished(from.map(&moved), moved(to)),
        Done::Skipped(at) => Done::Skipped(moved(at)),
    }
}
