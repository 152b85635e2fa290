//! What was announced and still holds is the answer: every start, and the way each was told.

use super::{activity, after};
use countback::schedule::generate::generate;
use countback::schedule::search::{Push, as_announced};
use countback::schedule::verify::verify;
use countback::schedule::*;

/// Returns an instance of two resources of one unit each, in which nothing costs but being early.
fn two_of_one(activities: Vec<Activity>) -> Instance {
    let one = Resource {
        capacity: vec![(-200, 1)],
        regular: None,
    };
    Instance {
        earliest: -200,
        latest: 0,
        resources: vec![one.clone(), one],
        activities,
        weights: Weights {
            early: 1,
            mode: 1,
            ..Weights::default()
        },
        ..Instance::default()
    }
}

/// Returns an activity of twenty minutes announced for a start, to be done on either of the two, at these costs.
fn on_either(announced: Time, costs: [i32; 2]) -> Activity {
    let modes = (0..).zip(costs).map(|(resource, cost)| Mode {
        cost,
        ..activity(20, &[(resource, 1)]).modes.remove(0)
    });
    Activity {
        modes: modes.collect(),
        announced: Some(announced),
        ..activity(20, &[])
    }
}

fn solved(instance: &Instance, effort: Effort) -> Schedule {
    let (Outcome::Optimal(schedule) | Outcome::Feasible(schedule)) = solve(instance, effort) else {
        panic!("a plan was announced that holds");
    };
    assert_eq!(verify(instance, &schedule), []);
    schedule
}

fn starts(schedule: &Schedule) -> Vec<Time> {
    schedule.placements.iter().map(|it| it.start).collect()
}

/// Where nobody has a choice of modes there is nothing to search, and what was announced stands although a later start
/// would cost less.
#[test]
fn what_has_no_choice_stays_where_it_was_announced() {
    let announced = |start| Activity {
        announced: Some(start),
        ..activity(20, &[(0, 1)])
    };
    let instance = two_of_one(vec![announced(-150), announced(-100)]);
    let effort = Effort::quick(&instance);
    assert!(effort.improve > 0, "or nothing would move anything");
    assert_eq!(starts(&solved(&instance, effort)), [-150, -100]);
}

/// The later one fits on the first, too, but only on the second does it leave the other its start.
#[test]
fn a_mode_that_leaves_another_no_room_is_not_taken() {
    let only_first = Activity {
        announced: Some(-30),
        ..activity(20, &[(0, 1)])
    };
    let instance = two_of_one(vec![only_first, on_either(-20, [0, 0])]);
    let schedule = solved(&instance, Effort::first(&instance));
    assert_eq!(starts(&schedule), [-30, -20]);
}

/// Who has been told the second is asked for the first at a price; both are free.
#[test]
fn the_cheapest_mode_is_the_one_that_was_told() {
    let instance = two_of_one(vec![on_either(-50, [100, 0]), on_either(-110, [0, 100])]);
    let schedule = solved(&instance, Effort::first(&instance));
    assert_eq!(starts(&schedule), [-50, -110]);
    assert_eq!(schedule.placements[0].mode, 1);
    assert_eq!(schedule.placements[1].mode, 0);
}

/// Returns an activity of twenty minutes on the first of the two, announced or new.
fn on_the_first(announced: Option<Time>) -> Activity {
    Activity {
        announced,
        ..activity(20, &[(0, 1)])
    }
}

/// The latest start its rules allow a new one is taken; the one before is as good.
#[test]
fn what_is_new_goes_as_late_as_the_rest_lets_it() {
    let instance = two_of_one(vec![on_the_first(Some(-20)), on_the_first(None)]);
    for push in [Push::Never, Push::Later] {
        let plan = as_announced(&instance, push).expect("what was announced holds");
        assert_eq!(verify(&instance, &plan), []);
        assert_eq!(starts(&plan), [-20, -40]);
    }
}

/// Two new ones that are one block, straight on, find room as one.
#[test]
fn what_is_new_and_stands_as_one_goes_as_late_as_the_rest_lets_it() {
    let new = || on_the_first(None);
    let mut instance = two_of_one(vec![on_the_first(Some(-50)), new(), new()]);
    instance.lags = vec![Lag {
        most: Some(0),
        ..after(1, 2)
    }];
    let plan = as_announced(&instance, Push::Never).expect("what was announced holds");
    assert_eq!(verify(&instance, &plan), []);
    assert_eq!(starts(&plan), [-50, -90, -70]);
}

/// Pushed on, one stands where its rules put it; what is new between is not held to the first minute it might have.
#[test]
fn what_is_new_is_not_pushed_anywhere() {
    let begun = Activity {
        fixed: Some((-100, Some(-70))),
        ..on_the_first(None)
    };
    let announced = on_the_first(Some(-75));
    // As early as it could begin, the other one has what it needs.
    let mut instance = two_of_one(vec![begun, announced, on_the_first(None)]);
    instance.lags = vec![after(0, 1), after(0, 2)];
    assert!(as_announced(&instance, Push::Never).is_none());
    let plan = as_announced(&instance, Push::Later).expect("what was announced is pushed");
    assert_eq!(verify(&instance, &plan), []);
    assert_eq!(starts(&plan), [-100, -70, -20]);
}

/// One after another begins just when it was planned, so the plan holds and nobody moves.
#[test]
fn a_start_in_time_moves_nobody() {
    for seed in 0..2 {
        let (mut instance, _) = generate(seed, 100);
        let mut plan = solved(&instance, Effort::first(&instance));
        for _ in 0..10 {
            let to_come = (0..instance.activities.len())
                .filter(|&index| instance.activities[index].fixed.is_none());
            let next = to_come
                .min_by_key(|&index| (plan.placements[index].start, index))
                .unwrap();
            let now = plan.placements[next].start;
            for (index, activity) in instance.activities.iter_mut().enumerate() {
                let placed = plan.placements[index];
                if index == next {
                    activity.modes = vec![activity.modes.swap_remove(placed.mode)];
                    activity.fixed = Some((now, None));
                } else if activity.fixed.is_none() {
                    activity.release = activity.release.max(Some(now));
                    activity.announced = Some(placed.start);
                }
            }
            let again = solved(&instance, Effort::first(&instance));
            assert_eq!(starts(&again), starts(&plan), "seed {seed}, begun {next}");
            plan = again;
        }
    }
}
