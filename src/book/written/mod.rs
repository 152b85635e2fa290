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
//! | `read` | `{"step": "pears/poach", "temperature": 843, "goal": {"temperature": 50, "around": 30}}`, in tenths of a degree Celsius; or `"volume"` in millilitres, `"weight"` in grams, `"passed"` |
//! | `expected` | `{"step": "pears/poach", "end": 1795800000}` |
//! | `noted` | `{"step": "pears/poach", "text": "…"}`, `step` null for the banquet |
//! | `decided` | `{"decision": {"covers": {"dish": null, "covers": 90}}, "steps": {…}}`, `steps` as below; the other decisions are `service`, `cook-away`, `kit-out`, `hands-added`, `staying-on`, `kit-added`, `batches`, `work-from`, `dish-dropped`, `dish-added` |
//! | `seen-to` | `{"order": {"goods": {"oat milk": {"says": "3 × 5 l", "all": {"ml": 15000000}}}}}`, each with how much, and how much in all in thousandths of `g`, `ml` or a piece by its word; or `{"ahead": {"what": "soak", "name": "dried figs", "dish": "tart", "much": {…}}}` |
//! | `heeded` | `{"call": "start pears/poach", "again": 1795800000}` |
//! | `announced` | `{"steps": {"pears/poach": {"start": 1795800000, "way": null, "ovens": [["Oven", 1]]}, …}}`, `start` in seconds since 1970 |
//! | `moved` | as `announced`, of the steps that moved |
//! | `menu-seen` | `{"steps": {"pears/poach": {"time": "2h", …}, …}}` |

mod decision;
mod errand;

use std::collections::BTreeMap;

use serde::{Deserialize, Serialize};

use super::{Announcement, EntryId, Goal, Happening, Reading, StepDigest};
use crate::time::Timestamp;
use decision::DecisionAs;
use errand::ErrandAs;

const STARTED: &str = "started";
const FINISHED: &str = "finished";
const SKIPPED: &str = "skipped";
const UNDONE: &str = "undone";
const READ: &str = "read";
const EXPECTED: &str = "expected";
const NOTED: &str = "noted";
const DECIDED: &str = "decided";
const SEEN_TO: &str = "seen-to";
const HEEDED: &str = "heeded";
const ANNOUNCED: &str = "announced";
const MOVED: &str = "moved";
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
struct OfReading {
    step: String,
    #[serde(flatten)]
    reading: ReadingAs,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    goal: Option<OfGoal>,
}

#[derive(Serialize, Deserialize)]
struct OfGoal {
    #[serde(flatten)]
    reading: ReadingAs,
    #[serde(default, skip_serializing_if = "Option::is_none")]
    around: Option<i32>,
}

#[derive(Serialize, Deserialize)]
#[serde(rename_all = "kebab-case", remote = "Reading")]
enum ReadingDef {
    Temperature(i32),
    Volume(i64),
    Weight(i64),
    #[serde(rename = "passed")]
    Test(bool),
}

#[derive(Serialize, Deserialize)]
#[serde(transparent)]
struct ReadingAs(#[serde(with = "ReadingDef")] Reading);

#[derive(Serialize, Deserialize)]
struct OfExpectation {
    step: String,
    end: i64,
}

#[derive(Serialize, Deserialize)]
struct OfNote {
    step: Option<String>,
    text: String,
}

#[derive(Serialize, Deserialize)]
struct OfHeed {
    call: String,
    #[serde(default)]
    again: Option<i64>,
}

#[derive(Serialize, Deserialize)]
struct OfDecision {
    decision: DecisionAs,
    #[serde(default)]
    steps: BTreeMap<String, OfAnnouncement>,
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

impl OfAnnouncement {
    fn all_of(steps: &BTreeMap<String, Announcement>) -> BTreeMap<String, Self> {
        let one = |told: &Announcement| Self {
            start: told.start.0,
            way: told.way.clone(),
            ovens: told.ovens.clone(),
        };
        let steps = steps.iter();
        steps.map(|(key, told)| (key.clone(), one(told))).collect()
    }

    fn into_all(steps: BTreeMap<String, Self>) -> BTreeMap<String, Announcement> {
        let one = |told: Self| Announcement {
            start: Timestamp(told.start),
            way: told.way,
            ovens: told.ovens,
        };
        let steps = steps.into_iter();
        steps.map(|(key, told)| (key, one(told))).collect()
    }
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
        Happening::Read {
            step,
            reading,
            goal,
        } => (
            READ.into(),
            body(&OfReading {
                step: step.clone(),
                reading: ReadingAs(*reading),
                goal: goal.map(|goal| OfGoal {
                    reading: ReadingAs(goal.reading),
                    around: goal.around,
                }),
            }),
        ),
        Happening::Expected { step, end } => (
            EXPECTED.into(),
            body(&OfExpectation {
                step: step.clone(),
                end: end.0,
            }),
        ),
        Happening::Noted { step, text } => (
            NOTED.into(),
            body(&OfNote {
                step: step.clone(),
                text: text.clone(),
            }),
        ),
        Happening::Decided { decision, steps } => (
            DECIDED.into(),
            body(&OfDecision {
                decision: DecisionAs::of(decision),
                steps: OfAnnouncement::all_of(steps),
            }),
        ),
        Happening::SeenTo { errand } => (SEEN_TO.into(), body(&ErrandAs::of(errand))),
        Happening::Heeded { call, again } => (
            HEEDED.into(),
            body(&OfHeed {
                call: call.clone(),
                again: again.map(|again| again.0),
            }),
        ),
        Happening::Announced { steps } => (
            ANNOUNCED.into(),
            body(&OfPlan {
                steps: OfAnnouncement::all_of(steps),
            }),
        ),
        Happening::Moved { steps } => (
            MOVED.into(),
            body(&OfPlan {
                steps: OfAnnouncement::all_of(steps),
            }),
        ),
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
        READ => serde_json::from_str(&body)
            .map(|read: OfReading| Happening::Read {
                step: read.step,
                reading: read.reading.0,
                goal: read.goal.map(|goal| Goal {
                    reading: goal.reading.0,
                    around: goal.around,
                }),
            })
            .ok(),
        EXPECTED => serde_json::from_str(&body)
            .map(|OfExpectation { step, end }| Happening::Expected {
                step,
                end: Timestamp(end),
            })
            .ok(),
        NOTED => serde_json::from_str(&body)
            .map(|OfNote { step, text }| Happening::Noted { step, text })
            .ok(),
        DECIDED => serde_json::from_str(&body)
            .map(|OfDecision { decision, steps }| Happening::Decided {
                decision: decision.into_decision(),
                steps: OfAnnouncement::into_all(steps),
            })
            .ok(),
        SEEN_TO => serde_json::from_str(&body)
            .map(|errand: ErrandAs| Happening::SeenTo {
                errand: errand.into_errand(),
            })
            .ok(),
        HEEDED => serde_json::from_str(&body)
            .map(|OfHeed { call, again }| Happening::Heeded {
                call,
                again: again.map(Timestamp),
            })
            .ok(),
        ANNOUNCED => serde_json::from_str(&body)
            .map(|OfPlan { steps }| Happening::Announced {
                steps: OfAnnouncement::into_all(steps),
            })
            .ok(),
        MOVED => serde_json::from_str(&body)
            .map(|OfPlan { steps }| Happening::Moved {
                steps: OfAnnouncement::into_all(steps),
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
mod tests;
