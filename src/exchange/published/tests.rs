//! What the readers refuse, and where; whole published files are read in `tests/it/schedule/`.

use super::*;
use proptest::prelude::*;

const PATTERSON: &str = "4 1\n 2\n\n0 0 2 2 3\n3 1 1 4\n5 2 1\n 4\n0 0 0\n";
const PROGEN_MAX: &str = "2 1 0 0\n0 1 2 1 2 [0] [0]\n1 1 2 2 3 [-2] [3]\n2 1 1 3 [5]\n3 1 0\n\
    0 1 0 0\n1 1 3 1\n2 1 5 2\n3 1 0 0\n2\n";
const PSPLIB: &str = "\
projects : 1
jobs (incl. supersource/sink ): 4
horizon : 8
RESOURCES
  - renewable : 1 R
  - nonrenewable : 0 N
  - doubly constrained : 0 D
PRECEDENCE RELATIONS:
jobnr. #modes #successors successors
 1 1 2 2 3
 2 1 1 4
 3 1 1 4
 4 1 0
REQUESTS/DURATIONS:
jobnr. mode duration R 1
-------
 1 1 0 0
 2 1 3 1
 3 1 5 2
 4 1 0 0
RESOURCEAVAILABILITIES:
 R 1
 2
";

fn refused(format: Format, text: &str) -> Vec<String> {
    let faults = format.read(text).expect_err("the text is broken");
    faults.iter().map(Fault::to_string).collect()
}

#[test]
fn three_formats_say_the_same() {
    let patterson = Format::Patterson.read(PATTERSON).expect("it is whole");
    assert_eq!(patterson.durations, [0, 3, 5, 0]);
    assert_eq!(patterson.demands, [[0], [1], [2], [0]]);
    assert_eq!(patterson.capacities, [2]);
    assert_eq!(patterson.arcs, [(0, 1, 0), (0, 2, 0), (1, 3, 3), (2, 3, 5)]);
    assert_eq!(Format::Psplib.read(PSPLIB), Ok(patterson.clone()));
    let lags = Format::ProgenMax.read(PROGEN_MAX).expect("it is whole");
    let with_maximum = [(0, 1, 0), (0, 2, 0), (1, 2, -2), (1, 3, 3), (2, 3, 5)];
    assert_eq!(lags.arcs, with_maximum);
    assert_eq!(
        Project {
            arcs: patterson.arcs.clone(),
            ..lags
        },
        patterson
    );
}

#[test]
fn what_goes_without_saying_is_said() {
    let bare = "4 0  0 0  3 0  5 0  0 0";
    let project = Format::Patterson.read(bare).expect("it is whole");
    assert_eq!(project.critical_path_length(), Some(5));
    assert_eq!(project.critical_path(), Some(vec![0, 0, 0, 5]));
}

#[test]
fn faults_have_their_line() {
    let broken = PATTERSON.replace("5 2 1\n 4", "5 2 1\n 7");
    assert_eq!(
        refused(Format::Patterson, &broken),
        ["line 7: a successor is 7; it must lie from 1 to 4"]
    );
    assert_eq!(
        refused(Format::Patterson, &PATTERSON.replace("3 1 1", "3 l 1")),
        ["line 5: a demand should stand where \"l\" does"]
    );
    assert_eq!(
        refused(Format::Patterson, "3 1 1\n0 0"),
        ["line 2: the text ends where the number of successors should stand"]
    );
    assert_eq!(
        refused(Format::Patterson, "1000000000000 1"),
        ["line 1: the number of activities is 1000000000000, but only 1 words follow"]
    );
    assert_eq!(
        refused(
            Format::ProgenMax,
            &PROGEN_MAX.replace("2 1 0 0\n0 1 2", "2 1 1 0\n0 1 2")
        ),
        [
            "line 1: the number of nonrenewable resources is 1; resources that are used up are not read"
        ]
    );
    assert_eq!(
        refused(
            Format::ProgenMax,
            &PROGEN_MAX.replace("2 1 1 3 [5]", "2 2 1 3 [5 6]")
        ),
        ["line 4: the number of modes is 2; only activities with one mode are read"]
    );
    assert_eq!(
        refused(Format::Psplib, &PSPLIB.replace(" 3 1 1 4\n", "")),
        ["line 12: the job is 4; job 3 is next"]
    );
    assert_eq!(
        refused(Format::Psplib, &PSPLIB.replace("RESOURCEAV", "AV")),
        ["line 1: nothing begins with \"resourceavailabilities\""]
    );
    assert_eq!(
        refused(Format::Patterson, "2 0\n1 1 1\n4 0"),
        [
            "line 2: the first activity must take no time and need nothing",
            "line 3: the last activity must take no time and need nothing",
            "line 2: activity 1 follows itself",
        ]
    );
}

const FORMATS: [Format; 3] = [Format::Psplib, Format::ProgenMax, Format::Patterson];

proptest! {
    #[test]
    fn any_text_is_read_or_refused(text in any::<String>()) {
        for format in FORMATS {
            let _ = format.read(&text);
        }
    }

    /// A whole text with a word changed, left out or doubled: read as some project, or refused with a line that
    /// exists.
    #[test]
    fn a_damaged_text_is_read_or_refused(
        which in 0..3_usize,
        at in any::<prop::sample::Index>(),
        word in prop_oneof![
            Just(String::new()), any::<i64>().prop_map(|it| it.to_string()), "[-0-9a-z\\[\\]:*]{0,6}"
        ],
    ) {
        let text = [PSPLIB, PROGEN_MAX, PATTERSON][which];
        let mut words: Vec<&str> = text.split(' ').collect();
        let at = at.index(words.len());
        words[at] = &word;
        let damaged = words.join(" ");
        match FORMATS[which].read(&damaged) {
            Ok(project) => {
                prop_assert_eq!(project.durations.len(), project.demands.len());
                let _ = project.critical_path();
            }
            Err(faults) => {
                prop_assert!(!faults.is_empty());
                for fault in faults {
                    prop_assert!((1..=damaged.lines().count().max(1)).contains(&fault.line), "{}", fault);
                }
            }
        }
    }

    /// Spaces, tabs and line ends are all the same.
    #[test]
    fn space_is_space(breaks in prop::collection::vec(prop::sample::select(vec![" ", "\t", "\r\n", "  "]), 64)) {
        for (format, text) in [(Format::ProgenMax, PROGEN_MAX), (Format::Patterson, PATTERSON)] {
            let mut respaced = String::new();
            for (word, space) in text.split_whitespace().zip(breaks.iter().cycle()) {
                respaced.push_str(word);
                respaced.push_str(space);
            }
            prop_assert_eq!(format.read(&respaced), format.read(text));
        }
    }
}
