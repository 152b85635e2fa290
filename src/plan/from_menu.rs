//! Menu → instance.
//!
//! Three readings of the cook's words are settled here, because the words leave them open:
//! - A range without a usual time is booked at its longer end; three points at the middle one.
//! - A step that nobody touches at its start begins by itself the moment what it follows is over (a pan that
//!   has been taken off does not wait before it starts cooling), unless the card gives a gap of its own.
//! - A vessel that a dish names for its batches and no step mentions is taken from the first to the last of
//!   the steps done per batch.

use super::expand::{Doing, Expanded, Link, expand};
use super::hours::{self, Dates};
use super::key::StepKey;
use super::run_sheet::{Announced, Done, Happened, Told};
use super::shared::{Shared, Stock, TakenAway};
use super::staying_on::{overrun, staying_on};
use super::wanted::Wanted;
use super::ways::{Manner, every_way};
use super::weights::{FRESH, PLAIN, weights};
use crate::menu::{ClockWait, Cook, Dish, Edge, GapLeast, Hours, Kitchen, Menu, ServiceDay, Step};
use crate::schedule::{
    Activity, Calendar, CalendarId, Coverage, Duration, Gate, GateId, Instance, Mode, ResourceId,
    Schedule, Time,
};
use crate::time::{Local, Minute, Minutes, ServiceTime, Timestamp, Window, Zone, day_after};

/// Returns the service of a menu as a moment: its own date, or so many days after the day of `now`.
pub fn service_of(menu: &Menu, now: Timestamp, machine_zone: Zone) -> ServiceTime {
    let zone = menu.kitchen.zone.unwrap_or(machine_zone);
    let date = match menu.service.day {
        ServiceDay::On(date) => date,
        ServiceDay::InDays(days) => day_after(now.local(zone).date, i64::from(days)),
    };
    ServiceTime::new(
        Local {
            date,
            time: menu.service.time,
        },
        zone,
    )
}

/// What a lag stands for in the menu.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Meaning {
    /// One doing follows another.
    After(Link),
    /// Two doings end together.
    Together,
    /// One batch is begun before the next.
    InTurn,
    /// A doing is over before its course.
    Course(usize),
    /// What a doing makes keeps only so long.
    Keeps,
}

/// A longest gap after what has happened that a forecast may stretch.
#[derive(Clone, Copy, Debug)]
pub(super) struct Stretched {
    /// The doing that has happened, and the edge counted from.
    pub(super) from: (usize, Edge),
    /// The doing to come, and the edge counted to.
    pub(super) to: (usize, Edge),
    /// The longest.
    pub(super) most: Minutes,
}

/// An instance with what its parts stand for.
#[derive(Clone, Debug)]
pub(super) struct Bridge<'a> {
    pub(super) menu: &'a Menu,
    pub(super) service: ServiceTime,
    pub(super) expanded: Expanded,
    /// Activities: the doings, then the courses, then waits for nights that no step stands for.
    pub(super) instance: Instance,
    /// One for each lag of the instance.
    pub(super) meaning: Vec<Meaning>,
    /// One for each wish of the instance.
    pub(super) wanted: Vec<Wanted>,
    /// What has happened to each doing, presumed where a doing that follows it has begun.
    pub(super) happened: Vec<Option<Done>>,
    ticked: Vec<bool>,
    /// What has happened has broken for good.
    pub(super) broken: Vec<Broken>,
    /// Longest gaps after what has happened that a forecast may stretch.
    pub(super) stretched: Vec<Stretched>,
    /// Doings to come whose longest gap after what has happened has passed.
    pub(super) passed: Vec<usize>,
    pub(super) open: Vec<Window>,
    /// When somebody is in the building, or can be.
    pub(super) somebody: Vec<Window>,
    /// The same without overtime.
    pub(super) regular: Vec<Window>,
    pub(super) shifts: Vec<Vec<Window>>,
    /// Hours beyond them in which each cook can be asked to stay.
    pub(super) overtime: Vec<Vec<Window>>,
    pub(super) first_openings: Vec<Minute>,
    /// One for each resource of the instance.
    pub(super) shared: Vec<Shared>,
    /// One for each kind of kit, as are the two below.
    pub(super) stock: Vec<Stock>,
    pub(super) taken: Vec<Vec<TakenAway>>,
    /// One for each mode of each doing.
    pub(super) manners: Vec<Vec<Manner>>,
    /// What the cooks have been told.
    pub(super) told: Option<&'a Announced>,
    /// What they have been shown since of steps that could not be kept there.
    shown: Option<&'a Announced>,
    pub(super) bound: Bound,
}

/// What is asked of the planner.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// What is to be served.
    pub menu: &'a Menu,
    /// When.
    pub service: ServiceTime,
    /// What has happened.
    pub happened: &'a Happened,
    /// The moment; nothing left starts before it.
    pub now: Minute,
    /// Times the cooks have been told, to be kept where they can; `None` where they were only told the plan that
    /// the menu alone gives.
    pub told: Option<&'a Announced>,
    /// Times of steps that could since not be kept where they were told, as they were shown last: where those told do
    /// not hold any more, these are kept rather than moved again.
    pub shown: Option<&'a Announced>,
}

/// A rule that what has happened has broken for good.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Broken {
    /// A doing could have begun by then at the latest, after another.
    Gap {
        step: usize,
        by: Minute,
        after: usize,
    },
    /// What a doing made keeps only until then, which is before its course.
    Keeps { step: usize, until: Minute },
    /// A doing that runs, with which its dish ends, is over only then, which is after its course.
    Course { step: usize, end: Minute },
}

/// How many days after the last course a forecast looks: what is a day late is not late but gone.
const LATE_REACH: i32 = 1;

pub(super) const HANDS: ResourceId = ResourceId(0);
const SOMEBODY: CalendarId = CalendarId(0);

/// When nothing that has not happened may start earlier.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Bound {
    /// Now, and the day from which the menu lets work begin.
    Now(Minute),
    /// As `Now`, and courses may be missed, as little as possible, and cooks stay on after their shifts
    /// ([`overrun`]); where `cards` says so, times by which cards want steps done may be missed too, and so may
    /// longest gaps after what has happened.
    Late {
        /// Now.
        now: Minute,
        /// Whether a step may be done later than its card wants it.
        cards: bool,
    },
    /// Only that day.
    Menu,
    /// However early it takes.
    None,
}

impl<'a> Bridge<'a> {
    pub(super) fn new(asked: Asked<'a>, bound: Bound) -> Self {
        let Asked {
            menu,
            service,
            happened,
            now,
            told,
            shown,
        } = asked;
        let expanded = expand(menu);
        let beyond = match bound {
            Bound::Late { .. } => LATE_REACH,
            Bound::Now(_) | Bound::Menu | Bound::None => 0,
        };
        let dates = horizon(menu, service, &expanded, happened, beyond);
        let open = hours::open(&menu.kitchen, service, dates);
        let watched = hours::windows(&menu.kitchen.watched, service, dates);
        let cooks = menu.kitchen.cooks.iter();
        let (shifts, mut overtime): (Vec<Vec<Window>>, Vec<Vec<Window>>) =
            cooks.map(|cook| there(cook, &open, service, dates)).unzip();
        let regular = hours::union(
            open.iter()
                .chain(&watched)
                .chain(shifts.iter().flatten())
                .copied()
                .collect(),
        );
        let mut somebody = regular.clone();
        if let Bound::Late { now, .. } = bound {
            let away = menu.kitchen.cooks.iter();
            let away: Vec<Vec<Window>> = away
                .map(|cook| hours::windows(&cook.away, service, dates))
                .collect();
            overtime = staying_on(&shifts, &overtime, &away, now);
            somebody.extend(overtime.iter().flatten().copied());
        }
        let somebody = hours::union(somebody);
        let latest = menu
            .courses
            .iter()
            .map(|course| course.offset.0)
            .max()
            .unwrap_or(0)
            .max(0)
            + beyond * 1440;
        let mut bridge = Self {
            menu,
            service,
            instance: Instance {
                earliest: service.at_minute_of_day(dates.first, 0).0,
                latest,
                weights: weights(menu.style, told.is_some()),
                ..Instance::default()
            },
            meaning: Vec::new(),
            wanted: Vec::new(),
            happened: Vec::new(),
            ticked: expanded
                .doings
                .iter()
                .map(|doing| happened.contains_key(&doing.key))
                .collect(),
            broken: Vec::new(),
            stretched: Vec::new(),
            passed: Vec::new(),
            first_openings: hours::first_openings(&menu.kitchen, service, dates),
            expanded,
            open,
            somebody,
            regular,
            shifts,
            overtime,
            shared: Vec::new(),
            stock: Vec::new(),
            taken: Vec::new(),
            manners: Vec::new(),
            told,
            shown,
            bound,
        };
        bridge.happened = presumed(&bridge.expanded, happened);
        bridge.resources(dates);
        bridge.activities(now, bound, dates);
        bridge.courses_and_keeping(now);
        bridge.links(now);
        bridge.together(now.0);
        // A plan already begun, or already announced, keeps its batches in whatever order they stand.
        if !matches!(bound, Bound::Now(_) | Bound::Late { .. }) {
            bridge.turns();
        }
        bridge.holds();
        bridge.wishes();
        bridge.levels();
        bridge
    }

    pub(super) fn doing(&self, index: usize) -> (&Doing, &'a Dish, &'a Step) {
        let doing = &self.expanded.doings[index];
        let dish = &self.menu.dishes[doing.dish];
        (doing, dish, &dish.steps[doing.step])
    }

    /// Returns what a schedule tells the cooks.
    pub(super) fn announcement(&self, schedule: &Schedule) -> Announced {
        let doings = self.expanded.doings.iter().enumerate();
        doings
            .map(|(index, doing)| {
                let placed = schedule.placements[index];
                let (_, _, step) = self.doing(index);
                let manner = &self.manners[index][placed.mode];
                let told = Told {
                    start: Minute(placed.start),
                    way: manner.way.map(|way| step.ways[way].name.clone()),
                    ovens: manner
                        .ovens
                        .iter()
                        .map(|oven| {
                            let kit = &self.menu.kitchen.kit[oven.kit];
                            (kit.name.clone(), oven.unit as u32 + 1)
                        })
                        .collect(),
                };
                (doing.key.clone(), told)
            })
            .collect()
    }

    /// Returns what the cooks have been told last of a doing.
    pub(super) fn last_told(&self, key: &StepKey) -> Option<&'a Told> {
        let shown = self.shown.and_then(|shown| shown.get(key));
        shown.or_else(|| self.told?.get(key))
    }

    /// Whether the book says anything of a doing.
    pub(super) fn was_ticked(&self, index: usize) -> bool {
        self.ticked[index]
    }

    /// Whether a doing is past, ticked or presumed.
    pub(super) fn has_happened(&self, index: usize) -> bool {
        self.happened[index].is_some()
    }

    fn activities(&mut self, now: Minute, bound: Bound, dates: Dates) {
        self.instance.calendars.push(calendar(&self.somebody));
        self.instance.gates.push(Gate {
            openings: self
                .first_openings
                .iter()
                .map(|opening| opening.0)
                .collect(),
        });
        let from_menu = self
            .menu
            .prep_from
            .map(|date| self.service.at_minute_of_day(date, 0).0);
        let release = match bound {
            Bound::None => None,
            Bound::Menu => from_menu,
            Bound::Now(now) | Bound::Late { now, .. } => from_menu.into_iter().chain([now.0]).max(),
        };
        for index in 0..self.expanded.doings.len() {
            let (mut modes, mut manners) = self.modes(index, dates);
            let (doing, _, step) = self.doing(index);
            let announced = self.last_told(&doing.key).map(|told| told.start.0);
            let everybody = every_way(step).all(|(_, card)| card.hands.someone_about);
            let mut calendars = Vec::new();
            if everybody {
                calendars.push((SOMEBODY, Coverage::Whole));
            }
            let cards = matches!(bound, Bound::Late { cards: true, .. });
            let mut within_by = None;
            if let Some(span) = step.within {
                let mut windows: Vec<Window> = dates
                    .iter(self.service)
                    .map(|date| hours::window(span, self.service, date))
                    .collect();
                if cards {
                    // The hours for which it was told, or else the next, can be overrun; those of other days hold.
                    let told = announced.map_or(now, Minute);
                    let to_come = |it: &Window| now < overrun(it.end, now);
                    let of_told = |it: &Window| it.start <= told && told < overrun(it.end, now);
                    let own = windows.iter().position(|it| of_told(it) && to_come(it));
                    let own = own.or_else(|| windows.iter().position(to_come));
                    if let Some(own) = own.and_then(|own| windows.get_mut(own)) {
                        within_by = Some(own.end.0);
                        own.end = overrun(own.end, now);
                    }
                }
                self.instance
                    .calendars
                    .push(calendar(&hours::union(windows)));
                calendars.push((
                    CalendarId(self.instance.calendars.len() - 1),
                    Coverage::Whole,
                ));
            }
            let not_before = step
                .not_before
                .map(|moment| hours::moment(moment, self.service).0);
            let done_by = step
                .done_by
                .map(|moment| hours::moment(moment, self.service).0);
            let (deadline, due) = if cards {
                (None, done_by.into_iter().chain(within_by).min())
            } else {
                (done_by, None)
            };
            let fixed = self.happened[index].map(|done| {
                let chosen = self.begun(&modes, |mode| self.fixed(done, mode, now));
                (modes, manners) = (
                    vec![modes.swap_remove(chosen)],
                    vec![manners.swap_remove(chosen)],
                );
                self.fixed(done, &modes[0], now)
            });
            if let Some(Done::Skipped(_)) = self.happened[index] {
                modes[0].demands.clear();
                modes[0].states.clear();
            }
            let weight = self.weight(index);
            self.manners.push(manners);
            self.instance.activities.push(Activity {
                modes,
                calendars,
                release: release.into_iter().chain(not_before).max(),
                deadline,
                due,
                fixed,
                weight,
                announced,
            });
        }
    }

    /// Returns what a minute earlier than need be costs: twenty times as much for food that is only for so long
    /// at its best as for any other work.
    fn weight(&self, index: usize) -> i32 {
        let (_, dish, step) = self.doing(index);
        let last = !self.expanded.links.iter().any(|link| link.from == index);
        if step.fresh.best.is_some() || (last && dish.fresh.best.is_some()) {
            FRESH
        } else {
            PLAIN
        }
    }

    /// Returns when a doing that runs is due to end, also where that has passed; none of what does not run.
    pub(super) fn due(&self, index: usize) -> Option<Minute> {
        let runs = self.happened[index].filter(|done| done.running_since().is_some())?;
        let mode = self.instance.activities[index].modes.first()?;
        // Before everything: at that minute nothing is overdue yet.
        let (_, end) = self.fixed(runs, mode, Minute(i32::MIN));
        end.map(Minute)
    }

    /// Returns the real start and end of what has happened; a running step ends no earlier than the next
    /// minute.
    ///
    /// Times far outside the plan (a tick on the wrong date) are held at its edges: the sheet shows them as
    /// they were written, and nothing is gained by planning around a year.
    fn fixed(&self, done: Done, mode: &Mode, now: Minute) -> (Time, Option<Time>) {
        let held = |at: Minute| {
            at.0.clamp(self.instance.earliest, self.instance.latest + 90 * 1440)
        };
        let (start, end) = match done {
            Done::Skipped(at) => (held(at), held(at)),
            Done::Finished(Some(start), end) => (held(start).min(held(end)), held(end)),
            Done::Finished(None, end) => {
                let length = match mode.duration {
                    Duration::Fixed(length) => length,
                    Duration::Until { .. } => 0,
                };
                (held(end) - length, held(end))
            }
            Done::Expected { since, end } => {
                let since = held(since);
                (since, held(end).max(held(now) + 1).max(since))
            }
            Done::Started(start) => {
                let planned = match mode.duration {
                    // Put on a minute late it is taken off a minute late, not a night later.
                    Duration::Until {
                        gate,
                        count,
                        at_least,
                        then,
                    } => self.instance.gates[gate.0]
                        .end_of(held(start), count, 0)
                        .map_or(held(start), |opening| {
                            opening.max(held(start) + at_least) + then
                        }),
                    Duration::Fixed(length) => held(start) + length,
                };
                (held(start), planned.max(held(now) + 1))
            }
        };
        (start, Some(end))
    }

    pub(super) fn wait(
        &mut self,
        until: ClockWait,
        at_least: Minutes,
        take_off: Minutes,
        dates: Dates,
    ) -> Duration {
        let (gate, count) = match until {
            ClockWait::KitchenOpens(mornings) => (GateId(0), mornings.max(1)),
            ClockWait::TimeOfDay(time) => {
                let openings = hours::daily(time, self.service, dates)
                    .iter()
                    .map(|it| it.0)
                    .collect();
                self.instance.gates.push(Gate { openings });
                (GateId(self.instance.gates.len() - 1), 1)
            }
        };
        Duration::Until {
            gate,
            count,
            at_least: at_least.0,
            then: take_off.0,
        }
    }
}

/// Returns what has happened, and what must have: a doing that nobody ticked is over when one that follows it has
/// begun. It stays open on the sheet; the planner only does not make what has begun wait for it.
pub(super) fn presumed(expanded: &Expanded, happened: &Happened) -> Vec<Option<Done>> {
    let doings = &expanded.doings;
    let mut done: Vec<Option<Done>> = doings
        .iter()
        .map(|doing| happened.get(&doing.key).copied())
        .collect();
    loop {
        let mut more = false;
        for link in &expanded.links {
            let ordered = link.from_edge == Edge::End && link.to_edge == Edge::Start;
            let begun = match done[link.to] {
                Some(Done::Started(at) | Done::Expected { since: at, .. }) => Some(at),
                Some(Done::Finished(start, end)) => Some(start.unwrap_or(end)),
                _ => None,
            };
            if let (true, None, Some(at)) = (ordered, done[link.from], begun) {
                done[link.from] = Some(Done::Finished(None, at));
                more = true;
            }
        }
        if !more {
            return done;
        }
    }
}

/// Returns when each cook works by the kitchen's card, without overtime, and whether or not they are away.
pub(super) fn shifts_of(kitchen: &Kitchen, service: ServiceTime, dates: Dates) -> Vec<Vec<Window>> {
    let open = hours::open(kitchen, service, dates);
    let cooks = kitchen.cooks.iter();
    cooks
        .map(|cook| {
            let mut cook = cook.clone();
            cook.away.clear();
            there(&cook, &open, service, dates).0
        })
        .collect()
}

/// Returns when a cook works, and when they can be asked to stay, neither while they are away.
fn there(
    cook: &Cook,
    open: &[Window],
    service: ServiceTime,
    dates: Dates,
) -> (Vec<Window>, Vec<Window>) {
    let laid_out = |hours: &[Hours]| hours::windows(hours, service, dates);
    let shifts = if cook.shifts.is_empty() {
        open.to_vec()
    } else {
        hours::common(&laid_out(&cook.shifts), open)
    };
    let more = hours::common(&laid_out(&cook.overtime), open);
    let overtime: Vec<Window> = more
        .into_iter()
        .flat_map(|window| hours::between(&shifts, window))
        .collect();
    let away = laid_out(&cook.away);
    (
        hours::without(&shifts, &away),
        hours::without(&overtime, &away),
    )
}

pub(super) fn at_moment(at: Time) -> Activity {
    Activity {
        modes: vec![Mode {
            duration: Duration::Fixed(0),
            demands: Vec::new(),
            states: Vec::new(),
            cost: 0,
        }],
        calendars: Vec::new(),
        release: None,
        deadline: None,
        due: None,
        fixed: Some((at, Some(at))),
        weight: 1,
        announced: None,
    }
}

fn calendar(windows: &[Window]) -> Calendar {
    Calendar {
        windows: windows
            .iter()
            .map(|window| (window.start.0, window.end.0))
            .collect(),
    }
}

/// Returns the dates a plan is laid out over: back from service by twice what the longest dish takes one step
/// after another, at least a week, and far enough for whatever has already happened; and so many days `beyond` the
/// last course.
fn horizon(
    menu: &Menu,
    service: ServiceTime,
    expanded: &Expanded,
    happened: &Happened,
    beyond: i32,
) -> Dates {
    let mut minutes = vec![0_i64; menu.dishes.len()];
    for doing in &expanded.doings {
        // A wait for the clock is taken for two days, more than any but the longest lasts.
        minutes[doing.dish] += i64::from(doing.longest.unwrap_or(Minutes::days(2)).0);
    }
    for link in &expanded.links {
        let gap = match link.gap.least {
            GapLeast::Elapsed(least) => i64::from(least.0),
            GapLeast::Nights(nights) => i64::from(nights) * 1440 * 2,
        };
        minutes[expanded.doings[link.to].dish] += gap.max(0);
    }
    let days = minutes.into_iter().max().unwrap_or(0) * 2 / 1440 + 3;
    let last_course = menu
        .courses
        .iter()
        .map(|course| course.offset)
        .max()
        .unwrap_or_default();
    let first_happened = happened
        .values()
        .map(|done| match *done {
            Done::Started(at) | Done::Expected { since: at, .. } | Done::Skipped(at) => at,
            Done::Finished(start, end) => start.unwrap_or(end),
        })
        .min();
    let back = day_after(service.service_date(), -days.clamp(7, 400));
    // A tick a year too early is a slip; the plan does not reach back to it.
    let furthest = day_after(service.service_date(), -400);
    let first = first_happened.map_or(back, |at| day_after(service.local(at).date, -1).min(back));
    let last = service.local(Minute(last_course.0.max(0))).date;
    Dates {
        first: first.max(furthest),
        last: day_after(last, 1 + i64::from(beyond)),
    }
}
