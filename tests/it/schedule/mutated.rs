//! The check against the reference: right plans of arbitrary instances, and the same with one start moved by a
//! minute; and the cost of any plan, which the engine reckons in two ways.

use super::arbitrary::{HORIZON, instance, placed, relaxed};
use super::reference::broken;
use super::refused::kind;
use countback::schedule::verify::{self, Violation, verify};
use countback::schedule::*;
use proptest::prelude::*;
use proptest::strategy::ValueTree;
use proptest::test_runner::TestRunner;

fn found(instance: &Instance, placements: &[Placement]) -> Vec<Violation> {
    let mut found = verify::placements(instance, placements);
    found.sort_unstable();
    found
}

/// Returns the plans that differ from this one by a minute in one start: with the duration that follows, and with
/// the end left where it was.
fn neighbours(instance: &Instance, placements: &[Placement]) -> Vec<Vec<Placement>> {
    let mut all = Vec::new();
    for index in 0..placements.len() {
        for by in [-1, 1] {
            let mut moved = placements.to_vec();
            moved[index].start += by;
            all.push(moved.clone());
            let mode = &instance.activities[index].modes[moved[index].mode];
            if let Some(end) = instance.end_of(mode, moved[index].start) {
                moved[index].end = end;
                all.push(moved);
            }
        }
    }
    all
}

fn picks() -> impl Strategy<Value = Vec<(usize, Time)>> {
    prop::collection::vec((0..2_usize, 0..HORIZON), 4)
}

proptest! {
    #![proptest_config(ProptestConfig { cases: 512, failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn the_check_complains_of_just_what_is_wrong(instance in instance(4), picks in picks()) {
        let placements = placed(&instance, &picks);
        prop_assert_eq!(found(&instance, &placements), broken(&instance, &placements));
        let instance = relaxed(instance, &placements);
        prop_assert_eq!(found(&instance, &placements), []);
        for moved in neighbours(&instance, &placements) {
            prop_assert_eq!(found(&instance, &moved), broken(&instance, &moved), "{:?}", moved);
        }
    }

    #[test]
    fn cost_is_the_same_by_stretches_and_by_minutes(instance in instance(4), picks in picks()) {
        let placements = placed(&instance, &picks);
        let said = cost::cost(&instance, &placements).total();
        prop_assert_eq!(verify::cost(&instance, &placements), said);
        let instance = relaxed(instance, &placements);
        let cost = cost::cost(&instance, &placements).total();
        let schedule = Schedule { placements, cost, bound: cost, ..Schedule::default() };
        prop_assert_eq!(verify(&instance, &schedule), []);
    }
}

/// The property above says something only where moving a start breaks rules, and each of them.
#[test]
fn moving_a_start_by_a_minute_breaks_every_rule_there_is() {
    let mut runner = TestRunner::deterministic();
    let (mut moves, mut refused, mut told) = (0, 0, [0; 14]);
    for _ in 0..300 {
        let drawn = (instance(4), picks()).new_tree(&mut runner).unwrap();
        let (instance, picks) = drawn.current();
        let placements = placed(&instance, &picks);
        let instance = relaxed(instance, &placements);
        for moved in neighbours(&instance, &placements) {
            let found = verify::placements(&instance, &moved);
            moves += 1;
            refused += usize::from(!found.is_empty());
            for violation in found {
                told[kind(&violation)] += 1;
            }
        }
    }
    assert!(refused * 2 > moves, "{refused} of {moves}");
    // From the horizon to the states; a start alone can change neither how many there are nor their modes.
    assert!(told[2..12].iter().all(|&times| times >= 10), "{told:?}");
}
