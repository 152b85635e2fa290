//! What a schedule costs, term by term. The formula stands at [`Weights`](super::Weights).

use super::problem::{ActivityId, Edge, Instance, Time};
use super::segments::segments;
use super::solution::Placement;

/// The terms of the cost, weighted; their sum is the cost.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Cost {
    /// Activities that end after they are due.
    pub late: i64,
    /// Wishes not granted.
    pub wish: i64,
    /// Work beyond the regular amount.
    pub overtime: i64,
    /// Unevenness of loads.
    pub uneven: i64,
    /// Earliness.
    pub early: i64,
    /// Modes.
    pub mode: i64,
    /// Starts other than announced.
    pub moved: i64,
}

impl Cost {
    /// Returns the cost.
    pub fn total(&self) -> i64 {
        [
            self.late,
            self.wish,
            self.overtime,
            self.uneven,
            self.early,
            self.mode,
            self.moved,
        ]
        .iter()
        .fold(0, |sum, &term| sum.saturating_add(term))
    }
}

/// Returns the terms of the cost of a schedule.
pub fn cost(instance: &Instance, placements: &[Placement]) -> Cost {
    let weights = &instance.weights;
    let mut cost = Cost::default();
    for (activity, placed) in instance.activities.iter().zip(placements) {
        if activity.fixed.is_some() {
            continue;
        }
        let minutes = i64::from;
        if let Some(due) = activity.due {
            cost.late += weights.late * minutes((placed.end - due).max(0));
        }
        cost.early +=
            weights.early * minutes(activity.weight) * minutes(instance.latest - placed.start);
        cost.mode += weights.mode * minutes(activity.modes[placed.mode].cost);
        if let Some(announced) = activity.announced.filter(|&start| start != placed.start) {
            cost.moved +=
                weights.moved + weights.moved_by * minutes((placed.start - announced).abs());
        }
    }
    let edge = |(id, edge): (ActivityId, Edge)| match edge {
        Edge::Start => placements[id.0].start,
        Edge::End => placements[id.0].end,
    };
    for wish in &instance.wishes {
        let happened = |id: ActivityId| instance.activities[id.0].fixed.is_some();
        if !(happened(wish.from.0) && happened(wish.to.0)) {
            let between = edge(wish.to) - edge(wish.from);
            let short = wish.least.map_or(0, |least| (least - between).max(0));
            let past = wish.most.map_or(0, |most| (between - most).max(0));
            cost.wish += weights.wish * i64::from(wish.weight) * i64::from(short + past);
        }
    }
    let counted = |resource: usize| {
        instance.resources[resource].regular.is_some()
            || instance
                .levels
                .iter()
                .any(|level| level.resource.0 == resource)
    };
    for resource in (0..instance.resources.len()).filter(|&resource| counted(resource)) {
        let used = usage(instance, placements, resource, edge);
        if let Some(regular) = &instance.resources[resource].regular {
            cost.overtime += weights.overtime * over(&used, regular);
        }
        for level in instance
            .levels
            .iter()
            .filter(|it| it.resource.0 == resource)
        {
            let loads = level
                .buckets
                .iter()
                .map(|&(from, to)| load(&used, from, to));
            let squares: i64 = loads.map(|load| load * load).sum();
            cost.uneven += weights.uneven * i64::from(level.weight) * squares;
        }
    }
    cost
}

/// Returns what is used of a resource over the horizon: disjoint stretches `(from, to, quantity)`, rising.
fn usage(
    instance: &Instance,
    placements: &[Placement],
    resource: usize,
    edge: impl Fn((ActivityId, Edge)) -> Time,
) -> Vec<(Time, Time, i64)> {
    let mut changes: Vec<(Time, i64)> = Vec::new();
    let mut add = |from: Time, to: Time, quantity: i32| {
        let (from, to) = (from.max(instance.earliest), to.min(instance.latest));
        if from < to {
            changes.push((from, i64::from(quantity)));
            changes.push((to, -i64::from(quantity)));
        }
    };
    for (activity, placed) in instance.activities.iter().zip(placements) {
        let demands = &activity.modes[placed.mode].demands;
        for segment in segments(demands, placed.start, placed.end) {
            if segment.resource.0 == resource {
                add(segment.from, segment.to, segment.quantity);
            }
        }
    }
    for hold in instance.holds.iter().filter(|it| it.resource.0 == resource) {
        add(edge(hold.from), edge(hold.to), hold.quantity);
    }
    changes.sort_unstable();
    let (mut used, mut quantity) = (Vec::new(), 0);
    for (at, &(from, change)) in changes.iter().enumerate() {
        quantity += change;
        if let Some(&(to, _)) = changes.get(at + 1)
            && from < to
            && quantity != 0
        {
            used.push((from, to, quantity));
        }
    }
    used
}

fn over(used: &[(Time, Time, i64)], regular: &[(Time, i32)]) -> i64 {
    let mut total = 0;
    for &(from, to, quantity) in used {
        // The regular amount before its first step is zero.
        let steps = std::iter::once((Time::MIN, 0)).chain(regular.iter().copied());
        let ends = regular
            .iter()
            .map(|&(from, _)| from)
            .chain(std::iter::once(Time::MAX));
        for ((since, amount), until) in steps.zip(ends) {
            let (from, to) = (from.max(since), to.min(until));
            if from < to {
                total += i64::from(to - from) * (quantity - i64::from(amount)).max(0);
            }
        }
    }
    total
}

fn load(used: &[(Time, Time, i64)], from: Time, to: Time) -> i64 {
    used.iter()
        .map(|&(since, until, quantity)| {
            i64::from((until.min(to) - since.max(from)).max(0)) * quantity
        })
        .sum()
}
