//! Every kind of entry and its text.

use super::*;
use crate::book::{Decision, Errand, Much};

#[test]
#[allow(
    clippy::too_many_lines,
    reason = "a table of every kind of entry and its text"
)]
fn a_body_is_the_documented_json() {
    let step = || "pears/poach".to_owned();
    let much = || Much {
        says: "3 × 5 l".into(),
        all: BTreeMap::from([("ml".into(), 15_000_000)]),
    };
    let table = [
        (
            Happening::Started { step: step() },
            "started",
            r#"{"step":"pears/poach"}"#,
        ),
        (
            Happening::Finished { step: step() },
            "finished",
            r#"{"step":"pears/poach"}"#,
        ),
        (
            Happening::Skipped {
                step: step(),
                reason: "\"burnt\"\n".into(),
            },
            "skipped",
            r#"{"step":"pears/poach","reason":"\"burnt\"\n"}"#,
        ),
        (
            Happening::Undone { entry: EntryId(12) },
            "undone",
            r#"{"entry":12}"#,
        ),
        (
            Happening::Read {
                step: step(),
                reading: Reading::Temperature(843),
                goal: Some(Goal {
                    reading: Reading::Temperature(50),
                    around: Some(30),
                }),
            },
            "read",
            r#"{"step":"pears/poach","temperature":843,"goal":{"temperature":50,"around":30}}"#,
        ),
        (
            Happening::Read {
                step: step(),
                reading: Reading::Test(true),
                goal: None,
            },
            "read",
            r#"{"step":"pears/poach","passed":true}"#,
        ),
        (
            Happening::Expected {
                step: step(),
                end: Timestamp(1_795_800_000),
            },
            "expected",
            r#"{"step":"pears/poach","end":1795800000}"#,
        ),
        (
            Happening::Noted {
                step: None,
                text: "the left ring is weak".into(),
            },
            "noted",
            r#"{"step":null,"text":"the left ring is weak"}"#,
        ),
        (
            Happening::Decided {
                decision: Decision::KitOut {
                    kit: "hob".into(),
                    count: 1,
                    from: Timestamp(1_795_800_000),
                    until: None,
                },
                steps: BTreeMap::new(),
            },
            "decided",
            r#"{"decision":{"kit-out":{"kit":"hob","count":1,"from":1795800000,"until":null}},"steps":{}}"#,
        ),
        (
            Happening::Heeded {
                call: "start pears/poach".into(),
                again: Some(Timestamp(1_795_800_000)),
            },
            "heeded",
            r#"{"call":"start pears/poach","again":1795800000}"#,
        ),
        (
            Happening::Announced {
                steps: BTreeMap::from([(
                    step(),
                    Announcement {
                        start: Timestamp(1_795_800_000),
                        way: None,
                        ovens: vec![("Oven".into(), 1)],
                    },
                )]),
            },
            "announced",
            r#"{"steps":{"pears/poach":{"start":1795800000,"way":null,"ovens":[["Oven",1]]}}}"#,
        ),
        (
            Happening::SeenTo {
                errand: Errand::Order {
                    goods: BTreeMap::from([("oat milk".into(), much())]),
                },
            },
            "seen-to",
            r#"{"order":{"goods":{"oat milk":{"says":"3 × 5 l","all":{"ml":15000000}}}}}"#,
        ),
        (
            Happening::SeenTo {
                errand: Errand::Ahead {
                    what: "soak".into(),
                    name: "dried figs".into(),
                    dish: "tart".into(),
                    much: much(),
                },
            },
            "seen-to",
            r#"{"ahead":{"what":"soak","name":"dried figs","dish":"tart","much":{"says":"3 × 5 l","all":{"ml":15000000}}}}"#,
        ),
        (
            Happening::MenuSeen {
                steps: BTreeMap::from([(step(), StepDigest::from([("time".into(), "2h".into())]))]),
            },
            "menu-seen",
            r#"{"steps":{"pears/poach":{"time":"2h"}}}"#,
        ),
    ];
    for (what, kind, body) in table {
        assert_eq!(write(&what), (kind.to_owned(), body.to_owned()));
        assert_eq!(read(kind.into(), body.into()), what);
    }
}

#[test]
fn a_later_versions_field_is_passed_over() {
    assert_eq!(
        read("started".into(), r#"{"step":"a/b","mood":"calm"}"#.into()),
        Happening::Started { step: "a/b".into() }
    );
}

#[test]
fn what_cannot_be_read_is_kept_as_it_stands() {
    for (kind, body) in [
        ("sung", "{}"),
        ("started", "{}"),
        ("started", "not json"),
        ("undone", r#"{"entry":"x"}"#),
        ("", ""),
    ] {
        let unknown = Happening::Unknown {
            kind: kind.into(),
            body: body.into(),
        };
        assert_eq!(read(kind.into(), body.into()), unknown);
        assert_eq!(write(&unknown), (kind.to_owned(), body.to_owned()));
    }
}
