//! The check is only worth something if it refuses what is wrong: one right plan in which every rule is at its
//! limit and every term of the cost is paid; for each rule the same plan with one thing wrong, which must be
//! refused with that complaint and no other; for each term a cost that leaves it out.

use super::{activity, after};
use countback::schedule::verify::{self, Violation, verify};
use countback::schedule::*;
use std::collections::BTreeSet;

fn at(mode: usize, start: Time, end: Time) -> Placement {
    Placement { mode, start, end }
}

fn part(resource: usize, quantity: i32, anchor: Anchor, from: Time, to: Time) -> Demand {
    Demand {
        resource: ResourceId(resource),
        quantity,
        when: Use::Part { anchor, from, to },
    }
}

fn edges(from: (usize, Edge), to: (usize, Edge), distance: Time) -> Lag {
    Lag {
        from: (ActivityId(from.0), from.1),
        to: (ActivityId(to.0), to.1),
        least: distance,
        most: Some(distance),
    }
}

const FIRST: usize = 0;
const SECOND: usize = 1;
const WAIT: usize = 2;
const DONE: usize = 3;
const RUNNING: usize = 4;
const BOILING: usize = 5;
const MOMENT: usize = 6;
const BESIDE: usize = 7;

const SHARED: usize = 0;
const PARTS: usize = 1;
const PAST: usize = 2;
const LOOKS: usize = 3;
const KEPT: usize = 4;
const OVERLAP: usize = 5;

fn activities() -> Vec<Activity> {
    let mut first = activity(10, &[(SHARED, 1), (OVERLAP, 1)]);
    first.modes[0].demands.extend([
        part(PARTS, 2, Anchor::Start, 0, 3),
        part(PARTS, 1, Anchor::End, -2, 0),
        // Larger than what it uses throughout, and not on top of it.
        part(OVERLAP, 3, Anchor::Start, 0, 5),
    ]);
    first.modes[0].states = vec![(StateId(0), 160), (StateId(1), 1)];
    first.modes[0].cost = 3;
    // Another way comes before the one chosen.
    first
        .modes
        .insert(0, activity(99, &[(PAST, 9)]).modes[0].clone());
    first.release = Some(-90);
    first.announced = Some(-93);
    first.weight = 2;
    first.calendars = vec![
        (CalendarId(0), Coverage::Whole),
        (CalendarId(1), Coverage::Start),
        (CalendarId(2), Coverage::End),
    ];

    let mut second = activity(10, &[(SHARED, 2)]);
    second.modes[0].states = vec![(StateId(1), 2), (StateId(0), 180)];
    second.deadline = Some(-40);
    second.due = Some(-45);
    second.announced = Some(-50);

    let mut wait = activity(0, &[]);
    wait.modes[0].duration = Duration::Until {
        gate: GateId(0),
        count: 2,
        at_least: 7,
        then: 4,
    };
    wait.due = Some(-53);

    // What has happened took longer than it should, at the wrong hour, with more than there was.
    let mut done = activity(5, &[(PAST, 2)]);
    done.fixed = Some((-200, Some(-190)));
    done.modes[0].states = vec![(StateId(0), 150)];
    done.modes[0].cost = 1_000;
    done.release = Some(0);
    done.deadline = Some(-250);
    done.due = Some(-250);
    done.announced = Some(-210);
    done.calendars = vec![(CalendarId(0), Coverage::Whole)];
    let mut running = activity(20, &[(PAST, 2)]);
    running.fixed = Some((-195, None));
    running.modes[0].states = vec![(StateId(0), 140)];

    let mut boiling = activity(121, &[]);
    boiling.modes[0].demands = vec![
        part(LOOKS, 1, Anchor::Start, 0, 1),
        Demand {
            resource: ResourceId(LOOKS),
            quantity: 1,
            when: Use::Every {
                every: 30,
                length: 2,
            },
        },
    ];

    let mut moment = activity(0, &[(SHARED, 100)]);
    moment.calendars = vec![(CalendarId(0), Coverage::Whole)];

    let mut beside = activity(10, &[(SHARED, 1)]);
    beside.modes[0].states = vec![(StateId(0), 180)];
    vec![first, second, wait, done, running, boiling, moment, beside]
}

fn right() -> (Instance, Vec<Placement>) {
    let resource = |capacity: &[(Time, i32)]| Resource {
        capacity: capacity.to_vec(),
        regular: None,
    };
    let mut instance = Instance {
        earliest: -250,
        latest: -40,
        resources: vec![
            Resource {
                capacity: vec![(-90, 1), (-50, 3), (-40, 0)],
                regular: Some(vec![(-85, 1)]),
            },
            resource(&[(-90, 2), (-87, 0), (-82, 1), (-80, 0)]),
            resource(&[(-300, 1)]),
            // A fourth look would begin at -130 and does not end before boiling does: it is not made.
            resource(&[
                (-250, 1),
                (-249, 0),
                (-220, 1),
                (-218, 0),
                (-190, 1),
                (-188, 0),
                (-160, 1),
                (-158, 0),
            ]),
            resource(&[(-100, 1)]),
            resource(&[(-90, 3), (-85, 1)]),
        ],
        states: vec![StateResource { change: 30 }, StateResource { change: 30 }],
        calendars: vec![
            Calendar {
                windows: vec![(-90, -80)],
            },
            Calendar {
                windows: vec![(-90, -89)],
            },
            Calendar {
                windows: vec![(-81, -80)],
            },
        ],
        // An opening at the very start of the wait does not count.
        gates: vec![Gate {
            openings: vec![-64, -62, -57, -50, -10],
        }],
        activities: activities(),
        lags: vec![
            edges((FIRST, Edge::End), (SECOND, Edge::Start), 30),
            edges((FIRST, Edge::Start), (SECOND, Edge::Start), 40),
            edges((FIRST, Edge::End), (SECOND, Edge::End), 40),
            edges((FIRST, Edge::Start), (SECOND, Edge::End), 50),
            // What lies in the past may contradict itself, and is still what the rest follows.
            after(DONE, RUNNING),
            edges((RUNNING, Edge::End), (FIRST, Edge::Start), 85),
            // Read against time: the second starts no more than forty minutes after the first.
            Lag {
                from: (ActivityId(SECOND), Edge::Start),
                to: (ActivityId(FIRST), Edge::Start),
                least: -40,
                most: None,
            },
        ],
        ..Instance::default()
    };
    let hold = |from, to| Hold {
        resource: ResourceId(KEPT),
        quantity: 1,
        from,
        to,
    };
    let edge = |index: usize, edge: Edge| (ActivityId(index), edge);
    instance.holds = vec![
        hold(edge(FIRST, Edge::Start), edge(SECOND, Edge::End)),
        // Taken before now, when there was none; and one that the past contradicts.
        hold(edge(DONE, Edge::End), edge(FIRST, Edge::Start)),
        hold(edge(RUNNING, Edge::End), edge(DONE, Edge::Start)),
    ];
    let wish = |from, to, least, most, weight| Wish {
        from,
        to,
        least,
        most,
        weight,
    };
    instance.wishes = vec![
        wish(
            edge(FIRST, Edge::End),
            edge(SECOND, Edge::Start),
            Some(33),
            None,
            2,
        ),
        wish(
            edge(FIRST, Edge::Start),
            edge(SECOND, Edge::Start),
            Some(1),
            Some(38),
            5,
        ),
        wish(
            edge(FIRST, Edge::Start),
            edge(SECOND, Edge::End),
            Some(50),
            Some(50),
            7,
        ),
        wish(
            edge(DONE, Edge::End),
            edge(RUNNING, Edge::Start),
            Some(1_000),
            None,
            1,
        ),
        wish(
            edge(RUNNING, Edge::End),
            edge(FIRST, Edge::Start),
            Some(86),
            None,
            1,
        ),
    ];
    instance.levels = vec![
        Level {
            resource: ResourceId(SHARED),
            buckets: vec![(-95, -85), (-50, -30)],
            weight: 1,
        },
        Level {
            resource: ResourceId(KEPT),
            buckets: vec![(-95, -85)],
            weight: 3,
        },
    ];
    instance.weights = WEIGHTS;
    let placements = vec![
        at(1, -90, -80),
        at(0, -50, -40),
        at(0, -64, -53),
        at(0, -200, -190),
        at(0, -195, -175),
        at(0, -250, -129),
        at(0, -80, -80),
        at(0, -50, -40),
    ];
    (instance, placements)
}

/// Powers of a thousand, nearly: what is missing in a sum shows in its digits.
const WEIGHTS: Weights = Weights {
    late: 10_000_000_000,
    wish: 1_000_000_000,
    overtime: 1_000_000,
    uneven: 1_000,
    early: 1,
    mode: 100_000_000_000,
    moved: 1_000_000_000_000,
    moved_by: 10_000_000_000_000,
};

/// What each term comes to, reckoned by hand: weight, times how often it is paid.
#[rustfmt::skip]
const TERMS: [(&str, i64, fn(&mut Weights)); 8] = [
    // The second ends five minutes late; the wait just in time; what has happened is late for free.
    ("late", WEIGHTS.late * 5, |it| it.late = 0),
    // Three short, weight 2; two past, weight 5; one just granted; one of the past; one short, of the past and
    // of what is to come.
    ("wish", WEIGHTS.wish * (3 * 2 + 2 * 5 + 1), |it| it.wish = 0),
    // The first before -85, when none was regular: five minutes. The second and what is beside it: two beyond
    // the one, for ten minutes. The moment takes no time.
    ("overtime", WEIGHTS.overtime * (5 + 2 * 10), |it| it.overtime = 0),
    // The shared resource: five minutes of one, ten of three. The kept: ten minutes, five of them of the past.
    ("uneven", WEIGHTS.uneven * (5 * 5 + 30 * 30 + 3 * 10 * 10), |it| it.uneven = 0),
    // The first twice for its weight, then the others in turn, without what has happened.
    ("early", WEIGHTS.early * (2 * 50 + 10 + 24 + 210 + 40 + 10), |it| it.early = 0),
    ("mode", WEIGHTS.mode * 3, |it| it.mode = 0),
    // The first stands three minutes from where it was announced; the second just there.
    ("moved", WEIGHTS.moved, |it| it.moved = 0),
    ("moved by", WEIGHTS.moved_by * 3, |it| it.moved_by = 0),
];

fn total() -> i64 {
    TERMS.iter().map(|(_, term, _)| term).sum()
}

#[test]
fn the_right_plan_is_accepted() {
    let (instance, placements) = right();
    assert_eq!(verify::placements(&instance, &placements), []);
    let mut schedule = Schedule {
        placements,
        cost: total(),
        bound: total(),
        ..Schedule::default()
    };
    assert_eq!(verify(&instance, &schedule), []);
    schedule.bound = i64::MIN;
    assert_eq!(verify(&instance, &schedule), []);
}

#[test]
fn a_cost_that_misses_one_term_is_refused() {
    let (instance, placements) = right();
    for (name, term, leave_out) in TERMS {
        let is = total();
        let schedule = Schedule {
            placements: placements.clone(),
            cost: is - term,
            ..Schedule::default()
        };
        let said = is - term;
        assert_eq!(
            verify(&instance, &schedule),
            [Violation::Cost { said, is }],
            "{name}"
        );
        // It is just this term that the weight stands for.
        let mut without = instance.clone();
        leave_out(&mut without.weights);
        assert_eq!(verify(&without, &schedule), [], "{name}");
    }
}

#[test]
fn a_cost_off_by_one_and_a_bound_above_the_cost_are_refused() {
    let (instance, placements) = right();
    let check = |cost: i64, bound: i64| {
        let placements = placements.clone();
        verify(
            &instance,
            &Schedule {
                placements,
                cost,
                bound,
                ..Schedule::default()
            },
        )
    };
    let is = total();
    assert_eq!(check(is + 1, 0), [Violation::Cost { said: is + 1, is }]);
    assert_eq!(check(is - 1, 0), [Violation::Cost { said: is - 1, is }]);
    assert_eq!(
        check(is, is + 1),
        [Violation::Bound {
            said: is + 1,
            cost: is
        }]
    );
    // A bound is held against what the schedule costs, whatever it claims to cost.
    assert_eq!(
        check(is + 1, is + 1),
        [
            Violation::Cost { said: is + 1, is },
            Violation::Bound {
                said: is + 1,
                cost: is
            }
        ]
    );
}

/// What is broken, how, and what must be said of it.
type Case = (
    &'static str,
    fn(&mut Instance, &mut Vec<Placement>),
    &'static [Violation],
);

#[rustfmt::skip]
const CASES: &[Case] = &[
    ("one too few", |_, p| p.truncate(7), &[Violation::Count]),
    ("one too many", |_, p| p.push(at(0, -50, -40)), &[Violation::Count]),
    ("no such mode", |_, p| p[FIRST].mode = 2, &[Violation::Mode(FIRST)]),
    ("another mode", |_, p| p[FIRST].mode = 0, &[Violation::Duration(FIRST), Violation::Capacity(PAST, -90)]),
    ("before the horizon", |i, _| i.earliest = -249, &[Violation::Horizon(BOILING)]),
    ("past the horizon", |i, _| i.latest = -41, &[Violation::Horizon(SECOND), Violation::Horizon(BESIDE)]),
    ("too short", |_, p| p[BESIDE].end = -41, &[Violation::Duration(BESIDE)]),
    ("ends before it begins", |_, p| p[BESIDE].end = -51, &[Violation::Duration(BESIDE)]),
    ("a third opening", |i, _| until(i, 3, 7, 4), &[Violation::Duration(WAIT)]),
    ("the first opening", |i, _| until(i, 1, 0, 4), &[Violation::Duration(WAIT)]),
    ("waits too short for the opening", |i, _| until(i, 2, 8, 4), &[Violation::Duration(WAIT)]),
    ("what follows the opening", |i, _| until(i, 2, 7, 5), &[Violation::Duration(WAIT)]),
    ("no opening is left", |i, _| i.gates[0].openings.truncate(2), &[Violation::Duration(WAIT)]),
    ("the opening at the start counted", |_, p| p[WAIT].end = -58, &[Violation::Duration(WAIT)]),
    ("happened at another time", |_, p| p[DONE].start = -201, &[Violation::Fixed(DONE)]),
    ("ended at another time", |_, p| p[DONE].end = -191, &[Violation::Fixed(DONE)]),
    ("running for less than it takes", |i, p| { i.lags[5].most = None; p[RUNNING].end = -176; }, &[Violation::Fixed(RUNNING)]),
    ("released", |i, _| i.activities[FIRST].release = Some(-89), &[Violation::Release(FIRST)]),
    ("deadline", |i, _| i.activities[SECOND].deadline = Some(-41), &[Violation::Deadline(SECOND)]),
    ("whole in a window that opens late", |i, _| windows(i, 0, &[(-89, -80)]), &[Violation::Calendar(FIRST, 0)]),
    ("whole in a window that closes early", |i, _| windows(i, 0, &[(-90, -81)]), &[Violation::Calendar(FIRST, 0), Violation::Calendar(MOMENT, 0)]),
    ("whole across two windows that touch", |i, _| windows(i, 0, &[(-90, -85), (-85, -80)]), &[Violation::Calendar(FIRST, 0)]),
    ("start in a window that opens late", |i, _| windows(i, 1, &[(-89, -80)]), &[Violation::Calendar(FIRST, 1)]),
    ("start at the end of a window", |i, _| windows(i, 1, &[(-100, -90)]), &[Violation::Calendar(FIRST, 1)]),
    ("end at the start of a window", |i, _| windows(i, 2, &[(-80, -70)]), &[Violation::Calendar(FIRST, 2)]),
    ("end after a window", |i, _| windows(i, 2, &[(-90, -81)]), &[Violation::Calendar(FIRST, 2)]),
    ("least, end to start", |i, _| least(i, 0), &[Violation::Lag(0)]),
    ("most, end to start", |i, _| most(i, 0), &[Violation::Lag(0)]),
    ("least, start to start", |i, _| least(i, 1), &[Violation::Lag(1)]),
    ("most, start to start", |i, _| most(i, 1), &[Violation::Lag(1)]),
    ("least, end to end", |i, _| least(i, 2), &[Violation::Lag(2)]),
    ("most, end to end", |i, _| most(i, 2), &[Violation::Lag(2)]),
    ("least, start to end", |i, _| least(i, 3), &[Violation::Lag(3)]),
    ("most, start to end", |i, _| most(i, 3), &[Violation::Lag(3)]),
    ("least after what has happened", |i, _| least(i, 5), &[Violation::Lag(5)]),
    ("most after what has happened", |i, _| most(i, 5), &[Violation::Lag(5)]),
    ("a least that is negative", |i, _| i.lags[6].least = -39, &[Violation::Lag(6)]),
    ("more than there is", |i, _| i.resources[SHARED].capacity[1].1 = 2, &[Violation::Capacity(SHARED, -50)]),
    ("less of it at the end", |i, _| i.resources[SHARED].capacity[2].0 = -41, &[Violation::Capacity(SHARED, -41)]),
    ("none before its first step", |i, _| i.resources[SHARED].capacity[0].0 = -89, &[Violation::Capacity(SHARED, -90)]),
    ("the first part", |i, _| i.resources[PARTS].capacity[1].0 = -88, &[Violation::Capacity(PARTS, -88)]),
    ("how much the first part takes", |i, _| i.resources[PARTS].capacity[0].1 = 1, &[Violation::Capacity(PARTS, -90)]),
    ("the last part", |i, _| i.resources[PARTS].capacity[2].0 = -81, &[Violation::Capacity(PARTS, -82)]),
    ("a part is cut to its activity, not longer", |i, _| i.activities[FIRST].modes[1].demands.push(part(PARTS, 1, Anchor::End, -3, 9)), &[Violation::Capacity(PARTS, -83)]),
    ("the first look", |i, _| i.resources[LOOKS].capacity[2].0 = -219, &[Violation::Capacity(LOOKS, -220)]),
    ("the last minute of the last look", |i, _| i.resources[LOOKS].capacity[7].0 = -159, &[Violation::Capacity(LOOKS, -159)]),
    ("one more look", |i, p| { i.activities[BOILING].modes[0].duration = Duration::Fixed(122); p[BOILING].end = -128; }, &[Violation::Capacity(LOOKS, -130)]),
    ("the larger of two that overlap", |i, _| i.resources[OVERLAP].capacity[0].1 = 2, &[Violation::Capacity(OVERLAP, -90)]),
    ("the smaller where it is alone", |i, _| i.resources[OVERLAP].capacity[1].1 = 0, &[Violation::Capacity(OVERLAP, -85)]),
    ("kept while there is none", |i, _| i.resources[KEPT].capacity.extend([(-60, 0), (-59, 1)]), &[Violation::Capacity(KEPT, -60)]),
    ("kept and used besides", |i, _| i.activities[BESIDE].modes[0].demands[0].resource = ResourceId(KEPT), &[Violation::Capacity(KEPT, -50)]),
    ("how much is kept", |i, _| i.holds[0].quantity = 2, &[Violation::Capacity(KEPT, -90)]),
    ("used beside what the past still uses", |i, p| { i.activities[FIRST].modes[1].demands[0].resource = ResourceId(PAST); i.activities[RUNNING].modes[0].states.clear(); i.activities[RUNNING].fixed = Some((-195, Some(-85))); p[RUNNING].end = -85; i.lags.remove(5); }, &[Violation::Capacity(PAST, -90)]),
    ("kept until before it is taken", |i, _| { let it = &mut i.holds[0]; (it.from, it.to) = (it.to, it.from); }, &[Violation::Hold(0)]),
    ("kept from the past until before it", |i, _| i.holds[2].to = (ActivityId(BOILING), Edge::Start), &[Violation::Hold(2)]),
    ("changed too fast", |i, _| i.states[0].change = 31, &[Violation::State(FIRST, SECOND), Violation::State(FIRST, BESIDE)]),
    ("the second of its states changed too fast", |i, _| i.states[1].change = 31, &[Violation::State(FIRST, SECOND)]),
    ("two states at once", |i, _| i.activities[BESIDE].modes[0].states[0].1 = 181, &[Violation::State(SECOND, BESIDE)]),
    ("two states by itself", |i, _| i.activities[BOILING].modes[0].states = vec![(StateId(1), 1), (StateId(1), 2)], &[Violation::State(BOILING, BOILING)]),
    ("a state beside that of what has happened", |i, _| i.activities[BOILING].modes[0].states = vec![(StateId(0), 150)], &[Violation::State(RUNNING, BOILING)]),
];

fn until(instance: &mut Instance, count: u32, at_least: Time, then: Time) {
    instance.activities[WAIT].modes[0].duration = Duration::Until {
        gate: GateId(0),
        count,
        at_least,
        then,
    };
}

fn windows(instance: &mut Instance, calendar: usize, windows: &[(Time, Time)]) {
    instance.calendars[calendar].windows = windows.to_vec();
}

fn least(instance: &mut Instance, lag: usize) {
    instance.lags[lag].least += 1;
    instance.lags[lag].most = None;
}

fn most(instance: &mut Instance, lag: usize) {
    let most = &mut instance.lags[lag].most;
    *most = most.map(|most| most - 1);
    instance.lags[lag].least -= 1;
}

#[test]
fn each_rule_is_missed_when_it_is_broken() {
    for (name, spoil, expected) in CASES {
        let (mut instance, mut placements) = right();
        spoil(&mut instance, &mut placements);
        assert_eq!(
            verify::placements(&instance, &placements),
            *expected,
            "{name}"
        );
        // And the same where the plan says truly what it costs.
        if !matches!(expected, [Violation::Count | Violation::Mode(_)]) {
            let cost = verify::cost(&instance, &placements);
            let schedule = Schedule {
                placements,
                cost,
                ..Schedule::default()
            };
            assert_eq!(verify(&instance, &schedule), *expected, "{name}");
        }
    }
}

/// Returns the place of a complaint in a list of all kinds; exhaustive, so that a new one is not forgotten here.
pub(super) fn kind(violation: &Violation) -> usize {
    match violation {
        Violation::Count => 0,
        Violation::Mode(_) => 1,
        Violation::Horizon(_) => 2,
        Violation::Duration(_) => 3,
        Violation::Fixed(_) => 4,
        Violation::Release(_) => 5,
        Violation::Deadline(_) => 6,
        Violation::Calendar(..) => 7,
        Violation::Lag(_) => 8,
        Violation::Hold(_) => 9,
        Violation::Capacity(..) => 10,
        Violation::State(..) => 11,
        Violation::Cost { .. } => 12,
        Violation::Bound { .. } => 13,
    }
}

/// A rule without a case would be one that nothing proves. Cost and bound have tests of their own, above.
#[test]
fn every_complaint_about_placements_has_a_case() {
    let told = CASES
        .iter()
        .flat_map(|(_, _, expected)| *expected)
        .map(kind);
    assert_eq!(told.collect::<BTreeSet<_>>(), (0..12).collect());
}
