//! The matrix of dishes and allergens, the guests with needs and the cautions, as text, JSON and CSV; and labels.
//!
//! ```text
//! {
//!   "format": "countback-allergens-1",
//!   "menu": id, "list", "deference",
//!   "dishes": [{"dish": id, "name",
//!               "allergens": [{"group", "standing": "contains" | "not-known" | "may-contain" | "free",
//!                              "because": [sentence, …]}],
//!               "cautions": [{"caution", "text", "source", "where": [name, …], "more": sentence | null}],
//!               "looks_like": [sentence, …]}],
//!   "guests": [{"name", "count", "served": [dish id, …],
//!               "clashes": [{"dish": id, "standing", "what"}]}]
//! }
//! ```
//!
//! As CSV a row is a dish and a column an entry of the list; a cell says `contains`, `may contain`, `not known` or
//! `free, as declared`.

use std::collections::BTreeSet;
use std::io;

use serde_json::{Value, json};

use super::page::{NARROWEST, hang};
use super::table;
use crate::menu::{Dish, Menu};
use crate::plan::Plan;
use crate::prep::oldest_parts;
use crate::safety::allergens::{List, Matrix, Reason, Standing, matrix, undeclared};
use crate::safety::cautions::{Bearing, of_dish};
use crate::safety::labels::{Made, label};
use crate::safety::looks_like::suggestions;
use crate::safety::timeline::{Checked, Verdict};
use crate::safety::{DEFERENCE, caution_name, caution_source, caution_text, guests};
use crate::text::{columns, fit, one_line};
use crate::time::Minute;

/// Writes the matrix, why each cell is what it is, the guests and the cautions.
pub fn write(menu: &Menu, list: List, width: usize, out: &mut impl io::Write) -> io::Result<()> {
    let width = width.max(NARROWEST);
    let matrix = matrix(menu, list);
    writeln!(out, "{}: allergens", one_line(&menu.name))?;
    hang(&format!("by the list of {}", list.name()), 0, width, out)?;
    writeln!(out)?;
    table(menu, &matrix, width, out)?;
    hang(
        "C contains, ? not known (something in it has not been declared), m may contain, - declared free; what an ingredient may contain by contact is known only where somebody has declared it (`may_contain: []` on the card declares that there is none)",
        0,
        width,
        out,
    )?;
    for (dish, row) in menu.dishes.iter().zip(&matrix.rows) {
        writeln!(out)?;
        writeln!(out, "{}", one_line(&dish.name))?;
        for (group, cell) in list.groups().iter().zip(row) {
            // What nobody has declared is said once for the dish and not once for each entry.
            let known = cell.reasons.iter().filter(|it| it.allergen.is_some());
            let why: Vec<_> = known.map(|reason| one_line(&reason.sentence())).collect();
            if !why.is_empty() {
                hang(
                    &format!("{}: {}", group.name, why.join("; ")),
                    2,
                    width,
                    out,
                )?;
            }
        }
        for (sentence, entries) in undeclared(row) {
            let of = if entries.len() == row.len() {
                String::new()
            } else {
                let names = entries.iter().filter_map(|&at| list.groups().get(at));
                let names: Vec<_> = names.map(|group| group.name).collect();
                format!(" of {}", names.join(", "))
            };
            hang(
                &format!("not known{of}: {}", one_line(&sentence)),
                2,
                width,
                out,
            )?;
        }
        for bearing in of_dish(menu, dish) {
            hang(&one_line(&said(&bearing)), 2, width, out)?;
        }
        for suggestion in suggestions(dish) {
            hang(
                &format!("look again: {}", one_line(&suggestion.what)),
                2,
                width,
                out,
            )?;
        }
    }
    write_guests(menu, width, out)?;
    writeln!(out)?;
    hang(
        &format!("As the cards declare it; {DEFERENCE}."),
        0,
        width,
        out,
    )
}

fn said(bearing: &Bearing) -> String {
    let more = bearing
        .more
        .as_ref()
        .map_or_else(String::new, |more| format!("; {more}"));
    format!(
        "caution, {} ({}): {}{more} ({})",
        caution_name(bearing.caution),
        bearing.places.join(", "),
        caution_text(bearing.caution),
        caution_source(bearing.caution)
    )
}

/// Writes the matrix in as many blocks of columns as the width asks for.
fn table(menu: &Menu, matrix: &Matrix, width: usize, out: &mut impl io::Write) -> io::Result<()> {
    const CELL: usize = 8;
    let name = menu
        .dishes
        .iter()
        .map(|dish| columns(&one_line(&dish.name)));
    let name = name.max().unwrap_or(0).clamp(8, 28);
    let groups = matrix.list.groups();
    let across = (width.saturating_sub(name + 1) / CELL).max(1);
    for (block, heads) in groups.chunks(across).enumerate() {
        let mut line = fit("", name);
        for group in heads {
            line.push(' ');
            line.push_str(&fit(group.short, CELL - 1));
        }
        writeln!(out, "{}", line.trim_end())?;
        for (dish, row) in menu.dishes.iter().zip(&matrix.rows) {
            let mut line = fit(&one_line(&dish.name), name);
            for cell in row.iter().skip(block * across).take(heads.len()) {
                line.push(' ');
                line.push_str(&fit(cell.standing().mark(), CELL - 1));
            }
            writeln!(out, "{}", line.trim_end())?;
        }
        writeln!(out)?;
    }
    Ok(())
}

fn write_guests(menu: &Menu, width: usize, out: &mut impl io::Write) -> io::Result<()> {
    if menu.guests.is_empty() {
        return Ok(());
    }
    writeln!(out, "\nGuests with needs")?;
    let name = |dish: usize| menu.dishes.get(dish).map_or("", |dish| dish.name.as_str());
    for checked in guests::check(menu) {
        let guest = &menu.guests[checked.guest];
        let count = if guest.count == 1 {
            String::new()
        } else {
            format!(" ({} guests)", guest.count)
        };
        writeln!(out, "{}{count}", one_line(&guest.name))?;
        for clash in &checked.clashes {
            let what = format!(
                "NOT {} as it stands: {} ({})",
                one_line(name(clash.dish)),
                one_line(&clash.what),
                clash.standing.word()
            );
            hang(&what, 2, width, out)?;
        }
        let served: Vec<_> = checked
            .served
            .iter()
            .map(|&dish| one_line(name(dish)))
            .collect();
        let served = if served.is_empty() {
            "nothing on this menu".to_owned()
        } else {
            served.join(", ")
        };
        hang(
            &format!("nothing declared stands against: {served}"),
            2,
            width,
            out,
        )?;
    }
    Ok(())
}

/// Writes the matrix as a table for a spreadsheet.
pub fn write_csv(menu: &Menu, list: List, out: &mut impl io::Write) -> io::Result<()> {
    let matrix = matrix(menu, list);
    let groups = list.groups().iter().map(|group| group.name);
    let heads: Vec<&str> = std::iter::once("dish").chain(groups).collect();
    let rows = menu.dishes.iter().zip(&matrix.rows).map(|(dish, row)| {
        let cells = row.iter().map(|cell| cell.standing().word().to_owned());
        std::iter::once(dish.name.clone())
            .chain(cells)
            .collect::<Vec<_>>()
    });
    table::write_csv(&heads, rows, out)
}

/// Writes everything for programs.
pub fn write_json(menu: &Menu, list: List, out: &mut impl io::Write) -> io::Result<()> {
    let matrix = matrix(menu, list);
    let dishes = menu.dishes.iter().zip(&matrix.rows).map(|(dish, row)| {
        let cells = list.groups().iter().zip(row).map(|(group, cell)| {
            json!({
                "group": group.name,
                "standing": standing(cell.standing()),
                "because": cell.reasons.iter().map(Reason::sentence).collect::<Vec<_>>(),
            })
        });
        json!({
            "dish": dish.id,
            "name": dish.name,
            "allergens": cells.collect::<Vec<_>>(),
            "cautions": cautions(menu, dish),
            "looks_like": suggestions(dish).into_iter().map(|it| it.what).collect::<Vec<_>>(),
        })
    });
    let id = |dish: usize| menu.dishes.get(dish).map(|dish| dish.id.clone());
    let guests = guests::check(menu).into_iter().map(|checked| {
        let guest = &menu.guests[checked.guest];
        let clashes = checked.clashes.iter().map(|clash| {
            json!({
                "dish": id(clash.dish),
                "standing": standing(clash.standing),
                "what": clash.what,
            })
        });
        json!({
            "name": guest.name,
            "count": guest.count,
            "served": checked.served.iter().map(|&dish| id(dish)).collect::<Vec<_>>(),
            "clashes": clashes.collect::<Vec<_>>(),
        })
    });
    let whole = json!({
        "format": "countback-allergens-1",
        "menu": menu.id,
        "list": list.key(),
        "deference": DEFERENCE,
        "dishes": dishes.collect::<Vec<_>>(),
        "guests": guests.collect::<Vec<_>>(),
    });
    serde_json::to_writer_pretty(&mut *out, &whole)?;
    writeln!(out)
}

fn cautions(menu: &Menu, dish: &Dish) -> Vec<Value> {
    let bearings = of_dish(menu, dish).into_iter();
    bearings
        .map(|it| {
            json!({
                "caution": caution_name(it.caution),
                "text": caution_text(it.caution),
                "source": caution_source(it.caution),
                "where": it.places,
                "more": it.more,
            })
        })
        .collect()
}

fn standing(standing: Standing) -> &'static str {
    match standing {
        Standing::Free => "free",
        Standing::May => "may-contain",
        Standing::NotKnown => "not-known",
        Standing::Contains => "contains",
    }
}

/// Writes a label for each batch of a dish, or of all of them, parted by a rule; days are those of the set that the menu has
/// been held against.
pub fn write_labels(
    menu: &Menu,
    plan: &Plan,
    checked: &Checked,
    list: List,
    only: Option<usize>,
    out: &mut impl io::Write,
) -> io::Result<()> {
    let matrix = matrix(menu, list);
    let set = checked.set;
    let mut first = true;
    for made in batches(menu, plan, checked) {
        if only.is_some_and(|only| only != made.dish) {
            continue;
        }
        let Some(label) = label(menu, set, &matrix, plan.service, &made) else {
            continue;
        };
        if !first {
            writeln!(out, "{}", "-".repeat(40))?;
        }
        first = false;
        for line in label.text().lines() {
            writeln!(out, "{}", one_line_keeping_columns(line))?;
        }
    }
    Ok(())
}

/// A label's columns are of its own making; only what could upset a terminal is taken out.
fn one_line_keeping_columns(line: &str) -> String {
    crate::text::clean(line).into_owned()
}

/// Returns when, and by whom, each batch of each dish is made on a plan. Its days are counted from its oldest part.
fn batches(menu: &Menu, plan: &Plan, checked: &Checked) -> Vec<Made> {
    let oldest = oldest_parts(menu, plan, checked.set);
    let mut found = Vec::new();
    for (place, dish) in menu.dishes.iter().enumerate() {
        for batch in 1..=menu.batches_of(dish) {
            // What is done once for the dish is in every batch of it.
            let own: Vec<usize> = (0..plan.steps.len())
                .filter(|&at| {
                    let step = &plan.steps[at];
                    let each = dish.steps.get(step.step).map(|step| &step.each);
                    step.dish == place
                        && (each != Some(&crate::menu::Multiple::Batch) || step.key.batch == batch)
                })
                .collect();
            let begun = own.iter().map(|&at| plan.steps[at].window.start).min();
            let begun = made_of(plan, &own, &oldest).or(begun);
            let own: Vec<_> = own.iter().map(|&at| &plan.steps[at]).collect();
            let (Some(begun), Some(ready)) = (begun, own.iter().map(|step| step.window.end).max())
            else {
                continue;
            };
            let mut who: Vec<String> = Vec::new();
            for cook in own
                .iter()
                .flat_map(|step| &step.hands)
                .flat_map(|it| &it.cooks)
            {
                if !who.contains(cook) {
                    who.push(cook.clone());
                }
            }
            found.push(Made {
                dish: place,
                batch,
                begun,
                ready,
                who,
                verdict: checked
                    .dishes
                    .get(place)
                    .map_or(Verdict::NotKnown, |dish| dish.verdict),
            });
        }
    }
    found
}

/// Returns when the oldest part was made of what some steps of a plan end with.
fn made_of(plan: &Plan, own: &[usize], oldest: &[Option<Minute>]) -> Option<Minute> {
    let followed: BTreeSet<usize> = own
        .iter()
        .flat_map(|&at| plan.steps[at].follows.iter().copied())
        .collect();
    let ends = own.iter().filter(|at| !followed.contains(at));
    ends.filter_map(|&at| oldest.get(at).copied().flatten())
        .min()
}
