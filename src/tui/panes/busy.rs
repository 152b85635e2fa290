//! Hands and kit over the days: who is at work when, and how many of each kind of kit are in use.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::pages::bullet;
use super::{framed, panel, put_extent, ruler, scrolled, split_top};
use crate::plan::Plan;
use crate::prep::busy;
use crate::time::{Minutes, Window};
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::{Spot, Ui};
use crate::tui::widgets::bars::{Axis, Stroke, bar};
use crate::tui::widgets::text::{clean, cut, fit, fit_right, put};

/// Columns of what stands before a bar: how much, with a gap on either side.
const HOW_MUCH: usize = 11;

/// How far back the page goes: what has just been is how a cook finds the place.
const BACK: Minutes = Minutes::hours(2);

/// A line below the ruler.
struct Row {
    name: String,
    /// How much of it.
    much: String,
    tone: Tone,
    /// What stands in the place of a bar.
    legend: &'static str,
    /// Stretches with what fills them and which of them wins.
    bar: Vec<(Window, char, u8)>,
    /// What fills the rest.
    ground: char,
}

/// Draws the page over the sheet.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = "hands and kit over the days: Esc closes it, ↑ ↓ scroll";
    ui.seen.spots.push((area, Spot::Page));
    let Some(plan) = sheet.times().filter(|_| !sheet.shows_needed_only()) else {
        let mut lines = Vec::new();
        let width = usize::from(area.width).saturating_sub(4);
        bullet(
            &mut lines,
            "no plan says who works when",
            width,
            Tone::Plain,
        );
        let inside = panel(
            buffer,
            area,
            (area.width, framed(lines.len())),
            title,
            sheet,
        );
        scrolled(buffer, inside, &lines, 0, sheet);
        return;
    };
    let rows = rows(sheet, plan);
    let lines = usize::from(ruler::LINES) + rows.len();
    let inside = panel(buffer, area, (area.width, framed(lines)), title, sheet);
    let names = if area.width < 100 { 18 } else { 28 };
    let left = u16::try_from(names + HOW_MUCH).unwrap_or(u16::MAX);
    let bars = Rect {
        x: inside.x + left.min(inside.width),
        width: inside.width.saturating_sub(left),
        ..inside
    };
    let from = plan.span.start.max(sheet.now_minute() - BACK);
    let axis = Axis::over(from, plan.span.end, bars.width);
    let (head, body) = split_top(inside, ruler::LINES);
    ruler::draw(
        buffer,
        Rect {
            height: head.height,
            ..bars
        },
        &axis,
        plan,
        sheet,
    );
    let fit_lines = usize::from(body.height);
    ui.seen.page_lines = (fit_lines, rows.len());
    ui.page_top = ui.page_top.min(rows.len().saturating_sub(fit_lines));
    for (row, y) in rows.iter().skip(ui.page_top).zip(body.y..body.bottom()) {
        let line = Rect {
            y,
            height: 1,
            ..body
        };
        draw_row(buffer, line, (names, bars.x), row, &axis, sheet);
    }
    put_extent(buffer, body, ui.page_top, rows.len(), sheet);
}

fn rows(sheet: &Sheet, plan: &Plan) -> Vec<Row> {
    let heading = |name: &str, much: &str, legend| Row {
        name: name.to_owned(),
        much: much.to_owned(),
        tone: Tone::Heading,
        legend,
        bar: Vec::new(),
        ground: ' ',
    };
    let now = sheet.now_minute();
    let mut rows = vec![heading(
        "Hands",
        "to come",
        "█ at work  ░ on shift  · not there",
    )];
    rows.extend(busy::cooks(plan, &sheet.prep).into_iter().map(|cook| {
        let there = cook.shifts.iter().map(|&window| (window, '░', 1));
        let works = cook.works.iter().map(|&window| (window, '█', 2));
        Row {
            much: cook.left(now).to_string(),
            tone: Tone::Plain,
            legend: "",
            bar: there.chain(works).collect(),
            ground: '·',
            name: cook.cook,
        }
    }));
    rows.push(heading("", "", ""));
    rows.push(heading(
        "Kit",
        "at most",
        "█ all in use  1 2 … so many  + ten or more",
    ));
    let kit = busy::kit(plan, &sheet.prep, &sheet.menu.kitchen).into_iter();
    rows.extend(kit.map(|kit| {
        let (most, places) = (kit.most(now), kit.places);
        let bar = kit.uses.iter().map(|&(window, count)| {
            let symbol = if count >= places {
                '█'
            } else {
                char::from_digit(count, 10).unwrap_or('+')
            };
            (window, symbol, u8::try_from(count).unwrap_or(u8::MAX))
        });
        Row {
            much: format!("{most} of {places}"),
            tone: if most >= places {
                Tone::Now
            } else {
                Tone::Plain
            },
            legend: "",
            bar: bar.collect(),
            ground: ' ',
            name: kit.kit,
        }
    }));
    rows
}

fn draw_row(
    buffer: &mut Buffer,
    line: Rect,
    (names, bars): (usize, u16),
    row: &Row,
    axis: &Axis,
    sheet: &Sheet,
) {
    let style = sheet.colour.style(row.tone);
    let name = fit(&clean(&row.name), names);
    let text = format!("{name} {}", fit_right(&row.much, HOW_MUCH - 2));
    put(buffer, line.x, line.y, line.width, &text, style);
    let strokes: Vec<Stroke> = row
        .bar
        .iter()
        .map(|&(window, symbol, rank)| Stroke {
            window,
            symbol,
            style,
            rank,
        })
        .collect();
    let ground = vec![(row.ground, style); usize::from(axis.columns)];
    bar(buffer, bars, line.y, axis, &strokes, &ground);
    let room = line.right().saturating_sub(bars);
    let legend = cut(row.legend, usize::from(room));
    put(buffer, bars, line.y, room, &legend, style);
}
