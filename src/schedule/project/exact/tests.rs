//! Against all plans there are, on projects small enough to try every one.

use super::{Progress, Project, Solver};

/// A small generator of whole numbers (xorshift), so that every run tries the same projects.
struct Dice(u64);

impl Dice {
    fn below(&mut self, count: i32) -> i32 {
        self.0 ^= self.0 << 13;
        self.0 ^= self.0 >> 7;
        self.0 ^= self.0 << 17;
        ((self.0 >> 33) % count as u64) as i32
    }
}

/// A project of up to six activities between the two ends, with one to three resources, least and most lags.
fn project(seed: u64) -> (Project, i32) {
    let mut dice = Dice(seed.wrapping_mul(0x9E37_79B9_7F4A_7C15) | 1);
    for _ in 0..8 {
        dice.below(2);
    }
    let inner = 2 + dice.below(4) as usize;
    let resources = 1 + dice.below(3) as usize;
    let last = inner + 1;
    let mut durations = vec![0; inner + 2];
    let mut demands = vec![vec![0; resources]; inner + 2];
    let capacities: Vec<i32> = (0..resources).map(|_| 1 + dice.below(4)).collect();
    for activity in 1..=inner {
        durations[activity] = dice.below(5);
        for (demand, &capacity) in demands[activity].iter_mut().zip(&capacities) {
            *demand = dice.below(capacity + 1);
        }
    }
    let mut arcs = Vec::new();
    for one in 1..=inner {
        arcs.push((0, one, 0));
        arcs.push((one, last, durations[one]));
        for other in 1..=inner {
            if one == other || dice.below(4) > 0 {
                continue;
            }
            if one < other {
                arcs.push((one, other, dice.below(durations[one] + 2)));
            } else {
                arcs.push((one, other, -dice.below(12)));
            }
        }
    }
    let horizon = 4 + dice.below(9);
    (
        Project {
            durations,
            demands,
            capacities,
            arcs,
        },
        horizon,
    )
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

/// Runs to the end in small portions. Returns the best plan, and what was learned with the ends wanted then.
fn solve(solver: &mut Solver) -> Option<Vec<i32>> {
    let mut best = None;
    loop {
        match solver.run(3) {
            Progress::Better(starts) => best = Some(starts),
            Progress::Paused => {}
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

fn agrees_with_all_plans(seeds: std::ops::Range<u64>) {
    let (mut possible, mut impossible, mut lessons) = (0, 0, 0);
    for seed in seeds {
        let (project, horizon) = project(seed);
        let plans = all_plans(&project, horizon);
        let end = |plan: &Vec<i32>| plan[plan.len() - 1];
        let mut solver = Solver::new(&project, horizon);
        let best = solve(&mut solver);
        assert_eq!(
            best.as_ref().map(end),
            plans.iter().map(end).min(),
            "seed {seed}: {project:?} by {horizon}"
        );
        if let Some(best) = best {
            possible += 1;
            assert!(plans.contains(&best));
            assert_eq!(solver.lower_bound(), end(&best));
        } else {
            impossible += 1;
        }
        // Every lesson holds in every plan that was wanted when it was learned.
        let mut watched = Solver::new(&project, horizon);
        watched.keep_lessons = true;
        solve(&mut watched);
        for (clause, wanted) in &watched.lessons {
            lessons += 1;
            for plan in plans.iter().filter(|plan| end(plan) <= *wanted) {
                let holds = clause.iter().any(|literal| {
                    let variable = literal.side.variable();
                    let value = if variable < plan.len() {
                        plan[variable]
                    } else {
                        let (first, second) = watched.pairs[variable - plan.len()];
                        i32::from(plan[first] < plan[second])
                    };
                    (if literal.side.is_most() {
                        -value
                    } else {
                        value
                    }) >= literal.bound
                });
                assert!(holds, "seed {seed}: {clause:?} forbids {plan:?}");
            }
        }
    }
    assert!(
        possible > 100 && impossible > 20 && lessons > 100,
        "{possible} {impossible} {lessons}"
    );
}

#[test]
fn small_projects_agree_with_all_plans() {
    agrees_with_all_plans(0..600);
}
