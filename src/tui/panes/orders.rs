//! What to buy: a page over the sheet, divided by supplier, by kind or by the day to order.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Line;
use super::pages::{bullet, heading, over_searched};
use crate::menu::words;
use crate::prep::{ordered, short_of};
use crate::quantity::order::{self, By};
use crate::time::Timestamp;
use crate::tui::filters::dish_name;
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::Ui;
use crate::tui::widgets::text::{clean, columns, fit, fit_right, wrap};

/// Columns of the time to order by, of what to buy and of the cost.
const WHEN: usize = 15;
const BUY: usize = 16;
const COST: usize = 9;

/// Draws the order list.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let by = match ui.orders_by {
        By::Supplier => "by supplier",
        By::Kind => "by kind",
        By::Date => "by the day to order",
    };
    let title = format!("to buy, {by}: Tab divides it otherwise, Esc closes it");
    let lines = |width| lines(sheet, &*ui, width);
    let lines = lines(usize::from(area.width.min(100)).saturating_sub(4));
    over_searched(buffer, area, &title, |_| lines, sheet, ui);
}

fn lines(sheet: &Sheet, ui: &Ui, width: usize) -> Vec<Line> {
    let list = &sheet.view.orders;
    let mut lines = Vec::new();
    if !ui.filter.is_empty() {
        let said = clean(&ui.filter.words(|dish| dish_name(sheet, dish))).into_owned();
        bullet(&mut lines, &format!("only {said}"), width, Tone::Quiet);
    }
    let listed = |place: &&usize| {
        list.lines
            .get(**place)
            .is_some_and(|it| passes(sheet, ui, it))
    };
    for (under, places) in list.divided(ui.orders_by, sheet.service) {
        let places: Vec<&order::Line> = places
            .iter()
            .filter(listed)
            .filter_map(|&place| list.lines.get(place))
            .collect();
        if places.is_empty() {
            continue;
        }
        heading(&mut lines, &clean(&under));
        for line in places {
            one(&mut lines, sheet, ui, line, width);
        }
    }
    if lines.is_empty() {
        bullet(&mut lines, "no dish has an ingredient", width, Tone::Plain);
    }
    if let Some((total, unpriced)) = list.cost()
        && ui.filter.is_empty()
    {
        heading(&mut lines, "In all");
        let currency = list.currency.as_deref().unwrap_or_default();
        let more = match unpriced {
            0 => String::new(),
            unpriced => format!("; {unpriced} more to buy without a price"),
        };
        let said = format!("{} {}{more}", words::price(total), clean(currency));
        bullet(&mut lines, &said, width, Tone::Plain);
    }
    lines
}

/// Returns whether the filters leave a line: by its dishes, and by the day to order it.
fn passes(sheet: &Sheet, ui: &Ui, line: &order::Line) -> bool {
    let (dishes, days) = (&ui.filter.dishes, &ui.filter.days);
    let date = line.order_by.map(|by| sheet.service.local(by).date);
    (dishes.is_empty() || line.dishes.iter().any(|(dish, _)| dishes.contains(dish)))
        && (days.is_empty() || date.is_some_and(|date| days.contains(&date)))
}

fn one(lines: &mut Vec<Line>, sheet: &Sheet, ui: &Ui, line: &order::Line, width: usize) {
    let to_buy = line.is_to_buy();
    let ordered = ordered(line, &sheet.prep);
    let past =
        to_buy && ordered.is_none() && line.order_by.is_some_and(|by| by < sheet.now_minute());
    let clock = |at: Timestamp| at.local(sheet.service.zone()).weekday_clock();
    let when = match (line.order_by, line.order_ahead) {
        _ if ordered.is_some() => ordered.map_or_else(String::new, |at| format!("✓ {}", clock(at))),
        _ if !to_buy => String::new(),
        (Some(by), _) => {
            let when = sheet.service.local(by).weekday_clock();
            if past { format!("past {when}") } else { when }
        }
        (None, Some(ahead)) => words::order_ahead(ahead),
        (None, None) => String::new(),
    };
    let short = short_of(line, &sheet.prep);
    let cost = short
        .as_ref()
        .map_or(line.cost, |(rest, _)| rest.cost)
        .filter(|_| to_buy)
        .map(words::price)
        .unwrap_or_default();
    let name = width.saturating_sub(WHEN + BUY + COST + 3);
    let buy = short
        .as_ref()
        .map_or_else(|| line.buy(), |(rest, _)| rest.buy());
    let buy = clean(&buy).into_owned();
    // What does not fit its column stands whole on the line below.
    let long = columns(&buy) > BUY;
    let text = format!(
        "{} {} {} {}",
        fit(&when, WHEN),
        fit(if long { "" } else { &buy }, BUY),
        fit(&clean(&line.name), name),
        fit_right(&cost, COST),
    );
    let tone = match (past, to_buy) {
        (true, _) => Tone::Alarm,
        (false, true) => Tone::Plain,
        (false, false) => Tone::Quiet,
    };
    lines.push(Line {
        text,
        tone,
        lead: WHEN as u16,
        lead_tone: tone,
        does: None,
    });
    let mut said = Vec::new();
    if long {
        said.push(buy);
    }
    let dishes = line.dishes.iter().map(|(dish, amounts)| {
        format!("{} ({})", dish_name(sheet, *dish), words::amounts(amounts))
    });
    said.push(format!("for {}", dishes.collect::<Vec<_>>().join(", ")));
    if ui.orders_by != By::Supplier
        && let Some(supplier) = &line.supplier
    {
        said.push(format!("from {supplier}"));
    }
    if let Some(at) = ordered {
        said.push(format!("ordered {}", clock(at)));
    }
    if let Some((_, known)) = &short {
        said.push(format!("beside {known} that are ordered"));
    }
    if let Some(stock) = &line.stock {
        said.push(format!("{} in stock", words::amount(stock)));
    }
    said.extend(line.remarks.iter().cloned());
    for text in wrap(&clean(&said.join("; ")), width.saturating_sub(WHEN + 1)) {
        lines.push(Line::plain(
            format!("{} {text}", fit("", WHEN)),
            Tone::Quiet,
        ));
    }
}
