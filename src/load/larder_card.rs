//! `Larder(…)` as written → what is bought, from whom, in which packs.

use super::Reading;
use super::decode::Fields;
use super::fault::Source;
use super::phrases;
use super::syntax::{Node, Value};
use super::units;
use crate::menu::{Amount, Goods, Larder, Pack, Subject, Supplier, Unit};

/// Reads a larder. What could not be read is reported and left out.
pub(super) fn larder(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    node: &Node,
) -> Option<Larder> {
    let fields = Fields::open(source, node, "Larder")?;
    reading.places.keep(Subject::Larder, &fields);
    let larder = Larder {
        currency: fields.text("currency"),
        suppliers: fields
            .list("suppliers")
            .iter()
            .filter_map(|node| reading.named(supplier, source, node))
            .collect(),
        goods: fields
            .list("goods")
            .iter()
            .filter_map(|node| reading.named(goods, source, node))
            .collect(),
    };
    fields.finish();
    Some(larder)
}

fn supplier(reading: &mut Reading<'_>, source: &Source<'_>, node: &Node) -> Option<Supplier> {
    let fields = Fields::open(source, node, "Supplier")?;
    let name = fields.required_text("name");
    let order_ahead = fields.phrase("order", phrases::order_ahead);
    let days = fields.phrase("days", phrases::days);
    let by = fields.phrase("by", phrases::time_of_day);
    if let Some(name) = &name {
        reading
            .places
            .keep(Subject::Supplier(name.clone()), &fields);
    }
    fields.finish();
    Some(Supplier {
        name: name?,
        order_ahead,
        days,
        by,
    })
}

fn goods(reading: &mut Reading<'_>, source: &Source<'_>, node: &Node) -> Option<Goods> {
    let fields = Fields::open(source, node, "Goods")?;
    let name = fields.required_text("name");
    let goods = Goods {
        name: name.clone().unwrap_or_default(),
        kind: fields.text("kind"),
        supplier: fields.text("supplier"),
        order_ahead: fields.phrase("order", phrases::order_ahead),
        pack: amount(&fields, "pack"),
        price: fields.phrase("price", phrases::price),
        other_packs: fields
            .list("other_packs")
            .iter()
            .filter_map(|node| pack(source, node))
            .collect(),
        loss: fields.phrase("loss", phrases::loss).unwrap_or(0),
        density: fields.phrase("density", phrases::density),
        each: amount(&fields, "each"),
        stock: amount(&fields, "stock"),
        strength: fields.phrase("strength", phrases::strength),
        ahead: fields.phrase("ahead", phrases::ahead),
    };
    if let Some(name) = &name {
        reading.places.keep(Subject::Goods(name.clone()), &fields);
    }
    fields.finish();
    name.map(|_| goods)
}

fn pack(source: &Source<'_>, node: &Node) -> Option<Pack> {
    let fields = Fields::open(source, node, "Pack")?;
    fields.required("holds");
    let pack = Pack {
        holds: amount(&fields, "holds").unwrap_or_default(),
        price: fields.phrase("price", phrases::price),
    };
    fields.finish();
    Some(pack)
}

/// Returns an amount; a bare number counts pieces. A larder has no `measures`: what is bought says its unit in full.
fn amount(fields: &Fields<'_>, name: &'static str) -> Option<Amount> {
    let node = fields.optional(name)?;
    if let Value::Int(number @ 0..=1_000_000_000) = node.value {
        return Some(Amount::Measured {
            number: number as f64,
            unit: Unit::Count(String::new()),
        });
    }
    fields.phrase_of(node, name, units::exact_amount)
}
