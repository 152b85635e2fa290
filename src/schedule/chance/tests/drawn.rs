//! Whole days drawn at random: whatever the lengths, the order of the plan keeps what there is.

use super::*;
use crate::schedule::solution::Schedule;
use crate::schedule::verify::{Violation, verify};

/// An instance made around a schedule: whatever capacity the schedule needs is there, and some more at times.
pub(super) fn planted(seed: u64) -> (Instance, Vec<Placement>) {
    let mut numbers = Numbers::of(seed, 0);
    let mut below = |count: u64| (numbers.next() % count) as Time;
    let count = 12;
    let (mut activities, mut placements) = (Vec::new(), Vec::new());
    for _ in 0..count {
        let (start, length) = (100 + below(400), 5 + below(60));
        let mut activity = lasting(length);
        for resource in 0..2 {
            for _ in 0..below(3) {
                let when = match below(5) {
                    0 => Use::Every {
                        every: 7 + below(20),
                        length: 1 + below(4),
                    },
                    1 => Use::Part {
                        anchor: Anchor::Start,
                        from: 0,
                        to: 1 + below(20),
                    },
                    2 => Use::Part {
                        anchor: Anchor::End,
                        from: -1 - below(20),
                        to: 0,
                    },
                    _ => Use::Whole,
                };
                activity.modes[0].demands.push(Demand {
                    resource: ResourceId(resource),
                    quantity: 1 + below(3),
                    when,
                });
            }
        }
        activities.push(activity);
        placements.push(at(start, start + length));
    }
    let mut instance = instance(activities, Vec::new());
    instance.latest = 6_000;
    instance.resources.push(hands(1));
    for _ in 0..3 {
        let edge = |last: bool| if last { Edge::End } else { Edge::Start };
        let from = (below(count) as usize, edge(below(2) == 1));
        let to = (below(count) as usize, edge(below(2) == 1));
        let time = |(activity, edge): (usize, Edge)| match edge {
            Edge::Start => placements[activity].start,
            Edge::End => placements[activity].end,
        };
        let (from, to) = if time(from) <= time(to) {
            (from, to)
        } else {
            (to, from)
        };
        instance.holds.push(Hold {
            resource: ResourceId(below(2) as usize),
            quantity: 1 + below(2),
            from: (ActivityId(from.0), from.1),
            to: (ActivityId(to.0), to.1),
        });
        // A hold may not end before it begins, which is a rule of its own.
        instance.lags.push(Lag {
            from: (ActivityId(from.0), from.1),
            to: (ActivityId(to.0), to.1),
            least: 0,
            most: None,
        });
    }
    instance.states.push(StateResource { change: 10 });
    let mut until = 0;
    let mut by_start: Vec<usize> = (0..count as usize).collect();
    by_start.sort_by_key(|&it| placements[it].start);
    for index in by_start {
        if placements[index].start >= until + 10 && below(2) == 0 {
            let value = below(3);
            instance.activities[index].modes[0]
                .states
                .push((StateId(0), value));
            until = placements[index].end;
        }
    }
    // Capacity: what the plainest count says is needed in each quarter of an hour, and now and then some more.
    for resource in 0..2 {
        let mut capacity = vec![(0, 40)];
        for from in (0..720).step_by(15) {
            let needed = (0..40).find(|&most| {
                instance.resources[resource].capacity =
                    vec![(0, 99), (from, most), (from + 15, 99)];
                let schedule = Schedule {
                    placements: placements.clone(),
                    ..Schedule::default()
                };
                !verify(&instance, &schedule)
                    .iter()
                    .any(|it| matches!(it, Violation::Capacity(of, _) if *of == resource))
            });
            capacity.push((from, needed.unwrap_or(40) + below(2) * below(6)));
        }
        capacity.push((720, 40));
        instance.resources[resource].capacity = capacity;
    }
    (instance, placements)
}

fn violations(instance: &Instance, placements: &[Placement]) -> Vec<Violation> {
    verify(
        instance,
        &Schedule {
            placements: placements.to_vec(),
            ..Schedule::default()
        },
    )
}

#[test]
fn whatever_keeps_the_order_keeps_the_resources() {
    let mut moved = 0;
    for seed in 0..60 {
        let (instance, planned) = planted(seed);
        assert_eq!(violations(&instance, &planned), [], "seed {seed}");
        let order = partial_order(&instance, &planned);
        let lags: Vec<Lag> = order
            .lags()
            .into_iter()
            .chain(instance.lags.clone())
            .collect();
        let edge = |placements: &[Placement], (activity, edge): (ActivityId, Edge)| match edge {
            Edge::Start => placements[activity.0].start,
            Edge::End => placements[activity.0].end,
        };
        // The schedule itself keeps its order.
        for lag in &lags {
            assert!(edge(&planned, lag.to) - edge(&planned, lag.from) >= lag.least);
        }
        for delays in 0..4 {
            let mut numbers = Numbers::of(seed, 1 + delays);
            let mut placements = planned.clone();
            for placed in &mut placements {
                let by = if numbers.next().is_multiple_of(3) {
                    (numbers.next() % 90) as Time
                } else {
                    0
                };
                (placed.start, placed.end) = (placed.start + by, placed.end + by);
            }
            // Everything as early as lags and shut times then allow.
            let settled = (0..2_000).any(|_| {
                let mut changed = false;
                for lag in &lags {
                    let short =
                        lag.least - (edge(&placements, lag.to) - edge(&placements, lag.from));
                    if short > 0 {
                        let placed = &mut placements[lag.to.0.0];
                        (placed.start, placed.end) = (placed.start + short, placed.end + short);
                        changed = true;
                    }
                }
                for span in &order.spans {
                    let begin =
                        edge(&placements, (span.from.activity, span.from.edge)) + span.from.offset;
                    let end = edge(&placements, (span.to.activity, span.to.edge)) + span.to.offset;
                    let hit = order.shut[span.shut]
                        .iter()
                        .find(|it| it.0 < end && begin < it.1);
                    if let Some(&(_, to)) = hit {
                        let placed = &mut placements[span.from.activity.0];
                        let by = to.min(9_000) - begin;
                        (placed.start, placed.end) = (placed.start + by, placed.end + by);
                        changed = true;
                    }
                }
                !changed
            });
            if !settled || placements.iter().any(|it| it.end >= instance.latest) {
                continue;
            }
            moved += usize::from(placements != planned);
            assert_eq!(violations(&instance, &placements), [], "seed {seed}");
        }
    }
    // Looks stand at their hour here, so that not every delay can be kept; most can.
    assert!(moved > 60, "{moved}");
}

#[test]
fn no_day_laid_out_uses_more_than_there_is() {
    // With the same capacity at all times nobody stays past closing, so every rule of use must hold.
    for seed in 0..60 {
        let (mut instance, planned) = planted(seed);
        // What is looked at inside may wait; the check knows only looks at their hour.
        for activity in &mut instance.activities {
            activity.modes[0]
                .demands
                .retain(|demand| demand.when == Use::Whole);
        }
        for resource in &mut instance.resources {
            let within = resource
                .capacity
                .iter()
                .filter(|it| (1..720).contains(&it.0));
            resource.capacity = vec![(0, within.map(|it| it.1).max().unwrap_or(0))];
        }
        let mut numbers = Numbers::of(seed, 9);
        let mut lengths = Vec::new();
        for (placed, activity) in planned.iter().zip(&mut instance.activities) {
            let length = placed.end - placed.start;
            lengths.push(1 + (numbers.next() % (2 * length) as u64) as Time);
            if numbers.next().is_multiple_of(3) {
                activity.release = Some(placed.start + (numbers.next() % 120) as Time);
            }
        }
        let found = day(&instance, &planned, &lengths);
        if found.iter().any(|&(_, end)| end >= instance.latest) {
            continue;
        }
        let mut as_laid = instance.clone();
        let mut placements = Vec::new();
        for (index, &(start, end)) in found.iter().enumerate() {
            assert!(start >= planned[index].start);
            as_laid.activities[index].modes[0].duration = Duration::Fixed(end - start);
            placements.push(at(start, end));
        }
        assert_eq!(violations(&as_laid, &placements), [], "seed {seed}");
    }
}
