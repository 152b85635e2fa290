//! Projects: published instances read and solved, and small ones against brute force and in the mirror.

use super::activity;
use countback::exchange::published::Format;
use countback::schedule::project::{Answer, Limits, Project, Status, bound, solve};
use countback::schedule::*;
use proptest::prelude::*;

fn published(name: &str) -> Project {
    let folder = std::path::Path::new(env!("CARGO_MANIFEST_DIR")).join("tests/data/instances");
    let text = std::fs::read_to_string(folder.join(name)).unwrap();
    let extension = name.rsplit('.').next().unwrap();
    let format = Format::of_extension(extension).unwrap();
    format
        .read(&text)
        .unwrap_or_else(|faults| panic!("{name}: {faults:?}"))
}

fn solved(project: &Project, schedules: u64, threads: usize, seed: u64) -> Answer {
    let limits = Limits {
        schedules: Some(schedules),
        threads,
        seed,
        stop: &|| false,
    };
    checked(project, solve(project, &limits))
}

/// Solves until it is settled, or this has been asked so often.
fn proved(project: &Project, polls: usize) -> Answer {
    let asked = std::sync::atomic::AtomicUsize::new(0);
    let limits = Limits {
        schedules: None,
        threads: 2,
        seed: 1,
        stop: &|| asked.fetch_add(1, std::sync::atomic::Ordering::Relaxed) >= polls,
    };
    checked(project, solve(project, &limits))
}

/// Returns the answer, after the plain check of the project and that of its mirror image.
fn checked(project: &Project, answer: Answer) -> Answer {
    assert_eq!(
        answer.status == Status::Optimal,
        answer.starts.is_some() && answer.bound == answer.makespan
    );
    if let Some(starts) = &answer.starts {
        assert_eq!(project.verify(starts), None);
        assert_eq!(starts.last(), Some(&answer.makespan));
        assert!(answer.bound <= answer.makespan);
        let schedule = Schedule {
            placements: project.placements(starts),
            cost: i64::from(answer.makespan),
            bound: i64::from(answer.bound),
            ..Schedule::default()
        };
        assert_eq!(
            verify::verify(&project.instance(answer.makespan), &schedule),
            []
        );
        if answer.makespan > 0 {
            let shorter = project.instance(answer.makespan - 1);
            assert_ne!(
                verify::verify(&shorter, &schedule),
                [],
                "a minute less is too little"
            );
        }
    }
    answer
}

/// PSPLIB's list of optima for J30 gives 43 for `j301_1`; its critical path of 38 stands in the file ("MPM-Time").
#[test]
fn j301_1_is_solved_and_proved() {
    let project = published("j301_1.sm");
    assert_eq!(project.len(), 32);
    assert_eq!(project.capacities, [12, 13, 4, 12]);
    assert_eq!(project.critical_path_length(), Some(38));
    assert_eq!(solved(&project, 2_000, 1, 1).makespan, 43);
    let answer = proved(&project, 100_000);
    assert_eq!((answer.status, answer.makespan), (Status::Optimal, 43));
}

/// OR-Tools CP-SAT 9.15 (the Python package `ortools`) proves that `UBO10_01` has no schedule, and so must this. Its
/// critical path alone is 18, and no resource is short for any activity alone: it takes a proof.
#[test]
fn ubo10_01_is_proved_impossible() {
    let project = published("UBO10_01.sch");
    assert_eq!(project.len(), 12);
    assert_eq!(project.capacities, [10; 5]);
    assert_eq!(project.critical_path_length(), Some(18));
    assert!(project.has_maximum_lags());
    let answer = proved(&project, 100_000);
    assert_eq!((answer.status, answer.starts), (Status::Infeasible, None));
}

/// OR-Tools CP-SAT 9.15 (the Python package `ortools`), one thread, reaches 89 in a minute, with the critical path of
/// 44 as its bound. The fourth resource alone is busy for 88 minutes, so 88 is the optimum, and `solve` has to say so.
#[test]
fn rg300_1_is_solved_and_proved() {
    let project = published("RG300_1.rcp");
    assert_eq!(project.len(), 302);
    assert_eq!(project.capacities, [10; 4]);
    assert_eq!(project.critical_path_length(), Some(44));
    assert!(!project.has_maximum_lags());
    let busy = project.durations.iter().zip(&project.demands);
    let energy: i32 = busy.map(|(length, demands)| length * demands[3]).sum();
    assert_eq!((energy + 9) / 10, 88);
    let answer = solved(&project, 1_000, 1, 1);
    assert_eq!((answer.status, answer.makespan), (Status::Optimal, 88));
}

/// The same seed and number of schedules: the same answer, on one thread as on two.
#[test]
fn answers_can_be_repeated() {
    for name in ["j301_1.sm", "UBO10_01.sch", "RG300_1.rcp"] {
        let project = published(name);
        for schedules in [1, 2, 77, 500] {
            let one = solved(&project, schedules, 1, 7);
            assert_eq!(one, solved(&project, schedules, 2, 7), "{name}");
            assert!(one.schedules <= schedules, "{name}");
        }
    }
}

/// Small projects: durations, demands, and lags that lead onward or, now and then, back.
fn projects(maximum_lags: bool) -> impl Strategy<Value = Project> {
    let back = if maximum_lags { 0..3_usize } else { 0..1 };
    let task = (0..4_i32, prop::collection::vec(0..4_i32, 2));
    let arc = (
        any::<prop::sample::Index>(),
        any::<prop::sample::Index>(),
        -3..5_i32,
    );
    (
        prop::collection::vec(task, 1..5),
        prop::collection::vec(2..5_i32, 2),
        prop::collection::vec(arc.clone(), 0..5),
        prop::collection::vec(arc, back),
    )
        .prop_map(|(tasks, capacities, onward, back)| {
            let last = tasks.len() + 1;
            let mut project = Project {
                durations: vec![0],
                demands: vec![vec![0; 2]],
                capacities,
                arcs: Vec::new(),
            };
            for (length, demands) in tasks {
                project.durations.push(length);
                project.demands.push(demands);
            }
            project.durations.push(0);
            project.demands.push(vec![0; 2]);
            for at in 1..last {
                project.arcs.push((0, at, 0));
                project.arcs.push((at, last, project.durations[at]));
            }
            for (one, other, lag) in onward {
                let (one, other) = (1 + one.index(last - 1), 1 + other.index(last - 1));
                if one != other {
                    project.arcs.push((one.min(other), one.max(other), lag));
                }
            }
            for (one, other, lag) in back {
                let (one, other) = (1 + one.index(last - 1), 1 + other.index(last - 1));
                if one != other {
                    project
                        .arcs
                        .push((one.max(other), one.min(other), -lag.abs() - 1));
                }
            }
            project
        })
}

/// Returns the shortest makespan of all, tried one after another.
fn brute(project: &Project) -> Option<Time> {
    fn place(project: &Project, starts: &mut Vec<Time>, best: &mut Option<Time>, horizon: Time) {
        if starts.len() + 1 == project.len() {
            let ends = (0..starts.len()).map(|at| starts[at] + project.durations[at]);
            let mut all = starts.clone();
            let last = project.len() - 1;
            let lags = project.arcs.iter().filter(|arc| arc.1 == last);
            let lags = lags.map(|&(from, _, lag)| starts[from] + lag);
            all.push(ends.chain(lags).max().unwrap_or(0));
            if project.verify(&all).is_none() {
                let makespan = all[last];
                *best = Some(best.map_or(makespan, |best| best.min(makespan)));
            }
            return;
        }
        let only_start = starts.is_empty();
        for start in 0..=if only_start { 0 } else { horizon } {
            starts.push(start);
            place(project, starts, best, horizon);
            starts.pop();
        }
    }
    // One after another, each after its longest wait: nothing that is as short as can be starts later.
    let takes = (0..project.len()).map(|of| {
        let lags = project.arcs.iter().filter(|arc| arc.0 == of);
        let lags = lags.map(|&(_, _, lag)| lag);
        lags.chain([project.durations[of]]).max().unwrap_or(0)
    });
    let mut best = None;
    place(project, &mut Vec::new(), &mut best, takes.sum());
    best
}

fn agrees_with_brute(project: &Project) -> Result<(), TestCaseError> {
    let best = brute(project);
    let answer = proved(project, 10_000);
    if let Some(quick) = bound::quick(project) {
        let refuted = bound::refuted(project, quick, Time::MAX / 4, 100_000);
        // Without a schedule any bound is right.
        prop_assert!(best.is_none_or(|best| quick <= refuted && refuted <= best));
    } else {
        prop_assert_eq!(best, None);
    }
    match answer.status {
        Status::Optimal => prop_assert!(best.is_none_or(|best| best == answer.makespan)),
        Status::Infeasible => prop_assert_eq!(best, None),
        Status::Feasible | Status::Unknown => {
            prop_assert!(false, "so small a project is settled: {answer:?}");
        }
    }
    // A horizon of brute force holds every optimum of projects without maximum lags.
    if !project.has_maximum_lags() {
        prop_assert_eq!(best.is_some(), answer.starts.is_some());
    }
    Ok(())
}

proptest! {
    #![proptest_config(ProptestConfig::with_cases(48))]

    #[test]
    fn small_projects_are_solved_as_by_brute_force(project in projects(false)) {
        agrees_with_brute(&project)?;
    }

    #[test]
    fn with_maximum_lags_too(project in projects(true)) {
        agrees_with_brute(&project)?;
    }

    /// Project → instance → project is the same project, arc by arc.
    #[test]
    fn the_mirror_image_of_the_mirror_image_is_the_project(project in projects(true)) {
        let instance = project.instance(100);
        let mirrored = Project::of(&instance).expect("it is one");
        prop_assert_eq!(&mirrored.project, &project);
        let answer = solved(&project, 50, 1, 1);
        if let Some(starts) = &answer.starts {
            prop_assert_eq!(mirrored.placements(starts), project.placements(starts));
        }
    }
}

/// An instance as people write it (no beginning or end of its own, lags between any edges, a release, a deadline)
/// is a project, and the project's answer is one of the instance.
#[test]
fn an_instance_without_ends_is_a_project() {
    let mut instance = Instance {
        earliest: -60,
        latest: 10,
        resources: vec![Resource {
            capacity: vec![(-60, 2)],
            regular: None,
        }],
        activities: vec![
            activity(5, &[(0, 1)]),
            activity(7, &[(0, 2)]),
            activity(3, &[(0, 1)]),
        ],
        weights: Weights {
            early: 3,
            ..Weights::default()
        },
        ..Instance::default()
    };
    for (at, activity) in instance.activities.iter_mut().enumerate() {
        activity.weight = i32::from(at == 2);
    }
    let lag = |from: (usize, Edge), to: (usize, Edge), least, most| Lag {
        from: (ActivityId(from.0), from.1),
        to: (ActivityId(to.0), to.1),
        least,
        most,
    };
    instance.lags = vec![
        lag((2, Edge::Start), (0, Edge::Start), 4, None),
        lag((2, Edge::End), (1, Edge::End), 7, Some(30)),
    ];
    instance.activities[1].deadline = Some(4);
    instance.activities[0].release = Some(-20);
    let mirrored = Project::of(&instance).expect("it is a project");
    let answer = proved(&mirrored.project, 10_000);
    assert_eq!(answer.status, Status::Optimal);
    let placements = mirrored.placements(&answer.starts.expect("there is one"));
    // The one that needs both ends at 4, so the other runs from 4 to 9 or later; the third 4 before it.
    let starts: Vec<Time> = placements.iter().map(|placed| placed.start).collect();
    assert_eq!(starts[1], -3);
    assert_eq!(starts[2], -6);
    let schedule = Schedule {
        placements,
        cost: 3 * 16,
        bound: 3 * 16,
        ..Schedule::default()
    };
    assert_eq!(verify::verify(&instance, &schedule), []);
}

/// What a project cannot say, it does not say.
#[test]
fn other_instances_are_no_projects() {
    type Change = fn(&mut Instance);
    let plain = published("UBO10_01.sch").instance(200);
    assert!(Project::of(&plain).is_some());
    let changed: [(&str, Change); 9] = [
        ("two aims", |it| it.activities[3].weight = 1),
        ("an aim amid the others", |it| {
            it.activities[11].weight = 0;
            it.activities[3].weight = 1;
        }),
        ("less of a resource for a while", |it| {
            it.resources[0].capacity.push((-50, 3));
        }),
        ("overtime", |it| {
            it.resources[0].regular = Some(vec![(-200, 1)]);
        }),
        ("a calendar", |it| {
            it.calendars.push(Calendar {
                windows: vec![(-200, 0)],
            });
            it.activities[2]
                .calendars
                .push((CalendarId(0), Coverage::Start));
        }),
        ("a second mode", |it| {
            let mode = it.activities[2].modes[0].clone();
            it.activities[2].modes.push(mode);
        }),
        ("a demand for part", |it| {
            it.activities[2].modes[0].demands[0].when = Use::Part {
                anchor: Anchor::Start,
                from: 0,
                to: 1,
            };
        }),
        ("what has happened", |it| {
            it.activities[2].fixed = Some((-30, None));
        }),
        ("what was announced", |it| {
            it.activities[2].announced = Some(-30);
        }),
    ];
    for (what, change) in changed {
        let mut instance = plain.clone();
        change(&mut instance);
        assert_eq!(Project::of(&instance), None, "{what}");
    }
}
