//! What a schedule costs, a second time. The formula stands at [`Weights`](crate::schedule::Weights).

use super::used::{amount_at, used};
use super::{edge, happened};
use crate::schedule::problem::{Activity, Instance, ResourceId};
use crate::schedule::solution::Placement;

/// Returns the cost; see [`super::cost()`].
pub(super) fn cost(instance: &Instance, placements: &[Placement]) -> i64 {
    let activities = instance.activities.iter().zip(placements);
    let to_come = activities.filter(|(activity, _)| activity.fixed.is_none());
    // Wide enough for any sum of products of the numbers an instance can hold.
    let total: i128 = to_come
        .map(|(activity, &placed)| of_activity(instance, activity, placed))
        .sum::<i128>()
        + of_wishes(instance, placements)
        + of_use(instance, placements);
    i64::try_from(total).unwrap_or(i64::MAX)
}

/// Returns what one activity costs by itself: late, early, in its mode, moved.
fn of_activity(instance: &Instance, activity: &Activity, placed: Placement) -> i128 {
    let weights = &instance.weights;
    let minutes = |from: i32, to: i32| i128::from(to) - i128::from(from);
    let mut total = 0;
    if let Some(due) = activity.due
        && placed.end > due
    {
        total += i128::from(weights.late) * minutes(due, placed.end);
    }
    let early = minutes(placed.start, instance.latest);
    total += i128::from(weights.early) * i128::from(activity.weight) * early;
    let mode = activity.modes[placed.mode].cost;
    total += i128::from(weights.mode) * i128::from(mode);
    if let Some(announced) = activity.announced
        && announced != placed.start
    {
        let by = minutes(announced, placed.start).abs();
        total += i128::from(weights.moved) + i128::from(weights.moved_by) * by;
    }
    total
}

fn of_wishes(instance: &Instance, placements: &[Placement]) -> i128 {
    let mut total = 0;
    for wish in &instance.wishes {
        if happened(instance, wish.from.0) && happened(instance, wish.to.0) {
            continue;
        }
        let between = edge(placements, wish.to) - edge(placements, wish.from);
        let mut missed = 0;
        if let Some(least) = wish.least.map(i64::from)
            && between < least
        {
            missed += least - between;
        }
        if let Some(most) = wish.most.map(i64::from)
            && between > most
        {
            missed += between - most;
        }
        total += i128::from(wish.weight) * i128::from(missed);
    }
    i128::from(instance.weights.wish) * total
}

/// Returns what use beyond the regular amounts and unevenness cost.
fn of_use(instance: &Instance, placements: &[Placement]) -> i128 {
    let (mut overtime, mut uneven) = (0_i128, 0_i128);
    for (index, resource) in instance.resources.iter().enumerate() {
        let levels = || instance.levels.iter().filter(|it| it.resource.0 == index);
        if resource.regular.is_none() && levels().next().is_none() {
            continue;
        }
        let used = used(instance, placements, ResourceId(index));
        if let Some(regular) = &resource.regular {
            for (minute, quantity) in used.quantities() {
                overtime += i128::from((quantity - amount_at(regular, minute)).max(0));
            }
        }
        for level in levels() {
            for &(from, to) in &level.buckets {
                let bucket = i64::from(from)..i64::from(to);
                let inside = used
                    .quantities()
                    .filter(|(minute, _)| bucket.contains(minute));
                let load: i128 = inside.map(|(_, quantity)| i128::from(quantity)).sum();
                uneven += i128::from(level.weight) * load * load;
            }
        }
    }
    i128::from(instance.weights.overtime) * overtime + i128::from(instance.weights.uneven) * uneven
}
