//! What a dish takes: batches, vessels, left over, ingredients; for the menu's covers, or for others tried out.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Line;
use super::pages::{bullet, heading, over_searched};
use crate::menu::{Dish, words};
use crate::quantity::amounts::{DishAmounts, amounts, changes, next_batch_from};
use crate::tui::filters::dish_name;
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::Ui;
use crate::tui::widgets::text::{clean, fit, wrap};

/// Columns of an amount.
const AMOUNT: usize = 14;

/// Draws the amounts of a dish.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let name = dish(sheet, ui).map(|dish| dish_name(sheet, dish));
    let title = match name {
        Some(name) => format!("{}: Tab is the next dish, + - other covers", clean(&name)),
        None => "amounts: no dish is left by the filters".to_owned(),
    };
    let lines = lines(
        sheet,
        ui,
        usize::from(area.width.min(100)).saturating_sub(4),
    );
    over_searched(buffer, area, &title, |_| lines, sheet, ui);
}

/// Returns the dishes that the filters leave, by their places.
pub(in crate::tui) fn listed(sheet: &Sheet, ui: &Ui) -> Vec<usize> {
    let chosen = &ui.filter.dishes;
    (0..sheet.menu.dishes.len())
        .filter(|dish| chosen.is_empty() || chosen.contains(dish))
        .collect()
}

/// Returns the dish that is shown: the one gone to, else that of the selected step, else the first listed.
pub(in crate::tui) fn dish(sheet: &Sheet, ui: &Ui) -> Option<usize> {
    let listed = listed(sheet, ui);
    let selected = ui.selected.and_then(|row| sheet.view.rows.get(row));
    ui.amounts_of
        .or(selected.map(|row| row.dish))
        .filter(|dish| listed.contains(dish))
        .or_else(|| listed.first().copied())
}

fn lines(sheet: &Sheet, ui: &Ui, width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    let Some(at) = dish(sheet, ui) else {
        bullet(&mut lines, "f chooses other dishes", width, Tone::Plain);
        return lines;
    };
    let tried = ui.covers_tried.map(|covers| {
        let mut menu = sheet.menu.clone();
        menu.covers = covers;
        menu
    });
    let menu = tried.as_ref().unwrap_or(&sheet.menu);
    let (Some(found), Some(dish)) = (amounts(menu, at), menu.dishes.get(at)) else {
        return lines;
    };
    heading(&mut lines, &for_covers(&found, dish));
    for said in found.sentences() {
        bullet(&mut lines, &clean(&said), width, Tone::Plain);
    }
    if dish.batch.is_some() {
        let said = match dish.batches {
            Some(_) => {
                "as many batches as the menu says: `batches` of its Serve, left out, counts them again"
            }
            None => "another number of batches: Serve(batches: 3, …) in the menu",
        };
        bullet(&mut lines, said, width, Tone::Quiet);
    }
    if let Some((covers, what)) = next_batch_from(menu, at) {
        let said = format!("from {covers} covers of the menu on: {what}");
        bullet(&mut lines, &said, width, Tone::Quiet);
    }
    if tried.is_some()
        && let Some(before) = amounts(&sheet.menu, at)
    {
        heading(
            &mut lines,
            &format!(
                "What {} covers change, where the menu has {}",
                menu.covers, sheet.menu.covers
            ),
        );
        for said in changes(&before, &found) {
            bullet(&mut lines, &clean(&said), width, Tone::Caution);
        }
        bullet(
            &mut lines,
            "only tried out; C decides on other covers",
            width,
            Tone::Quiet,
        );
    }
    ingredients(&mut lines, &found, dish, width);
    lines
}

fn for_covers(found: &DishAmounts, dish: &Dish) -> String {
    let spare = match dish.spare {
        0 => String::new(),
        spare => format!(" and {spare} spare"),
    };
    let decided = match dish.batches {
        Some(1) => ", 1 batch decided on".to_owned(),
        Some(batches) => format!(", {batches} batches decided on"),
        None => String::new(),
    };
    format!("For {} covers{spare}{decided}", found.covers)
}

/// Lists the ingredients under the steps that take them, as the card lists the steps.
fn ingredients(lines: &mut Vec<Line>, found: &DishAmounts, dish: &Dish, width: usize) {
    let steps = dish.steps.iter().enumerate();
    let steps = steps.map(|(place, step)| (Some(place), step.name.as_str()));
    for (place, name) in steps.chain([(None, "kept ready")]) {
        let mut of_step = found.ingredients.iter();
        let of_step: Vec<_> = of_step.by_ref().filter(|it| it.step == place).collect();
        if of_step.is_empty() {
            continue;
        }
        heading(lines, &clean(name));
        for it in of_step {
            let batches = it.a_batch.iter().zip(&found.batches);
            let a_batch: Vec<String> = batches
                .map(|(amount, batch)| {
                    format!("{} × {}", batch.count, words::amount(&amount.amount))
                })
                .collect();
            let name = clean(&it.name);
            let said = if a_batch.is_empty() || found.count() == 1 {
                name.into_owned()
            } else {
                format!("{name}: {}", clean(&a_batch.join(" and ")))
            };
            let amount = words::amount(&it.all.amount);
            let room = width.saturating_sub(AMOUNT + 1);
            for (row, text) in wrap(&said, room).into_iter().enumerate() {
                let amount = if row == 0 { amount.as_str() } else { "" };
                lines.push(Line {
                    text: format!("{} {text}", fit(&clean(amount), AMOUNT)),
                    tone: Tone::Plain,
                    lead: AMOUNT as u16,
                    lead_tone: Tone::Key,
                    does: None,
                });
            }
            for text in wrap(&clean(&it.remarks.join("; ")), room) {
                if !text.is_empty() {
                    lines.push(Line::plain(
                        format!("{} {text}", fit("", AMOUNT)),
                        Tone::Quiet,
                    ));
                }
            }
        }
    }
}
