//! Two activities that cannot go on at once, and neither can wait for the other.
//!
//! Either must end (and the resource be changed over) before the other starts; where both orders miss their windows,
//! nothing fits (immediate selection: Carlier and Pinson 1989; from memory).

use super::{Conflict, Contended};
use crate::schedule::problem::{ActivityId, Duration, Edge, Mode, ResourceId, StateId, Time, Use};
use crate::schedule::reach::Reach;

/// Returns the pair that misses by most, if there is one.
pub fn pair(reach: &Reach<'_>) -> Option<Conflict> {
    let instance = reach.instance();
    let most = |resource: usize| {
        let steps = &instance.resources[resource].capacity;
        steps.iter().map(|&(_, amount)| amount).max().unwrap_or(0)
    };
    let mut worst: Option<(Time, Conflict)> = None;
    let mut keep = |found: Option<(Time, Conflict)>| {
        if let Some(found) = found
            && worst.as_ref().is_none_or(|(lacking, _)| found.0 > *lacking)
        {
            worst = Some(found);
        }
    };
    for resource in 0..instance.resources.len() {
        let users = whole(reach, ResourceId(resource));
        let most = most(resource);
        let largest = users.iter().map(|&(_, quantity)| quantity).max();
        if largest.is_none_or(|largest| largest.saturating_mul(2) <= most) {
            continue;
        }
        keep(among(
            reach,
            &users,
            Contended::Resource(ResourceId(resource)),
            0,
            |one, other| one.saturating_add(other) > most,
        ));
    }
    for (state, it) in instance.states.iter().enumerate() {
        let users = in_state(reach, StateId(state));
        if users.windows(2).all(|two| two[0].1 == two[1].1) {
            continue;
        }
        let shared = Contended::State(StateId(state));
        keep(among(reach, &users, shared, it.change, |one, other| {
            one != other
        }));
    }
    worst.map(|(_, conflict)| conflict)
}

/// Returns the modes of an activity that some start is left for.
fn open<'r>(reach: &'r Reach<'_>, index: usize) -> impl Iterator<Item = &'r Mode> + Clone {
    let modes = reach.instance().activities[index].modes.iter();
    let starts = reach.modes(ActivityId(index)).iter();
    modes
        .zip(starts)
        .filter(|(_, (first, last))| first <= last)
        .map(|(mode, _)| mode)
}

/// Returns the activities that use a resource from start to end in every mode still open, with the least they use.
fn whole(reach: &Reach<'_>, resource: ResourceId) -> Vec<(usize, i32)> {
    let instance = reach.instance();
    let to_come = |index: &usize| instance.activities[*index].fixed.is_none();
    (0..instance.activities.len())
        .filter(to_come)
        .filter_map(|index| {
            let least = open(reach, index)
                .map(|mode| {
                    let on = mode.demands.iter().filter(|it| {
                        it.resource == resource
                            && it.when == Use::Whole
                            // What takes no time is in nobody's way.
                            && !matches!(mode.duration, Duration::Fixed(0))
                    });
                    on.map(|it| it.quantity).max().unwrap_or(0)
                })
                .min()?;
            (least > 0).then_some((index, least))
        })
        .collect()
}

/// Returns the activities that need one state of a state resource in every mode still open, with that state.
fn in_state(reach: &Reach<'_>, state: StateId) -> Vec<(usize, i32)> {
    (0..reach.instance().activities.len())
        .filter_map(|index| {
            let mut values = open(reach, index).map(|mode| {
                let of = mode.states.iter().find(|(id, _)| *id == state);
                of.map(|&(_, value)| value)
            });
            let first = values.next()??;
            values
                .all(|value| value == Some(first))
                .then_some((index, first))
        })
        .collect()
}

fn among(
    reach: &Reach<'_>,
    users: &[(usize, i32)],
    shared: Contended,
    change: Time,
    clash: impl Fn(i32, i32) -> bool,
) -> Option<(Time, Conflict)> {
    let fixed = |index: usize| reach.instance().activities[index].fixed.is_some();
    let mut worst: Option<(Time, usize, usize)> = None;
    let start = |index: usize| reach.edge((ActivityId(index), Edge::Start));
    let end = |index: usize| reach.edge((ActivityId(index), Edge::End));
    // By latest start: an order misses only if the later one must start before the earlier can be over.
    let mut order: Vec<(Time, usize, i32)> = users
        .iter()
        .map(|&(index, value)| (start(index).1, index, value))
        .collect();
    order.sort_unstable();
    for &(index, value) in users {
        let over = end(index).0.saturating_add(change);
        for &(latest, other, its) in order.iter().take_while(|&&(latest, ..)| latest < over) {
            let other_over = end(other).0.saturating_add(change);
            let lacking = (over - latest).min(other_over.saturating_sub(start(index).1));
            if index != other
                && lacking > 0
                && clash(value, its)
                && !(fixed(index) && fixed(other))
                && worst.is_none_or(|(most, ..)| lacking > most)
            {
                worst = Some((lacking, index.min(other), index.max(other)));
            }
        }
    }
    let (lacking, one, other) = worst?;
    Some((
        lacking,
        Conflict::Pair {
            activities: [ActivityId(one), ActivityId(other)],
            shared,
            from: start(one).0.min(start(other).0),
            to: end(one).1.max(end(other).1),
            lacking,
        },
    ))
}
