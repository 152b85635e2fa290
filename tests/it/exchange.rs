//! Instances and schedules as JSON.

use countback::exchange::plan::{Engine, Known};
use countback::exchange::{
    Answer, Faults, Named, Names, read_answer, read_instance, write_answer, write_instance,
};
use countback::schedule::generate::generate;
use countback::schedule::verify::verify;
use countback::schedule::{Cost, Effort, Instance, Outcome, Placement, solve};
use proptest::prelude::*;

use crate::schedule::arbitrary;

fn written(named: &Named) -> String {
    let mut out = Vec::new();
    write_instance(named, &mut out).unwrap();
    String::from_utf8(out).unwrap()
}

/// An instance with a name for every other part of it.
fn half_named(instance: Instance) -> Named {
    let names = |count: usize, what: &str| {
        (0..count)
            .map(|index| (index % 2 == 0).then(|| format!("{what} \"{index}\" é\u{1b}\n")))
            .collect()
    };
    Named {
        names: Names {
            resources: names(instance.resources.len(), "resource"),
            states: names(instance.states.len(), "state"),
            calendars: names(instance.calendars.len(), "calendar"),
            gates: names(instance.gates.len(), "gate"),
            activities: names(instance.activities.len(), "activity"),
        },
        instance,
    }
}

/// What every reading of the format must agree on: an exporter's first instance, by hand.
const BY_HAND: &str = r#"{
  "format": "countback-instance", "version": 1, "earliest": -100, "latest": 0,
  "weights": {"early": 1},
  "resources": [{"name": "hands", "capacity": [[-100, 0], [-80, 2]], "regular": [[-100, 1]]}],
  "states": [{"change": 20}],
  "calendars": [{"windows": [[-90, -50], [-50, -10]]}],
  "gates": [{"openings": [-60, -20]}],
  "activities": [
    {"name": "one", "weight": 1, "release": null, "calendars": [{"calendar": 0, "fit": "end"}],
     "modes": [{"duration": 10, "demands": [{"resource": 0, "quantity": 1, "part": {"edge": "end", "from": -5, "to": 0}}],
                "states": [{"state": 0, "value": 180}]}]},
    {"modes": [{"duration": {"gate": 0}, "demands": [{"resource": 0, "quantity": 1, "looks": {"every": 5, "length": 1}}]}]}
  ],
  "lags": [{"from": [0, "end"], "to": [1, "start"], "least": 0, "most": 20}]
}"#;

#[test]
fn an_instance_written_by_hand_is_read_and_solved() {
    let named = read_instance(BY_HAND).unwrap();
    assert_eq!(named.names.activities, [Some("one".to_owned()), None]);
    let instance = &named.instance;
    let (Outcome::Optimal(schedule) | Outcome::Feasible(schedule)) =
        solve(instance, Effort::quick(instance))
    else {
        panic!("it fits");
    };
    assert_eq!(verify(instance, &schedule), []);
    // The wait begins before the last opening; the step before it ends at most twenty minutes sooner and at an hour
    // of the calendar; hands in its last five minutes.
    let [one, wait] = schedule.placements[..] else {
        panic!("two placements");
    };
    assert_eq!((wait.start, wait.end), (-21, -20));
    assert_eq!((one.start, one.end), (-31, -21));
    assert_eq!(schedule.cost, 31);
}

fn faults(text: &str) -> Vec<String> {
    let faults: Faults = read_instance(text).expect_err("it has faults");
    faults.0.iter().map(ToString::to_string).collect()
}

/// Replaces one thing in the instance above and returns the faults that makes.
fn with(what: &str, by: &str) -> Vec<String> {
    assert!(BY_HAND.contains(what), "{what}");
    faults(&BY_HAND.replacen(what, by, 1))
}

/// What stands in the instance above, what is written instead, and a fault that makes.
const FAULTY: &[(&str, &str, &str)] = &[
    (
        "\"countback-instance\"",
        "\"menu\"",
        "format: \"menu\" is another format; write \"countback-instance\"",
    ),
    (
        "\"version\": 1",
        "\"version\": 2",
        "version: 2 is no version that this program knows; write 1",
    ),
    (
        "\"format\": \"countback-instance\", ",
        "",
        "format: it is missing; write \"countback-instance\"",
    ),
    (
        "\"earliest\": -100,",
        "",
        "earliest: it is missing; write a whole number from -10000000 to 10000000",
    ),
    (
        "\"latest\": 0",
        "\"latest\": -200",
        "latest: -200 lies before earliest, -100; write the first minute nothing may occupy any more",
    ),
    (
        "\"latest\": 0",
        "\"latest\": 9999999",
        "latest: it lies 10000099 minutes after earliest; leave at most 1000000 between them",
    ),
    (
        "\"duration\": 10",
        "\"duration\": -5",
        "activities[0].modes[0].duration: -5 is negative; write a whole number from 0 to 10000000",
    ),
    (
        "\"duration\": 10",
        "\"duration\": 1.5",
        "activities[0].modes[0].duration: 1.5 is no whole number; write a whole number from 0 to 10000000",
    ),
    (
        "\"duration\": 10, ",
        "",
        "activities[0].modes[0].duration: it is missing; write minutes, as 30, or {\"gate\": 0} for until a gate opens",
    ),
    (
        "{\"gate\": 0}",
        "{\"gate\": 1}",
        "activities[1].modes[0].duration.gate: there is no gates[1]; write 0, the only one there is",
    ),
    (
        "\"weights\": {\"early\": 1}",
        "\"weights\": {\"ealry\": 1}",
        "weights.ealry: there is no such field; write \"early\"",
    ),
    (
        "\"weights\": {\"early\": 1}",
        "\"weights\": {\"early\": 1, \"early\": 2}",
        "weights.early: the field is given twice; give it once",
    ),
    (
        "\"weights\": {\"early\": 1}",
        "\"weights\": {\"early\": 1000000000000000}",
        "weights.early: 1000000000000000 is too large; write a whole number from 0 to 1000000000000",
    ),
    (
        "[[-100, 0], [-80, 2]]",
        "[[-80, 0], [-100, 2]]",
        "resources[0].capacity[1][0]: -100 does not come after -80; write the steps in order, each moment once",
    ),
    (
        "[[-100, 0], [-80, 2]]",
        "[[-80]]",
        "resources[0].capacity[0]: it has 1 items; write two items, as [0, 2] (from, amount)",
    ),
    (
        "[-50, -10]",
        "[-60, -10]",
        "calendars[0].windows[1][0]: -60 lies before the end of the window before it, -50; write the windows in order, none over another",
    ),
    (
        "[-50, -10]",
        "[-50, -50]",
        "calendars[0].windows[1]: it ends at -50, no later than it begins; write [from, to] with to after from; to is the first minute outside",
    ),
    (
        "[-60, -20]",
        "[-60, -60]",
        "gates[0].openings[1]: -60 does not come after -60; write the openings in order, each once",
    ),
    (
        "\"fit\": \"end\"",
        "\"fit\": \"ends\"",
        "activities[0].calendars[0].fit: \"ends\" is not among the words for it; write \"start\" or \"end\" or \"whole\"",
    ),
    (
        "\"quantity\": 1, \"part\"",
        "\"quantity\": 0, \"part\"",
        "activities[0].modes[0].demands[0].quantity: 0 is too small; write a whole number from 1 to 1000000",
    ),
    (
        "\"from\": -5, \"to\": 0",
        "\"from\": -5, \"to\": -5",
        "activities[0].modes[0].demands[0].part.to: -5 does not come after from, -5; write the first minute after it, counted from the same edge",
    ),
    (
        "[{\"state\": 0, \"value\": 180}]",
        "[{\"state\": 0, \"value\": 1}, {\"state\": 0, \"value\": 2}]",
        "activities[0].modes[0].states[1]: states[0] is asked for twice; ask for one value of each",
    ),
    (
        "[0, \"end\"]",
        "[2, \"end\"]",
        "lags[0].from[0]: there is no activities[2]; write a whole number from 0 to 1",
    ),
    (
        "[0, \"end\"]",
        "[0]",
        "lags[0].from: it has 1 items; write two items, as [3, \"end\"] (activity, edge)",
    ),
    (
        "\"least\": 0, ",
        "",
        "lags[0].least: it is missing; write a whole number from -10000000 to 10000000",
    ),
    (
        "\"name\": \"one\"",
        "\"name\": 1",
        "activities[0].name: 1 is no text; write a text between quotes",
    ),
    (
        "\"name\": \"one\"",
        "\"fixed\": {\"start\": 0, \"end\": -1}",
        "activities[0].fixed.end: it lies before the start; write the first minute after it",
    ),
    (
        "\"states\": [{\"change\": 20}]",
        "\"states\": {}",
        "states: an object is no list; write a list, [] where there is nothing",
    ),
];

#[test]
fn every_fault_says_where_and_what_to_write_instead() {
    for &(what, by, expected) in FAULTY {
        let found = with(what, by);
        assert!(
            found.iter().any(|fault| fault == expected),
            "{what} → {by}: {found:#?}"
        );
    }
    let empty = with(
        "\"modes\": [{\"duration\": {\"gate\": 0}, \"demands\": [{\"resource\": 0, \"quantity\": 1, \"looks\": {\"every\": 5, \"length\": 1}}]}]",
        "\"modes\": []",
    );
    assert_eq!(
        empty,
        [
            "activities[1].modes: it is empty; write a list of at least one way to do it, as [{\"duration\": 30}]"
        ]
    );
}

#[test]
fn all_faults_are_told_at_once_and_one_alone_where_nothing_else_can_be_said() {
    let text = BY_HAND
        .replace("\"duration\": 10", "\"duration\": -5")
        .replace("\"least\": 0", "\"least\": \"soon\"")
        .replace("\"change\": 20", "\"chnge\": 20");
    assert_eq!(faults(&text).len(), 4, "{:?}", faults(&text));
    for nothing in [
        "",
        "{",
        "[]",
        "7",
        "{}",
        "{\"format\": \"countback-schedule\"}",
        "\u{feff}{}",
    ] {
        assert!(!faults(nothing).is_empty(), "{nothing}");
    }
    let many = format!(
        "{{\"format\": \"countback-instance\", \"version\": 1, \"earliest\": 0, \"latest\": 1, \"gates\": [{}]}}",
        vec!["7"; 1000].join(",")
    );
    let said = read_instance(&many).unwrap_err().to_string();
    assert!(said.ends_with("and 950 more"), "{said}");
}

#[test]
fn costs_that_overflow_are_refused_before_they_are_counted() {
    let dear = with(
        "\"weights\": {\"early\": 1}",
        "\"levels\": [{\"resource\": 0, \"buckets\": [[-100, 0]], \"weight\": 1000000}], \"weights\": {\"uneven\": 1000000000}",
    );
    assert_eq!(dear.len(), 1);
    assert!(
        dear[0].starts_with(
            "weights: a schedule could cost 40000000000000000000; write smaller weights"
        ),
        "{dear:?}"
    );
}

#[test]
fn large_instances_come_back_as_they_were_and_a_line_says_one_thing() {
    for count in [3, 50, 300] {
        let (instance, _) = generate(count as u64, count);
        let named = half_named(instance);
        let text = written(&named);
        assert_eq!(read_instance(&text).unwrap(), named);
        let lines = text
            .lines()
            .filter(|line| line.contains("\"modes\""))
            .count();
        assert_eq!(lines, count);
    }
}

#[test]
fn answers_come_back_as_they_were() {
    let cost = Cost {
        late: 1,
        early: 7,
        moved: 2,
        ..Cost::default()
    };
    let placed = |start| Placement {
        mode: 1,
        start,
        end: start + 5,
    };
    let engine = Engine { seed: 3, epochs: 9 };
    let answers = [
        Answer {
            outcome: Known::Feasible,
            because: Vec::new(),
            cost: Some(cost),
            bound: Some(4),
            engine,
            placements: vec![placed(-10), placed(0)],
        },
        Answer {
            outcome: Known::Infeasible,
            because: vec!["it \"cannot\" be".to_owned()],
            cost: None,
            bound: None,
            engine,
            placements: Vec::new(),
        },
    ];
    for answer in answers {
        let mut out = Vec::new();
        write_answer(&answer, &[Some("a".to_owned())], &mut out).unwrap();
        let text = String::from_utf8(out).unwrap();
        assert_eq!(read_answer(&text).unwrap(), answer, "{text}");
    }
    let wrong = r#"{"format": "countback-schedule", "version": 1, "outcome": "feasible", "engine": {},
        "cost": {"total": 5, "late": 1, "wish": 0, "overtime": 0, "uneven": 0, "early": 0, "mode": 0, "moved": 0}}"#;
    let said = read_answer(wrong).unwrap_err().to_string();
    assert_eq!(said, "cost.total: it is not the sum of the terms; write 1");
}

/// Replaces the `at`-th whole number of a text.
fn with_number(text: &str, at: usize, number: i64) -> String {
    let is_digit = |c: char| c.is_ascii_digit() || c == '-';
    let mut numbers = Vec::new();
    let mut from = 0;
    while let Some(start) = text[from..].find(is_digit).map(|start| start + from) {
        let end = text[start..]
            .find(|c| !is_digit(c))
            .map_or(text.len(), |end| end + start);
        // A minus inside a name is no number.
        if text[start..end].parse::<i64>().is_ok() {
            numbers.push((start, end));
        }
        from = end;
    }
    let (start, end) = numbers[at % numbers.len()];
    format!("{}{number}{}", &text[..start], &text[end..])
}

proptest! {
    #![proptest_config(ProptestConfig { failure_persistence: None, ..ProptestConfig::default() })]

    #[test]
    fn what_is_written_is_read_back_the_same(instance in arbitrary::instance(5)) {
        let named = half_named(instance);
        let text = written(&named);
        let read = read_instance(&text);
        prop_assert_eq!(read.as_ref(), Ok(&named), "{}", text);
    }

    /// Numbers at the edges of what may be written, and beyond: refused, or solved and checked without a panic.
    #[test]
    fn whatever_is_read_can_be_solved(
        instance in arbitrary::instance(4),
        changes in prop::collection::vec(
            (any::<usize>(), prop::sample::select(vec![
                -10_000_000_i64, 10_000_000, 1_000_000, 999_999, 1_000_000_000, 1_000_000_000_000, -1, 0, 1, 2, 900_000, i64::MAX, i64::MIN,
            ])),
            1..6,
        ),
    ) {
        let named = Named { instance, names: Names::default() };
        let mut text = written(&named);
        for (at, number) in changes {
            text = with_number(&text, at, number);
        }
        if let Ok(named) = read_instance(&text) {
            let effort = Effort { orders: 2, improve: 1, ..Effort::quick(&named.instance) };
            match solve(&named.instance, effort) {
                Outcome::Optimal(schedule) | Outcome::Feasible(schedule) => {
                    prop_assert_eq!(verify(&named.instance, &schedule), [], "{}", text);
                }
                Outcome::Infeasible(_) | Outcome::Unknown(_) => {}
            }
        }
    }
}
