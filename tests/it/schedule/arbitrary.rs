//! Arbitrary small instances with everything the engine knows in them, and plans for them.
//!
//! All times lie in `[0, HORIZON)` and all amounts are small, so that brute force can try everything and limits are
//! often met exactly.

use super::reference::broken;
use countback::schedule::verify::Violation;
use countback::schedule::*;
use proptest::prelude::*;

/// The end of the horizon of every arbitrary instance.
pub(super) const HORIZON: Time = 12;

const RESOURCES: usize = 2;
const STATES: usize = 2;
const CALENDARS: usize = 2;
const GATES: usize = 2;

fn edge() -> impl Strategy<Value = Edge> {
    prop_oneof![Just(Edge::Start), Just(Edge::End)]
}

fn demand() -> impl Strategy<Value = Demand> {
    let anchor = prop_oneof![Just(Anchor::Start), Just(Anchor::End)];
    let when = prop_oneof![
        3 => Just(Use::Whole),
        1 => (anchor, -2..3_i32, 1..3_i32).prop_map(|(anchor, from, length)| Use::Part { anchor, from, to: from + length }),
        1 => (1..4_i32, 1..3_i32).prop_map(|(every, length)| Use::Every { every, length }),
    ];
    (0..RESOURCES, 1..3, when).prop_map(|(resource, quantity, when)| Demand {
        resource: ResourceId(resource),
        quantity,
        when,
    })
}

fn mode() -> impl Strategy<Value = Mode> {
    let duration = prop_oneof![
        4 => (0..5).prop_map(Duration::Fixed),
        1 => (0..GATES, 1..3_u32, 0..4, 0..2)
            .prop_map(|(gate, count, at_least, then)| Duration::Until { gate: GateId(gate), count, at_least, then }),
    ];
    let states = prop_oneof![
        3 => Just(Vec::new()),
        2 => (0..STATES, 0..2_i32).prop_map(|(state, value)| vec![(StateId(state), value)]),
        1 => (0..2_i32, 0..2_i32).prop_map(|(one, other)| vec![(StateId(1), one), (StateId(0), other)]),
    ];
    (
        duration,
        prop::collection::vec(demand(), 0..3),
        states,
        0..4,
    )
        .prop_map(|(duration, demands, states, cost)| Mode {
            duration,
            demands,
            states,
            cost,
        })
}

fn activity() -> impl Strategy<Value = Activity> {
    let coverage = prop_oneof![
        Just(Coverage::Start),
        Just(Coverage::End),
        Just(Coverage::Whole)
    ];
    let modes = prop_oneof![
        2 => prop::collection::vec(mode(), 1..2),
        1 => prop::collection::vec(mode(), 2..3),
    ];
    let fixed = (-2..5_i32, prop::option::of(0..5_i32))
        .prop_map(|(start, length)| (start, length.map(|length| start + length)));
    let limits = (
        prop::option::weighted(0.15, 0..6_i32),
        prop::option::weighted(0.15, 7..HORIZON),
        prop::option::weighted(0.3, 3..HORIZON),
        prop::option::weighted(0.08, fixed),
        prop::option::weighted(0.3, 0..HORIZON - 2),
    );
    (
        modes,
        prop::option::weighted(0.3, (0..CALENDARS, coverage)),
        limits,
        0..3_i32,
    )
        .prop_map(
            |(mut modes, calendar, (release, deadline, due, fixed, announced), weight)| {
                if let Some((_, Some(_))) = fixed {
                    // Its way has been chosen as well; of what goes on nobody may have said.
                    modes.truncate(1);
                }
                Activity {
                    modes,
                    calendars: calendar
                        .map(|(calendar, coverage)| (CalendarId(calendar), coverage))
                        .into_iter()
                        .collect(),
                    release,
                    deadline,
                    due,
                    fixed,
                    weight,
                    announced,
                }
            },
        )
}

fn resource() -> impl Strategy<Value = Resource> {
    let regular = (0..3_i32, 2..10_i32, 0..3_i32)
        .prop_map(|(amount, from, then)| vec![(0, amount), (from, then)]);
    (
        1..4_i32,
        1..HORIZON,
        0..4_i32,
        prop::option::weighted(0.4, regular),
    )
        .prop_map(|(capacity, from, then, regular)| Resource {
            capacity: vec![(0, capacity), (from, then)],
            regular,
        })
}

fn calendar() -> impl Strategy<Value = Calendar> {
    (0..2_i32, 2..5_i32, 0..3_i32, 2..6_i32).prop_map(|(from, first, gap, second)| Calendar {
        // Without a gap the two touch, and are still two.
        windows: vec![
            (from, from + first),
            (from + first + gap, from + first + gap + second),
        ],
    })
}

fn gate() -> impl Strategy<Value = Gate> {
    let minutes: Vec<Time> = (1..HORIZON).collect();
    prop::sample::subsequence(minutes, 2..5).prop_map(|openings| Gate { openings })
}

fn weights() -> impl Strategy<Value = Weights> {
    // Each term is often left out, so that the others are seen.
    let each = || prop_oneof![1 => Just(0_i64), 2 => 1..6_i64];
    (
        each(),
        each(),
        each(),
        prop_oneof![2 => Just(0_i64), 1 => 1..3_i64],
        each(),
        each(),
        each(),
        each(),
    )
        .prop_map(
            |(late, wish, overtime, uneven, early, mode, moved, moved_by)| Weights {
                late,
                wish,
                overtime,
                uneven,
                early,
                mode,
                moved,
                moved_by,
            },
        )
}

/// Two edges of activities and what stands between them: a least, which may be left out, and what the
/// most is more than it.
type Between = (usize, usize, Edge, Edge, Time, Option<Time>);

fn between() -> impl Strategy<Value = Between> {
    (
        0..4_usize,
        0..4_usize,
        edge(),
        edge(),
        -2..4_i32,
        prop::option::of(0..4_i32),
    )
}

/// Returns instances of up to `most` activities (four at the most) with every feature.
pub(crate) fn instance(most: usize) -> impl Strategy<Value = Instance> {
    let links = (
        prop::collection::vec(between(), 0..3),
        prop::collection::vec((between(), 1..3_i32), 0..2),
        prop::collection::vec((between(), 0..3_i32), 0..3),
    );
    let level = (0..RESOURCES, 2..6_i32, 0..3_i32);
    let shared = (
        prop::collection::vec(resource(), RESOURCES),
        prop::collection::vec(0..3_i32, STATES),
        prop::collection::vec(calendar(), CALENDARS),
        prop::collection::vec(gate(), GATES),
        prop::collection::vec(level, 0..2),
    );
    (
        prop::collection::vec(activity(), 1..=most),
        links,
        shared,
        weights(),
    )
        .prop_map(
            |(
                activities,
                (lags, holds, wishes),
                (resources, changes, calendars, gates, levels),
                weights,
            )| {
                let mut instance = Instance {
                    earliest: 0,
                    latest: HORIZON,
                    resources,
                    states: changes
                        .into_iter()
                        .map(|change| StateResource { change })
                        .collect(),
                    calendars,
                    gates,
                    activities,
                    levels: levels
                        .into_iter()
                        .map(|(resource, cut, weight)| Level {
                            resource: ResourceId(resource),
                            buckets: vec![(0, cut), (cut, HORIZON - 1)],
                            weight,
                        })
                        .collect(),
                    weights,
                    ..Instance::default()
                };
                link(&mut instance, &lags, &holds, &wishes);
                instance
            },
        )
}

/// Adds lags, holds and wishes between activities. A lag may link one with itself, from its start to its end; no hold
/// and no wish does.
fn link(
    instance: &mut Instance,
    lags: &[Between],
    holds: &[(Between, i32)],
    wishes: &[(Between, i32)],
) {
    let count = instance.activities.len();
    let ends = |&(one, other, from, to, ..): &Between| {
        let (one, other) = (one % count, other % count);
        (one != other).then_some(((ActivityId(one), from), (ActivityId(other), to)))
    };
    for lag in lags {
        let own = || {
            let id = ActivityId(lag.0 % count);
            (lag.0 == lag.1).then_some(((id, Edge::Start), (id, Edge::End)))
        };
        let Some((from, to)) = ends(lag).or_else(own) else {
            continue;
        };
        instance.lags.push(Lag {
            from,
            to,
            least: lag.4,
            most: lag.5.map(|extra| lag.4 + extra),
        });
    }
    for (hold, quantity) in holds {
        if let Some((from, to)) = ends(hold) {
            instance.holds.push(Hold {
                resource: ResourceId(hold.4.rem_euclid(RESOURCES as Time) as usize),
                quantity: *quantity,
                from,
                to,
            });
        }
    }
    for (wish, weight) in wishes {
        if let Some((from, to)) = ends(wish) {
            let least = (wish.4 >= 0).then_some(wish.4);
            instance.wishes.push(Wish {
                from,
                to,
                least,
                most: wish.5.map(|extra| wish.4 + extra),
                weight: *weight,
            });
        }
    }
}

/// Returns any placements of an instance's activities, right or wrong, from picks `(mode, start)`. Every end is where
/// the duration puts it, as long as the gate opens.
pub(super) fn placed(instance: &Instance, picks: &[(usize, Time)]) -> Vec<Placement> {
    let activities = instance.activities.iter().zip(picks);
    activities
        .map(|(activity, &(mode, start))| {
            let mode = mode % activity.modes.len();
            let start = activity.fixed.map_or(start, |(start, _)| start);
            let end = instance.end_of(&activity.modes[mode], start);
            let known = activity.fixed.and_then(|(_, end)| end);
            Placement {
                mode,
                start,
                end: known.or(end).unwrap_or(start),
            }
        })
        .collect()
}

/// Relaxes an instance until placements are right for it, each rule no more than it must be: what is left is met
/// exactly in many places.
pub(super) fn relaxed(mut instance: Instance, placements: &[Placement]) -> Instance {
    while let Some(violation) = broken(&instance, placements).into_iter().next() {
        let Instance {
            activities,
            lags,
            holds,
            resources,
            states,
            ..
        } = &mut instance;
        match violation {
            Violation::Horizon(index) => {
                instance.earliest = instance.earliest.min(placements[index].start);
                instance.latest = instance.latest.max(placements[index].end);
            }
            Violation::Duration(index) | Violation::Fixed(index) => {
                let Placement { mode, start, end } = placements[index];
                activities[index].modes[mode].duration = Duration::Fixed(end - start);
            }
            Violation::Release(index) => activities[index].release = Some(placements[index].start),
            Violation::Deadline(index) => activities[index].deadline = Some(placements[index].end),
            Violation::Calendar(index, calendar) => activities[index]
                .calendars
                .retain(|(it, _)| it.0 != calendar),
            Violation::Lag(index) => {
                let lag = &mut lags[index];
                let edge = |(id, edge): (ActivityId, Edge)| match edge {
                    Edge::Start => placements[id.0].start,
                    Edge::End => placements[id.0].end,
                };
                let between = edge(lag.to) - edge(lag.from);
                lag.least = lag.least.min(between);
                lag.most = lag.most.map(|most| most.max(between));
            }
            Violation::Hold(index) => {
                let hold = &mut holds[index];
                (hold.from, hold.to) = (hold.to, hold.from);
            }
            Violation::Capacity(resource, minute) => {
                let steps = &mut resources[resource].capacity;
                if steps.first().is_none_or(|&(from, _)| from > minute) {
                    steps.insert(0, (minute, 0));
                }
                let step = steps.iter_mut().rfind(|step| step.0 <= minute);
                step.expect("one begins by then").1 += 1;
            }
            Violation::State(one, other) => {
                let apart = (placements[other].start - placements[one].end)
                    .max(placements[one].start - placements[other].end);
                let clashes = |state: &(StateId, i32)| {
                    let needs = &activities[one].modes[placements[one].mode].states;
                    needs.iter().any(|it| it.0 == state.0 && it.1 != state.1)
                };
                let needs = &activities[other].modes[placements[other].mode].states;
                let clash = needs.iter().copied().find(clashes);
                let (state, _) = clash.expect("they need different states of one resource");
                if apart >= 0 && states[state.0].change > apart {
                    states[state.0].change = apart;
                } else {
                    let needs = &mut activities[other].modes[placements[other].mode].states;
                    needs.retain(|it| it.0 != state);
                }
            }
            other @ (Violation::Count
            | Violation::Mode(_)
            | Violation::Cost { .. }
            | Violation::Bound { .. }) => {
                panic!("no rule to relax: {other:?}")
            }
        }
    }
    instance
}
