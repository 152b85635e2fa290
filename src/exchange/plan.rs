//! Schedules of an instance: placements, what they cost, and what is proved of that.

use std::io;

use serde::Serialize;

use super::fault::Faults;
use super::json::{self, Json};
use super::limits;
use super::reader::{Place, Reader};
use crate::schedule::{Cost, Placement};

const FORMAT: &str = "countback-schedule";
const VERSION: i64 = 1;

/// An answer to an instance, as it is handed on.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Answer {
    /// What is known of the instance.
    pub outcome: Known,
    /// Why there is no schedule, in sentences; empty where there is one.
    pub because: Vec<String>,
    /// The terms of the cost, where there is a schedule.
    pub cost: Option<Cost>,
    /// No schedule costs less than this, where anything is known.
    pub bound: Option<i64>,
    /// How the answer was found.
    pub engine: Engine,
    /// A placement for every activity, in the order of the instance; empty where there is no schedule.
    pub placements: Vec<Placement>,
}

/// What is known of an instance.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Known {
    /// There is a schedule, and it is proved best.
    Optimal,
    /// There is a schedule; better ones may exist.
    Feasible,
    /// It is proved that there is none.
    Infeasible,
    /// Nothing was found and nothing is proved.
    Unknown,
}

/// How an answer was found: enough to find it again.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub struct Engine {
    /// The seed of the search.
    pub seed: u64,
    /// For how many epochs it went on improving.
    pub epochs: u64,
}

const OUTCOMES: &[(&str, Known)] = &[
    ("optimal", Known::Optimal),
    ("feasible", Known::Feasible),
    ("infeasible", Known::Infeasible),
    ("unknown", Known::Unknown),
];

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    version: i64,
    outcome: &'static str,
    #[serde(skip_serializing_if = "<[_]>::is_empty")]
    because: &'a [String],
    #[serde(skip_serializing_if = "Option::is_none")]
    cost: Option<WrittenCost>,
    #[serde(skip_serializing_if = "Option::is_none")]
    bound: Option<i64>,
    engine: WrittenEngine,
    #[serde(skip_serializing_if = "Vec::is_empty")]
    placements: Vec<WrittenPlacement<'a>>,
}

#[derive(Serialize)]
struct WrittenCost {
    total: i64,
    late: i64,
    wish: i64,
    overtime: i64,
    uneven: i64,
    early: i64,
    mode: i64,
    moved: i64,
}

#[derive(Serialize)]
struct WrittenEngine {
    seed: u64,
    epochs: u64,
}

#[derive(Serialize)]
struct WrittenPlacement<'a> {
    #[serde(skip_serializing_if = "Option::is_none")]
    name: Option<&'a str>,
    mode: usize,
    start: i32,
    end: i32,
}

/// Writes an answer; `names` are those of the activities, where they have any.
pub fn write_answer(
    answer: &Answer,
    names: &[Option<String>],
    out: &mut impl io::Write,
) -> io::Result<()> {
    let outcome = OUTCOMES
        .iter()
        .find(|(_, known)| *known == answer.outcome)
        .map_or("unknown", |(word, _)| word);
    let placements = answer.placements.iter().enumerate();
    let document = Document {
        format: FORMAT,
        version: VERSION,
        outcome,
        because: &answer.because,
        cost: answer.cost.map(|cost| WrittenCost {
            total: cost.total(),
            late: cost.late,
            wish: cost.wish,
            overtime: cost.overtime,
            uneven: cost.uneven,
            early: cost.early,
            mode: cost.mode,
            moved: cost.moved,
        }),
        bound: answer.bound,
        engine: WrittenEngine {
            seed: answer.engine.seed,
            epochs: answer.engine.epochs,
        },
        placements: placements
            .map(|(index, placed)| WrittenPlacement {
                name: names.get(index).and_then(Option::as_deref),
                mode: placed.mode,
                start: placed.start,
                end: placed.end,
            })
            .collect(),
    };
    json::write(&document, out)
}

/// Reads an answer, or returns everything that is wrong with it. Whether it answers a given instance is for
/// [`verify`](crate::schedule::verify) to say.
pub fn read_answer(text: &str) -> Result<Answer, Faults> {
    let document = super::document(text)?;
    let mut reader = Reader::default();
    let known = [
        "format",
        "version",
        "outcome",
        "because",
        "cost",
        "bound",
        "engine",
        "placements",
    ];
    let fields = reader.fields(&Place::WHOLE, &document, &known);
    super::is_format(&mut reader, &fields, FORMAT, VERSION)?;
    let words = "write what is known: \"optimal\", \"feasible\", \"infeasible\" or \"unknown\"";
    let outcome = reader
        .need(&fields, "outcome", words)
        .and_then(|json| reader.word(&fields.at("outcome"), json, OUTCOMES));
    let at = fields.at("because");
    let mut because = Vec::new();
    for (index, json) in reader.list_if(&fields, "because").iter().enumerate() {
        match json {
            Json::Text(text) => because.push(text.clone()),
            other => reader.fault(
                &at.item(index),
                format!("{} is no text", other.described()),
                "write a sentence between quotes",
            ),
        }
    }
    let cost = fields
        .get("cost")
        .map(|json| cost(&mut reader, &fields.at("cost"), json));
    let bound = fields
        .get("bound")
        .map(|json| reader.integer(&fields.at("bound"), json, 0..=i64::MAX));
    let mut engine = Engine::default();
    if let Some(json) = fields.get("engine") {
        let at = fields.at("engine");
        let of = reader.fields(&at, json, &["seed", "epochs"]);
        for (name, value) in [("seed", &mut engine.seed), ("epochs", &mut engine.epochs)] {
            if let Some(json) = of.get(name) {
                *value = reader.integer(&of.at(name), json, 0..=i64::MAX) as u64;
            }
        }
    }
    let at = fields.at("placements");
    let mut placements = Vec::new();
    for (index, json) in reader.list_if(&fields, "placements").iter().enumerate() {
        let at = at.item(index);
        let of = reader.fields(&at, json, &["name", "mode", "start", "end"]);
        reader.text_if(&of, "name");
        placements.push(Placement {
            mode: reader.small_of(&of, "mode", limits::AMOUNT) as usize,
            start: reader.small_of(&of, "start", limits::PLACED),
            end: reader.small_of(&of, "end", limits::PLACED),
        });
    }
    reader.finish(Answer {
        outcome: outcome.unwrap_or(Known::Unknown),
        because,
        cost,
        bound,
        engine,
        placements,
    })
}

fn cost(reader: &mut Reader, at: &Place<'_>, json: &Json) -> Cost {
    let mut cost = Cost::default();
    let known = [
        "total", "late", "wish", "overtime", "uneven", "early", "mode", "moved",
    ];
    let of = reader.fields(at, json, &known);
    for (name, term) in [
        ("late", &mut cost.late),
        ("wish", &mut cost.wish),
        ("overtime", &mut cost.overtime),
        ("uneven", &mut cost.uneven),
        ("early", &mut cost.early),
        ("mode", &mut cost.mode),
        ("moved", &mut cost.moved),
    ] {
        if let Some(json) = reader.need(&of, name, "write what this term comes to") {
            *term = reader.integer(&of.at(name), json, 0..=i64::MAX);
        }
    }
    let total = reader
        .need(&of, "total", "write the sum of the terms")
        .map(|json| reader.integer(&of.at("total"), json, 0..=i64::MAX));
    if total.is_some_and(|total| total != cost.total()) && !reader.has_faults() {
        reader.fault(
            &of.at("total"),
            "it is not the sum of the terms",
            format!("write {}", cost.total()),
        );
    }
    cost
}
