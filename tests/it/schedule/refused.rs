//! The checker is only worth something if it refuses what is wrong: one right plan, and for each rule the same
//! plan with one thing wrong.

use super::{activity, after};
use countback::schedule::verify::{Violation, verify};
use countback::schedule::*;

/// Two activities and a wait until a gate, with a capacity, a calendar, a hold, a state and every kind of
/// bound; and its one right plan.
fn right() -> (Instance, Schedule) {
    let mut first = activity(10, &[(0, 1)]);
    first.release = Some(-100);
    first.calendars = vec![
        (CalendarId(0), Coverage::Whole),
        (CalendarId(0), Coverage::Start),
        (CalendarId(0), Coverage::End),
    ];
    first.modes[0].states = vec![(StateId(0), 160)];
    let mut second = activity(10, &[(0, 2)]);
    second.deadline = Some(-20);
    second.modes[0].states = vec![(StateId(0), 180)];
    let mut wait = activity(0, &[]);
    wait.modes[0].duration = Duration::Until {
        gate: GateId(0),
        count: 1,
        at_least: 5,
        then: 0,
    };
    let mut done = activity(5, &[]);
    done.fixed = Some((-200, Some(-190)));
    let hold = Hold {
        resource: ResourceId(1),
        quantity: 1,
        from: (ActivityId(0), Edge::Start),
        to: (ActivityId(1), Edge::End),
    };
    let instance = Instance {
        earliest: -300,
        latest: 0,
        resources: vec![
            Resource {
                capacity: vec![(-300, 2)],
                regular: None,
            },
            Resource {
                capacity: vec![(-300, 0), (-90, 1)],
                regular: None,
            },
        ],
        states: vec![StateResource { change: 15 }],
        calendars: vec![Calendar {
            windows: vec![(-90, -70)],
        }],
        gates: vec![Gate {
            openings: vec![-50, -10],
        }],
        activities: vec![first, second, wait, done],
        lags: vec![Lag {
            most: Some(40),
            ..after(0, 1)
        }],
        holds: vec![hold],
        ..Instance::default()
    };
    let at = |start, end| Placement {
        mode: 0,
        start,
        end,
    };
    let placements = vec![at(-90, -80), at(-50, -40), at(-60, -50), at(-200, -190)];
    (
        instance,
        Schedule {
            placements,
            blocking: Vec::new(),
            as_one: Vec::new(),
            ..Schedule::default()
        },
    )
}

#[test]
fn the_right_plan_is_accepted() {
    let (instance, schedule) = right();
    assert_eq!(verify(&instance, &schedule), []);
}

/// What is broken, how, and what must be found.
type Case = (
    &'static str,
    fn(&mut Instance, &mut Schedule),
    fn(&Violation) -> bool,
);

#[test]
#[allow(clippy::too_many_lines, reason = "one table, a rule a line")]
fn each_rule_is_missed_when_it_is_broken() {
    let table: &[Case] = &[
        (
            "count",
            |_, s| s.placements.truncate(3),
            |v| *v == Violation::Count,
        ),
        (
            "mode",
            |_, s| s.placements[0].mode = 1,
            |v| *v == Violation::Mode(0),
        ),
        (
            "horizon",
            |i, _| i.earliest = -80,
            |v| *v == Violation::Horizon(0),
        ),
        (
            "duration",
            |_, s| s.placements[1].end = -41,
            |v| *v == Violation::Duration(1),
        ),
        (
            "gate",
            |_, s| s.placements[2].start = -54,
            |v| *v == Violation::Duration(2),
        ),
        (
            "gate end",
            |_, s| s.placements[2].end = -10,
            |v| *v == Violation::Duration(2),
        ),
        (
            "fixed",
            |_, s| s.placements[3].start = -201,
            |v| *v == Violation::Fixed(3),
        ),
        (
            "release",
            |i, _| i.activities[0].release = Some(-89),
            |v| *v == Violation::Release(0),
        ),
        (
            "deadline",
            |i, _| i.activities[1].deadline = Some(-41),
            |v| *v == Violation::Deadline(1),
        ),
        (
            "calendar",
            |i, _| i.calendars[0].windows = vec![(-90, -81), (-81, -70)],
            |v| *v == Violation::Calendar(0, 0),
        ),
        (
            "calendar end",
            |i, _| {
                i.activities[0].calendars = vec![(CalendarId(0), Coverage::End)];
                i.calendars[0].windows = vec![(-90, -81)];
            },
            |v| *v == Violation::Calendar(0, 0),
        ),
        (
            "calendar start",
            |i, _| {
                i.activities[0].calendars = vec![(CalendarId(0), Coverage::Start)];
                i.calendars[0].windows = vec![(-89, -70)];
            },
            |v| *v == Violation::Calendar(0, 0),
        ),
        (
            "least",
            |i, _| i.lags[0].least = 31,
            |v| *v == Violation::Lag(0),
        ),
        (
            "most",
            |i, _| i.lags[0].most = Some(29),
            |v| *v == Violation::Lag(0),
        ),
        (
            "capacity",
            |i, _| i.resources[0].capacity = vec![(-300, 2), (-41, 1)],
            |v| *v == Violation::Capacity(0, -41),
        ),
        (
            "held",
            |i, _| i.resources[1].capacity = vec![(-90, 1), (-60, 0), (-59, 1)],
            |v| *v == Violation::Capacity(1, -60),
        ),
        (
            "hold",
            |i, _| {
                let hold = &mut i.holds[0];
                (hold.from, hold.to) = (hold.to, hold.from);
            },
            |v| *v == Violation::Hold(0),
        ),
        (
            "state",
            |i, _| i.states[0].change = 31,
            |v| *v == Violation::State(0, 1),
        ),
    ];
    for (name, spoil, expected) in table {
        let (mut instance, mut schedule) = right();
        spoil(&mut instance, &mut schedule);
        let found = verify(&instance, &schedule);
        assert!(found.iter().any(expected), "{name}: {found:?}");
    }
}

#[test]
fn looks_count_only_while_they_last() {
    let mut boiling = activity(100, &[]);
    boiling.modes[0].demands = vec![Demand {
        resource: ResourceId(0),
        quantity: 1,
        when: Use::Every {
            every: 30,
            length: 2,
        },
    }];
    let instance = |busy: (Time, Time)| Instance {
        earliest: 0,
        latest: 100,
        resources: vec![Resource {
            capacity: vec![(0, 1), (busy.0, 0), (busy.1, 1)],
            regular: None,
        }],
        activities: vec![boiling.clone()],
        ..Instance::default()
    };
    let schedule = Schedule {
        placements: vec![Placement {
            mode: 0,
            start: 0,
            end: 100,
        }],
        blocking: Vec::new(),
        as_one: Vec::new(),
        ..Schedule::default()
    };
    assert_eq!(verify(&instance((0, 30)), &schedule), []);
    assert_eq!(verify(&instance((32, 60)), &schedule), []);
    assert_eq!(
        verify(&instance((31, 32)), &schedule),
        [Violation::Capacity(0, 31)]
    );
    assert_eq!(
        verify(&instance((91, 92)), &schedule),
        [Violation::Capacity(0, 91)]
    );
}
