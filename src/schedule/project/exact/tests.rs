//! Against all plans there are, on projects small enough to try every one.

use super::literal::Literal;
use super::model::Pair;
use super::{Progress, Project, Solver};

/// A small generator of whole numbers (Marsaglia's xorshift, 2003, from memory), so that every run tries the same projects.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: i32) -> i32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 33) % count as u64) as i32
    }
}

/// A project of up to six activities between the two ends, with one to three resources; every other one has
/// many least and most lags, and the others are crowded.
fn small(seed: u64) -> (Project, i32) {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..8 {
        dice.below(2);
    }
    let crowded = seed % 2 == 1;
    let inner = if crowded { 5 } else { 2 } + dice.below(if crowded { 2 } else { 4 }) as usize;
    let resources = 1 + dice.below(3) as usize;
    let last = inner + 1;
    let mut durations = vec![0; inner + 2];
    let mut demands = vec![vec![0; resources]; inner + 2];
    let capacities: Vec<i32> = (0..resources)
        .map(|_| if crowded { 3 } else { 1 } + dice.below(4))
        .collect();
    let mut arcs = Vec::new();
    for one in 1..=inner {
        durations[one] = i32::from(crowded) + dice.below(4);
        for (demand, &capacity) in demands[one].iter_mut().zip(&capacities) {
            *demand = if crowded {
                1 + dice.below(capacity - 1)
            } else {
                dice.below(capacity + 1)
            };
        }
        arcs.push((0, one, 0));
        arcs.push((one, last, durations[one]));
        for other in 1..=inner {
            if one == other || dice.below(if crowded { 12 } else { 4 }) > 0 {
                continue;
            }
            if one < other {
                arcs.push((one, other, dice.below(durations[one] + 2)));
            } else {
                arcs.push((one, other, -dice.below(12)));
            }
        }
    }
    let horizon = if crowded {
        7 + dice.below(3)
    } else {
        4 + dice.below(9)
    };
    let project = Project {
        durations,
        demands,
        capacities,
        arcs,
    };
    (project, horizon)
}

/// Every plan that ends by the horizon, found by trying all starts one after another.
fn all_plans(project: &Project, horizon: i32) -> Vec<Vec<i32>> {
    fn fits(project: &Project, starts: &[i32]) -> bool {
        let placed = starts.len();
        let newest = placed - 1;
        let lags = project
            .arcs
            .iter()
            .all(|&(from, to, lag)| from.max(to) != newest || starts[to] >= starts[from] + lag);
        lags && (0..project.capacities.len()).all(|resource| {
            (starts[newest]..starts[newest] + project.durations[newest]).all(|minute| {
                let used: i32 = (0..placed)
                    .filter(|&it| {
                        starts[it] <= minute && minute < starts[it] + project.durations[it]
                    })
                    .map(|it| project.demands[it][resource])
                    .sum();
                used <= project.capacities[resource]
            })
        })
    }
    fn extend(project: &Project, horizon: i32, starts: &mut Vec<i32>, plans: &mut Vec<Vec<i32>>) {
        let next = starts.len();
        if next == project.durations.len() {
            plans.push(starts.clone());
            return;
        }
        let latest = if next == 0 { 0 } else { horizon };
        for start in 0..=latest {
            starts.push(start);
            if fits(project, starts) {
                extend(project, horizon, starts, plans);
            }
            starts.pop();
        }
    }
    let mut plans = Vec::new();
    extend(project, horizon, &mut Vec::new(), &mut plans);
    plans
}

fn end(plan: &[i32]) -> i32 {
    plan.last().copied().unwrap()
}

/// Runs to the end, so many conflicts at a time. Returns the best plan.
fn finish(solver: &mut Solver, conflicts: u64) -> Option<Vec<i32>> {
    let mut best: Option<Vec<i32>> = None;
    loop {
        match solver.run(conflicts) {
            Progress::Better(starts) => {
                assert!(best.as_ref().is_none_or(|best| end(&starts) < end(best)));
                best = Some(starts);
            }
            Progress::Paused => assert!(
                best.as_ref()
                    .is_none_or(|best| solver.lower_bound() <= end(best))
            ),
            Progress::Proved => {
                assert!(best.is_some());
                return best;
            }
            Progress::Infeasible => {
                assert!(best.is_none());
                return None;
            }
        }
    }
}

/// Whether a clause holds in a plan.
fn holds(clause: &[Literal], plan: &[i32], pairs: &[Pair]) -> bool {
    clause.iter().any(|literal| {
        let variable = literal.side.variable();
        let value = if variable < plan.len() {
            plan[variable]
        } else {
            let pair = pairs[variable - plan.len()];
            i32::from(plan[pair.first] < plan[pair.second])
        };
        (if literal.side.is_most() {
            -value
        } else {
            value
        }) >= literal.bound
    })
}

/// Every lesson must hold in every plan that was wanted when it was learned. Returns how many there were.
fn check_lessons(seed: u64, solver: &mut Solver, plans: &[Vec<i32>]) -> usize {
    let pairs = (solver.engine.as_ref()).map_or(Vec::new(), |engine| engine.model.pairs.clone());
    let mut checked = 0;
    loop {
        let progress = solver.run(1);
        if let Some(engine) = &mut solver.engine {
            for (clause, wanted) in engine.learning.log.drain(..) {
                checked += 1;
                for plan in plans.iter().filter(|plan| end(plan) <= wanted) {
                    assert!(
                        holds(&clause, plan, &pairs),
                        "{seed}: {clause:?} forbids {plan:?}"
                    );
                }
            }
        }
        if matches!(progress, Progress::Proved | Progress::Infeasible) {
            return checked;
        }
    }
}

#[test]
fn small_projects_agree_with_all_plans() {
    let (mut possible, mut impossible, mut lessons) = (0, 0, 0);
    for seed in 0..SEEDS {
        let (project, horizon) = small(seed);
        let plans = all_plans(&project, horizon);
        let mut solver = Solver::new(&project, horizon);
        let bound = solver.lower_bound();
        let best = finish(&mut solver, 3);
        let least = plans.iter().map(|plan| end(plan)).min();
        assert_eq!(
            best.as_deref().map(end),
            least,
            "seed {seed}: {project:?} by {horizon}"
        );
        assert!(least.is_none_or(|least| bound <= least));
        if let Some(best) = best {
            possible += 1;
            assert!(plans.contains(&best));
            assert_eq!(solver.lower_bound(), end(&best));
        } else {
            impossible += 1;
            assert_eq!(solver.lower_bound(), horizon + 1);
        }
        lessons += check_lessons(seed, &mut Solver::new(&project, horizon), &plans);
    }
    let counts = (possible, impossible, lessons);
    assert!(
        possible > SEEDS / 3 && impossible > SEEDS / 10 && lessons > SEEDS as usize / 2,
        "{counts:?}"
    );
}

/// So many small projects are tried.
const SEEDS: u64 = 4000;

/// Resource-constrained project of ten activities, from the examples of the python-mip library, which asserts 21.
fn ten_activities() -> Project {
    let durations = vec![0, 3, 2, 5, 4, 2, 3, 4, 2, 4, 6, 0];
    let after: [&[usize]; 12] = [
        &[1, 2, 3],
        &[4, 5],
        &[9, 10],
        &[8],
        &[6, 7],
        &[9, 10],
        &[8, 9],
        &[8],
        &[11],
        &[11],
        &[11],
        &[],
    ];
    let demands = [
        [0, 0],
        [5, 1],
        [0, 4],
        [1, 4],
        [1, 3],
        [3, 2],
        [3, 1],
        [2, 4],
        [4, 0],
        [5, 2],
        [2, 5],
        [0, 0],
    ];
    Project {
        arcs: arcs(&durations, &after),
        demands: demands.iter().map(|row| row.to_vec()).collect(),
        capacities: vec![6, 8],
        durations,
    }
}

fn arcs(durations: &[i32], after: &[&[usize]]) -> Vec<(usize, usize, i32)> {
    (after.iter().enumerate())
        .flat_map(|(one, others)| others.iter().map(move |&other| (one, other)))
        .map(|(one, other)| (one, other, durations[one]))
        .collect()
}

/// The project `j301_1` of PSPLIB (Kolisch and Sprecher, 1997): optimum 43, critical path 38. Each activity uses one resource.
fn j301_1() -> Project {
    let durations = vec![
        0, 8, 4, 6, 3, 8, 5, 9, 2, 7, 9, 2, 6, 3, 9, 10, 6, 5, 3, 7, 2, 7, 2, 3, 3, 7, 8, 3, 7, 2,
        2, 0,
    ];
    let uses = [
        (0, 0),
        (0, 4),
        (0, 10),
        (3, 3),
        (0, 3),
        (3, 8),
        (0, 4),
        (1, 1),
        (0, 6),
        (3, 1),
        (1, 5),
        (1, 7),
        (0, 4),
        (1, 8),
        (0, 3),
        (3, 5),
        (3, 8),
        (3, 7),
        (1, 1),
        (1, 10),
        (3, 6),
        (0, 2),
        (0, 3),
        (1, 9),
        (0, 4),
        (2, 4),
        (3, 7),
        (1, 8),
        (1, 7),
        (1, 7),
        (2, 2),
        (0, 0),
    ];
    let after: [&[usize]; 32] = [
        &[1, 2, 3],
        &[5, 10, 14],
        &[6, 7, 12],
        &[4, 8, 9],
        &[19],
        &[29],
        &[26],
        &[11, 18, 26],
        &[13],
        &[15, 24],
        &[19, 25],
        &[13],
        &[16, 17],
        &[16],
        &[24],
        &[20, 21],
        &[21],
        &[19, 21],
        &[23, 28],
        &[22, 24],
        &[27],
        &[22],
        &[23],
        &[29],
        &[29],
        &[30],
        &[27],
        &[30],
        &[31],
        &[31],
        &[31],
        &[],
    ];
    let demands = uses.iter().map(|&(resource, amount)| {
        let mut row = vec![0; 4];
        row[resource] = amount;
        row
    });
    Project {
        arcs: arcs(&durations, &after),
        demands: demands.collect(),
        capacities: vec![12, 13, 4, 12],
        durations,
    }
}

#[test]
fn published_projects_reach_their_optimum() {
    for (project, path, optimum) in [(ten_activities(), 14, 21), (j301_1(), 38, 43)] {
        let mut solver = Solver::new(&project, 200);
        assert!(solver.lower_bound() >= path);
        let best = finish(&mut solver, 10).unwrap();
        assert_eq!(project.verify(&best), None);
        assert_eq!((end(&best), solver.lower_bound()), (optimum, optimum));
    }
}

#[test]
fn no_plan_is_shorter_than_the_optimum() {
    let mut solver = Solver::new(&j301_1(), 42);
    assert_eq!(finish(&mut solver, 1000), None);
    assert_eq!(solver.lower_bound(), 43);
}

#[test]
fn only_plans_better_than_the_bound_are_wanted() {
    let project = j301_1();
    let mut solver = Solver::new(&project, 100);
    solver.set_upper_bound(44);
    let found = loop {
        match solver.run(100) {
            Progress::Better(starts) => break end(&starts),
            Progress::Paused => {}
            other => panic!("{other:?}"),
        }
    };
    assert_eq!(found, 43);
    let mut solver = Solver::new(&project, 100);
    solver.set_upper_bound(43);
    while solver.run(100) == Progress::Paused {}
    assert_eq!(solver.run(100), Progress::Proved);
    assert_eq!(solver.lower_bound(), 43);
}

#[test]
fn a_suggested_plan_leads_to_an_answer_of_the_same_worth() {
    let project = ten_activities();
    let plan = [0, 0, 0, 10, 3, 3, 7, 7, 15, 11, 15, 21];
    assert_eq!(project.verify(&plan), None);
    let mut solver = Solver::new(&project, 60);
    solver.suggest(&plan);
    assert_eq!(finish(&mut solver, 5).as_deref().map(end), Some(21));
}

#[test]
fn it_does_not_matter_how_often_it_is_interrupted() {
    for seed in [1, 3, 5, 7, 9] {
        let (project, horizon) = small(seed);
        let mut whole = Solver::new(&project, horizon);
        let mut portions = Solver::new(&project, horizon);
        assert_eq!(finish(&mut whole, 1 << 40), finish(&mut portions, 1));
        assert_eq!(whole.conflicts(), portions.conflicts());
        assert_eq!(whole.steps(), portions.steps());
    }
}

#[test]
fn lags_that_go_round_with_a_gain_are_impossible() {
    let mut project = ten_activities();
    project.arcs.push((9, 1, -6));
    assert_eq!(finish(&mut Solver::new(&project, 1000), 100), None);
}

#[test]
fn a_demand_above_the_capacity_is_impossible() {
    let mut project = ten_activities();
    project.demands[4][0] = 7;
    assert_eq!(finish(&mut Solver::new(&project, 1000), 100), None);
}

#[test]
fn lubys_sequence_doubles() {
    let sequence: Vec<u64> = (0..15).map(super::luby).collect();
    assert_eq!(sequence, [1, 1, 2, 1, 1, 2, 4, 1, 1, 2, 1, 1, 2, 4, 8]);
}
