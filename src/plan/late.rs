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
use crate::schedule::segments::segments;
use crate::schedule::{ActivityId, Coverage, Duration, Edge, ResourceId, Schedule, Time};
use crate::time::{Minute, Window};

/// Users of what is waited for named at most.
const NAMED: usize = 2;

/// Returns how late a dish is, and because of what; none where it is in time.
pub(super) fn lateness(
    bridge: &Bridge<'_>,
    schedule: &Schedule,
    needed: Option<&Plan>,
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
        by: Some(by),
        because: chain.cause(last),
    })
}

/// What keeps something from starting a minute earlier.
enum Held {
    /// This, as a sentence.
    Cause(String),
    /// These other activities, the likeliest first; none where nothing is found.
    By(Vec<usize>),
}

struct Chain<'a, 'b> {
    bridge: &'a Bridge<'b>,
    schedule: &'a Schedule,
    needed: Option<&'a Plan>,
    now: Minute,
}

impl Chain<'_, '_> {
    /// Looks at what holds the last step back, then at what holds that back, and so on; steps that hold one another
    /// (a pan straight from the hob into the bath) are looked at all, each once.
    fn cause(&self, last: usize) -> String {
        let mut seen = BTreeSet::new();
        let mut open = vec![last];
        let mut deepest = last;
        while let Some(at) = open.pop() {
            if !seen.insert(at) {
                continue;
            }
            match self.held(at, &seen) {
                Held::Cause(said) => return said,
                Held::By(others) => {
                    if at < self.bridge.expanded.doings.len() {
                        deepest = at;
                    }
                    open.extend(others.into_iter().rev());
                }
            }
        }
        self.no_earlier(deepest)
    }

    fn held(&self, at: usize, seen: &BTreeSet<usize>) -> Held {
        let activity = &self.bridge.instance.activities[at];
        let placed = self.schedule.placements[at];
        if activity.fixed.is_some() {
            return Held::Cause(self.happened(at));
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
        let mut tight: Vec<(bool, Time, usize)> = bounds
            .into_iter()
            .filter(|&(bound, other, _)| bound >= start && !seen.contains(&other))
            .filter(|&(_, other, _)| !self.is_over(other))
            .map(|(bound, other, before)| (before, bound, other))
            .collect();
        // What comes before it first, and of that what lets it begin the latest.
        tight.sort_unstable_by_key(|&(before, bound, other)| (!before, -bound, other));
        let before = tight.iter().any(|&(before, _, _)| before);
        let others: Vec<usize> = tight.into_iter().map(|(_, _, other)| other).collect();
        if before {
            return Held::By(others);
        }
        let is_first = start <= self.now.0 && others.is_empty();
        if is_first && at >= self.bridge.expanded.doings.len() {
            // A night after what is over: nobody begins it.
            let (night, end) = (name(self.bridge, ActivityId(at)), self.clock(placed.end));
            return Held::Cause(format!("{night} is over only at {end}"));
        }
        if self.is_overdue(at) || is_first {
            return Held::Cause(self.not_started(at));
        }
        let told = self
            .released(at, start)
            .or_else(|| self.out_of_hours(at))
            .map(Held::Cause)
            .or_else(|| self.in_use(at, seen))
            .or_else(|| self.other_heat(at, seen));
        match told {
            Some(Held::By(users)) => Held::By(users.into_iter().chain(others).collect()),
            Some(cause) => cause,
            None => Held::By(others),
        }
    }

    /// Returns when it was to start: as it was told, or as it would have been needed where nothing was told.
    fn was_to_start(&self, at: usize) -> Option<Minute> {
        let doing = self.bridge.expanded.doings.get(at);
        let told = doing.and_then(|doing| self.bridge.told?.get(&doing.key));
        let needed = self.needed(at).map(|window| window.start);
        told.map(|told| told.start).or(needed)
    }

    /// Returns when it would have been needed, where anything says so.
    fn needed(&self, at: usize) -> Option<Window> {
        Some(self.needed?.steps.get(at)?.window)
    }

    /// Whether it was to start before now.
    fn is_overdue(&self, at: usize) -> bool {
        self.was_to_start(at).is_some_and(|start| start < self.now)
    }

    fn is_over(&self, at: usize) -> bool {
        let done = self.bridge.happened.get(at).copied().flatten();
        done.is_some_and(|done| done.running_since().is_none())
    }

    /// Returns the starts before which each other activity does not let this one begin, and whether that is one it
    /// comes after.
    fn bounds(&self, at: usize) -> Vec<(Time, usize, bool)> {
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
                bounds.push((bound, lag.from.0.0, true));
            }
            if let Some(most) = lag.most
                && lag.from.0.0 == at
                && lag.to.0.0 != at
            {
                bounds.push((to_start(lag.from.1, edge(lag.to) - most), lag.to.0.0, false));
            }
        }
        // The courses hold nothing back.
        let courses = self.bridge.expanded.doings.len();
        let courses = courses..courses + self.bridge.menu.courses.len();
        bounds.retain(|&(_, other, _)| !courses.contains(&other));
        bounds
    }

    fn happened(&self, at: usize) -> String {
        let placed = self.schedule.placements[at];
        let (step, end) = (name(self.bridge, ActivityId(at)), self.clock(placed.end));
        let running = self.bridge.happened.get(at).copied().flatten();
        let runs = running.is_some_and(|done| done.running_since().is_some());
        let needed = self.needed(at).map(|window| window.end);
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
        match self.was_to_start(at).filter(|&start| start < self.now) {
            Some(start) => format!(
                "{step} should have started by {}",
                self.bridge.service.local(start).weekday_clock()
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

    fn in_use(&self, at: usize, seen: &BTreeSet<usize>) -> Option<Held> {
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
            let users = self.users(resource, minute, seen);
            let used: i32 = users.iter().map(|&(_, quantity)| quantity).sum();
            let there = instance.resources[resource.0].capacity_at(minute);
            (used + quantity > there)
                .then(|| self.waits_for(at, resource, minute, quantity, &users))
        })
    }

    /// Returns who else uses a resource at a minute, and how much; what has been looked at would move along.
    fn users(
        &self,
        resource: ResourceId,
        minute: Time,
        but: &BTreeSet<usize>,
    ) -> Vec<(usize, i32)> {
        let instance = &self.bridge.instance;
        let placements = &self.schedule.placements;
        let at = |(id, edge): (ActivityId, Edge)| match edge {
            Edge::Start => placements[id.0].start,
            Edge::End => placements[id.0].end,
        };
        let mut users = Vec::new();
        for (index, (activity, placed)) in instance.activities.iter().zip(placements).enumerate() {
            if but.contains(&index) || placed.end <= minute || placed.start > minute {
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
                && !but.contains(&hold.from.0.0)
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
    ) -> Held {
        let bridge = self.bridge;
        let step = name(bridge, ActivityId(at));
        let what = resource_name(bridge, resource);
        let until = self.clock(minute + 1);
        let there = bridge.instance.resources[resource.0].capacity_at(minute);
        if there < quantity {
            return Held::Cause(match &bridge.shared[resource.0] {
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
            });
        }
        // What runs, or has been put off itself, is why it is in use.
        let put_off: Vec<usize> = users
            .iter()
            .map(|&(user, _)| user)
            .filter(|&user| {
                let done = bridge.happened.get(user).copied().flatten();
                let runs = done.is_some_and(|done| done.running_since().is_some());
                let start = self.schedule.placements[user].start;
                let needed = self.needed(user).map(|window| window.start);
                runs || needed.is_some_and(|needed| needed.0 < start)
            })
            .collect();
        if !put_off.is_empty() {
            return Held::By(put_off);
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
        Held::Cause(if named.is_empty() {
            format!("{step} waits for {the}{what} until {until}")
        } else {
            let users = list(&named);
            format!("{step} waits for {the}{what} until {until}, needed for {users}")
        })
    }

    fn other_heat(&self, at: usize, seen: &BTreeSet<usize>) -> Option<Held> {
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
                !seen.contains(index)
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
            Some(Held::Cause(format!(
                "{} waits for the {oven}, at another heat for {}",
                name(self.bridge, ActivityId(at)),
                name(self.bridge, ActivityId(other))
            )))
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
