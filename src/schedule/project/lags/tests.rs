//! The kernel against enumeration on tiny projects, and its parts against plain versions of themselves.

use std::sync::Arc;
use std::sync::atomic::{AtomicU32, Ordering};

use super::branch::{Decided, decide};
use super::decode::{Decoder, Direction};
use super::infer::Pairs;
use super::lists::Lists;
use super::model::Model;
use super::network::{NO_PATH, Network};
use super::profile::{Amounts, Profile};
use super::*;
use crate::schedule::project::random::Random;

const NEVER: &(dyn Fn() -> bool + Sync) = &|| false;

fn limits(schedules: u64, threads: usize, seed: u64) -> Limits<'static> {
    Limits {
        schedules: Some(schedules),
        threads,
        seed,
        stop: NEVER,
    }
}

/// Returns a random project of `inner` activities between beginning and end, with about `arcs` lags of both signs.
fn arbitrary(random: &mut Random, inner: usize, arcs: usize) -> Project {
    let size = inner + 2;
    let capacities: Vec<i32> = (0..2).map(|_| 1 + random.below(4) as i32).collect();
    let mut project = Project {
        durations: vec![0; size],
        demands: vec![vec![0; 2]; size],
        capacities,
        arcs: Vec::new(),
    };
    for it in 1..=inner {
        project.durations[it] = random.below(4) as i32;
        for resource in 0..2 {
            project.demands[it][resource] =
                random.below(project.capacities[resource] as usize + 1) as i32;
        }
        project.arcs.push((0, it, 0));
        project.arcs.push((it, size - 1, project.durations[it]));
    }
    for _ in 0..arcs {
        let (from, to) = (1 + random.below(inner), 1 + random.below(inner));
        if from < to {
            project.arcs.push((from, to, random.below(6) as i32 - 1));
        } else if to < from {
            // A maximum lag, mostly with some room.
            project.arcs.push((from, to, -(random.below(8) as i32)));
        }
    }
    project
}

/// Returns the least makespan by enumeration, if there is a plan.
fn enumerated(project: &Project) -> Option<Time> {
    // The shortest plan cannot be pushed together any more: some chain of lags and durations reaches from its
    // beginning to its end, and none is longer than all of them.
    let horizon = project.durations.iter().sum::<i32>()
        + project.arcs.iter().map(|arc| arc.2.max(0)).sum::<i32>();
    let mut best = None;
    let mut starts = vec![0];
    extend(project, horizon, &mut starts, &mut best);
    best
}

fn extend(project: &Project, horizon: Time, starts: &mut Vec<Time>, best: &mut Option<Time>) {
    let it = starts.len();
    if it == project.durations.len() {
        if project.verify(starts).is_none() {
            let makespan = starts[it - 1];
            *best = Some(best.map_or(makespan, |best| best.min(makespan)));
        }
        return;
    }
    for start in 0..=best.map_or(horizon, |best| best - 1) {
        starts.push(start);
        let kept = project
            .arcs
            .iter()
            .all(|&(from, to, lag)| from > it || to > it || starts[to] >= starts[from] + lag);
        if kept {
            extend(project, horizon, starts, best);
        }
        starts.pop();
    }
}

#[test]
fn tiny_projects_agree_with_enumeration() {
    let mut random = Random::of(1, 0, 0);
    let (mut planned, mut refuted) = (0, 0);
    for case in 0..600 {
        let inner = 2 + random.below(4);
        let arcs = random.below(3 * inner);
        let project = arbitrary(&mut random, inner, arcs);
        let answer = solve(&project, &limits(1_500, 1, case));
        if let Some(best) = enumerated(&project) {
            planned += 1;
            assert_eq!(answer.makespan, best, "case {case}: {project:?}");
            assert!(answer.bound <= best, "case {case}: {project:?} {answer:?}");
            let starts = answer.starts.expect("a makespan has starts");
            assert_eq!(project.verify(&starts), None, "case {case}");
            assert_eq!(starts.last(), Some(&best));
        } else {
            refuted += 1;
            assert_eq!(
                answer.status,
                Status::Infeasible,
                "case {case}: {project:?}"
            );
            assert_eq!(answer.starts, None);
        }
    }
    assert!(planned > 100 && refuted > 50, "{planned} {refuted}");
}

#[test]
fn branching_alone_decides() {
    let mut random = Random::of(2, 0, 0);
    for case in 0..300 {
        let inner = 2 + random.below(3);
        let project = arbitrary(&mut random, inner, 2 * inner);
        let expected = enumerated(&project);
        let Ok(model) = Model::new(&project) else {
            assert_eq!(expected, None, "case {case}: {project:?}");
            continue;
        };
        match decide(&model, &mut 10_000) {
            Decided::Plan(starts) => assert_eq!(project.verify(&starts), None, "case {case}"),
            Decided::Infeasible => assert_eq!(expected, None, "case {case}: {project:?}"),
            Decided::Open => unreachable!("case {case}: {project:?}"),
        }
    }
}

#[test]
fn no_optimum_is_refuted() {
    let mut random = Random::of(3, 0, 0);
    let mut sharp = 0;
    for case in 0..300 {
        let inner = 2 + random.below(3);
        let project = arbitrary(&mut random, inner, inner);
        let (Some(best), Ok(model)) = (enumerated(&project), Model::new(&project)) else {
            continue;
        };
        let pairs = Pairs::new(&model);
        assert!(
            !bound::refutes(&model, &pairs, best).0,
            "case {case}: {project:?}"
        );
        assert!(bound::energy(&model, &model.network) <= best);
        sharp += usize::from(best > 0 && bound::refutes(&model, &pairs, best - 1).0);
    }
    assert!(sharp > 100, "{sharp}");
}

/// Returns all longest paths by relaxing through each activity in turn (Floyd and Warshall).
fn relaxed(size: usize, arcs: &[(usize, usize, i32)]) -> Option<Vec<Vec<i32>>> {
    let mut paths = vec![vec![NO_PATH; size]; size];
    for (it, row) in paths.iter_mut().enumerate() {
        row[it] = 0;
    }
    for &(from, to, lag) in arcs {
        paths[from][to] = paths[from][to].max(lag);
    }
    for by in 0..size {
        for from in 0..size {
            for to in 0..size {
                if paths[from][by] > NO_PATH / 2 && paths[by][to] > NO_PATH / 2 {
                    paths[from][to] = paths[from][to].max(paths[from][by] + paths[by][to]);
                }
            }
        }
    }
    (0..size).all(|it| paths[it][it] == 0).then_some(paths)
}

#[test]
fn longest_paths_are_those_of_plain_relaxation() {
    let mut random = Random::of(4, 0, 0);
    let mut cycles = 0;
    for case in 0..300 {
        let size = 2 + random.below(9);
        let mut arcs: Vec<(usize, usize, i32)> = (0..random.below(3 * size))
            .map(|_| {
                (
                    random.below(size),
                    random.below(size),
                    random.below(16) as i32 - 10,
                )
            })
            .filter(|&(from, to, _)| from != to)
            .collect();
        let plain = relaxed(size, &arcs);
        let network = Network::new(size, &arcs);
        assert_eq!(plain.is_some(), network.is_ok(), "case {case}: {arcs:?}");
        let (Some(plain), Ok(mut network)) = (plain, network) else {
            cycles += 1;
            continue;
        };
        let agree = |network: &Network, plain: &[Vec<i32>]| {
            (0..size).all(|from| {
                network.leaving(from) == plain[from]
                    && (0..size).all(|to| network.reaching(to)[from] == plain[from][to])
            })
        };
        assert!(agree(&network, &plain), "case {case}: {arcs:?}");
        // One more arc, added to the closure or from the beginning.
        let more = (0, size - 1, random.below(16) as i32 - 4);
        arcs.push(more);
        match relaxed(size, &arcs) {
            None => assert!(network.tighten(more.0, more.1, more.2).is_err()),
            Some(plain) => {
                assert!(network.tighten(more.0, more.1, more.2).is_ok());
                assert!(agree(&network, &plain), "case {case}: {arcs:?}");
            }
        }
    }
    assert!(cycles > 30, "{cycles}");
}

#[test]
fn components_come_in_topological_order() {
    let mut random = Random::of(5, 0, 0);
    for case in 0..100 {
        let project = arbitrary(&mut random, 9, 12);
        let Ok(model) = Model::new(&project) else {
            continue;
        };
        let components = model.network.components();
        let mut all: Vec<usize> = components.concat();
        all.sort_unstable();
        assert!(all.into_iter().eq(0..model.size()), "case {case}");
        for (at, component) in components.iter().enumerate() {
            for later in components[at + 1..].iter().flatten() {
                for member in component {
                    assert!(
                        model.network.path(*later, *member) <= NO_PATH / 2,
                        "case {case}"
                    );
                }
            }
        }
    }
}

#[test]
fn every_decoded_list_keeps_every_rule() {
    let mut random = Random::of(6, 0, 0);
    let mut decoder = Decoder::default();
    let mut decoded = 0;
    for case in 0..400 {
        let inner = 4 + random.below(12);
        let arcs = random.below(2 * inner);
        let project = arbitrary(&mut random, inner, arcs);
        let Ok(model) = Model::new(&project) else {
            continue;
        };
        let lists = Lists::new(&model);
        let mut list = Vec::new();
        for direction in [Direction::Forward, Direction::Backward] {
            for _ in 0..4 {
                let mut keys: Vec<i32> =
                    (0..model.size()).map(|_| random.below(40) as i32).collect();
                lists.sort(&model, &mut keys, direction, &mut list);
                for (place, &one) in list.iter().enumerate() {
                    for &other in &list[place + 1..] {
                        assert!(match direction {
                            Direction::Forward => !model.precedes(other, one),
                            Direction::Backward => !model.precedes(one, other),
                        });
                    }
                }
                let reading = lists.reading(direction);
                if let Some(starts) = decoder.decode(&model, reading, &list, 60) {
                    decoded += 1;
                    assert_eq!(project.verify(&starts), None, "case {case}: {project:?}");
                    assert!(model.is_within(&starts));
                }
            }
        }
    }
    assert!(decoded > 500, "{decoded}");
}

#[test]
fn profiles_find_what_a_count_by_minutes_finds() {
    // Small capacities lie in lanes of sixteen bits, large ones in lanes of thirty-two; five resources need two or
    // three words.
    for unit in [1, 100_000] {
        let mut random = Random::of(7, 0, 0);
        let size = 30;
        let capacities: Vec<i32> = (0..5)
            .map(|_| unit * (2 + random.below(5) as i32))
            .collect();
        let demands: Vec<Vec<i32>> = (0..size)
            .map(|_| {
                capacities
                    .iter()
                    .map(|&capacity| unit * random.below((capacity / unit) as usize + 1) as i32)
                    .collect()
            })
            .collect();
        let amounts = Amounts::new(&demands, &capacities);
        let mut profile = Profile::default();
        profile.clear(&amounts);
        let mut placed: Vec<(usize, i32, i32)> = Vec::new();
        for it in 0..size {
            let duration = random.below(7) as i32;
            let from = random.below(20) as i32;
            let fits = |start: i32| {
                (start..start + duration).all(|at| {
                    (0..5).all(|resource| {
                        let used: i32 = placed
                            .iter()
                            .filter(|&&(_, start, end)| (start..end).contains(&at))
                            .map(|&(other, _, _)| demands[other][resource])
                            .sum();
                        used + demands[it][resource] <= capacities[resource]
                    })
                })
            };
            let start = profile.earliest(&amounts, it, duration, from);
            assert_eq!(Some(start), (from..1_000).find(|&start| fits(start)));
            profile.take(&amounts, it, start, duration);
            placed.push((it, start, start + duration));
            if it % 3 == 2 {
                let (gone, start, end) = placed.swap_remove(random.below(placed.len()));
                profile.give(&amounts, gone, start, end - start);
            }
        }
    }
}

#[test]
fn threads_do_not_change_the_answer_and_work_is_counted_exactly() {
    let mut random = Random::of(8, 0, 0);
    // Without maximum lags there is a plan, and with fifty activities more to improve than three thousand lists do.
    let mut project = arbitrary(&mut random, 50, 60);
    project.arcs.retain(|&(from, to, _)| from < to);
    let one = solve(&project, &limits(3_001, 1, 5));
    let two = solve(&project, &limits(3_001, 2, 5));
    assert_eq!(one, two);
    assert!(
        one.status == Status::Optimal || one.schedules == 3_001,
        "{one:?}"
    );
    assert_eq!(one, solve(&project, &limits(3_001, 2, 5)));
}

#[test]
fn stop_is_obeyed_at_the_next_barrier() {
    let mut random = Random::of(9, 0, 0);
    let mut project = arbitrary(&mut random, 40, 40);
    project.arcs.retain(|&(from, to, _)| from < to);
    let asked = AtomicU32::new(0);
    let stop = || asked.fetch_add(1, Ordering::Relaxed) == 2;
    let limits = Limits {
        schedules: None,
        threads: 1,
        seed: 0,
        stop: &stop,
    };
    let answer = solve(&project, &limits);
    let epoch = Ground::new(&project).epoch();
    assert!(answer.schedules <= 2 * 2 * epoch, "{answer:?}");
    assert!(answer.starts.is_some());
}

#[test]
fn islands_take_what_is_better_and_nothing_else() {
    // Two activities of three minutes on one machine.
    let project = Project {
        durations: vec![0, 3, 3, 0],
        demands: vec![vec![0], vec![1], vec![1], vec![0]],
        capacities: vec![1],
        arcs: vec![(0, 1, 0), (0, 2, 0), (1, 3, 3), (2, 3, 3)],
    };
    let ground = Arc::new(Ground::new(&project));
    let mut island = Island::new(&ground, 1, 1);
    assert!(!island.offer(&[0, 0, 0, 3]), "both at once");
    assert!(!island.offer(&[0, 0, 4, 6]), "beyond the end");
    assert!(!island.offer(&[0, 0]), "too few");
    assert!(island.offer(&[0, 0, 4, 7]));
    assert!(!island.offer(&[0, 0, 5, 8]), "worse");
    assert_eq!(island.best().map(|(_, makespan)| makespan), Some(7));
    // Energy alone proves six.
    assert_eq!(island.bound(), 6);
    assert_eq!(island.status(), Status::Feasible);
    assert!(island.offer(&[0, 3, 0, 6]));
    assert_eq!(island.status(), Status::Optimal);
    assert!(island.is_done());
}

#[test]
fn what_is_too_large_is_not_known() {
    let project = Project {
        durations: vec![0, i32::MAX, 0],
        demands: vec![vec![]; 3],
        capacities: vec![],
        arcs: vec![(0, 1, 0), (1, 2, i32::MAX)],
    };
    let answer = solve(&project, &limits(10, 1, 0));
    assert_eq!((answer.status, answer.starts), (Status::Unknown, None));
}

#[test]
fn nothing_to_do_takes_no_time() {
    let project = Project {
        durations: vec![0, 0],
        demands: vec![vec![1], vec![0]],
        capacities: vec![0],
        arcs: vec![(0, 1, 0)],
    };
    let answer = solve(&project, &limits(100, 1, 0));
    assert_eq!((answer.status, answer.makespan), (Status::Optimal, 0));
}
