//! `Kitchen(…)` as written → the kitchen.

use super::Reading;
use super::decode::Fields;
use super::fault::Source;
use super::phrases;
use super::syntax::Node;
use crate::menu::{Cold, ColdBy, Cook, Days, Hours, Kit, Kitchen, Oven, Subject, Taken};
use crate::time::Minutes;

pub(super) const COLD_BY: &[(&str, ColdBy)] = &[
    ("Still", ColdBy::Still),
    ("Fan", ColdBy::Fan),
    ("Blast", ColdBy::Blast),
    ("IceBath", ColdBy::IceBath),
];

/// Reads a kitchen. What could not be read is reported and left out.
pub(super) fn kitchen(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    node: &Node,
) -> Option<Kitchen> {
    let fields = Fields::open(source, node, "Kitchen")?;
    reading.places.keep(Subject::Kitchen, &fields);
    let kitchen = Kitchen {
        name: fields.required_text("name").unwrap_or_default(),
        zone: fields.phrase("zone", phrases::zone),
        altitude: fields.phrase("altitude", phrases::altitude),
        open: fields
            .required_list("open")
            .unwrap_or_default()
            .iter()
            .filter_map(|node| hours(source, node, "Open"))
            .collect(),
        watched: fields
            .list("watched")
            .iter()
            .filter_map(|node| hours(source, node, "Watch"))
            .collect(),
        cooks: fields
            .required_list("cooks")
            .unwrap_or_default()
            .iter()
            .filter_map(|node| reading.named(cook, source, node))
            .collect(),
        stations: fields
            .list("stations")
            .iter()
            .filter_map(|node| reading.named(station, source, node))
            .collect(),
        kit: fields
            .list("kit")
            .iter()
            .filter_map(|node| reading.named(kit, source, node))
            .collect(),
    };
    fields.finish();
    Some(kitchen)
}

/// Reads days and hours out of the fields of a bracket.
fn days_and_hours(fields: &Fields<'_>) -> Hours {
    Hours {
        days: fields
            .required_phrase("days", phrases::days)
            .unwrap_or(Days::Every),
        spans: fields
            .required_phrase("at", phrases::spans)
            .unwrap_or_default(),
    }
}

fn hours(source: &Source<'_>, node: &Node, bracket: &'static str) -> Option<Hours> {
    let fields = Fields::open(source, node, bracket)?;
    let hours = days_and_hours(&fields);
    fields.finish();
    Some(hours)
}

fn cook(reading: &mut Reading<'_>, source: &Source<'_>, node: &Node) -> Option<Cook> {
    let fields = Fields::open(source, node, "Cook")?;
    let name = fields.required_text("name");
    let skills = fields.texts("skills");
    let shifts = fields
        .list("shifts")
        .iter()
        .filter_map(|node| hours(source, node, "Shift"))
        .collect();
    let overtime = fields
        .list("overtime")
        .iter()
        .filter_map(|node| hours(source, node, "Shift"))
        .collect();
    let away = fields
        .list("away")
        .iter()
        .filter_map(|node| hours(source, node, "Shift"))
        .collect();
    if let Some(name) = &name {
        reading.places.keep(Subject::Cook(name.clone()), &fields);
    }
    fields.finish();
    Some(Cook {
        name: name?,
        skills,
        shifts,
        overtime,
        away,
    })
}

fn station(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    node: &Node,
) -> Option<(String, String)> {
    let fields = Fields::open(source, node, "Station")?;
    let id = fields.id("id");
    let name = fields.required_text("name").unwrap_or_default();
    if let Some(id) = &id {
        reading.places.keep(Subject::Station(id.clone()), &fields);
    }
    fields.finish();
    Some((id?, name))
}

fn kit(reading: &mut Reading<'_>, source: &Source<'_>, node: &Node) -> Option<Kit> {
    let fields = Fields::open(source, node, "Kit")?;
    let id = fields.id("id");
    let name = fields.required_text("name").unwrap_or_default();
    let count = fields.required_count("count").unwrap_or(1);
    let holds = fields.count("holds");
    let oven = fields.optional("oven").and_then(|node| oven(source, node));
    let cold = fields.optional("cold").and_then(|node| cold(source, node));
    let taken = fields
        .list("taken")
        .iter()
        .filter_map(|node| taken(source, node))
        .collect();
    if let Some(id) = &id {
        reading.places.keep(Subject::Kit(id.clone()), &fields);
    }
    fields.finish();
    Some(Kit {
        id: id?,
        name,
        count,
        holds,
        oven,
        cold,
        taken,
    })
}

fn oven(source: &Source<'_>, node: &Node) -> Option<Oven> {
    let fields = Fields::open(source, node, "Oven")?;
    let change = fields
        .required_phrase("change", phrases::duration)
        .unwrap_or(Minutes::ZERO);
    let shelves = fields.count("shelves").unwrap_or(1);
    fields.finish();
    Some(Oven { change, shelves })
}

fn cold(source: &Source<'_>, node: &Node) -> Option<Cold> {
    let fields = Fields::open(source, node, "Cold")?;
    let at = fields.required_phrase("at", phrases::degrees);
    let by = fields.required("by");
    let by = by.and_then(|node| fields.variant_of(node, "by", COLD_BY));
    fields.finish();
    Some(Cold { at: at?, by: by? })
}

fn taken(source: &Source<'_>, node: &Node) -> Option<Taken> {
    let fields = Fields::open(source, node, "Taken")?;
    let taken = Taken {
        hours: days_and_hours(&fields),
        count: fields.count("count"),
        by: fields.text("by"),
    };
    fields.finish();
    Some(taken)
}
