//! Small cases in which the engine once said what was not so; brute force may take long to draw them again.

use super::{activity, answer};
use countback::schedule::conflict::Conflict;
use countback::schedule::search::{Push, as_announced};
use countback::schedule::verify::verify;
use countback::schedule::*;

const ONE: ActivityId = ActivityId(0);
const OTHER: ActivityId = ActivityId(1);

/// Returns an instance of these activities and nothing else, in which each minute early costs its weight.
fn of(latest: Time, activities: Vec<Activity>) -> Instance {
    Instance {
        earliest: 0,
        latest,
        activities,
        weights: Weights {
            early: 1,
            ..Weights::default()
        },
        ..Instance::default()
    }
}

/// Returns one mode for each of these durations.
fn lasting(durations: &[Duration]) -> Vec<Mode> {
    let modes = durations.iter().map(|&duration| Mode {
        duration,
        ..activity(0, &[]).modes.remove(0)
    });
    modes.collect()
}

/// A wait for the next opening of the first gate.
const UNTIL_IT_OPENS: Duration = Duration::Until {
    gate: GateId(0),
    count: 1,
    at_least: 0,
    then: 0,
};

/// Returns "its end at least and at most so long after its start".
fn own_lag(least: Time, most: Option<Time>) -> Lag {
    Lag {
        from: (ONE, Edge::Start),
        to: (ONE, Edge::End),
        least,
        most,
    }
}

fn plan(instance: &Instance) -> Schedule {
    match answer(instance, 2) {
        Outcome::Optimal(plan) | Outcome::Feasible(plan) => {
            assert_eq!(verify(instance, &plan), []);
            plan
        }
        other => panic!("there is a plan: {other:?}"),
    }
}

/// Two that start at once, one in the first minute of every twenty, the other ten minutes later; both in one minute at
/// the end of many hours. Their windows climb from opening to opening, and that is no proof.
fn climbing() -> Instance {
    let openings = |from: Time| (0..200).map(move |at| (20 * at + from, 20 * at + from + 1));
    let together = (4000, 4001);
    let calendar = |from| Calendar {
        windows: openings(from)
            .filter(|it| it.0 < together.0)
            .chain([together])
            .collect(),
    };
    let starting_in = |calendar| Activity {
        calendars: vec![(CalendarId(calendar), Coverage::Start)],
        ..activity(1, &[])
    };
    Instance {
        calendars: vec![calendar(0), calendar(10)],
        lags: vec![Lag {
            from: (ONE, Edge::Start),
            to: (OTHER, Edge::Start),
            least: 0,
            most: Some(0),
        }],
        ..of(5000, vec![starting_in(0), starting_in(1)])
    }
}

#[test]
fn windows_that_climb_from_opening_to_opening_are_not_empty() {
    let plan = plan(&climbing());
    assert_eq!(plan.placements[0].start, 4000);
    assert_eq!(plan.placements[1].start, 4000);
}

/// The same, where each must be followed anew for what was announced and what was not.
#[test]
fn what_is_new_stands_where_its_window_climbs_to() {
    let mut instance = climbing();
    instance.activities.push(Activity {
        announced: Some(4500),
        ..activity(1, &[])
    });
    let plan = as_announced(&instance, Push::Never).expect("it stands where it was announced");
    assert_eq!(verify(&instance, &plan), []);
    let starts: Vec<Time> = plan.placements.iter().map(|it| it.start).collect();
    assert_eq!(starts, [4000, 4000, 4500]);
}

#[test]
fn lags_that_contradict_one_another_are_still_found_at_once() {
    let apart = |from, to| Lag {
        from: (from, Edge::Start),
        to: (to, Edge::Start),
        least: 1,
        most: None,
    };
    let instance = Instance {
        lags: vec![apart(ONE, OTHER), apart(OTHER, ONE)],
        ..of(50_000, vec![activity(1, &[]), activity(1, &[])])
    };
    let Outcome::Infeasible(Conflict::Cycle { lags, excess }) = answer(&instance, 1) else {
        panic!("two that each wait for the other");
    };
    assert_eq!((lags.len(), excess), (2, 2));
}

/// What has begun may last 10 minutes or 100; nobody has said. What follows it costs less after the longer.
#[test]
fn the_bound_leaves_open_in_which_mode_something_has_begun() {
    let begun = Activity {
        modes: lasting(&[Duration::Fixed(10), Duration::Fixed(100)]),
        fixed: Some((0, None)),
        ..activity(0, &[])
    };
    let instance = Instance {
        lags: vec![Lag {
            from: (OTHER, Edge::Start),
            to: (ONE, Edge::End),
            least: 0,
            most: None,
        }],
        ..of(200, vec![begun, activity(10, &[])])
    };
    let plan = plan(&instance);
    assert!(plan.bound <= 100, "{plan:?}");
    let in_the_other = Schedule {
        placements: vec![
            Placement {
                mode: 1,
                start: 0,
                end: 100,
            },
            Placement {
                mode: 0,
                start: 100,
                end: 110,
            },
        ],
        cost: 100,
        bound: 0,
        ..plan
    };
    assert_eq!(verify(&instance, &in_the_other), []);
}

#[test]
fn a_wait_that_must_last_is_not_moved_until_it_does_not() {
    let wait = Activity {
        modes: lasting(&[UNTIL_IT_OPENS]),
        ..activity(0, &[])
    };
    let instance = Instance {
        gates: vec![Gate {
            openings: vec![1000],
        }],
        lags: vec![own_lag(100, None)],
        ..of(2000, vec![wait])
    };
    assert_eq!(plan(&instance).placements[0].start, 900);
}

#[test]
fn a_wait_that_must_not_last_long_stands_before_one_opening_or_another() {
    let wait = Activity {
        modes: lasting(&[UNTIL_IT_OPENS])
            .into_iter()
            .map(|mode| Mode {
                demands: activity(0, &[(0, 1)]).modes.remove(0).demands,
                ..mode
            })
            .collect(),
        ..activity(0, &[])
    };
    let instance = Instance {
        gates: vec![Gate {
            openings: vec![500, 1000],
        }],
        // Whoever it needs goes for good at 990.
        resources: vec![Resource {
            capacity: vec![(0, 1), (990, 0)],
            regular: None,
        }],
        lags: vec![own_lag(20, Some(50))],
        ..of(2000, vec![wait])
    };
    assert_eq!(plan(&instance).placements[0].start, 480);
}

#[test]
fn a_mode_that_breaks_its_own_lag_is_not_taken() {
    let either = Activity {
        modes: vec![
            Mode {
                cost: 0,
                ..lasting(&[Duration::Fixed(10)]).remove(0)
            },
            Mode {
                cost: 1000,
                ..lasting(&[Duration::Fixed(60)]).remove(0)
            },
        ],
        ..activity(0, &[])
    };
    let mut instance = of(2000, vec![either]);
    instance.lags = vec![own_lag(50, None)];
    instance.weights.mode = 1;
    assert_eq!(plan(&instance).placements[0].mode, 1);
}

/// Returns what has begun and waits for a gate that opens no more, looking after it each minute; or was the other way,
/// which takes an hour.
fn begun_too_late_for_its_gate() -> Instance {
    let mut modes = lasting(&[UNTIL_IT_OPENS, Duration::Fixed(60)]);
    modes[0].demands = vec![Demand {
        resource: ResourceId(0),
        quantity: 1,
        when: Use::Every {
            every: 1,
            length: 1,
        },
    }];
    let begun = Activity {
        modes,
        fixed: Some((50, None)),
        ..activity(0, &[])
    };
    Instance {
        gates: vec![Gate { openings: vec![40] }],
        resources: vec![Resource {
            capacity: vec![(0, 1)],
            regular: None,
        }],
        ..of(200, vec![begun])
    }
}

#[test]
fn what_has_begun_is_in_a_mode_that_ends() {
    let mut instance = begun_too_late_for_its_gate();
    instance.activities[0].modes[0].demands.clear();
    let placed = plan(&instance).placements[0];
    assert_eq!((placed.mode, placed.end), (1, 110));
    let placed = plan(&begun_too_late_for_its_gate()).placements[0];
    assert_eq!((placed.mode, placed.end), (1, 110));
}

/// The mode that ends leaves what follows no time, and the one that would never ends.
#[test]
fn no_mode_that_never_ends_is_laid_out() {
    let mut instance = begun_too_late_for_its_gate();
    instance.activities.push(Activity {
        deadline: Some(100),
        ..activity(10, &[])
    });
    instance.lags = vec![Lag {
        from: (ONE, Edge::End),
        to: (OTHER, Edge::Start),
        least: 0,
        most: None,
    }];
    let outcome = answer(&instance, 1);
    assert!(
        matches!(outcome, Outcome::Infeasible(_) | Outcome::Unknown(_)),
        "{outcome:?}"
    );
}

#[test]
fn what_no_calendar_lets_start_is_said_whatever_its_weight() {
    let mut instance = of(100_000, vec![activity(10, &[])]);
    instance.calendars = vec![Calendar {
        windows: Vec::new(),
    }];
    instance.activities[0].calendars = vec![(CalendarId(0), Coverage::Start)];
    instance.activities[0].weight = 1_000_000;
    instance.weights.early = 1_000_000;
    let Outcome::Infeasible(Conflict::Window { activity, .. }) = answer(&instance, 1) else {
        panic!("it can never start");
    };
    assert_eq!(activity, ONE);
}
