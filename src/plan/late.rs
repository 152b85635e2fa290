//! Because of what a dish is late on a forecast.
//!
//! From the step with which the dish ends one asks again and again what keeps it from starting a minute earlier. That
//! is another step (what it follows, or what it may not be too far from), until something is met that nothing else
//! on the plan explains: a step that runs, one that should have started by now, kit or hands in use, hours, an
//! opening. That is the cause which is told, alone: a cook wants to know where to begin, not the whole chain.
//!
//! The engine says what keeps a step from standing *later* ([`Blocking`](crate::schedule::Blocking)), because a plan
//! is counted back; here it is looked at the other way round, for the few steps of a chain.

use std::collections::BTreeSet;

use super::explain::{list, name, oven_name, quoted, resource_name};
use super::from_menu::Bridge;
use super::run_sheet::{DishPlan, Done, Lateness, Plan};
use super::shared::Shared;
use crate::schedule::search::segments;
use crate::schedule::{ActivityId, Coverage, Duration, Edge, ResourceId, Schedule, Time};
use crate::time::Minute;

/// Users of what is waited for named at most.
const NAMED: usize = 2;

/// Returns how late a dish is, and because of what; none where it is in time.
pub(super) fn lateness(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    needed: &Plan,
    dish: &DishPlan,
    now: Minute,
) -> Option<Lateness> {
    let by = dish.ready - dish.at_pass;
    if by.0 <= 0 {
        return None;
    }
    let end = |step: usize| schedule.placements[step].end;
    let last = *dish.steps.iter().max_by_key(|&&step| end(step))?;
    let chain = Chain {
        bridge,
        schedule,
        needed,
        now,
    };
    Some(Lateness {
        by,
        because: chain.cause(last),
    })
}

/// What keeps something from starting a minute earlier.
enum Held {
    /// Another activity.
    By(usize),
    /// This, as a sentence.
    Cause(String),
}

struct Chain<'a, 'b> {
    bridge: &'a Bridge<'b>,
    schedule: &'a Schedule,
    needed: &'a Plan,
    now: Minute,
}

impl Chain<'_, '_> {
    fn cause(&self, last: usize) -> String {
        let mut seen = BTreeSet::new();
        let mut at = last;
        while seen.insert(at) {
            match self.held(at) {
                Held::By(other) => at = other,
                Held::Cause(said) => return said,
            }
        }
        self.no_earlier(at)
    }

    fn held(&self, at: usize) -> Held {
        let activity = &self.bridge.instance.activities[at];
        let placed = self.schedule.placements[at];
        if activity.fixed.is_some() {
            return Held::Cause(self.happened(at));
        }
        let is_step = at < self.bridge.expanded.doings.len();
        if is_step && placed.start <= self.now.0 {
            return Held::Cause(self.not_started(at));
        }
        // A wait for an opening would have to start in time for the one before to end any earlier.
        let mode = &activity.modes[placed.mode];
        let start = match mode.duration {
            Duration::Fixed(_) => placed.start,
            Duration::Until { .. } => {
                let sooner = self.bridge.instance.latest_start(mode, placed.end - 1);
                sooner.map_or(placed.start, |sooner| (sooner + 1).min(placed.start))
            }
        };
        let bounds = self.bounds(at);
        let tight = bounds.into_iter().filter(|&(bound, _)| bound >= start);
        let fixed = |at: usize| self.bridge.instance.activities[at].fixed.is_some();
        // What is still to come, or runs, says more than what is over.
        let best = tight.max_by_key(|&(bound, other)| (bound, !fixed(other), other));
        if let Some((_, other)) = best {
            return Held::By(other);
        }
        if is_step && start <= self.now.0 {
            return Held::Cause(self.not_started(at));
        }
        let told = self
            .released(at, start)
            .or_else(|| self.out_of_hours(at))
            .or_else(|| self.in_use(at))
            .or_else(|| self.other_heat(at));
        Held::Cause(told.unwrap_or_else(|| self.no_earlier(at)))
    }

    /// Returns the starts before which each other activity does not let this one begin.
    fn bounds(&self, at: usize) -> Vec<(Time, usize)> {
        let placements = &self.schedule.placements;
        let length = placements[at].end - placements[at].start;
        let edge = |(id, edge): (ActivityId, Edge)| match edge {
            Edge::Start => placements[id.0].start,
            Edge::End => placements[id.0].end,
        };
        // An end that must not come before a moment puts the start as much before it as this lasts.
        let to_start = |edge: Edge, moment: Time| match edge {
            Edge::Start => moment,
            Edge::End => moment - length,
        };
        let mut bounds = Vec::new();
        for lag in &self.bridge.instance.lags {
            if lag.to.0.0 == at && lag.from.0.0 != at {
                let bound = to_start(lag.to.1, edge(lag.from) + lag.least);
                bounds.push((bound, lag.from.0.0));
            }
            if let Some(most) = lag.most
                && lag.from.0.0 == at
                && lag.to.0.0 != at
            {
                bounds.push((to_start(lag.from.1, edge(lag.to) - most), lag.to.0.0));
            }
        }
        // The courses hold nothing back.
        let courses = self.bridge.expanded.doings.len();
        let courses = courses..courses + self.bridge.menu.courses.len();
        bounds.retain(|&(_, other)| !courses.contains(&other));
        bounds
    }

    fn happened(&self, at: usize) -> String {
        let placed = self.schedule.placements[at];
        let (step, end) = (name(self.bridge, ActivityId(at)), self.clock(placed.end));
        let running = self.bridge.happened.get(at).copied().flatten();
        let runs = running.is_some_and(|done| done.running_since().is_some());
        let needed = self.needed.steps.get(at).map(|step| step.window.end);
        let should = match needed {
            Some(needed) if needed.0 < placed.end => {
                format!(
                    ", and was needed by {}",
                    self.bridge.service.local(needed).weekday_clock()
                )
            }
            _ => String::new(),
        };
        match running {
            Some(Done::Started(_)) if placed.end <= self.now.0 + 1 => {
                format!("{step} runs long{should}")
            }
            _ if runs => format!("{step} runs until {end}{should}"),
            _ => format!("{step} was over only at {end}{should}"),
        }
    }

    fn not_started(&self, at: usize) -> String {
        let step = quoted(self.bridge, at);
        let needed = self.needed.steps.get(at).map(|step| step.window.start);
        match needed.filter(|&needed| needed < self.now) {
            Some(needed) => format!(
                "{step} should have started by {}",
                self.bridge.service.local(needed).weekday_clock()
            ),
            None => format!("{step} can start no earlier than now"),
        }
    }

    fn released(&self, at: usize, start: Time) -> Option<String> {
        let release = self.bridge.instance.activities[at].release?;
        (release >= start).then(|| {
            let step = name(self.bridge, ActivityId(at));
            format!("{step} may not begin before {}", self.clock(release))
        })
    }

    fn out_of_hours(&self, at: usize) -> Option<String> {
        let (start, end) = self.sooner(at);
        let instance = &self.bridge.instance;
        let outside = instance.activities[at].calendars.iter().any(|&(id, what)| {
            let windows = &instance.calendars[id.0].windows;
            !windows.iter().any(|&(from, to)| match what {
                Coverage::Start => from <= start && start < to,
                Coverage::End => from <= end && end <= to,
                Coverage::Whole => from <= start && end <= to,
            })
        });
        outside.then(|| {
            let step = name(self.bridge, ActivityId(at));
            let start = self.clock(self.schedule.placements[at].start);
            format!("the hours of {step} begin only at {start}")
        })
    }

    /// Returns where it would stand a minute earlier.
    fn sooner(&self, at: usize) -> (Time, Time) {
        let placed = self.schedule.placements[at];
        (placed.start - 1, placed.end - 1)
    }

    fn in_use(&self, at: usize) -> Option<String> {
        let instance = &self.bridge.instance;
        let placed = self.schedule.placements[at];
        let demands = &instance.activities[at].modes[placed.mode].demands;
        let (start, end) = self.sooner(at);
        let mut wanted: Vec<(Time, ResourceId, i32)> = segments(demands, start, end)
            .into_iter()
            .map(|segment| (segment.from, segment.resource, segment.quantity))
            .collect();
        let holds = instance.holds.iter();
        wanted.extend(
            holds
                .filter(|hold| hold.from.0.0 == at)
                .map(|hold| match hold.from.1 {
                    Edge::Start => (start, hold.resource, hold.quantity),
                    Edge::End => (end, hold.resource, hold.quantity),
                }),
        );
        wanted.into_iter().find_map(|(minute, resource, quantity)| {
            let users = self.users(resource, minute, at);
            let used: i32 = users.iter().map(|&(_, quantity)| quantity).sum();
            let there = instance.resources[resource.0].capacity_at(minute);
            (used + quantity > there)
                .then(|| self.waits_for(at, resource, minute, quantity, &users))
        })
    }

    /// Returns who else uses a resource at a minute, and how much.
    fn users(&self, resource: ResourceId, minute: Time, but: usize) -> Vec<(usize, i32)> {
        let instance = &self.bridge.instance;
        let placements = &self.schedule.placements;
        let at = |(id, edge): (ActivityId, Edge)| match edge {
            Edge::Start => placements[id.0].start,
            Edge::End => placements[id.0].end,
        };
        let mut users = Vec::new();
        for (index, (activity, placed)) in instance.activities.iter().zip(placements).enumerate() {
            if index == but || placed.end <= minute || placed.start > minute {
                continue;
            }
            let demands = &activity.modes[placed.mode].demands;
            let all = segments(demands, placed.start, placed.end);
            let used = all
                .iter()
                .filter(|it| it.resource == resource && it.from <= minute && minute < it.to);
            let used: i32 = used.map(|it| it.quantity).sum();
            if used > 0 {
                users.push((index, used));
            }
        }
        let holds = instance.holds.iter().filter(|hold| {
            hold.resource == resource
                && hold.from.0.0 != but
                && (at(hold.from)..at(hold.to)).contains(&minute)
        });
        users.extend(holds.map(|hold| (hold.from.0.0, hold.quantity)));
        users
    }

    fn waits_for(
        &self,
        at: usize,
        resource: ResourceId,
        minute: Time,
        quantity: i32,
        users: &[(usize, i32)],
    ) -> String {
        let bridge = self.bridge;
        let step = name(bridge, ActivityId(at));
        let what = resource_name(bridge, resource);
        let until = self.clock(minute + 1);
        let there = bridge.instance.resources[resource.0].capacity_at(minute);
        if there < quantity {
            return match &bridge.shared[resource.0] {
                Shared::Hands | Shared::Able(_) => {
                    format!("too few {what} are on shift for {step} before {until}")
                }
                Shared::Somebody => {
                    format!("nobody is in the building for {step} before {until}")
                }
                Shared::Kit(kit) | Shared::Oven { kit, .. } => {
                    let by = bridge.taken_by(*kit, Minute(minute)).unwrap_or("others");
                    format!("{step} waits for the {what}, taken by {by} until {until}")
                }
            };
        }
        // What runs long is why it is in use.
        let running = users.iter().find(|&&(user, _)| {
            let done = bridge.happened.get(user).copied().flatten();
            done.is_some_and(|done| done.running_since().is_some())
                && self.schedule.placements[user].end == minute + 1
        });
        if let Some(&(user, _)) = running {
            return self.happened(user);
        }
        let named: Vec<String> = users
            .iter()
            .take(NAMED)
            .map(|&(user, _)| name(bridge, ActivityId(user)))
            .collect();
        let the = match &bridge.shared[resource.0] {
            Shared::Kit(_) | Shared::Oven { .. } => "the ",
            _ => "",
        };
        match named.is_empty() {
            true => format!("{step} waits for {the}{what} until {until}"),
            false => format!(
                "{step} waits for {the}{what} until {until}, needed for {}",
                list(&named)
            ),
        }
    }

    fn other_heat(&self, at: usize) -> Option<String> {
        let instance = &self.bridge.instance;
        let placed = self.schedule.placements[at];
        let (start, end) = self.sooner(at);
        let states = &instance.activities[at].modes[placed.mode].states;
        states.iter().find_map(|&(state, heat)| {
            let change = instance.states[state.0].change;
            let other = instance.activities.iter().zip(&self.schedule.placements);
            let other = other.enumerate().find(|(index, (activity, placed))| {
                let at_another = activity.modes[placed.mode]
                    .states
                    .iter()
                    .any(|&(id, its)| id == state && its != heat);
                *index != at
                    && at_another
                    && placed.end + change > start
                    && end + change > placed.start
            });
            let (other, _) = other?;
            let oven = self.bridge.oven_of(state);
            let oven = oven.map_or_else(
                || "oven".to_owned(),
                |(kit, unit)| oven_name(self.bridge, kit, unit),
            );
            Some(format!(
                "{} waits for the {oven}, at another heat for {}",
                name(self.bridge, ActivityId(at)),
                name(self.bridge, ActivityId(other))
            ))
        })
    }

    fn no_earlier(&self, at: usize) -> String {
        let step = name(self.bridge, ActivityId(at));
        let start = self.clock(self.schedule.placements[at].start);
        format!("no time before {start} was found for {step}")
    }

    fn clock(&self, minute: Time) -> String {
        super::explain::clock(self.bridge, minute)
    }
}
