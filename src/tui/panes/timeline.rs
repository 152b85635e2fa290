//! The dishes, and beside each its bar across the days.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::others;
use super::ruler::{self, MIDNIGHT, PASS, SERVICE, midnights};
use super::{Line, extent, split_top};
use crate::plan::Plan;
use crate::prep::Standing;
use crate::time::{Minute, Minutes};
use crate::tui::sheet::Sheet;
use crate::tui::theme::{Tone, mark};
use crate::tui::ui::{Focus, Spot, Ui};
use crate::tui::view::{Care, DishRow, Row};
use crate::tui::widgets::bars::{Axis, Stroke, bar};
use crate::tui::widgets::text::{columns, fit, fit_right, put};

/// Minutes a column, from the closest zoom on.
pub const LEVELS: [i32; 12] = [15, 30, 60, 90, 120, 180, 240, 360, 480, 720, 1440, 2880];

const NOW: &str = "│";
const NIGHT: char = '·';

/// Returns what fills the columns of a bar.
fn symbol(care: Care, over: bool) -> char {
    match (care, over) {
        (Care::Hands, false) => '█',
        (Care::LookIn, false) => '░',
        (Care::LeftAlone, false) => '─',
        (Care::Hands, true) => '▂',
        (Care::LookIn | Care::LeftAlone, true) => '┈',
    }
}

/// Returns the meaning of every symbol of the timeline.
pub fn legend() -> [(String, &'static str); 9] {
    [
        ("█".to_owned(), "hands"),
        ("░".to_owned(), "look in, or someone about"),
        ("─".to_owned(), "left alone"),
        ("▂┈".to_owned(), "done"),
        (NIGHT.to_string(), "kitchen shut"),
        (MIDNIGHT.to_string(), "midnight"),
        (NOW.to_owned(), "now"),
        (PASS.to_string(), "at the pass"),
        (SERVICE.to_string(), "service"),
    ]
}

/// Returns how many minutes a column must hold for all of the plan to be in view.
pub fn fit_per_column(sheet: &Sheet, columns: u16) -> i32 {
    let Some(plan) = sheet.times() else {
        return 60;
    };
    let (from, to) = whole(plan);
    // Room for the sign of the pass behind what ends with it.
    Axis::over(from, to, columns.saturating_sub(2).max(1)).per_column
}

fn whole(plan: &Plan) -> (Minute, Minute) {
    let last = plan
        .courses
        .iter()
        .map(|course| course.at)
        .max()
        .unwrap_or(Minute::SERVICE);
    (plan.span.start, plan.span.end.max(last))
}

/// Draws the dishes with their bars.
pub fn draw(buffer: &mut Buffer, area: Rect, legend_line: bool, sheet: &Sheet, ui: &mut Ui) {
    let Some(plan) = sheet.times() else {
        return;
    };
    ui.seen.spots.push((area, Spot::Dishes));
    let left = Left::of(area.width, !sheet.view.needed_only, sheet.tells_chance());
    let bars = Rect {
        x: area.x + left.width.min(area.width),
        width: area.width.saturating_sub(left.width),
        ..area
    };
    let axis = place_axis(plan, sheet, ui, bars.width);
    ui.seen.axis = Some(axis);
    let (head, rest) = split_top(area, ruler::LINES);
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
    let rows_height = rest.height - u16::from(legend_line).min(rest.height);
    let (rows, under) = split_top(rest, rows_height);
    let selected = ui
        .selected
        .and_then(|row| sheet.view.rows.get(row))
        .map(|row| row.dish);
    // What is foretold of a dish is on the screen whether or not there is a row for it.
    let all_fit = sheet.view.dishes.len() <= usize::from(rows.height);
    let named = u16::from(!all_fit && !sheet.view.needed_only && rows.height > 1);
    let (rows, others_line) = split_top(rows, rows.height - named);
    let fit_rows = usize::from(rows.height);
    ui.seen.dish_lines = fit_rows;
    ui.dish_top = ui
        .dish_top
        .min(sheet.view.dishes.len().saturating_sub(fit_rows));
    let order = sheet.view.dish_order();
    let place = order.iter().position(|dish| Some(*dish) == selected);
    if let Some(place) = place {
        ui.dish_top = ui
            .dish_top
            .clamp((place + 1).saturating_sub(fit_rows.max(1)), place);
    }
    draw_head(buffer, head, &left, sheet, ui);
    let ground = ground(plan, sheet, &axis);
    let (shown, others): (Vec<_>, Vec<_>) = order
        .into_iter()
        .enumerate()
        .partition(|(place, _)| (ui.dish_top..ui.dish_top + fit_rows).contains(place));
    for ((_, index), y) in shown.into_iter().zip(rows.y..rows.bottom()) {
        let dish = &sheet.view.dishes[index];
        let line = Rect {
            y,
            height: 1,
            ..rows
        };
        left.draw(buffer, line, (index, dish), selected == Some(index), sheet);
        ui.seen.spots.push((
            Rect {
                width: left.width.min(line.width),
                ..line
            },
            Spot::Dish(index),
        ));
        let bar_line = Rect {
            x: bars.x,
            width: bars.width,
            ..line
        };
        draw_bar(buffer, bar_line, &axis, dish, &ground, sheet, ui);
        ui.seen.spots.push((bar_line, Spot::Bar(index)));
    }
    if others_line.height > 0 {
        let others = others.into_iter().map(|(_, index)| index).collect();
        others::draw(buffer, others_line, others, sheet, ui);
    }
    if legend_line && under.height > 0 {
        draw_legend(buffer, under, sheet);
    }
}

/// The columns left of the bars.
struct Left {
    name: u16,
    in_time: bool,
    at_pass: bool,
    likely: bool,
    width: u16,
}

impl Left {
    fn of(width: u16, in_time: bool, likely: bool) -> Self {
        let name = match width {
            0..100 => 16,
            100..130 => 24,
            _ => 32,
        };
        let at_pass = width >= 130;
        // Marker, mark, name, done of all, ready, perhaps by how much in time, the pass and how likely, a gap.
        let perhaps = [(in_time, 10), (at_pass, 10), (likely, 7)];
        let perhaps = perhaps.iter().filter(|(is, _)| *is).map(|(_, wide)| wide);
        let all = 2 + 1 + name + 1 + 5 + 1 + 9 + perhaps.sum::<u16>() + 1;
        Self {
            name,
            in_time,
            at_pass,
            likely,
            width: all,
        }
    }

    fn line(&self, [lead, name, done, ready, in_time, at_pass, likely]: [&str; 7]) -> String {
        let mut line = format!(
            "{} {} {} {}",
            fit(lead, 2),
            fit(name, usize::from(self.name)),
            fit_right(done, 5),
            fit(ready, 9)
        );
        if self.in_time {
            line.push(' ');
            line.push_str(&fit(in_time, 9));
        }
        if self.at_pass {
            line.push(' ');
            line.push_str(&fit(at_pass, 9));
        }
        if self.likely {
            line.push(' ');
            line.push_str(&fit_right(likely, 6));
        }
        line
    }

    fn draw(
        &self,
        buffer: &mut Buffer,
        line: Rect,
        (index, dish): (usize, &DishRow),
        selected: bool,
        sheet: &Sheet,
    ) {
        let lead = format!("{}{}", if selected { "▸" } else { " " }, mark(dish.worst));
        let done = format!("{}/{}", dish.over, dish.steps);
        let chance = sheet.chance().and_then(|chance| chance.dishes.get(index));
        let likely = match chance {
            Some(chance) => chance.short(),
            None if sheet.reckons() => "…".to_owned(),
            None => String::new(),
        };
        let text = self.line([
            &lead,
            &dish.name,
            &done,
            &dish.ready_text,
            &dish.in_time,
            &dish.at_pass_text,
            &likely,
        ]);
        let mut style = match dish.worst {
            Standing::Waiting | Standing::Ready | Standing::Unticked => Style::new(),
            standing => sheet.colour.style(Tone::State(standing)),
        };
        if dish.late.is_some() {
            style = sheet.colour.style(Tone::Alarm);
        }
        if selected {
            style = style.add_modifier(Modifier::BOLD);
        }
        put(
            buffer,
            line.x,
            line.y,
            line.width.min(self.width),
            &text,
            style,
        );
    }
}

fn draw_head(buffer: &mut Buffer, head: Rect, left: &Left, sheet: &Sheet, ui: &Ui) {
    let tone = if ui.focus == Focus::Dishes {
        Tone::Focused
    } else {
        Tone::Heading
    };
    let width = left.width.min(head.width);
    let all = sheet.view.dishes.len();
    let mut words = format!("   {all} {}", if all == 1 { "dish" } else { "dishes" });
    let seen = extent(ui.dish_top, ui.seen.dish_lines, all);
    if let Some((seen, _)) = seen.split_once(" of ") {
        words.push_str(", ");
        words.push_str(seen);
    }
    if sheet.view.needed_only {
        words.push_str(", no plan");
    }
    if let Some(chance) = sheet.chance() {
        words.push_str(", all in time: ");
        words.push_str(&chance.whole.short());
    }
    put(
        buffer,
        head.x,
        head.y,
        width,
        &words,
        sheet.colour.style(tone),
    );
    let words = left.line([
        "",
        "dish",
        "done",
        if sheet.view.needed_only {
            "needed by"
        } else {
            "ready"
        },
        "in time",
        "the pass",
        "likely",
    ]);
    if head.height > 1 {
        put(
            buffer,
            head.x,
            head.y + 1,
            width,
            &words,
            sheet.colour.style(Tone::Quiet),
        );
    }
}

/// Returns the axis: all days, or as zoomed, scrolled so that the selected step is in view where it must be.
fn place_axis(plan: &Plan, sheet: &Sheet, ui: &mut Ui, columns: u16) -> Axis {
    let (from, to) = whole(plan);
    let fit = fit_per_column(sheet, columns);
    let Some(per_column) = ui.zoom.filter(|zoom| *zoom < fit) else {
        ui.zoom = None;
        ui.time_from = from;
        return Axis::new(from, fit, columns);
    };
    let length = (i64::from(per_column) * i64::from(columns)).min(i64::from(i32::MAX / 4)) as i32;
    let selected = ui
        .selected
        .and_then(|row| sheet.view.rows.get(row))
        .and_then(Row::window);
    if let (true, Some(window)) = (ui.must_show.selected, selected) {
        let seen = Axis::new(ui.time_from, per_column, columns).window();
        let in_view =
            seen.contains(window.start) && (window.end <= seen.end || window.length().0 > length);
        if !in_view {
            ui.time_from = window.start - Minutes(length / 4);
        }
    }
    ui.must_show.selected = false;
    let last = Minute(to.0 - length + 2 * per_column).max(from);
    ui.time_from = ui.time_from.clamp(from, last);
    Axis::new(ui.time_from, per_column, columns)
}

/// Returns what stands under every bar: nights, midnights, now.
fn ground(plan: &Plan, sheet: &Sheet, axis: &Axis) -> Vec<(char, Style)> {
    let quiet = sheet.colour.style(Tone::Quiet);
    let mut cells: Vec<(char, Style)> = (0..axis.columns)
        .map(|column| {
            let window = axis.column_window(column);
            let middle = window.start + Minutes(window.length().0 / 2);
            let after = plan.nights.partition_point(|night| night.end <= middle);
            let shut = plan
                .nights
                .get(after)
                .is_some_and(|night| night.contains(middle));
            if shut { (NIGHT, quiet) } else { (' ', quiet) }
        })
        .collect();
    for (_, minute) in midnights(sheet, axis) {
        if let Some(column) = axis.column(minute) {
            cells[usize::from(column)] = (MIDNIGHT, quiet);
        }
    }
    if let Some(column) = axis.column(sheet.now_minute()) {
        let now = NOW.chars().next().unwrap_or('|');
        cells[usize::from(column)] = (now, sheet.colour.style(Tone::Now));
    }
    cells
}

fn draw_bar(
    buffer: &mut Buffer,
    line: Rect,
    axis: &Axis,
    dish: &DishRow,
    ground: &[(char, Style)],
    sheet: &Sheet,
    ui: &Ui,
) {
    let mut strokes = Vec::with_capacity(dish.strokes.len() + 1);
    for stroke in &dish.strokes {
        let row = &sheet.view.rows[stroke.row];
        if row.standing == Standing::Skipped {
            continue;
        }
        let over = row.standing.is_over();
        let mut style = sheet.colour.style(Tone::State(row.standing));
        let selected = ui.selected == Some(stroke.row);
        if selected {
            style = style.add_modifier(Modifier::BOLD | Modifier::UNDERLINED);
        }
        let rank = 1 + 3 * u8::from(!over) + stroke.care as u8;
        strokes.push(Stroke {
            window: stroke.window,
            symbol: symbol(stroke.care, over),
            style,
            rank,
        });
    }
    bar(buffer, line.x, line.y, axis, &strokes, ground);
    // The pass stands in the column of its time; where the plating fills that column, in the next.
    if let Some(column) = axis.column(dish.at_pass) {
        let taken = |column: u16| {
            strokes
                .iter()
                .any(|stroke| axis.touched(stroke.window).contains(&column))
        };
        let column = if taken(column) && column + 1 < axis.columns {
            column + 1
        } else {
            column
        };
        let style = sheet.colour.style(Tone::Pass);
        put(
            buffer,
            line.x + column,
            line.y,
            1,
            PASS.encode_utf8(&mut [0; 4]),
            style,
        );
    }
}

fn draw_legend(buffer: &mut Buffer, area: Rect, sheet: &Sheet) {
    let quiet = sheet.colour.style(Tone::Quiet);
    let mut x = area.x + 3;
    for (symbol, words) in legend() {
        let text = format!("{symbol} {words}");
        let wide = columns(&text) as u16;
        if x + wide > area.right() {
            break;
        }
        x += put(buffer, x, area.y, wide, &text, quiet) + 2;
    }
}

/// Returns the legend as lines, for the help.
pub(super) fn legend_lines() -> Vec<Line> {
    legend()
        .into_iter()
        .map(|(symbol, words)| Line {
            text: format!("  {} {words}", fit(&symbol, 4)),
            tone: Tone::Plain,
            lead: 5,
            lead_tone: Tone::Key,
            does: None,
        })
        .collect()
}
