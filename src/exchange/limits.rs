//! How large anything may be, so that whatever has been read can be worked with: no sum or product that the
//! engine or its check forms leaves its type, and nothing takes memory by a number alone.

use std::ops::RangeInclusive;

use super::reader::{Place, Reader};
use crate::schedule::{Activity, ActivityId, Demand, Edge, Instance, Time};

/// Moments, and differences that may be negative.
pub(super) const MOMENT: RangeInclusive<Time> = -10_000_000..=10_000_000;
/// Where something may come to stand: a moment, or a length after one.
pub(super) const PLACED: RangeInclusive<Time> = -100_000_000..=100_000_000;
/// Lengths.
pub(super) const SPAN: RangeInclusive<Time> = 0..=10_000_000;
/// Lengths of what returns.
pub(super) const POSITIVE: RangeInclusive<Time> = 1..=10_000_000;
/// Openings counted.
pub(super) const COUNT: RangeInclusive<i32> = 1..=1_000_000;
/// What one demand or hold takes.
pub(super) const QUANTITY: RangeInclusive<i32> = 1..=1_000_000;
/// What there is of a resource.
pub(super) const AMOUNT: RangeInclusive<i32> = 0..=1_000_000_000;
/// Weights of single things, and costs of modes.
pub(super) const WEIGHT: RangeInclusive<i32> = 0..=1_000_000;
/// Weights of the cost formula.
pub(super) const FACTOR: RangeInclusive<i64> = 0..=1_000_000_000_000;

/// The longest horizon: nearly two years of minutes.
const HORIZON: Time = 1_000_000;
/// The most that everything together may ask of one resource.
const ASKED: i64 = 1_000_000_000;
/// The most that a schedule may cost.
const COST: i128 = 1_000_000_000_000_000_000;

/// Notes what is too large only when seen together; every value alone is in its range.
pub(super) fn check(reader: &mut Reader, instance: &Instance) {
    let at = Place::WHOLE;
    let length = instance.latest - instance.earliest;
    if length < 0 {
        reader.fault(
            &at.field("latest"),
            format!(
                "{} lies before earliest, {}",
                instance.latest, instance.earliest
            ),
            "write the first minute nothing may occupy any more",
        );
        return;
    }
    if length > HORIZON {
        reader.fault(
            &at.field("latest"),
            format!("it lies {length} minutes after earliest"),
            format!("leave at most {HORIZON} between them"),
        );
        return;
    }
    let asked: Vec<i64> = (0..instance.resources.len())
        .map(|resource| most_asked(instance, resource))
        .collect();
    for (resource, &asked) in asked.iter().enumerate() {
        if asked > ASKED {
            reader.fault(
                &at.field("resources").item(resource),
                format!("demands and holds ask for {asked} of it together"),
                format!("count in larger units: at most {ASKED} together"),
            );
        }
    }
    let worst = worst(instance, &asked);
    if worst > COST {
        reader.fault(
            &at.field("weights"),
            format!("a schedule could cost {worst}"),
            format!("write smaller weights, so that none costs more than {COST}"),
        );
    }
}

/// Returns what all activities, each in its hungriest mode, and all holds ask of a resource together.
fn most_asked(instance: &Instance, resource: usize) -> i64 {
    let of = |demands: &[Demand]| {
        demands
            .iter()
            .filter(|demand| demand.resource.0 == resource)
            .map(|demand| i64::from(demand.quantity))
            .sum::<i64>()
    };
    let activities = instance.activities.iter();
    let by_activities: i64 = activities
        .filter_map(|activity| activity.modes.iter().map(|mode| of(&mode.demands)).max())
        .sum();
    let holds = instance.holds.iter();
    let by_holds: i64 = holds
        .filter(|hold| hold.resource.0 == resource)
        .map(|hold| i64::from(hold.quantity))
        .sum();
    by_activities + by_holds
}

/// Returns what no placement inside the horizon can cost more than, whether it fits or not.
fn worst(instance: &Instance, asked: &[i64]) -> i128 {
    let weights = &instance.weights;
    let (earliest, latest) = (i128::from(instance.earliest), i128::from(instance.latest));
    let length = latest - earliest;
    let mut sum = 0_i128;
    for activity in &instance.activities {
        if let Some(due) = activity.due {
            sum += i128::from(weights.late) * (latest - i128::from(due)).max(0);
        }
        sum += i128::from(weights.early) * i128::from(activity.weight) * length;
        let dearest = activity.modes.iter().map(|mode| mode.cost).max();
        sum += i128::from(weights.mode) * i128::from(dearest.unwrap_or(0));
        if let Some(announced) = activity.announced.map(i128::from) {
            let by = (latest - announced).abs().max((announced - earliest).abs());
            sum += i128::from(weights.moved) + i128::from(weights.moved_by) * by;
        }
    }
    for wish in &instance.wishes {
        let ((from, from_by), (to, to_by)) = (reach(instance, wish.from), reach(instance, wish.to));
        let short = wish
            .least
            .map_or(0, |least| i128::from(least) - (to - from_by));
        let past = wish.most.map_or(0, |most| to_by - from - i128::from(most));
        sum += i128::from(weights.wish) * i128::from(wish.weight) * (short.max(0) + past.max(0));
    }
    for (resource, &asked) in instance.resources.iter().zip(asked) {
        if resource.regular.is_some() {
            sum += i128::from(weights.overtime) * length * i128::from(asked);
        }
    }
    for level in &instance.levels {
        let asked = i128::from(asked[level.resource.0]);
        for &(from, to) in &level.buckets {
            let load = (i128::from(to) - i128::from(from)).min(length) * asked;
            sum += i128::from(weights.uneven) * i128::from(level.weight) * load * load;
        }
    }
    sum
}

/// Returns the first and the last moment at which an edge can lie.
fn reach(instance: &Instance, (activity, edge): (ActivityId, Edge)) -> (i128, i128) {
    let activity: &Activity = &instance.activities[activity.0];
    let horizon = (i128::from(instance.earliest), i128::from(instance.latest));
    let Some((start, end)) = activity.fixed else {
        return horizon;
    };
    let start = i128::from(start);
    let last = i128::from(*SPAN.end()) + start.max(horizon.1);
    match (edge, end) {
        (Edge::Start, _) => (start, start),
        (Edge::End, Some(end)) => (i128::from(end), i128::from(end)),
        (Edge::End, None) => (start, last),
    }
}
