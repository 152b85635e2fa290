//! Large instances: a schedule is known to exist, and the first search must find one.

use countback::schedule::generate::generate;
use countback::schedule::verify::verify;
use countback::schedule::*;

/// Once, a window that closed on a placed activity was never opened again by putting that one out, and these were not
/// found however long they were worked on.
#[test]
fn what_was_planted_is_found() {
    for (count, seed) in [(1_000, 10), (1_000, 17), (3_000, 2)] {
        let (instance, _) = generate(seed, count);
        match solve(&instance, Effort::first(&instance)) {
            Outcome::Feasible(schedule) | Outcome::Optimal(schedule) => {
                assert_eq!(verify(&instance, &schedule), [], "{count}, seed {seed}");
            }
            other => panic!("{count}, seed {seed}: {other:?}"),
        }
    }
}
