//! Published networks and instances.
//!
//! The four networks carry every figure their sources print (earliest and latest start and finish, slack);
//! they are checked as printed, forward from zero, and counted back from a deadline at zero.

use super::{activity, after};
use countback::schedule::*;

/// Name, length, predecessors, ES, EF, LS, LF, slack.
type Row = (&'static str, Time, &'static [&'static str], [Time; 5]);

fn network_of(rows: &[Row], earliest: Time, latest: Time) -> Instance {
    let place = |name: &str| {
        rows.iter()
            .position(|row| row.0 == name)
            .expect("a row of the table")
    };
    let mut instance = Instance {
        earliest,
        latest,
        ..Instance::default()
    };
    for (index, row) in rows.iter().enumerate() {
        instance.activities.push(activity(row.1, &[]));
        instance
            .lags
            .extend(row.2.iter().map(|before| after(place(before), index)));
    }
    instance
}

fn check(source: &str, length: Time, rows: &[Row]) {
    let forward = network_of(rows, 0, length);
    let windows = network::Network::new(&forward)
        .windows()
        .expect("the network fits its own length");
    let back = network_of(rows, -length, 0);
    let counted_back = network::Network::new(&back)
        .windows()
        .expect("and so it does mirrored");
    let Outcome::Optimal(schedule) = solve(&back, Effort::quick(&back)) else {
        panic!("{source}: with no resource the latest starts are the optimum");
    };
    assert_eq!(verify::verify(&back, &schedule), []);
    for (index, (name, minutes, _, [es, ef, ls, lf, slack])) in rows.iter().enumerate() {
        let (early, late) = (windows.earliest[index], windows.latest[index]);
        assert_eq!(
            [early, early + minutes, late, late + minutes, late - early],
            [*es, *ef, *ls, *lf, *slack],
            "{source}, {name}"
        );
        assert_eq!(
            counted_back.earliest[index],
            es - length,
            "{source}, {name} counted back"
        );
        assert_eq!(
            counted_back.latest[index],
            ls - length,
            "{source}, {name} counted back"
        );
        assert_eq!(
            schedule.placements[index].start,
            ls - length,
            "{source}, {name} planned"
        );
    }
    let one_minute_short = network_of(rows, 0, length - 1);
    assert!(
        network::Network::new(&one_minute_short).windows().is_err(),
        "{source}, a minute short"
    );
}

/// studylib.net/doc/8378728, Example 1 (hours).
#[test]
fn studylib_example_1() {
    check(
        "studylib 8378728",
        16,
        &[
            ("A", 6, &[], [0, 6, 0, 6, 0]),
            ("B", 2, &["A"], [6, 8, 6, 8, 0]),
            ("C", 2, &["A"], [6, 8, 7, 9, 1]),
            ("D", 3, &["B"], [8, 11, 8, 11, 0]),
            ("F", 2, &["C"], [8, 10, 9, 11, 1]),
            ("E", 4, &["D", "F"], [11, 15, 11, 15, 0]),
            ("G", 1, &["E"], [15, 16, 15, 16, 0]),
        ],
    );
}

/// B. W. Taylor, *Introduction to Management Science*, chapter 8 solutions (ar.scribd.com/doc/47113515),
/// activity on arrow, 20 time units.
#[test]
fn taylor_twenty() {
    check(
        "Taylor, 20",
        20,
        &[
            ("1-2", 7, &[], [0, 7, 2, 9, 2]),
            ("1-3", 10, &[], [0, 10, 0, 10, 0]),
            ("2-4", 6, &["1-2"], [7, 13, 9, 15, 2]),
            ("3-4", 5, &["1-3"], [10, 15, 10, 15, 0]),
            ("3-5", 4, &["1-3"], [10, 14, 14, 18, 4]),
            ("4-5", 3, &["2-4", "3-4"], [15, 18, 15, 18, 0]),
            ("5-6", 2, &["3-5", "4-5"], [18, 20, 18, 20, 0]),
        ],
    );
}

/// The same book and chapter, 38 time units, with a dummy of no length.
#[test]
fn taylor_thirty_eight_with_a_dummy() {
    check(
        "Taylor, 38",
        38,
        &[
            ("1-2", 8, &[], [0, 8, 1, 9, 1]),
            ("1-3", 10, &[], [0, 10, 0, 10, 0]),
            ("1-4", 9, &[], [0, 9, 6, 15, 6]),
            ("2-5", 6, &["1-2"], [8, 14, 9, 15, 1]),
            ("2-6", 4, &["1-2"], [8, 12, 16, 20, 8]),
            ("3-5", 5, &["1-3"], [10, 15, 10, 15, 0]),
            ("4-5", 0, &["1-4"], [9, 9, 15, 15, 6]),
            ("4-7", 7, &["1-4"], [9, 16, 20, 27, 11]),
            ("5-7", 12, &["2-5", "3-5", "4-5"], [15, 27, 15, 27, 0]),
            ("5-8", 15, &["2-5", "3-5", "4-5"], [15, 30, 16, 31, 1]),
            ("6-9", 18, &["2-6"], [12, 30, 20, 38, 8]),
            ("7-8", 4, &["4-7", "5-7"], [27, 31, 27, 31, 0]),
            ("8-9", 7, &["5-8", "7-8"], [31, 38, 31, 38, 0]),
        ],
    );
}

/// Render and Stair, "laser scanning machine" (smartsolve.ai), 23 weeks; the latest times follow from its
/// data (the page's own latest finish of 20 for H contradicts its project length of 23).
#[test]
fn render_and_stair_laser_scanning_machine() {
    check(
        "Render and Stair",
        23,
        &[
            ("A", 7, &[], [0, 7, 2, 9, 2]),
            ("B", 8, &[], [0, 8, 0, 8, 0]),
            ("C", 3, &["A"], [7, 10, 9, 12, 2]),
            ("D", 1, &["A"], [7, 8, 15, 16, 8]),
            ("E", 4, &["B"], [8, 12, 8, 12, 0]),
            ("F", 5, &["B"], [8, 13, 11, 16, 3]),
            ("G", 11, &["C", "E"], [12, 23, 12, 23, 0]),
            ("H", 7, &["D", "F"], [13, 20, 16, 23, 3]),
        ],
    );
}

/// The ten-activity instance of python-mip's `examples/rcpsp.py` (after Artigues et al. 2008), whose optimum
/// of 21 that file asserts; the critical path without resources is 14.
fn ten_activities(earliest: Time) -> Instance {
    let lengths = [0, 3, 2, 5, 4, 2, 3, 4, 2, 4, 6, 0];
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
    let arcs = [
        (0, 1),
        (0, 2),
        (0, 3),
        (1, 4),
        (1, 5),
        (2, 9),
        (2, 10),
        (3, 8),
        (4, 6),
        (4, 7),
        (5, 9),
        (5, 10),
        (6, 8),
        (6, 9),
        (7, 8),
        (8, 11),
        (9, 11),
        (10, 11),
    ];
    let mut instance = Instance {
        earliest,
        latest: 0,
        ..Instance::default()
    };
    for capacity in [6, 8] {
        instance.resources.push(Resource {
            capacity: vec![(earliest, capacity)],
            regular: None,
        });
    }
    for (length, wants) in lengths.iter().zip(demands) {
        let wants: Vec<(usize, i32)> = wants
            .iter()
            .copied()
            .enumerate()
            .filter(|&(_, quantity)| quantity > 0)
            .collect();
        instance.activities.push(activity(*length, &wants));
    }
    instance.lags = arcs.iter().map(|&(from, to)| after(from, to)).collect();
    instance
}

#[test]
fn ten_activities_fit_their_published_optimum_and_no_less() {
    let exact = ten_activities(-21);
    match solve(
        &exact,
        Effort {
            orders: 400,
            improve: 40,
            take_backs: 0,
            threads: 1,
            seed: 1,
        },
    ) {
        Outcome::Feasible(schedule) | Outcome::Optimal(schedule) => {
            assert_eq!(verify::verify(&exact, &schedule), []);
        }
        other => panic!("a plan of length 21 exists: {other:?}"),
    }
    let tight = ten_activities(-20);
    assert!(!matches!(
        solve(
            &tight,
            Effort {
                orders: 400,
                improve: 40,
                take_backs: 0,
                threads: 1,
                seed: 1
            }
        ),
        Outcome::Feasible(_) | Outcome::Optimal(_)
    ));
    // One published optimum, start times as printed, is accepted by the checker.
    let starts = [0, 0, 0, 10, 3, 3, 7, 7, 15, 11, 15, 21];
    let placements = starts
        .iter()
        .zip(&exact.activities)
        .map(|(start, activity)| {
            let Duration::Fixed(length) = activity.modes[0].duration else {
                unreachable!()
            };
            Placement {
                mode: 0,
                start: start - 21,
                end: start - 21 + length,
            }
        })
        .collect();
    let printed = Schedule {
        placements,
        blocking: Vec::new(),
        as_one: Vec::new(),
        ..Schedule::default()
    };
    assert_eq!(verify::verify(&exact, &printed), []);
    let windows = |earliest| network::Network::new(&ten_activities(earliest)).windows();
    assert!(windows(-14).is_ok());
    assert!(windows(-13).is_err());
}
