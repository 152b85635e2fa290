//! Instances and schedules to and from other programs: the published text formats of project scheduling, and
//! JSON of our own.
//!
//! The engine's types know no format; the images of them that are written stand in `written` and [`plan`],
//! and what is read goes through `reader`, which names every fault by its path. Whatever [`read_instance`]
//! returns can be solved: places exist, lists are in order, and no number is large enough to overflow anything
//! (`limits`).
#![doc = include_str!("FORMAT.md")]

mod fault;
mod instance;
mod json;
mod limits;
pub mod plan;
pub mod published;
mod reader;
mod written;

pub use fault::{Fault, Faults};
pub use instance::{Named, Names, read_instance, write_instance};
pub use plan::{Answer, read_answer, write_answer};

use json::Json;
use reader::{Fields, Reader};

/// Reads a text as JSON, whatever it says.
fn document(text: &str) -> Result<Json, Faults> {
    serde_json::from_str(text).map_err(|error| {
        Faults(vec![Fault {
            path: String::new(),
            what: format!("it is no JSON: {error}"),
            instead: "write one object in JSON".to_owned(),
        }])
    })
}

/// Fails, with no other fault, unless a document is of this format and version: of one that means something else
/// nothing more can be said.
fn is_format(
    reader: &mut Reader,
    fields: &Fields<'_, '_>,
    format: &str,
    version: i64,
) -> Result<(), Faults> {
    let mut other = Reader::default();
    let instead = format!("write \"{format}\"");
    if let Some(json) = other.need(fields, "format", &instead)
        && !matches!(json, Json::Text(text) if text == format)
    {
        let what = format!("{} is another format", json.described());
        other.fault(&fields.at("format"), what, instead);
    }
    let instead = format!("write {version}");
    if let Some(json) = other.need(fields, "version", &instead)
        && *json != Json::Integer(version)
    {
        let what = format!("{} is no version that this program knows", json.described());
        other.fault(&fields.at("version"), what, instead);
    }
    if other.has_faults() {
        return other.finish(());
    }
    if !fields.is_object() {
        return std::mem::take(reader).finish(());
    }
    Ok(())
}
