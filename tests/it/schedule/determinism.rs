//! The same instance, seed and work give the same plan: on one thread and on two, on a busy machine, in debug and in
//! release builds.
//!
//! The last is held by digests kept in `snapshots/`: `cargo test` compares them in a debug build with overflow and
//! debug assertions checked, and `.ci/run` once more in an optimised one. When the search finds other plans the
//! digests change, and so does the diff of whoever changed it; costs and bounds stand beside them to be looked at.

use countback::schedule::generate::generate;
use countback::schedule::verify::verify;
use countback::schedule::*;
use std::fmt::Write;
use std::sync::atomic::{AtomicBool, Ordering};

/// How many activities, and the seed they are drawn from: every feature at once, and plans exist.
const INSTANCES: [(usize, u64); 6] = [(6, 1), (10, 2), (16, 3), (24, 4), (40, 5), (60, 6)];

fn answered(instance: &Instance, threads: usize, seed: u64) -> Outcome {
    let effort = Effort {
        orders: 20,
        improve: 3,
        take_backs: 200,
        threads,
        seed,
    };
    solve(instance, effort)
}

/// Returns the FNV-1a hash of everything a schedule says (Fowler, Noll and Vo; its constants from memory): the same
/// on every machine, which the hashes of the standard library do not promise.
fn digest(schedule: &Schedule) -> u64 {
    let placed = schedule.placements.iter();
    let numbers = placed.flat_map(|it| [it.mode as i64, i64::from(it.start), i64::from(it.end)]);
    let numbers = numbers.chain([schedule.cost, schedule.bound]);
    let said = format!("{:?} {:?}", schedule.blocking, schedule.as_one);
    let bytes = numbers.flat_map(i64::to_le_bytes).chain(said.into_bytes());
    bytes.fold(0xcbf2_9ce4_8422_2325, |hash, byte| {
        (hash ^ u64::from(byte)).wrapping_mul(0x0100_0000_01b3)
    })
}

/// Lets one after another start a few minutes late, with all else announced as planned, or in time where nothing is
/// found then. Returns what is answered to those late.
fn answered_late(count: usize, seed: u64, threads: usize) -> Vec<Outcome> {
    let mut instance = generate(seed, count).0;
    let mut last = answered(&instance, threads, seed);
    let mut answers = Vec::new();
    for minutes in (1..=5).cycle().take(30) {
        let (Outcome::Optimal(plan) | Outcome::Feasible(plan)) = &last else {
            break;
        };
        let to_come = (0..count).filter(|&at| instance.activities[at].fixed.is_none());
        let Some(next) = to_come.min_by_key(|&at| (plan.placements[at].start, at)) else {
            break;
        };
        let later = begun(&instance, plan, next, minutes);
        let answer = answered(&later, threads, seed);
        answers.push(answer.clone());
        (instance, last) = match answer {
            Outcome::Optimal(_) | Outcome::Feasible(_) => (later, answer),
            Outcome::Infeasible(_) | Outcome::Unknown(_) => {
                let in_time = begun(&instance, plan, next, 0);
                let answer = answered(&in_time, threads, seed);
                (in_time, answer)
            }
        };
    }
    answers
}

/// Returns an instance after one of its activities has begun so late, and all others were told when they are due.
fn begun(instance: &Instance, plan: &Schedule, next: usize, late: Time) -> Instance {
    let mut instance = instance.clone();
    let now = plan.placements[next].start + late;
    let each = instance.activities.iter_mut().zip(&plan.placements);
    for (at, (activity, placed)) in each.enumerate() {
        if at == next {
            activity.modes = vec![activity.modes.swap_remove(placed.mode)];
            activity.fixed = Some((now, None));
        } else if activity.fixed.is_none() {
            activity.release = activity.release.max(Some(now));
            activity.announced = Some(placed.start);
        }
    }
    instance
}

#[test]
fn what_runs_late_is_put_right_the_same_way_on_one_thread_and_two() {
    let mut moved = 0;
    for (count, seed) in [(40, 5), (60, 6), (60, 11), (100, 3)] {
        let (alone, together) = (answered_late(count, seed, 1), answered_late(count, seed, 2));
        assert!(alone == together, "{count} activities of seed {seed}");
        let kept = |outcome: &&Outcome| match outcome {
            Outcome::Optimal(plan) | Outcome::Feasible(plan) => !plan.kept,
            Outcome::Infeasible(_) | Outcome::Unknown(_) => false,
        };
        moved += alone.iter().filter(kept).count();
    }
    assert!(moved > 3, "only {moved} had to be put right");
}

#[test]
fn one_thread_and_two_and_a_busy_machine_give_the_same_plan() {
    let quiet: Vec<Outcome> = INSTANCES
        .iter()
        .map(|&(count, seed)| answered(&generate(seed, count).0, 1, seed))
        .collect();
    let done = AtomicBool::new(false);
    std::thread::scope(|scope| {
        // More of them than there are cores, so that islands are set aside at any moment.
        let cores = std::thread::available_parallelism().map_or(2, usize::from);
        for _ in 0..2 * cores {
            scope.spawn(|| {
                while !done.load(Ordering::Relaxed) {
                    std::hint::spin_loop();
                }
            });
        }
        let busy: Vec<Outcome> = INSTANCES
            .iter()
            .map(|&(count, seed)| answered(&generate(seed, count).0, 2, seed))
            .collect();
        done.store(true, Ordering::Relaxed);
        assert!(
            quiet == busy,
            "other plans on two threads of a busy machine"
        );
    });
}

#[test]
fn a_plan_is_the_same_in_every_build() {
    let mut lines = String::new();
    for (count, seed) in INSTANCES {
        let instance = generate(seed, count).0;
        let (status, schedule) = match answered(&instance, 1, seed) {
            Outcome::Optimal(schedule) => ("optimal", schedule),
            Outcome::Feasible(schedule) => ("feasible", schedule),
            other => panic!("a plan of {count} activities from seed {seed} exists: {other:?}"),
        };
        assert_eq!(verify(&instance, &schedule), []);
        let (cost, bound, digest) = (schedule.cost, schedule.bound, digest(&schedule));
        writeln!(
            lines,
            "{count} activities, seed {seed}: {status}, cost {cost}, bound {bound}, {digest:016x}"
        )
        .expect("text can be written to");
    }
    insta::with_settings!({ snapshot_path => "../snapshots" }, {
        insta::assert_snapshot!("plans", lines);
    });
}
