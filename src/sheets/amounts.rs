//! Dishes in amounts, on paper, for other programs and for spreadsheets.
//!
//! The JSON is one object; `format` says which version of this description holds. An *amount* is as in [`super::order`].
//!
//! ```text
//! {
//!   "format": "countback-amounts-1",
//!   "menu": {"id", "name", "covers"},
//!   "dishes": [
//!     {"id", "name", "covers", "portions_wanted", "portions_made", "left_over", "rounds_of_moulds",
//!      "changes": [sentence, …],         beside the menu's own covers; empty where none were asked for
//!      "next": {"covers", "what"} | null,  from how many covers on there is a batch or a round more
//!      "batches": [
//!        {"first", "count", "portions", "of_card", "millilitres": number | null,
//!         "vessels": [{"name", "count", "holds": number | null, "full": number | null}]}],
//!      "ingredients": [
//!        {"name", "step": id | null,
//!         "all": amount,                 as it can be weighed
//!         "exact": amount,               to four figures
//!         "a_batch": [amount, …],        for each of `batches`; empty where it is not taken batch by batch
//!         "remarks": [sentence, …]}]}]
//! }
//! ```

use std::io;

use serde::Serialize;

use super::json::{OfMenu, of_menu};
use super::order::OfAmount;
use super::page::hang;
use super::table::{self, Row};
use crate::menu::{Menu, words};
use crate::quantity::amounts::{DishAmounts, amounts, changes, next_batch_from};
use crate::text::one_line;

/// Names this version of the format.
const FORMAT: &str = "countback-amounts-1";

/// What is to be shown: a menu, which of its dishes, and the menu with its own covers where others were asked for.
#[derive(Clone, Copy, Debug)]
pub struct Asked<'a> {
    /// The menu, with the covers asked for.
    pub menu: &'a Menu,
    /// Its dishes by their places.
    pub dishes: &'a [usize],
    /// The menu with its own covers.
    pub before: Option<&'a Menu>,
}

impl Asked<'_> {
    fn all(&self) -> impl Iterator<Item = (DishAmounts, Vec<String>)> {
        self.dishes.iter().filter_map(|&dish| {
            let found = amounts(self.menu, dish)?;
            let before = self.before.and_then(|menu| amounts(menu, dish));
            let changed = before.map(|before| changes(&before, &found));
            Some((found, changed.unwrap_or_default()))
        })
    }
}

/// Writes dishes in amounts as text.
pub fn write(asked: Asked<'_>, width: usize, out: &mut impl io::Write) -> io::Result<()> {
    let menu = asked.menu;
    writeln!(out, "{}", one_line(&menu.name))?;
    match asked.before {
        Some(before) => writeln!(
            out,
            "amounts for {} covers instead of {}",
            menu.covers, before.covers
        )?,
        None => writeln!(out, "amounts for {} covers", menu.covers)?,
    }
    for (of, changed) in asked.all() {
        let Some(dish) = menu.dishes.get(of.dish) else {
            continue;
        };
        writeln!(out, "\n{}", one_line(&dish.name))?;
        let spare = match dish.spare {
            0 => String::new(),
            spare => format!(" and {spare} spare"),
        };
        let said = format!("{} covers{spare}: {}", of.covers, of.sentences().join("; "));
        hang(&one_line(&said), 2, width, out)?;
        for said in changed {
            hang(&one_line(&format!("what changes: {said}")), 2, width, out)?;
        }
        if let Some((covers, what)) = next_batch_from(menu, of.dish) {
            hang(&format!("from {covers} covers on: {what}"), 2, width, out)?;
        }
        if of.ingredients.is_empty() {
            continue;
        }
        let batches = of.batches.len();
        let per_batch = of.ingredients.iter().any(|it| !it.a_batch.is_empty());
        let mut heads = vec!["in all", "what"];
        if per_batch {
            heads.push("a batch");
            if batches > 1 {
                heads.push("the other");
            }
        }
        heads.push("for");
        let rows: Vec<Row> = of
            .ingredients
            .iter()
            .map(|it| {
                let mut cells = vec![words::amount(&it.all.amount), one_line(&it.name)];
                if per_batch {
                    let amount = |place: usize| {
                        let of = it.a_batch.get(place);
                        of.map(|of| words::amount(&of.amount)).unwrap_or_default()
                    };
                    cells.extend((0..batches.min(2)).map(amount));
                }
                let step = it.step.and_then(|step| dish.steps.get(step));
                cells.push(step.map_or_else(String::new, |step| one_line(&step.name)));
                Row {
                    cells: cells.iter().map(|cell| one_line(cell)).collect(),
                    remark: one_line(&it.remarks.join("; ")),
                }
            })
            .collect();
        table::write(&heads, &rows, width, out)?;
    }
    Ok(())
}

/// Writes dishes in amounts for a spreadsheet: a row for each ingredient.
pub fn write_csv(asked: Asked<'_>, out: &mut impl io::Write) -> io::Result<()> {
    let heads = [
        "dish",
        "covers",
        "portions",
        "batches",
        "what",
        "in all",
        "exact",
        "a batch",
        "the other",
        "step",
        "remarks",
    ];
    let rows = asked.all().flat_map(|(of, _)| {
        let dish = asked.menu.dishes.get(of.dish);
        let name = dish.map_or("", |dish| &dish.name);
        let a_batch = |it: &crate::quantity::amounts::IngredientAmounts, place: usize| {
            let of = it.a_batch.get(place);
            of.map(|of| words::amount(&of.amount)).unwrap_or_default()
        };
        let rows = of.ingredients.iter().map(|it| {
            let step = it.step.and_then(|step| dish?.steps.get(step));
            vec![
                name.to_owned(),
                of.covers.to_string(),
                of.makes.to_string(),
                of.count().to_string(),
                it.name.clone(),
                words::amount(&it.all.amount),
                words::amount(&it.exact),
                a_batch(it, 0),
                a_batch(it, 1),
                step.map_or_else(String::new, |step| step.name.clone()),
                it.remarks.join("; "),
            ]
        });
        rows.collect::<Vec<_>>()
    });
    table::write_csv(&heads, rows, out)
}

#[derive(Serialize)]
struct Document<'a> {
    format: &'static str,
    menu: OfMenu<'a>,
    dishes: Vec<OfDish<'a>>,
}

#[derive(Serialize)]
struct OfDish<'a> {
    id: &'a str,
    name: &'a str,
    covers: u32,
    portions_wanted: u32,
    portions_made: u64,
    left_over: i64,
    rounds_of_moulds: u32,
    changes: Vec<String>,
    next: Option<OfNext>,
    batches: Vec<OfBatch>,
    ingredients: Vec<OfIngredient<'a>>,
}

#[derive(Serialize)]
struct OfNext {
    covers: u32,
    what: String,
}

#[derive(Serialize)]
struct OfBatch {
    first: u32,
    count: u32,
    portions: u32,
    of_card: f64,
    millilitres: Option<f64>,
    vessels: Vec<OfVessel>,
}

#[derive(Serialize)]
struct OfVessel {
    name: String,
    count: u32,
    holds: Option<u32>,
    full: Option<f64>,
}

#[derive(Serialize)]
struct OfIngredient<'a> {
    name: String,
    step: Option<&'a str>,
    all: OfAmount,
    exact: OfAmount,
    a_batch: Vec<OfAmount>,
    remarks: Vec<String>,
}

/// Writes dishes in amounts as one JSON object and a line end.
pub fn write_json(asked: Asked<'_>, out: &mut impl io::Write) -> io::Result<()> {
    let menu = asked.menu;
    let dishes = asked.all().filter_map(|(of, changes)| {
        let dish = menu.dishes.get(of.dish)?;
        let next = next_batch_from(menu, of.dish);
        Some(OfDish {
            id: &dish.id,
            name: &dish.name,
            covers: of.covers,
            portions_wanted: of.wanted,
            portions_made: of.makes,
            left_over: of.left_over(),
            rounds_of_moulds: of.rounds,
            changes,
            next: next.map(|(covers, what)| OfNext { covers, what }),
            ingredients: of
                .ingredients
                .into_iter()
                .map(|it| OfIngredient {
                    step: it
                        .step
                        .and_then(|step| dish.steps.get(step))
                        .map(|step| step.id.as_str()),
                    all: OfAmount::of(&it.all.amount),
                    exact: OfAmount::of(&it.exact),
                    a_batch: it
                        .a_batch
                        .iter()
                        .map(|of| OfAmount::of(&of.amount))
                        .collect(),
                    name: it.name,
                    remarks: it.remarks,
                })
                .collect(),
            batches: of
                .batches
                .into_iter()
                .map(|batch| OfBatch {
                    first: batch.first,
                    count: batch.count,
                    portions: batch.portions,
                    of_card: batch.of_card,
                    millilitres: batch.millilitres,
                    vessels: batch
                        .vessels
                        .into_iter()
                        .map(|it| OfVessel {
                            name: it.name,
                            count: it.count,
                            holds: it.holds,
                            full: it.full,
                        })
                        .collect(),
                })
                .collect(),
        })
    });
    let document = Document {
        format: FORMAT,
        menu: of_menu(menu),
        dishes: dishes.collect(),
    };
    serde_json::to_writer_pretty(&mut *out, &document).map_err(io::Error::from)?;
    writeln!(out)
}
