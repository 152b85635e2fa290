//! Which activity waits for which because they share something: the partial order inside a schedule.
//!
//! # What it is
//! A schedule says when; most of it would still be right if everything came a little later in the same order.
//! Here that order is read off: every unit of every resource is followed through the schedule from user to user,
//! and each step of such a chain becomes a precedence (a *partial-order schedule*; the chaining is that of
//! Policella, Oddi, Smith and Cesta, *Generating robust partial order schedules*, 2004; from memory). What is
//! chained are [`Span`]s, not activities: a demand may hold for part of an activity only, and a hold reaches from
//! one activity to another. Where capacity is lower for a while, that much of it is shut: some units are out of
//! use, and whoever uses them may not reach into that time. Activities of a state resource are chained from run
//! to run of one state, with the change between them.
//!
//! # What it promises
//! As long as the modes are those of the schedule and lengths are as planned, any times that keep
//! [`PartialOrder::lags`], the lags of the instance and the shut times of the spans use no more of any resource
//! than there is, and never two states at once. It is deterministic: ties go to the smaller number.
//!
//! # What it leaves out
//! It is one order of many: which unit goes to whom is a choice, made so that as few new precedences arise as a
//! single pass finds. Calendars, gates, releases and deadlines are of the instance, and stay there.

use std::collections::BTreeMap;

use super::problem::{
    ActivityId, Anchor, Demand, Edge, Instance, Lag, ResourceId, StateId, Time, Use,
};
use super::solution::Placement;

/// A moment that moves with an edge of an activity.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Point {
    /// The activity.
    pub activity: ActivityId,
    /// Its edge.
    pub edge: Edge,
    /// Minutes after that edge; negative before it.
    pub offset: Time,
}

/// A stretch over which so many units of a resource are used without a break.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Span {
    /// Of which resource.
    pub resource: ResourceId,
    /// How many units.
    pub quantity: i32,
    /// When it is taken.
    pub from: Point,
    /// When it is given back.
    pub to: Point,
    /// The first minute, in the schedule.
    pub begin: Time,
    /// The first minute after it, in the schedule.
    pub end: Time,
    /// When its units are out of use, by place in [`PartialOrder::shut`].
    pub shut: usize,
}

/// The order inside a schedule.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct PartialOrder {
    /// Every use of a resource.
    pub spans: Vec<Span>,
    /// Which span is over before which begins, by their places; rising.
    pub handovers: Vec<(usize, usize)>,
    /// Which activity has ended so many minutes before which starts, because their states differ.
    pub changes: Vec<(ActivityId, ActivityId, Time)>,
    /// Sorted, disjoint windows in which units are out of use.
    pub shut: Vec<Vec<(Time, Time)>>,
}

impl PartialOrder {
    /// Returns the order as lags between edges of activities; those of an activity with itself are left out.
    pub fn lags(&self) -> Vec<Lag> {
        let handed = self.handovers.iter().map(|&(before, after)| {
            let (given, taken) = (self.spans[before].to, self.spans[after].from);
            (given, taken, given.offset - taken.offset)
        });
        let changed = self.changes.iter().map(|&(before, after, least)| {
            let at = |activity, edge| Point {
                activity,
                edge,
                offset: 0,
            };
            (at(before, Edge::End), at(after, Edge::Start), least)
        });
        handed
            .chain(changed)
            .filter(|(from, to, _)| from.activity != to.activity)
            .map(|(from, to, least)| Lag {
                from: (from.activity, from.edge),
                to: (to.activity, to.edge),
                least,
                most: None,
            })
            .collect()
    }
}

/// Returns the order inside a schedule that keeps all rules of the instance.
pub fn partial_order(instance: &Instance, placements: &[Placement]) -> PartialOrder {
    let mut order = PartialOrder::default();
    let before = Before::new(instance, placements);
    let mut shut = BTreeMap::new();
    for resource in 0..instance.resources.len() {
        let first = order.spans.len();
        order
            .spans
            .extend(spans(instance, placements, ResourceId(resource)));
        let steps = &instance.resources[resource].capacity;
        let chained = chain(&order.spans[first..], steps, &before);
        let known = |index: usize| over(instance, order.spans[index].from.activity);
        let handovers = chained
            .handovers
            .into_iter()
            .map(|(one, other)| (first + one, first + other));
        // What has happened stands as it is, and so does the order in it.
        let open = handovers.filter(|&(_, after)| !known(after));
        order.handovers.extend(open);
        for (index, windows) in chained.shut.into_iter().enumerate() {
            let next = shut.len();
            order.spans[first + index].shut = *shut.entry(windows).or_insert(next);
        }
    }
    order.shut = vec![Vec::new(); shut.len()];
    for (windows, place) in shut {
        order.shut[place] = windows;
    }
    for state in 0..instance.states.len() {
        changes(instance, placements, StateId(state), &mut order.changes);
    }
    order
}

/// Whether start and end of an activity have happened.
fn over(instance: &Instance, activity: ActivityId) -> bool {
    matches!(instance.activities[activity.0].fixed, Some((_, Some(_))))
}

/// A use of a resource within one activity, before the units are told apart.
#[derive(Clone, Copy)]
struct Stretch {
    from: Point,
    to: Point,
    begin: Time,
    end: Time,
}

/// Returns all uses of one resource, by begin.
fn spans(instance: &Instance, placements: &[Placement], resource: ResourceId) -> Vec<Span> {
    let mut found = Vec::new();
    for (index, (activity, placed)) in instance.activities.iter().zip(placements).enumerate() {
        let mut demands: Vec<&Demand> = activity.modes[placed.mode]
            .demands
            .iter()
            .filter(|demand| demand.resource == resource && demand.quantity > 0)
            .collect();
        demands.sort_by_key(|demand| demand.quantity);
        // Where demands overlap the larger holds: what the smaller asks lies inside it, so each further unit is
        // used by the demands that are large enough for it.
        let mut below = 0;
        for at in 0..demands.len() {
            let quantity = demands[at].quantity;
            if quantity == below {
                continue;
            }
            let mut stretches = Vec::new();
            for demand in &demands[at..] {
                stretched(ActivityId(index), *placed, demand.when, &mut stretches);
            }
            for stretch in merged(stretches) {
                found.push(span(resource, quantity - below, stretch));
            }
            below = quantity;
        }
    }
    for hold in instance
        .holds
        .iter()
        .filter(|hold| hold.resource == resource && hold.quantity > 0)
    {
        let at = |(activity, edge): (ActivityId, Edge)| {
            let placed = placements[activity.0];
            let time = match edge {
                Edge::Start => placed.start,
                Edge::End => placed.end,
            };
            let point = Point {
                activity,
                edge,
                offset: 0,
            };
            (point, time)
        };
        let ((from, begin), (to, end)) = (at(hold.from), at(hold.to));
        if begin < end {
            let stretch = Stretch {
                from,
                to,
                begin,
                end,
            };
            found.push(span(resource, hold.quantity, stretch));
        }
    }
    found.sort_by_key(|span| (span.begin, span.end, span.from.activity, span.from.offset));
    found
}

fn span(resource: ResourceId, quantity: i32, stretch: Stretch) -> Span {
    let Stretch {
        from,
        to,
        begin,
        end,
    } = stretch;
    Span {
        resource,
        quantity,
        from,
        to,
        begin,
        end,
        shut: 0,
    }
}

/// Adds the stretches of one demand, each bound to the edges it would move with.
fn stretched(activity: ActivityId, placed: Placement, when: Use, into: &mut Vec<Stretch>) {
    let point = |edge, offset| Point {
        activity,
        edge,
        offset,
    };
    let Placement { start, end, .. } = placed;
    let mut lay = |from: Point, to: Point| {
        let at = |point: Point| match point.edge {
            Edge::Start => start + point.offset,
            Edge::End => end + point.offset,
        };
        let (begin, end) = (at(from), at(to));
        if begin < end {
            into.push(Stretch {
                from,
                to,
                begin,
                end,
            });
        }
    };
    let (first, last) = (point(Edge::Start, 0), point(Edge::End, 0));
    match when {
        Use::Whole => lay(first, last),
        Use::Part {
            anchor: Anchor::Start,
            from,
            to,
        } => {
            let until = if start + to >= end {
                last
            } else {
                point(Edge::Start, to)
            };
            lay(point(Edge::Start, from.max(0)), until);
        }
        Use::Part {
            anchor: Anchor::End,
            from,
            to,
        } => {
            let since = if end + from <= start {
                first
            } else {
                point(Edge::End, from)
            };
            lay(since, point(Edge::End, to.min(0)));
        }
        Use::Every { every, length } => {
            let every = every.max(1);
            let mut look = every;
            while start.saturating_add(look).saturating_add(length) <= end {
                lay(point(Edge::Start, look), point(Edge::Start, look + length));
                look += every;
            }
        }
    }
}

/// Returns the union of stretches of one activity; what overlaps becomes one.
fn merged(mut stretches: Vec<Stretch>) -> Vec<Stretch> {
    // Of two that begin together the one bound to the start says better what it waits for.
    stretches.sort_by_key(|it| (it.begin, it.from.edge == Edge::End, it.end));
    let mut union: Vec<Stretch> = Vec::with_capacity(stretches.len());
    for stretch in stretches {
        match union.last_mut() {
            Some(last) if stretch.begin < last.end => {
                if stretch.end > last.end {
                    (last.to, last.end) = (stretch.to, stretch.end);
                }
            }
            _ => union.push(stretch),
        }
    }
    union
}

/// What became of the units of one resource.
struct Chained {
    handovers: Vec<(usize, usize)>,
    /// For each span, when its units are out of use.
    shut: Vec<Vec<(Time, Time)>>,
}

/// One unit (or as many as no span tells apart) on its way through the schedule.
#[derive(Clone, Default)]
struct Unit {
    free: Time,
    last: Option<usize>,
    shut: Vec<(Time, Time)>,
}

/// Follows the units of a resource through `spans`, which are sorted by begin.
///
/// Whatever is missing of the largest capacity is laid out as stretches that take units like everybody else.
/// Taken in order of their begin, spans and shut stretches always find enough free units, because at no moment
/// do they ask together for more than there are (interval graphs are perfect).
fn chain(spans: &[Span], capacity: &[(Time, i32)], before: &Before) -> Chained {
    let grain = spans.iter().map(|span| span.quantity).fold(0, gcd).max(1);
    let asked: i64 = spans.iter().map(|span| i64::from(span.quantity)).sum();
    let largest = capacity.iter().map(|&(_, most)| most).max().unwrap_or(0);
    // More than all together ask for is never missed.
    let count = (i64::from(largest).min(asked) / i64::from(grain)) as usize;
    let mut units = vec![
        Unit {
            free: Time::MIN,
            ..Unit::default()
        };
        count
    ];
    let shut = missing(capacity, count, grain);
    let (mut next_shut, mut handovers) = (shut.into_iter().peekable(), Vec::new());
    let mut taken: Vec<Vec<usize>> = Vec::with_capacity(spans.len());
    let close = |units: &mut Vec<Unit>, (from, to): (Time, Time)| {
        // The unit that has been idle for longest: whoever used it last has most room to slip. Only what has
        // happened can have left none idle; then the first that is given back goes.
        let idle = (0..units.len()).min_by_key(|&unit| (units[unit].free, std::cmp::Reverse(unit)));
        if let Some(unit) = idle.filter(|&unit| units[unit].free < to) {
            let from = from.max(units[unit].free);
            units[unit].free = to;
            units[unit].shut.push((from, to));
        }
    };
    for (index, span) in spans.iter().enumerate() {
        while let Some(window) = next_shut.next_if(|window| window.0 <= span.begin) {
            close(&mut units, window);
        }
        let mut free: Vec<usize> = (0..units.len())
            .filter(|&unit| units[unit].free <= span.begin)
            .collect();
        let of = |span: usize| spans[span].to.activity;
        // First what asks for no new precedence, then what leaves most time between.
        free.sort_by_key(|&unit| {
            let new = units[unit].last.is_some_and(|last| {
                of(last) != span.from.activity && !before.is(of(last), span.from.activity)
            });
            (new, units[unit].free, units[unit].last, unit)
        });
        // What has happened may have used more than there was; the surplus is nobody's.
        free.truncate((span.quantity / grain) as usize);
        for &unit in &free {
            if let Some(last) = units[unit].last {
                handovers.push((last, index));
            }
            (units[unit].free, units[unit].last) = (span.end, Some(index));
        }
        taken.push(free);
    }
    for window in next_shut {
        close(&mut units, window);
    }
    handovers.sort_unstable();
    handovers.dedup();
    let shut = taken
        .iter()
        .map(|of| union(of.iter().flat_map(|&unit| units[unit].shut.iter().copied())))
        .collect();
    Chained { handovers, shut }
}

/// Returns, for each of `count` units of a size, when there is less capacity than it needs to exist; by begin.
fn missing(capacity: &[(Time, i32)], count: usize, grain: i32) -> Vec<(Time, Time)> {
    let mut found = Vec::new();
    for level in 1..=count as i64 {
        let needed = level * i64::from(grain);
        let mut since = Some(Time::MIN);
        for &(from, most) in capacity {
            match (since, i64::from(most) < needed) {
                (Some(begin), false) => {
                    if begin < from {
                        found.push((begin, from));
                    }
                    since = None;
                }
                (None, true) => since = Some(from),
                _ => {}
            }
        }
        if let Some(begin) = since {
            found.push((begin, Time::MAX));
        }
    }
    found.sort_unstable();
    found
}

/// Returns the union of windows, sorted and disjoint.
fn union(windows: impl Iterator<Item = (Time, Time)>) -> Vec<(Time, Time)> {
    let mut windows: Vec<_> = windows.collect();
    windows.sort_unstable();
    let mut union: Vec<(Time, Time)> = Vec::with_capacity(windows.len());
    for (from, to) in windows {
        match union.last_mut() {
            Some(last) if from <= last.1 => last.1 = last.1.max(to),
            _ => union.push((from, to)),
        }
    }
    union
}

fn gcd(one: i32, other: i32) -> i32 {
    if other == 0 {
        one
    } else {
        gcd(other, one % other)
    }
}

/// Chains the activities that need one state resource, from each run of one state to the next.
fn changes(
    instance: &Instance,
    placements: &[Placement],
    resource: StateId,
    into: &mut Vec<(ActivityId, ActivityId, Time)>,
) {
    let mut users: Vec<(Time, Time, usize, i32)> = placements
        .iter()
        .enumerate()
        .filter_map(|(index, placed)| {
            let states = &instance.activities[index].modes[placed.mode].states;
            let &(_, value) = states.iter().find(|(id, _)| *id == resource)?;
            Some((placed.start, placed.end, index, value))
        })
        .collect();
    users.sort_unstable();
    let change = instance.states[resource.0].change;
    let runs: Vec<&[(Time, Time, usize, i32)]> =
        users.chunk_by(|one, other| one.3 == other.3).collect();
    for pair in runs.windows(2) {
        for one in pair[0] {
            let to_come = pair[1]
                .iter()
                .filter(|other| !over(instance, ActivityId(other.2)));
            into.extend(to_come.map(|other| (ActivityId(one.2), ActivityId(other.2), change)));
        }
    }
}

/// Which activity has ended before which starts by the lags alone.
struct Before {
    words: usize,
    bits: Vec<u64>,
}

impl Before {
    fn new(instance: &Instance, placements: &[Placement]) -> Self {
        let count = instance.activities.len();
        let words = count.div_ceil(64);
        let mut bits = vec![0_u64; words * count];
        let mut into: Vec<Vec<usize>> = vec![Vec::new(); count];
        for lag in &instance.lags {
            if lag.from.1 == Edge::End && lag.to.1 == Edge::Start && lag.least >= 0 {
                into[lag.to.0.0].push(lag.from.0.0);
            }
        }
        let mut order: Vec<usize> = (0..count).collect();
        order.sort_by_key(|&index| (placements[index].start, placements[index].end, index));
        for index in order {
            for &earlier in &into[index] {
                for word in 0..words {
                    bits[index * words + word] |= bits[earlier * words + word];
                }
                bits[index * words + earlier / 64] |= 1 << (earlier % 64);
            }
        }
        Self { words, bits }
    }

    fn is(&self, earlier: ActivityId, later: ActivityId) -> bool {
        self.bits[later.0 * self.words + earlier.0 / 64] >> (earlier.0 % 64) & 1 == 1
    }
}
