//! How an entry's happening stands in the file: a word for its kind, and a body of JSON.
//!
//! The inner types know nothing of JSON; these are the copies at the edge. A field that a later version adds
//! to a known kind is passed over; a kind that is not known, or a body that cannot be read, becomes
//! [`Happening::Unknown`] with its text kept, so that no single entry ever costs the whole book.
//!
//! | kind | body |
//! |---|---|
//! | `started` | `{"step": "pears/poach"}` |
//! | `finished` | `{"step": "pears/poach"}` |
//! | `skipped` | `{"step": "pears/poach", "reason": "…"}` |
//! | `undone` | `{"entry": 12}` |
//! | `announced` | `{"steps": {"pears/poach": {"start": 1795800000, "way": null, "ovens": [["Oven", 1]]}, …}}`, `start` in seconds since 1970 |
//! | `menu-seen` | `{"steps": {"pears/poach": {"time": "2h", …}, …}}` |

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Announcement, EntryId, Happening, StepDigest};
use crate::time::Timestamp;

const STARTED: &str = "started";
const FINISHED: &str = "finished";
const SKIPPED: &str = "skipped";
const UNDONE: &str = "undone";
const ANNOUNCED: &str = "announced";
const MENU_SEEN: &str = "menu-seen";

#[derive(Serialize, Deserialize)]
struct OfStep {
    step: String,
}

#[derive(Serialize, Deserialize)]
struct OfSkip {
    step: String,
    reason: String,
}

#[derive(Serialize, Deserialize)]
struct OfUndo {
    entry: i64,
}

#[derive(Serialize, Deserialize)]
struct OfPlan {
    steps: BTreeMap<String, OfAnnouncement>,
}

#[derive(Serialize, Deserialize)]
struct OfAnnouncement {
    start: i64,
    #[serde(default)]
    way: Option<String>,
    #[serde(default)]
    ovens: Vec<(String, u32)>,
}

#[derive(Serialize, Deserialize)]
struct OfMenu {
    steps: BTreeMap<String, StepDigest>,
}

/// Returns the kind and the body to store.
pub(super) fn write(what: &Happening) -> (String, String) {
    fn body(value: &impl Serialize) -> String {
        serde_json::to_string(value)
            .expect("strings, numbers and maps keyed by strings are always JSON")
    }
    match what {
        Happening::Started { step } => (STARTED.into(), body(&OfStep { step: step.clone() })),
        Happening::Finished { step } => (FINISHED.into(), body(&OfStep { step: step.clone() })),
        Happening::Skipped { step, reason } => (
            SKIPPED.into(),
            body(&OfSkip {
                step: step.clone(),
                reason: reason.clone(),
            }),
        ),
        Happening::Undone { entry } => (UNDONE.into(), body(&OfUndo { entry: entry.0 })),
        Happening::Announced { steps } => {
            let steps = steps.iter().map(|(key, told)| {
                let told = OfAnnouncement {
                    start: told.start.0,
                    way: told.way.clone(),
                    ovens: told.ovens.clone(),
                };
                (key.clone(), told)
            });
            let steps = steps.collect();
            (ANNOUNCED.into(), body(&OfPlan { steps }))
        }
        Happening::MenuSeen { steps } => (
            MENU_SEEN.into(),
            body(&OfMenu {
                steps: steps.clone(),
            }),
        ),
        Happening::Unknown { kind, body } => (kind.clone(), body.clone()),
    }
}

/// Returns what a stored kind and body say; what they say to no one becomes [`Happening::Unknown`].
pub(super) fn read(kind: String, body: String) -> Happening {
    let known = match kind.as_str() {
        STARTED => serde_json::from_str(&body)
            .map(|OfStep { step }| Happening::Started { step })
            .ok(),
        FINISHED => serde_json::from_str(&body)
            .map(|OfStep { step }| Happening::Finished { step })
            .ok(),
        SKIPPED => serde_json::from_str(&body)
            .map(|OfSkip { step, reason }| Happening::Skipped { step, reason })
            .ok(),
        UNDONE => serde_json::from_str(&body)
            .map(|OfUndo { entry }| Happening::Undone {
                entry: EntryId(entry),
            })
            .ok(),
        ANNOUNCED => serde_json::from_str(&body)
            .map(|OfPlan { steps }| {
                let steps = steps.into_iter().map(|(key, told)| {
                    let told = Announcement {
                        start: Timestamp(told.start),
                        way: told.way,
                        ovens: told.ovens,
                    };
                    (key, told)
                });
                Happening::Announced {
                    steps: steps.collect(),
                }
            })
            .ok(),
        MENU_SEEN => serde_json::from_str(&body)
            .map(|OfMenu { steps }| Happening::MenuSeen { steps })
            .ok(),
        _ => None,
    };
    known.unwrap_or(Happening::Unknown { kind, body })
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn a_body_is_the_documented_json() {
        let step = || "pears/poach".to_owned();
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
                Happening::MenuSeen {
                    steps: BTreeMap::from([(
                        step(),
                        StepDigest::from([("time".into(), "2h".into())]),
                    )]),
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
}
