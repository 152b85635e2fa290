//! The search against brute force: tiny random instances with every feature the search plans, all starts tried.

use countback::schedule::verify::verify;
use countback::schedule::*;
use proptest::prelude::*;

const HORIZON: Time = 14;

fn demand() -> impl Strategy<Value = Demand> {
    let when = prop_oneof![
        3 => Just(Use::Whole),
        1 => Just(Use::Part { anchor: Anchor::Start, from: 0, to: 1 }),
        1 => Just(Use::Part { anchor: Anchor::End, from: -1, to: 0 }),
        1 => Just(Use::Every { every: 2, length: 1 }),
    ];
    (0..2_usize, 1..3, when).prop_map(|(resource, quantity, when)| Demand {
        resource: ResourceId(resource),
        quantity,
        when,
    })
}

fn activity() -> impl Strategy<Value = Activity> {
    let duration = prop_oneof![
        4 => (0..5).prop_map(Duration::Fixed),
        1 => (1..3_u32, 0..4, 0..2).prop_map(|(count, at_least, then)| Duration::Until { gate: GateId(0), count, at_least, then }),
    ];
    let coverage = prop_oneof![
        Just(Coverage::Start),
        Just(Coverage::End),
        Just(Coverage::Whole)
    ];
    (
        duration,
        prop::collection::vec(demand(), 0..3),
        prop::option::weighted(0.3, coverage),
        prop::option::weighted(0.15, 0..6_i32),
        prop::option::weighted(0.15, 8..HORIZON),
    )
        .prop_map(
            |(duration, demands, coverage, release, deadline)| Activity {
                modes: vec![Mode {
                    duration,
                    demands,
                    states: Vec::new(),
                    cost: 0,
                }],
                calendars: coverage
                    .map(|coverage| (CalendarId(0), coverage))
                    .into_iter()
                    .collect(),
                release,
                deadline,
                due: None,
                fixed: None,
                weight: 1,
                announced: None,
            },
        )
}

fn edge() -> impl Strategy<Value = Edge> {
    prop_oneof![Just(Edge::Start), Just(Edge::End)]
}

/// Instances of up to four activities; lags and holds lead from smaller to larger ids, as a menu's do.
fn instance() -> impl Strategy<Value = Instance> {
    let lag = (
        0..4_usize,
        0..4_usize,
        edge(),
        edge(),
        0..3_i32,
        prop::option::of(0..4_i32),
    );
    let hold = (0..4_usize, 0..4_usize);
    (
        prop::collection::vec(activity(), 1..5),
        prop::collection::vec(lag, 0..4),
        prop::collection::vec(hold, 0..2),
        prop::collection::vec(0..4_i32, 4),
    )
        .prop_map(|(activities, lags, holds, capacities)| {
            let count = activities.len();
            let ordered = |a: usize, b: usize| {
                let (a, b) = (a % count, b % count);
                (a != b).then(|| (ActivityId(a.min(b)), ActivityId(a.max(b))))
            };
            let lags = lags
                .into_iter()
                .filter_map(|(a, b, from, to, least, extra)| {
                    let (one, other) = ordered(a, b)?;
                    let most = extra.map(|extra| least + extra);
                    Some(Lag {
                        from: (one, from),
                        to: (other, to),
                        least,
                        most,
                    })
                })
                .collect();
            let mut instance = Instance {
                earliest: 0,
                latest: HORIZON,
                resources: vec![
                    Resource {
                        capacity: vec![(0, capacities[0].max(1)), (7, capacities[1])],
                        regular: None,
                    },
                    Resource {
                        capacity: vec![(0, capacities[2]), (4, capacities[3].max(1))],
                        regular: None,
                    },
                ],
                calendars: vec![Calendar {
                    windows: vec![(0, 3), (5, 12)],
                }],
                gates: vec![Gate {
                    openings: vec![4, 8, 9, 13],
                }],
                activities,
                lags,
                weights: Weights {
                    early: 1,
                    ..Weights::default()
                },
                ..Instance::default()
            };
            for (a, b) in holds {
                if let Some((one, other)) = ordered(a, b) {
                    let (from, to) = ((one, Edge::Start), (other, Edge::End));
                    instance.holds.push(Hold {
                        resource: ResourceId(0),
                        quantity: 1,
                        from,
                        to,
                    });
                    instance.lags.push(Lag {
                        from: (one, Edge::End),
                        to: (other, Edge::Start),
                        least: 0,
                        most: None,
                    });
                }
            }
            instance
        })
}

/// Returns the largest possible sum of starts, or `None` when nothing fits.
fn brute_force(instance: &Instance) -> Option<i64> {
    let mut best = None;
    let mut starts = vec![0; instance.activities.len()];
    let last = |at: usize| {
        if instance.activities[at].fixed.is_some() {
            0
        } else {
            HORIZON
        }
    };
    loop {
        let placements: Option<Vec<Placement>> = starts
            .iter()
            .zip(&instance.activities)
            .map(|(&start, activity)| {
                if let Some((start, Some(end))) = activity.fixed {
                    return Some(Placement {
                        mode: 0,
                        start,
                        end,
                    });
                }
                let end = instance.end_of(&activity.modes[0], start)?;
                Some(Placement {
                    mode: 0,
                    start,
                    end,
                })
            })
            .collect();
        if let Some(placements) = placements {
            let sum = placements
                .iter()
                .map(|placed| i64::from(placed.start))
                .sum();
            let better = best.is_none_or(|best| sum > best);
            let schedule = Schedule {
                placements,
                blocking: Vec::new(),
                as_one: Vec::new(),
                ..Schedule::default()
            };
            if better && verify(instance, &schedule).is_empty() {
                best = Some(sum);
            }
        }
        let Some(at) = (0..starts.len()).rev().find(|&at| starts[at] < last(at)) else {
            return best;
        };
        starts[at] += 1;
        starts[at + 1..].fill(0);
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 400,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// Whatever the search says is true: its schedules verify, what it calls impossible is, and what it calls
    /// optimal is not beaten.
    #[test]
    fn what_the_search_says_is_true(instance in instance()) {
        let best = brute_force(&instance);
        let sum = |schedule: &Schedule| -> i64 {
            schedule.placements.iter().map(|placed| i64::from(placed.start)).sum()
        };
        match solve(&instance, Effort { orders: 12, improve: 2, take_backs: 60, threads: 1, seed: 1 }) {
            Outcome::Optimal(schedule) => {
                prop_assert_eq!(verify(&instance, &schedule), []);
                prop_assert_eq!(Some(sum(&schedule)), best);
            }
            Outcome::Feasible(schedule) => {
                prop_assert_eq!(verify(&instance, &schedule), []);
                prop_assert!(Some(sum(&schedule)) <= best);
            }
            Outcome::Infeasible(conflict) => {
                prop_assert_eq!(best, None, "called impossible because of {:?}", conflict);
            }
            Outcome::Unknown(_) => {}
        }
    }

    /// No activity of a schedule could start later with all others where they are.
    #[test]
    fn every_start_is_the_latest_by_itself(instance in instance()) {
        let (Outcome::Optimal(schedule) | Outcome::Feasible(schedule)) =
            solve(&instance, Effort { orders: 3, improve: 1, take_backs: 60, threads: 1, seed: 1 })
        else {
            return Ok(());
        };
        for index in 0..schedule.placements.len() {
            if instance.activities[index].fixed.is_some() {
                continue;
            }
            for later in schedule.placements[index].start + 1..=HORIZON {
                let Some(end) = instance.end_of(&instance.activities[index].modes[0], later) else { continue };
                let mut moved = schedule.clone();
                moved.placements[index] = Placement { mode: 0, start: later, end };
                prop_assert!(
                    !verify(&instance, &moved).is_empty(),
                    "activity {} could start at {} instead of {}",
                    index, later, schedule.placements[index].start
                );
            }
        }
    }
}

/// How often the first search finds a plan where there is one, and how often the best: a figure kept from
/// slipping, not a promise of the search.
#[test]
fn the_search_finds_nearly_every_plan_there_is() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let (mut possible, mut found, mut best_found) = (0, 0, 0);
    while possible < 150 {
        let instance = instance()
            .new_tree(&mut runner)
            .expect("the strategy rejects nothing")
            .current();
        let Some(best) = brute_force(&instance) else {
            continue;
        };
        possible += 1;
        if let Outcome::Optimal(schedule) | Outcome::Feasible(schedule) = solve(
            &instance,
            Effort {
                orders: 30,
                improve: 1,
                take_backs: 200,
                threads: 1,
                seed: 1,
            },
        ) {
            found += 1;
            let sum: i64 = schedule
                .placements
                .iter()
                .map(|placed| i64::from(placed.start))
                .sum();
            best_found += i32::from(sum == best);
        }
    }
    assert!(found >= 147, "found {found} of {possible}");
    assert!(
        best_found >= 140,
        "found {best_found} best plans of {possible}"
    );
}
