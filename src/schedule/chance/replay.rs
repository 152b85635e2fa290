//! One day after another in the order of a schedule: a network of events, each as early as it may be.
//!
//! Events are the starts and ends of activities, and the uses of resources that begin inside one (a look, hands
//! that take off). They are put in one order beforehand, so that a day is one pass. An event that would have to
//! wait for itself (possible only where a use ends a while before an end nobody knows yet) reads the planned time.

use std::cmp::Reverse;
use std::collections::{BTreeMap, BinaryHeap};

use super::Question;
use super::lengths::{Lengths, Numbers};
use crate::schedule::partial_order::{PartialOrder, Point, Span, partial_order};
use crate::schedule::problem::{ActivityId, Calendar, Coverage, Duration, Edge, Instance, Time};

/// A moment that does not come.
pub(super) const NEVER: Time = Time::MAX / 4;

/// No event.
const NONE: u32 = u32::MAX;

/// An event that waits: at least so long after another.
#[derive(Clone, Copy, Debug)]
struct Wait {
    after: u32,
    least: Time,
}

/// Room an event needs: a stretch from it on that does not touch what is shut.
#[derive(Clone, Copy, Debug)]
struct Room {
    shut: u32,
    /// Where the stretch begins, from the event.
    offset: Time,
    /// How long it is; `None` for as long as the activity is planned to last from there.
    length: Option<Time>,
}

#[derive(Clone, Copy, Debug)]
enum Kind {
    /// It has happened.
    Known(Time),
    Start,
    End,
    /// A use that begins so long after the start; the activity must last until `until` for it to be made.
    Inside {
        after: Time,
        until: Time,
    },
    /// A use over the last minutes: so long before the natural end, for so long.
    AtEnd {
        before: Time,
        length: Time,
    },
    /// A use from so long after the start that ends with the activity.
    Rest {
        after: Time,
    },
}

#[derive(Clone, Debug)]
struct Event {
    activity: usize,
    kind: Kind,
    planned: Time,
    /// It is not before this.
    floor: Time,
    waits: Vec<Wait>,
    room: Vec<Room>,
}

/// What an activity needs to be laid out.
#[derive(Clone, Debug)]
struct Lasting {
    duration: Duration,
    planned: Time,
    announced: Time,
    lengths: Lengths,
    /// Events before it that it may follow by at most so long.
    at_most: Vec<Wait>,
    /// The uses inside it.
    inside: Vec<u32>,
    /// It does not end before this.
    not_over_before: Time,
}

/// The network, with the times of the day laid out last.
pub(super) struct Replay {
    events: Vec<Event>,
    activities: Vec<Lasting>,
    order: Vec<u32>,
    shut: Vec<Vec<(Time, Time)>>,
    /// Lags that can come out broken: place, from, to, least, most.
    checked: Vec<(usize, u32, u32, Time, Time)>,
    deadlines: Vec<(ActivityId, Time)>,
    at: Vec<Time>,
    why: Vec<u32>,
    natural: Vec<Time>,
    drawn: Vec<Time>,
}

fn event(activity: ActivityId, edge: Edge) -> u32 {
    (activity.0 * 2 + usize::from(edge == Edge::End)) as u32
}

impl Replay {
    pub(super) fn new(question: &Question<'_>) -> Self {
        let order = partial_order(question.instance, question.placements);
        let mut replay = Self {
            events: Vec::new(),
            activities: Vec::new(),
            order: Vec::new(),
            shut: order.shut.clone(),
            checked: Vec::new(),
            deadlines: Vec::new(),
            at: Vec::new(),
            why: Vec::new(),
            natural: vec![0; question.instance.activities.len()],
            drawn: vec![0; question.instance.activities.len()],
        };
        replay.edges(question);
        replay.calendars(question.instance);
        replay.lags(question.instance);
        replay.uses(question.instance, &order);
        replay.sort();
        replay.at = replay.events.iter().map(|event| event.planned).collect();
        replay.why = vec![NONE; replay.events.len()];
        replay
    }

    fn edges(&mut self, question: &Question<'_>) {
        let now = question.now.unwrap_or(Time::MIN);
        for (index, activity) in question.instance.activities.iter().enumerate() {
            let placed = question.placements[index];
            let known = |at: Option<Time>, otherwise| at.map_or(otherwise, Kind::Known);
            let (start, end) = match activity.fixed {
                Some((start, end)) => (Some(start), end),
                None => (None, None),
            };
            let mut add = |kind, planned, floor| {
                self.events.push(Event {
                    activity: index,
                    kind,
                    planned,
                    floor,
                    waits: Vec::new(),
                    room: Vec::new(),
                });
            };
            // A wait that hangs on what has happened may have begun in the past.
            let from = if placed.start < now { Time::MIN } else { now };
            let release = activity.release.unwrap_or(Time::MIN).max(from);
            add(known(start, Kind::Start), placed.start, release);
            add(known(end, Kind::End), placed.end, Time::MIN);
            let duration = activity.modes[placed.mode].duration;
            let planned = placed.end - placed.start;
            let spread = match duration {
                Duration::Fixed(_) if end.is_none() => question.spreads[index],
                _ => super::Spread::Planned,
            };
            let running = start.filter(|_| end.is_none());
            let passed = running.map(|start| now.saturating_sub(start).max(0));
            self.activities.push(Lasting {
                duration,
                planned,
                announced: placed.start,
                lengths: Lengths::new(spread, planned, passed),
                at_most: Vec::new(),
                inside: Vec::new(),
                not_over_before: if running.is_some() { now } else { Time::MIN },
            });
            if let (Some(deadline), None) = (activity.deadline, activity.fixed) {
                self.deadlines.push((ActivityId(index), deadline));
            }
        }
    }

    fn calendars(&mut self, instance: &Instance) {
        let first = self.shut.len();
        self.shut.extend(instance.calendars.iter().map(outside));
        for (index, activity) in instance.activities.iter().enumerate() {
            for &(calendar, coverage) in &activity.calendars {
                let shut = (first + calendar.0) as u32;
                let (edge, offset, length) = match coverage {
                    Coverage::Start => (Edge::Start, 0, Some(1)),
                    Coverage::End => (Edge::End, -1, Some(1)),
                    Coverage::Whole => (Edge::Start, 0, None),
                };
                self.needs(
                    event(ActivityId(index), edge),
                    Room {
                        shut,
                        offset,
                        length,
                    },
                );
            }
        }
    }

    /// What is laid out needs room; what is known has had it.
    fn needs(&mut self, event: u32, room: Room) {
        let event = &mut self.events[event as usize];
        if !matches!(event.kind, Kind::Known(_)) {
            event.room.push(room);
        }
    }

    fn lags(&mut self, instance: &Instance) {
        for (index, lag) in instance.lags.iter().enumerate() {
            let (from, to) = (event(lag.from.0, lag.from.1), event(lag.to.0, lag.to.1));
            let (before, after) = (&self.events[from as usize], &self.events[to as usize]);
            let is_known = |event: &Event| matches!(event.kind, Kind::Known(_));
            if is_known(before) && is_known(after) {
                continue;
            }
            let between = after.planned - before.planned;
            // What comes first cannot wait for what comes later, nor can what has happened wait.
            let waits = between >= 0 && !is_known(after);
            let most = lag.most.unwrap_or(Time::MAX);
            if waits {
                self.events[to as usize].waits.push(Wait {
                    after: from,
                    least: lag.least,
                });
                if lag.to.1 == Edge::Start && most < Time::MAX {
                    self.activities[lag.to.0.0].at_most.push(Wait {
                        after: from,
                        least: most,
                    });
                }
            }
            let least = if waits { Time::MIN } else { lag.least };
            // A lag the schedule itself does not keep says nothing of chance.
            if (waits && most == Time::MAX) || between < least || between > most {
                continue;
            }
            self.checked.push((index, from, to, least, most));
        }
    }

    fn uses(&mut self, instance: &Instance, order: &PartialOrder) {
        let over = |activity: ActivityId| {
            matches!(instance.activities[activity.0].fixed, Some((_, Some(_))))
        };
        let mut begins = Vec::with_capacity(order.spans.len());
        for span in &order.spans {
            let begin = self.begin(span);
            begins.push(begin);
            if over(span.from.activity) {
                continue;
            }
            let same = span.from.activity == span.to.activity;
            let whole =
                same && span.from.offset == 0 && span.to.edge == Edge::End && span.to.offset == 0;
            if !order.shut[span.shut].is_empty() {
                let length = (!whole).then_some(span.end - span.begin);
                self.needs(
                    begin,
                    Room {
                        shut: span.shut as u32,
                        offset: 0,
                        length,
                    },
                );
            }
        }
        for &(before, after) in &order.handovers {
            let given = &order.spans[before];
            let event = begins[after];
            if over(given.to.activity) {
                let floor = &mut self.events[event as usize].floor;
                *floor = (*floor).max(given.end);
            } else {
                let wait = self.end_of(given, begins[before]);
                self.events[event as usize].waits.push(wait);
            }
        }
        for &(before, after, least) in &order.changes {
            let wait = Wait {
                after: event(before, Edge::End),
                least,
            };
            self.events[event(after, Edge::Start) as usize]
                .waits
                .push(wait);
        }
    }

    /// Returns the event with which a use begins; a new one where that is inside an activity.
    fn begin(&mut self, span: &Span) -> u32 {
        let Point {
            activity,
            edge,
            offset,
        } = span.from;
        if offset == 0 {
            return event(activity, edge);
        }
        let kind = match (edge, span.to.edge) {
            (Edge::Start, Edge::Start) => Kind::Inside {
                after: offset,
                until: span.to.offset,
            },
            (Edge::Start, Edge::End) => Kind::Rest { after: offset },
            (Edge::End, _) => Kind::AtEnd {
                before: -offset,
                length: span.end - span.begin,
            },
        };
        let new = self.events.len() as u32;
        self.events.push(Event {
            activity: activity.0,
            kind,
            planned: span.begin,
            floor: Time::MIN,
            waits: vec![Wait {
                after: event(activity, Edge::Start),
                least: 0,
            }],
            room: Vec::new(),
        });
        self.activities[activity.0].inside.push(new);
        new
    }

    /// Returns what to wait for where a use must be over.
    fn end_of(&self, span: &Span, begin: u32) -> Wait {
        let own = begin as usize >= self.activities.len() * 2;
        match span.to.edge {
            Edge::End if span.to.offset == 0 => Wait {
                after: event(span.to.activity, Edge::End),
                least: 0,
            },
            Edge::Start if !own => Wait {
                after: event(span.to.activity, Edge::Start),
                least: span.to.offset,
            },
            _ if own && span.from.edge == span.to.edge => Wait {
                after: begin,
                least: span.end - span.begin,
            },
            edge => Wait {
                after: event(span.to.activity, edge),
                least: span.to.offset,
            },
        }
    }

    /// Puts every event after those it waits for; of several that could be next, the one planned first.
    fn sort(&mut self) {
        let count = self.events.len();
        let mut open = vec![0_usize; count];
        let mut leads_to: Vec<Vec<u32>> = vec![Vec::new(); count];
        for index in 0..count as u32 {
            for before in self.awaited(index) {
                open[index as usize] += 1;
                leads_to[before as usize].push(index);
            }
        }
        let planned = |event: u32| Reverse((self.events[event as usize].planned, event));
        let mut ready: BinaryHeap<_> = (0..count as u32)
            .filter(|&event| open[event as usize] == 0)
            .map(planned)
            .collect();
        let mut done = vec![false; count];
        let mut order = Vec::with_capacity(count);
        while order.len() < count {
            let next = ready.pop().or_else(|| {
                let left = (0..count as u32).filter(|&event| !done[event as usize]);
                left.map(planned).max()
            });
            let Some(Reverse((_, next))) = next else {
                break;
            };
            if std::mem::replace(&mut done[next as usize], true) {
                continue;
            }
            order.push(next);
            for &after in &leads_to[next as usize] {
                open[after as usize] = open[after as usize].saturating_sub(1);
                if open[after as usize] == 0 && !done[after as usize] {
                    ready.push(planned(after));
                }
            }
        }
        let mut place = vec![0; count];
        for (at, &event) in order.iter().enumerate() {
            place[event as usize] = at;
        }
        self.break_circles(&place);
        self.order = order;
    }

    /// Lets whatever would have to wait for something later in the order read its planned time.
    fn break_circles(&mut self, place: &[usize]) {
        for index in 0..self.events.len() {
            let comes_before = |event: u32| place[event as usize] < place[index];
            for wait in std::mem::take(&mut self.events[index].waits) {
                if comes_before(wait.after) {
                    self.events[index].waits.push(wait);
                } else {
                    let planned = self.events[wait.after as usize].planned;
                    let event = &mut self.events[index];
                    event.floor = event.floor.max(later(planned, wait.least));
                }
            }
            let activity = &mut self.activities[self.events[index].activity];
            match self.events[index].kind {
                Kind::Start => activity.at_most.retain(|wait| comes_before(wait.after)),
                Kind::End => activity.inside.retain(|&event| comes_before(event)),
                _ => {}
            }
        }
    }

    /// Returns the events that one reads.
    fn awaited(&self, index: u32) -> Vec<u32> {
        let event = &self.events[index as usize];
        let mut found: Vec<u32> = event.waits.iter().map(|wait| wait.after).collect();
        if matches!(event.kind, Kind::End) {
            found.push(index - 1);
            found.extend(&self.activities[event.activity].inside);
        }
        found
    }

    /// Announces everything that leads to a target earlier, by so much for each target.
    pub(super) fn announce_earlier(&mut self, question: &Question<'_>, earlier: &[Time]) {
        let mut most: BTreeMap<usize, Time> = BTreeMap::new();
        for (target, &earlier) in question.targets.iter().zip(earlier) {
            if earlier == 0 {
                continue;
            }
            let mut reached = vec![false; self.events.len()];
            let mut left: Vec<u32> = target
                .ends
                .iter()
                .map(|&activity| event(activity, Edge::End))
                .collect();
            while let Some(index) = left.pop() {
                if std::mem::replace(&mut reached[index as usize], true) {
                    continue;
                }
                let by = most
                    .entry(self.events[index as usize].activity)
                    .or_default();
                *by = (*by).max(earlier);
                left.extend(self.awaited(index));
            }
        }
        for (index, activity) in self.activities.iter_mut().enumerate() {
            let by = most.get(&index).copied().unwrap_or(0);
            activity.announced = question.placements[index].start - by;
        }
    }

    /// Lays out one day.
    pub(super) fn run(&mut self, instance: &Instance, numbers: &mut Numbers) {
        for (drawn, activity) in self.drawn.iter_mut().zip(&self.activities) {
            *drawn = activity.lengths.draw(numbers);
        }
        for place in 0..self.order.len() {
            let index = self.order[place] as usize;
            let event = &self.events[index];
            let activity = &self.activities[event.activity];
            let (mut at, mut why) = match event.kind {
                Kind::Known(at) => {
                    self.at[index] = at;
                    self.why[index] = NONE;
                    if index < self.activities.len() * 2 && index.is_multiple_of(2) {
                        self.natural[event.activity] =
                            self.natural_end(instance, event.activity, at);
                    }
                    continue;
                }
                Kind::Start => {
                    // Announced; unless that is too long after what has ended early.
                    let asked = activity.at_most.iter().map(|&wait| self.after(wait));
                    (asked.fold(activity.announced, Time::min), NONE)
                }
                Kind::End => self.end_event(index),
                Kind::Inside { after, .. } | Kind::Rest { after } => {
                    let start = event.activity * 2;
                    (later(self.at[start], after), start as u32)
                }
                Kind::AtEnd { before, .. } => {
                    let start = event.activity * 2;
                    let begin = later(self.natural[event.activity], -before);
                    (begin.max(self.at[start]), start as u32)
                }
            };
            at = at.max(event.floor);
            for &wait in &event.waits {
                let after = self.after(wait);
                if after > at {
                    (at, why) = (after, wait.after);
                }
            }
            if !event.room.is_empty() {
                at = self.fit(instance, event, at);
            }
            if matches!(event.kind, Kind::Start) {
                self.natural[event.activity] = self.natural_end(instance, event.activity, at);
            }
            self.at[index] = at;
            self.why[index] = why;
        }
    }

    fn after(&self, wait: Wait) -> Time {
        later(self.at[wait.after as usize], wait.least)
    }

    /// Returns when an activity ends by itself.
    fn natural_end(&self, instance: &Instance, index: usize, start: Time) -> Time {
        let activity = &self.activities[index];
        let end = match activity.duration {
            Duration::Fixed(_) => later(start, self.drawn[index]),
            until @ Duration::Until { .. } => lasting(instance, until, start),
        };
        end.max(activity.not_over_before)
    }

    /// Returns when an activity ends with all uses inside it made, and what that waits for.
    fn end_event(&self, index: usize) -> (Time, u32) {
        let (start, activity) = (index - 1, self.events[index].activity);
        let natural = self.natural[activity];
        let lasts = natural.saturating_sub(self.at[start]);
        let (mut end, mut why) = (natural, start as u32);
        for &inside in &self.activities[activity].inside {
            let at = self.at[inside as usize];
            let over = match self.events[inside as usize].kind {
                Kind::Inside { after, until } if until <= lasts => later(at, until - after),
                Kind::AtEnd { before, length } => later(at, length.min(before).min(lasts)),
                Kind::Rest { .. } => at,
                _ => continue,
            };
            if over > end {
                (end, why) = (over, inside);
            }
        }
        (end, why)
    }

    /// Returns the first moment, from `at` on, at which an event has all the room it needs.
    fn fit(&self, instance: &Instance, event: &Event, mut at: Time) -> Time {
        let activity = &self.activities[event.activity];
        loop {
            if at >= NEVER {
                return NEVER;
            }
            let before = at;
            for room in &event.room {
                let length = room.length.unwrap_or_else(|| match activity.duration {
                    Duration::Fixed(_) => activity.planned,
                    until @ Duration::Until { .. } => lasting(instance, until, at) - at,
                });
                let begin = at + room.offset;
                let shut = &self.shut[room.shut as usize];
                let next = shut.partition_point(|&(_, to)| to <= begin);
                if let Some(&(from, to)) = shut.get(next)
                    && from < begin.saturating_add(length)
                {
                    at = if to == Time::MAX {
                        NEVER
                    } else {
                        to - room.offset
                    };
                }
            }
            if at == before {
                return at;
            }
        }
    }

    /// Returns when an activity ended on the day laid out last.
    pub(super) fn end(&self, activity: ActivityId) -> Time {
        self.at[event(activity, Edge::End) as usize]
    }

    /// Returns when an activity started on the day laid out last.
    #[cfg(test)]
    pub(super) fn start(&self, activity: ActivityId) -> Time {
        self.at[event(activity, Edge::Start) as usize]
    }

    /// Tells of every activity that overran on the chain of events that made the end of one late.
    pub(super) fn overran_before(&self, last: ActivityId, mut tell: impl FnMut(ActivityId)) {
        let mut index = event(last, Edge::End);
        // Each step goes back in the order of the events.
        while index != NONE && self.at[index as usize] > self.events[index as usize].planned {
            let of = &self.events[index as usize];
            let why = self.why[index as usize];
            let lasted = matches!(of.kind, Kind::End | Kind::AtEnd { .. })
                && why as usize == of.activity * 2;
            if lasted && self.drawn[of.activity] > self.activities[of.activity].planned {
                tell(ActivityId(of.activity));
            }
            index = why;
        }
    }

    /// Tells of every lag that came out broken on the day laid out last.
    pub(super) fn broken(&self, mut tell: impl FnMut(usize)) {
        for &(lag, from, to, least, most) in &self.checked {
            let (from, to) = (self.at[from as usize], self.at[to as usize]);
            let between = to.saturating_sub(from);
            if between < least || between > most {
                tell(lag);
            }
        }
    }

    /// Tells of every activity that ended after its deadline on the day laid out last.
    pub(super) fn overdue(&self, mut tell: impl FnMut(ActivityId)) {
        for &(activity, deadline) in &self.deadlines {
            if self.end(activity) > deadline {
                tell(activity);
            }
        }
    }
}

/// Returns a moment so much later; never stays never.
fn later(at: Time, by: Time) -> Time {
    if at >= NEVER {
        NEVER
    } else {
        at.saturating_add(by).min(NEVER)
    }
}

/// Returns the end of a wait for a gate.
fn lasting(instance: &Instance, duration: Duration, start: Time) -> Time {
    match duration {
        Duration::Fixed(length) => later(start, length),
        Duration::Until {
            gate,
            count,
            at_least,
            then,
        } => {
            let opening = instance.gates[gate.0].end_of(start, count, at_least);
            opening.map_or(NEVER, |opening| later(opening, then))
        }
    }
}

/// Returns what lies outside the windows of a calendar: windows that touch leave a moment between them that
/// nothing may reach across.
fn outside(calendar: &Calendar) -> Vec<(Time, Time)> {
    let mut since = Time::MIN;
    let mut shut = Vec::with_capacity(calendar.windows.len() + 1);
    for &(from, to) in &calendar.windows {
        shut.push((since, from));
        since = to;
    }
    shut.push((since, Time::MAX));
    shut
}
