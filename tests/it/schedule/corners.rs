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
