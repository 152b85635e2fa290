//! What no schedule can escape: the lower bound and every explanation, against brute force over tiny random
//! instances in which everything an instance can ask for occurs.

use countback::schedule::bound::lower_bound;
use countback::schedule::conflict::{self, Conflict, Core, Verdict, core, prove_infeasible};
use countback::schedule::cost::cost;
use countback::schedule::reach::{Counted, Reach};
use countback::schedule::*;
use proptest::prelude::*;

use super::{activity, after};

const HORIZON: Time = 10;

fn mode() -> impl Strategy<Value = Mode> {
    let duration = prop_oneof![
        5 => (0..5).prop_map(Duration::Fixed),
        1 => (1..3_u32, 0..3, 0..2).prop_map(|(count, at_least, then)| Duration::Until {
            gate: GateId(0),
            count,
            at_least,
            then
        }),
    ];
    let when = prop_oneof![
        4 => Just(Use::Whole),
        1 => Just(Use::Part { anchor: Anchor::Start, from: 0, to: 1 }),
        1 => Just(Use::Part { anchor: Anchor::Start, from: 1, to: 3 }),
        1 => Just(Use::Part { anchor: Anchor::End, from: -2, to: 0 }),
        1 => Just(Use::Every { every: 2, length: 1 }),
    ];
    let demand = (0..2_usize, 1..3, when).prop_map(|(resource, quantity, when)| Demand {
        resource: ResourceId(resource),
        quantity,
        when,
    });
    let state = prop::option::weighted(0.2, 0..2_i32);
    (
        duration,
        prop::collection::vec(demand, 0..3),
        state,
        0..4_i32,
    )
        .prop_map(|(duration, demands, state, cost)| Mode {
            duration,
            demands,
            states: state.map(|value| (StateId(0), value)).into_iter().collect(),
            cost,
        })
}

fn any_activity() -> impl Strategy<Value = Activity> {
    let coverage = prop_oneof![
        Just(Coverage::Start),
        Just(Coverage::End),
        Just(Coverage::Whole)
    ];
    (
        prop::collection::vec(mode(), 1..3),
        prop::option::weighted(0.25, coverage),
        prop::option::weighted(0.15, 0..5_i32),
        prop::option::weighted(0.2, 5..HORIZON),
        prop::option::weighted(0.3, 2..HORIZON),
        prop::option::weighted(0.12, (0..6_i32, prop::option::of(0..4_i32))),
        0..4_i32,
        prop::option::weighted(0.3, 0..HORIZON),
    )
        .prop_map(
            |(modes, coverage, release, deadline, due, fixed, weight, announced)| Activity {
                fixed: fixed.map(|(start, length)| (start, length.map(|length| start + length))),
                modes,
                calendars: coverage
                    .map(|coverage| (CalendarId(0), coverage))
                    .into_iter()
                    .collect(),
                release,
                deadline,
                due,
                weight,
                announced,
            },
        )
}

fn edge() -> impl Strategy<Value = Edge> {
    prop_oneof![Just(Edge::Start), Just(Edge::End)]
}

type Between = (usize, usize, Edge, Edge, i32, Option<i32>);

fn between() -> impl Strategy<Value = Between> {
    let ends = (0..3_usize, 0..3_usize, edge(), edge());
    (ends, -2..4_i32, prop::option::of(0..3_i32))
        .prop_map(|((one, other, from, to), least, extra)| (one, other, from, to, least, extra))
}

/// Instances of up to three activities, with everything there is.
fn instance() -> impl Strategy<Value = Instance> {
    let weights = prop::collection::vec(0..5_i64, 8);
    (
        prop::collection::vec(any_activity(), 1..4),
        prop::collection::vec(between(), 0..4),
        prop::collection::vec((0..3_usize, 0..3_usize), 0..2),
        prop::collection::vec(between(), 0..2),
        prop::collection::vec(0..4_i32, 6),
        weights,
    )
        .prop_map(|(activities, lags, holds, wishes, amounts, weights)| {
            let count = activities.len();
            let ends = |(one, other, from, to, least, extra): Between| {
                let (one, other) = (one % count, other % count);
                let most = extra.map(|extra| least + extra);
                (one != other).then_some((
                    (ActivityId(one), from),
                    (ActivityId(other), to),
                    least,
                    most,
                ))
            };
            // One activity with itself: how long it lasts.
            let own = |(one, .., least, extra): Between| {
                let id = ActivityId(one % count);
                let most = extra.map(|extra| least + extra);
                ((id, Edge::Start), (id, Edge::End), least, most)
            };
            Instance {
                earliest: 0,
                latest: HORIZON,
                resources: vec![
                    Resource {
                        capacity: vec![(0, amounts[0].max(1)), (5, amounts[1]), (8, 2)],
                        regular: Some(vec![(0, amounts[4].min(2)), (4, 1)]),
                    },
                    Resource {
                        capacity: vec![(0, amounts[2]), (4, amounts[3].max(1))],
                        regular: None,
                    },
                ],
                states: vec![StateResource {
                    change: amounts[5].min(2),
                }],
                calendars: vec![Calendar {
                    windows: vec![(0, 3), (4, 9)],
                }],
                gates: vec![Gate {
                    openings: vec![3, 6, 7, 9],
                }],
                lags: lags
                    .into_iter()
                    .filter_map(|lag| ends(lag).or_else(|| (lag.0 == lag.1).then(|| own(lag))))
                    .map(|(from, to, least, most)| Lag {
                        from,
                        to,
                        least,
                        most,
                    })
                    .collect(),
                holds: holds
                    .into_iter()
                    .filter(|(one, other)| one % count != other % count)
                    .map(|(one, other)| Hold {
                        resource: ResourceId(0),
                        quantity: 1,
                        from: (ActivityId(one % count), Edge::Start),
                        to: (ActivityId(other % count), Edge::End),
                    })
                    .collect(),
                wishes: wishes
                    .into_iter()
                    .filter_map(ends)
                    .map(|(from, to, least, most)| Wish {
                        from,
                        to,
                        least: Some(least),
                        most,
                        weight: 2,
                    })
                    .collect(),
                levels: vec![Level {
                    resource: ResourceId(0),
                    buckets: vec![(0, 3), (3, 5), (6, HORIZON)],
                    weight: 1,
                }],
                weights: Weights {
                    late: weights[0],
                    wish: weights[1],
                    overtime: weights[2],
                    uneven: weights[3],
                    early: weights[4],
                    mode: weights[5],
                    moved: weights[6],
                    moved_by: weights[7],
                },
                activities,
            }
        })
}

/// Returns the placements an activity can have if it were alone.
fn alone(instance: &Instance, index: usize) -> Vec<Placement> {
    let single = Instance {
        activities: vec![instance.activities[index].clone()],
        lags: Vec::new(),
        holds: Vec::new(),
        wishes: Vec::new(),
        ..instance.clone()
    };
    let it = &instance.activities[index];
    let mut found = Vec::new();
    for (mode, way) in it.modes.iter().enumerate() {
        let starts = match it.fixed {
            Some((start, _)) => start..=start,
            None => 0..=HORIZON,
        };
        for start in starts {
            let end = match it.fixed {
                Some((_, Some(end))) => Some(end),
                _ => instance.end_of(way, start),
            };
            let Some(end) = end else { continue };
            let placement = Placement { mode, start, end };
            if verify::placements(&single, &[placement]).is_empty() {
                found.push(placement);
            }
        }
    }
    found
}

/// Returns the least cost there is, or `None` when nothing fits.
fn cheapest(instance: &Instance) -> Option<i64> {
    let choices: Vec<Vec<Placement>> = (0..instance.activities.len())
        .map(|index| alone(instance, index))
        .collect();
    if choices.iter().any(Vec::is_empty) {
        return None;
    }
    let mut chosen = vec![0; choices.len()];
    let mut best = None;
    loop {
        let placements: Vec<Placement> = chosen
            .iter()
            .zip(&choices)
            .map(|(&at, of)| of[at])
            .collect();
        let total = cost(instance, &placements).total();
        if best.is_none_or(|best| total < best)
            && verify::placements(instance, &placements).is_empty()
        {
            best = Some(total);
        }
        let Some(at) = (0..chosen.len())
            .rev()
            .find(|&at| chosen[at] + 1 < choices[at].len())
        else {
            return best;
        };
        chosen[at] += 1;
        chosen[at + 1..].fill(0);
    }
}

fn fits(instance: &Instance) -> bool {
    cheapest(instance).is_some()
}

/// Returns the instance once for each way to give these activities a mode, each in the window of that mode.
fn in_each_mode(
    instance: &Instance,
    activities: &[ActivityId],
    windows: &Reach<'_>,
) -> Vec<Instance> {
    // A deadline does not say when to start what ends at a gate; a gap to a fixed moment does.
    let mut whole = instance.clone();
    let moment = ActivityId(whole.activities.len());
    whole.activities.push(Activity {
        fixed: Some((0, Some(0))),
        ..activity(0, &[])
    });
    let mut all = vec![whole];
    for &id in activities {
        if instance.activities[id.0].fixed.is_some() {
            continue;
        }
        let chosen = |whole: &Instance| {
            let modes = instance.activities[id.0].modes.iter();
            let modes = modes
                .zip(windows.modes(id))
                .filter(|(_, (first, last))| first <= last);
            let chosen = modes.map(|(mode, &(first, last))| {
                let mut whole = whole.clone();
                let activity = &mut whole.activities[id.0];
                activity.modes = vec![mode.clone()];
                activity.release = Some(first);
                whole.lags.push(Lag {
                    from: (id, Edge::Start),
                    to: (moment, Edge::Start),
                    least: -last,
                    most: None,
                });
                whole
            });
            chosen.collect::<Vec<_>>()
        };
        all = all.iter().flat_map(chosen).collect();
    }
    all
}

/// Whether every activity fits its windows and no more than there is of it is used.
fn oracle(instance: &Instance) -> Verdict {
    if fits(instance) {
        Verdict::Feasible
    } else {
        Verdict::Infeasible
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: 600,
        failure_persistence: None,
        ..ProptestConfig::default()
    })]

    /// No schedule costs less than the bound.
    #[test]
    fn the_bound_is_never_above_the_least_cost(instance in instance()) {
        if let Some(least) = cheapest(&instance) {
            let bound = lower_bound(&instance);
            prop_assert!(bound <= least, "bound {bound}, least {least}");
        }
    }

    /// Every start of every schedule lies inside its window; checked on those of least cost.
    #[test]
    fn what_is_proved_impossible_is(instance in instance()) {
        let Some(conflict) = prove_infeasible(&instance) else { return Ok(()) };
        prop_assert!(!fits(&instance), "called impossible because of {conflict:?}");
        match conflict {
            // A hold is an arc as well, and may close a second cycle; so may the length beside a lag of one with itself.
            Conflict::Cycle { lags, excess } if instance.holds.is_empty() && !any_own(&instance, &lags) => {
                prop_assert!(is_cycle(&instance, &lags, excess), "{lags:?} ask for {excess} too much?");
            }
            Conflict::Overload { available, needed, activities, .. } => {
                prop_assert!(needed > available);
                // Alone, each in the windows that the whole leaves its modes, they do not fit either.
                let windows = Reach::of(&instance, Counted::Capacity).unwrap();
                let mut they = conflict::only(&instance, &activities, &[], &all_resources(&instance), &[]);
                // What is kept between two of them is kept for as long as all gaps of the whole ask.
                for hold in &they.holds {
                    let (least, _) = windows.between(hold.from, hold.to);
                    let (from, to) = (hold.from, hold.to);
                    they.lags.push(Lag { from, to, least: least as Time, most: None });
                }
                for they in in_each_mode(&they, &activities, &windows) {
                    prop_assert!(!fits(&they), "{activities:?} fit");
                }
            }
            Conflict::Core(core) => {
                let Core { activities, lags, resources, states, proved, smallest } = *core;
                prop_assert!(proved && smallest);
                let part = conflict::only(&instance, &activities, &lags, &resources, &states);
                prop_assert!(!fits(&part));
            }
            _ => {}
        }
    }

    /// A core does not fit, and fits once any one member of it is let go.
    #[test]
    fn a_core_is_smallest(instance in instance()) {
        let Some(found) = core(&instance, 400, &mut oracle) else {
            // What has happened may clash with nothing left to take away.
            let to_come = instance.activities.iter().any(|it| it.fixed.is_none());
            prop_assert!(fits(&instance) || !to_come || !fits(&conflict::only(&instance, &[], &[], &[], &[])));
            return Ok(());
        };
        let Core { activities, lags, resources, states, proved, smallest } = found;
        prop_assert!(proved && smallest);
        let part = |a: &[_], l: &[_], r: &[_], s: &[_]| fits(&conflict::only(&instance, a, l, r, s));
        prop_assert!(!part(&activities, &lags, &resources, &states));
        for at in 0..activities.len() {
            prop_assert!(part(&less(&activities, at), &lags, &resources, &states), "without {:?}", activities[at]);
        }
        for at in 0..lags.len() {
            prop_assert!(part(&activities, &less(&lags, at), &resources, &states), "without lag {}", lags[at]);
        }
        for at in 0..resources.len() {
            prop_assert!(part(&activities, &lags, &less(&resources, at), &states), "without {:?}", resources[at]);
        }
        for at in 0..states.len() {
            prop_assert!(part(&activities, &lags, &resources, &less(&states, at)), "without {:?}", states[at]);
        }
    }
}

fn less<T: Clone>(of: &[T], at: usize) -> Vec<T> {
    let mut of = of.to_vec();
    of.remove(at);
    of
}

/// Whether any of these lags is one of an activity with itself.
fn any_own(instance: &Instance, lags: &[usize]) -> bool {
    let is_own = |lag: &Lag| lag.from.0 == lag.to.0;
    lags.iter().any(|&at| is_own(&instance.lags[at]))
}

/// Whether some side of each of these rules, and nothing else, is a cycle that asks for so much too much and that
/// any one of them undoes by giving way by as much.
fn is_cycle(instance: &Instance, lags: &[usize], excess: Time) -> bool {
    let sides = |choice: usize| {
        let mut only = instance.clone();
        let one_side = |(at, &lag): (usize, &usize)| {
            let Lag {
                from,
                to,
                least,
                most,
            } = instance.lags[lag];
            let (from, to, least) = match (choice >> at & 1, most) {
                (0, _) => (from, to, least),
                (_, most) => (to, from, -most?),
            };
            Some(Lag {
                from,
                to,
                least,
                most: None,
            })
        };
        only.lags = lags
            .iter()
            .enumerate()
            .map(one_side)
            .collect::<Option<Vec<Lag>>>()?;
        Some(only)
    };
    // Holds that cannot end after they begin need no lag to contradict one another.
    if lags.is_empty() {
        return true;
    }
    let alone = lags.len() == 1;
    (0..1_usize << lags.len()).filter_map(sides).any(|only| {
        let Some(Conflict::Cycle { excess: found, .. }) = conflict::cycle(&only) else {
            return false;
        };
        let undone = |at: usize| {
            let mut eased = only.clone();
            eased.lags[at].least -= excess;
            conflict::cycle(&eased).is_none()
        };
        found == excess && (0..only.lags.len()).all(undone)
    }) || alone
        && instance.lags[lags[0]]
            .most
            .is_some_and(|most| instance.lags[lags[0]].least - most == excess)
}

fn all_resources(instance: &Instance) -> Vec<ResourceId> {
    (0..instance.resources.len()).map(ResourceId).collect()
}

/// How near the bound comes, and how much of what is impossible is proved without a search: figures kept from
/// slipping, not promises.
#[test]
fn the_bound_is_near_and_most_of_the_impossible_is_proved() {
    use proptest::strategy::ValueTree;
    use proptest::test_runner::TestRunner;
    let mut runner = TestRunner::deterministic();
    let (mut tight, mut possible, mut sum, mut least_sum) = (0, 0, 0, 0);
    let (mut impossible, mut proved) = (0, 0);
    while possible < 150 || impossible < 150 {
        let instance = instance()
            .new_tree(&mut runner)
            .expect("the strategy rejects nothing")
            .current();
        if let Some(least) = cheapest(&instance) {
            possible += 1;
            let bound = lower_bound(&instance);
            tight += i32::from(bound == least);
            (sum, least_sum) = (sum + bound, least_sum + least);
        } else {
            impossible += 1;
            proved += i32::from(prove_infeasible(&instance).is_some());
        }
    }
    println!("tight {tight}/{possible}, {sum} of {least_sum}; proved {proved}/{impossible}");
    assert!(tight * 100 >= possible * 50, "tight {tight} of {possible}");
    assert!(sum * 100 >= least_sum * 80, "{sum} of {least_sum}");
    assert!(
        proved * 100 >= impossible * 85,
        "proved {proved} of {impossible}"
    );
}

/// Three activities of ten minutes on one oven, all wanted as late as can be.
fn queue_at_the_oven() -> Instance {
    Instance {
        earliest: -100,
        latest: 0,
        resources: vec![Resource {
            capacity: vec![(-100, 1)],
            regular: None,
        }],
        activities: vec![activity(10, &[(0, 1)]); 3],
        weights: Weights {
            early: 1,
            ..Weights::default()
        },
        ..Instance::default()
    }
}

#[test]
fn who_queues_at_an_oven_gives_up_whole_turns() {
    let mut instance = queue_at_the_oven();
    // Starts at -10, -20 and -30 are the best: 60 in all.
    assert_eq!(lower_bound(&instance), 60);
    // The heavy one goes last: 5×10 + 20 + 30.
    instance.activities[1].weight = 5;
    assert_eq!(lower_bound(&instance), 100);
    // An oven taken from -15 to -5 leaves only starts up to -25: 25 + 35 + 45 at equal weights.
    instance.activities[1].weight = 1;
    instance.resources[0].capacity = vec![(-100, 1), (-15, 0), (-5, 1)];
    assert_eq!(lower_bound(&instance), 105);
}

#[test]
fn an_activity_is_charged_on_one_resource_only() {
    let mut instance = queue_at_the_oven();
    instance.resources.push(instance.resources[0].clone());
    for it in &mut instance.activities {
        it.modes[0].demands.push(Demand {
            resource: ResourceId(1),
            quantity: 1,
            when: Use::Whole,
        });
    }
    assert_eq!(lower_bound(&instance), 60);
    // Two more that queue at the second an hour earlier are charged there.
    for _ in 0..2 {
        let mut other = activity(10, &[(1, 1)]);
        other.deadline = Some(-50);
        instance.activities.push(other);
    }
    assert_eq!(lower_bound(&instance), 60 + 60 + 70);
}

#[test]
fn overtime_and_unevenness_that_no_order_avoids() {
    let mut instance = queue_at_the_oven();
    instance.weights = Weights {
        overtime: 1,
        ..Weights::default()
    };
    // Thirty minutes of work, twenty regular.
    instance.resources[0].regular = Some(vec![(-100, 0), (-40, 1), (-20, 0)]);
    assert_eq!(lower_bound(&instance), 10);
    instance.weights = Weights {
        uneven: 1,
        ..Weights::default()
    };
    let buckets = vec![(-100, -50), (-50, 0)];
    instance.levels = vec![Level {
        resource: ResourceId(0),
        buckets,
        weight: 1,
    }];
    // Fifteen and fifteen; no whole activities can do that, but nothing is below.
    assert_eq!(lower_bound(&instance), 450);
    for it in &mut instance.activities[..2] {
        it.release = Some(-50);
    }
    // Twenty of it can only lie in the second.
    assert_eq!(lower_bound(&instance), 500);
}

#[test]
fn an_overloaded_stretch_is_told_with_what_it_takes() {
    let mut instance = queue_at_the_oven();
    instance.activities.push(activity(10, &[]));
    for (index, it) in instance.activities.iter_mut().enumerate() {
        it.release = Some(-25 - index as Time);
    }
    // 27 minutes from the earliest release, 30 needed.
    assert_eq!(
        prove_infeasible(&instance),
        Some(Conflict::Overload {
            resource: ResourceId(0),
            from: -27,
            to: 0,
            available: 27,
            needed: 30,
            activities: vec![ActivityId(0), ActivityId(1), ActivityId(2)],
        })
    );
    instance.activities[2].release = Some(-30);
    instance.activities[1].release = Some(-30);
    assert_eq!(prove_infeasible(&instance), None);
}

#[test]
fn of_an_overloaded_stretch_only_what_matters_is_told() {
    let mut instance = queue_at_the_oven();
    for it in &mut instance.activities {
        it.release = Some(-15);
    }
    let Some(Conflict::Overload { activities, .. }) = prove_infeasible(&instance) else {
        panic!("three times ten minutes in fifteen");
    };
    assert_eq!(activities.len(), 2);
}

#[test]
fn a_cycle_names_its_rules_in_order_and_its_excess() {
    let mut instance = queue_at_the_oven();
    instance.resources[0].capacity[0].1 = 3;
    instance.lags = vec![
        after(2, 1),
        Lag {
            least: 5,
            ..after(0, 1)
        },
        Lag {
            least: 7,
            ..after(1, 2)
        },
        // From the end of 0 to the start of 2 there are at least 5 + 10 + 7.
        Lag {
            most: Some(20),
            ..after(0, 2)
        },
    ];
    instance.lags.remove(0);
    let Some(Conflict::Cycle { mut lags, excess }) = prove_infeasible(&instance) else {
        panic!("twenty-two minutes within twenty");
    };
    assert_eq!(excess, 2);
    let first = lags.iter().position(|&lag| lag == 0).unwrap();
    lags.rotate_left(first);
    assert_eq!(lags, [0, 1, 2]);
    for lag in 0..3 {
        let mut eased = instance.clone();
        if lag == 2 {
            eased.lags[lag].most = Some(22);
        } else {
            eased.lags[lag].least -= 2;
        }
        assert_eq!(prove_infeasible(&eased), None, "lag {lag}");
    }
}

/// Two that want one oven, each at its own heat.
fn two_at_heats_of_their_own() -> Instance {
    let mut instance = queue_at_the_oven();
    instance.resources.clear();
    instance.activities.truncate(2);
    instance.states = vec![StateResource { change: 6 }];
    for (index, it) in instance.activities.iter_mut().enumerate() {
        it.modes[0].demands.clear();
        it.modes[0].states = vec![(StateId(0), 160 + 20 * index as i32)];
    }
    instance
}

#[test]
fn two_heats_in_one_oven_at_one_time() {
    let mut instance = two_at_heats_of_their_own();
    for it in &mut instance.activities {
        it.release = Some(-25);
    }
    assert_eq!(
        prove_infeasible(&instance),
        Some(Conflict::Pair {
            activities: [ActivityId(0), ActivityId(1)],
            shared: conflict::Contended::State(StateId(0)),
            from: -25,
            to: 0,
            lacking: 1,
        })
    );
    instance.states[0].change = 5;
    assert_eq!(prove_infeasible(&instance), None);
}

/// Any two of them find two ovens; three do not, unless one can wait until an oven has changed over.
#[test]
fn three_heats_in_two_ovens_at_one_time() {
    let mut instance = queue_at_the_oven();
    instance.resources.clear();
    instance.states = vec![StateResource { change: 6 }; 2];
    for (index, it) in instance.activities.iter_mut().enumerate() {
        it.modes[0].demands.clear();
        it.modes.push(it.modes[0].clone());
        for (oven, mode) in it.modes.iter_mut().enumerate() {
            mode.states = vec![(StateId(oven), 160 + 20 * index as i32)];
        }
        it.release = Some(-25);
    }
    assert_eq!(
        prove_infeasible(&instance),
        Some(Conflict::Core(Box::new(Core {
            activities: (0..3).map(ActivityId).collect(),
            lags: Vec::new(),
            resources: Vec::new(),
            states: vec![StateId(0), StateId(1)],
            proved: true,
            smallest: true,
        })))
    );
    let mut two = instance.clone();
    two.activities.truncate(2);
    assert_eq!(prove_infeasible(&two), None);
    instance.states[1].change = 5;
    assert_eq!(prove_infeasible(&instance), None);
    let found = solve(&instance, Effort::first(&instance));
    assert!(
        matches!(found, Outcome::Feasible(_) | Outcome::Optimal(_)),
        "{found:?}"
    );
}

/// What is in the oven now stands there, and its heat with it.
#[test]
fn an_oven_that_is_hot_keeps_out_what_cannot_wait() {
    let mut instance = two_at_heats_of_their_own();
    instance.activities[0].fixed = Some((-40, Some(-30)));
    // Not before -24, then, and over by -14.
    instance.activities[1].deadline = Some(-14);
    assert_eq!(prove_infeasible(&instance), None);
    instance.activities[1].deadline = Some(-15);
    instance.activities[1].release = Some(-45);
    let stuck = prove_infeasible(&instance);
    assert!(
        matches!(
            stuck,
            Some(Conflict::NoPlace {
                activity: ActivityId(1),
                ..
            })
        ),
        "{stuck:?}"
    );
    // Before what is in it there would have been time.
    instance.activities[1].release = Some(-56);
    assert_eq!(prove_infeasible(&instance), None);
}

#[test]
fn an_oracle_that_does_not_know_proves_nothing() {
    let instance = queue_at_the_oven();
    let several = |part: &Instance| {
        let asking = part
            .activities
            .iter()
            .filter(|it| !it.modes[0].demands.is_empty());
        if asking.count() > 1 {
            Verdict::Unknown
        } else {
            Verdict::Feasible
        }
    };
    let found = core(&instance, 100, &mut |part| several(part));
    let Some(Core {
        activities,
        proved,
        smallest,
        ..
    }) = found
    else {
        panic!("no core: {found:?}");
    };
    assert_eq!((activities.len(), proved, smallest), (2, false, true));
    // Out of questions, what is told is larger and says so.
    let found = core(&instance, 2, &mut |part| several(part));
    assert!(
        matches!(
            found,
            Some(Core {
                smallest: false,
                ..
            })
        ),
        "{found:?}"
    );
}
