//! The search against brute force: tiny instances with every feature at once, every mode and start tried.
//!
//! `COUNTBACK_CASES=20000 cargo test --test it schedule::brute` tries as many instances by hand.

use super::arbitrary::instance;
use super::{answer, cases};
use countback::schedule::verify::{self, verify};
use countback::schedule::*;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

/// Returns where an activity could stand if there were no other.
fn alone(instance: &Instance, index: usize) -> Vec<Placement> {
    let activity = instance.activities[index].clone();
    let single = Instance {
        activities: vec![activity.clone()],
        lags: Vec::new(),
        holds: Vec::new(),
        wishes: Vec::new(),
        levels: Vec::new(),
        ..instance.clone()
    };
    let mut found = Vec::new();
    for (mode, way) in activity.modes.iter().enumerate() {
        let starts = match activity.fixed {
            Some((start, _)) => start..=start,
            None => instance.earliest..=instance.latest,
        };
        for start in starts {
            let known = activity.fixed.and_then(|(_, end)| end);
            let Some(end) = known.or_else(|| instance.end_of(way, start)) else {
                continue;
            };
            let placed = Placement { mode, start, end };
            if verify::placements(&single, &[placed]).is_empty() {
                found.push(placed);
            }
        }
    }
    found
}

/// Returns the least cost of any right plan, or `None` where there is none.
pub(super) fn optimum(instance: &Instance) -> Option<i64> {
    let choices: Vec<Vec<Placement>> = (0..instance.activities.len())
        .map(|index| alone(instance, index))
        .collect();
    let mut best = None;
    let mut placements = Vec::new();
    deepen(instance, &choices, &mut placements, &mut best);
    best
}

fn deepen(
    instance: &Instance,
    choices: &[Vec<Placement>],
    placements: &mut Vec<Placement>,
    best: &mut Option<i64>,
) {
    let Some(next) = choices.get(placements.len()) else {
        if verify::placements(instance, placements).is_empty() {
            let cost = verify::cost(instance, placements);
            *best = Some(best.map_or(cost, |best| best.min(cost)));
        }
        return;
    };
    for &placed in next {
        placements.push(placed);
        if lags_hold(instance, placements) {
            deepen(instance, choices, placements, best);
        }
        placements.pop();
    }
}

/// Returns whether the lags among those that are placed hold; a hold is given back no earlier than it is taken.
fn lags_hold(instance: &Instance, placements: &[Placement]) -> bool {
    let last = placements.len() - 1;
    let fixed = |id: ActivityId| instance.activities[id.0].fixed.is_some();
    let between = |from: (ActivityId, Edge), to: (ActivityId, Edge)| {
        let new = from.0.0.max(to.0.0) == last && !(fixed(from.0) && fixed(to.0));
        let edge = |(id, edge): (ActivityId, Edge)| match edge {
            Edge::Start => placements[id.0].start,
            Edge::End => placements[id.0].end,
        };
        new.then(|| edge(to) - edge(from))
    };
    instance.lags.iter().all(|lag| {
        between(lag.from, lag.to)
            .is_none_or(|it| lag.least <= it && lag.most.is_none_or(|most| it <= most))
    }) && instance
        .holds
        .iter()
        .all(|hold| between(hold.from, hold.to).is_none_or(|it| it >= 0))
}

/// Two lags tie the same pair: one their starts, the other the end of the first, whose length is still open. The block
/// that the starts make must not forget the end.
#[test]
fn an_open_length_is_held_against_what_stands_beside_it() {
    let mode = |duration| Mode {
        duration,
        demands: Vec::new(),
        states: Vec::new(),
        cost: 0,
    };
    let activity = |modes| Activity {
        modes,
        calendars: Vec::new(),
        release: None,
        deadline: None,
        due: None,
        fixed: None,
        weight: 0,
        announced: None,
    };
    let until = Duration::Until {
        gate: GateId(0),
        count: 1,
        at_least: 0,
        then: 0,
    };
    let lag = |from, least| Lag {
        from: (ActivityId(0), from),
        to: (ActivityId(1), Edge::Start),
        least,
        most: Some(least),
    };
    let instance = Instance {
        earliest: 0,
        latest: 12,
        gates: vec![Gate {
            openings: vec![8, 11],
        }],
        activities: vec![
            activity(vec![mode(Duration::Fixed(0)), mode(until)]),
            activity(vec![mode(Duration::Fixed(0))]),
        ],
        lags: vec![lag(Edge::End, 0), lag(Edge::Start, 1)],
        ..Instance::default()
    };
    assert!(optimum(&instance).is_some(), "a wait from 7 until 8 does");
    match answer(&instance, 1) {
        Outcome::Optimal(schedule) | Outcome::Feasible(schedule) => {
            assert_eq!(verify(&instance, &schedule), []);
        }
        Outcome::Infeasible(conflict) => panic!("a plan exists: {conflict:?}"),
        Outcome::Unknown(_) => {}
    }
}

proptest! {
    #![proptest_config(ProptestConfig {
        cases: cases(300),
        failure_persistence: None,
        max_shrink_iters: 4_000,
        ..ProptestConfig::default()
    })]

    /// Whatever the search says is true: its schedules are right, what it calls impossible is, what it calls optimal
    /// is not beaten, and no plan costs less than its bound.
    #[test]
    fn what_the_search_says_is_true(instance in instance(4)) {
        let best = optimum(&instance);
        match answer(&instance, 1) {
            Outcome::Optimal(schedule) => {
                prop_assert_eq!(verify(&instance, &schedule), []);
                prop_assert_eq!(Some(schedule.cost), best);
                prop_assert_eq!(schedule.bound, schedule.cost);
            }
            Outcome::Feasible(schedule) => {
                prop_assert_eq!(verify(&instance, &schedule), []);
                let best = best.expect("a plan is right only where one exists");
                prop_assert!(schedule.bound <= best, "{} is said to be the least, {best} is", schedule.bound);
            }
            Outcome::Infeasible(conflict) => {
                prop_assert_eq!(best, None, "called impossible because of {:?}", conflict);
            }
            Outcome::Unknown(_) => {}
        }
    }
}

/// Returns the first `count` instances for which a plan exists, each with its least cost; the same each time. Nothing
/// is announced: what was is kept where it can be, though better plans may exist.
fn possible(count: usize) -> Vec<(Instance, i64)> {
    let mut runner = TestRunner::deterministic();
    let strategy = instance(4);
    let drawn = std::iter::repeat_with(|| strategy.new_tree(&mut runner).unwrap().current());
    drawn
        .filter_map(|mut instance| {
            for activity in &mut instance.activities {
                activity.announced = None;
            }
            let best = optimum(&instance)?;
            Some((instance, best))
        })
        .take(count)
        .collect()
}

/// How often the search finds a plan where there is one, how often a best one, and how often it knows: figures kept
/// from slipping, not a promise of the search.
#[test]
fn the_search_finds_nearly_every_plan_there_is() {
    let instances = possible(200);
    let (mut found, mut best, mut proved) = (0, 0, 0);
    for (instance, least) in &instances {
        match answer(instance, 4) {
            Outcome::Optimal(schedule) => {
                found += 1;
                best += usize::from(schedule.cost == *least);
                proved += 1;
            }
            Outcome::Feasible(schedule) => {
                found += 1;
                best += usize::from(schedule.cost == *least);
            }
            Outcome::Infeasible(_) | Outcome::Unknown(_) => {}
        }
    }
    println!(
        "of {}: {found} found, {best} best, {proved} proved",
        instances.len()
    );
    assert!(found >= 193, "{found} found");
    assert!(best >= 172, "{best} best");
}

/// Of those that are impossible, how many the search calls so.
#[test]
fn what_cannot_be_is_mostly_said_to_be_impossible() {
    let mut runner = TestRunner::deterministic();
    let strategy = instance(4);
    let (mut impossible, mut said) = (0, 0);
    while impossible < 100 {
        let instance = strategy.new_tree(&mut runner).unwrap().current();
        if optimum(&instance).is_none() {
            impossible += 1;
            said += usize::from(matches!(answer(&instance, 1), Outcome::Infeasible(_)));
        }
    }
    println!("of {impossible} impossible, {said} are said to be");
    assert!(said >= 45, "{said} of {impossible}");
}
