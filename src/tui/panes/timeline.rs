//! The dishes, and beside each its bar across the days.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::{Line, extent, split_top};
use crate::plan::Plan;
use crate::prep::Standing;
use crate::time::{Minute, Minutes, day_after};
use crate::tui::sheet::Sheet;
use crate::tui::theme::{Tone, mark};
use crate::tui::ui::{Focus, Spot, Ui};
use crate::tui::view::{Care, DishRow, Row, day_heading};
use crate::tui::widgets::bars::{Axis, Label, Stroke, bar, ruler};
use crate::tui::widgets::text::{columns, cut, fit, fit_right, put};

/// Lines of the ruler.
pub(super) const RULER: u16 = 2;

/// Minutes a column, from the closest zoom on.
pub const LEVELS: [i32; 12] = [15, 30, 60, 90, 120, 180, 240, 360, 480, 720, 1440, 2880];

const NOW: &str = "│";
const PASS: char = '◆';
const SERVICE: char = '◇';
const NIGHT: char = '·';
const MIDNIGHT: char = '┊';

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
    let room = i64::from(columns.saturating_sub(2).max(1));
    let length = i64::from(to.0) - i64::from(from.0);
    ((length + room - 1) / room).clamp(1, i64::from(i32::MAX / 1024)) as i32
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
    let (head, rest) = split_top(area, RULER);
    draw_ruler(
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
    let shown = order.into_iter().skip(ui.dish_top);
    for (index, y) in shown.zip(rows.y..rows.bottom()) {
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

/// Returns the midnights in view with the headings of the days they begin; on a very long axis not all.
fn midnights(sheet: &Sheet, axis: &Axis) -> Vec<(String, Minute)> {
    let window = axis.window();
    let days = i64::from(window.length().0 / 1440) + 1;
    let every = days / i64::from(axis.columns.max(1)) + 1;
    let mut date = sheet.service.local(window.start).date;
    let mut found = Vec::new();
    for _ in 0..=(days / every + 1) {
        let minute = sheet.service.at_minute_of_day(date, 0);
        if minute >= window.end {
            break;
        }
        found.push((day_heading(date), minute));
        date = day_after(date, every);
    }
    found
}

fn draw_ruler(buffer: &mut Buffer, area: Rect, axis: &Axis, plan: &Plan, sheet: &Sheet) {
    if area.height == 0 {
        return;
    }
    let heading = sheet.colour.style(Tone::Heading);
    let mut days: Vec<Label> = Vec::new();
    for (text, minute) in midnights(sheet, axis) {
        match axis.column(minute) {
            Some(column) => {
                let short = text
                    .rsplit_once(' ')
                    .map_or(text.as_str(), |(short, _)| short)
                    .to_owned();
                let room = usize::from(axis.columns - column);
                let full = format!("{MIDNIGHT}{text}");
                let text = if columns(&full) <= room && 1440 / axis.per_column >= 12 {
                    full
                } else {
                    format!("{MIDNIGHT}{short}")
                };
                days.push(Label {
                    column,
                    text,
                    style: heading,
                    sign: None,
                });
            }
            // The day that has begun before the axis does, where there is room before the next.
            None if minute < axis.from => {
                let short = text
                    .rsplit_once(' ')
                    .map_or(text.as_str(), |(short, _)| short);
                days.push(Label {
                    column: 0,
                    text: short.to_owned(),
                    style: heading,
                    sign: None,
                });
            }
            None => {}
        }
    }
    // The full days first: a day cut off by the left edge gives way to them.
    days.sort_by_key(|label| !label.text.starts_with(MIDNIGHT));
    ruler(buffer, area.x, area.y, area.width, &days);
    if area.height > 1 {
        let mut labels = marks(axis, plan, sheet);
        labels.extend(hours(axis, sheet));
        ruler(buffer, area.x, area.y + 1, area.width, &labels);
    }
}

/// Returns the labels of now and of the courses.
fn marks(axis: &Axis, plan: &Plan, sheet: &Sheet) -> Vec<Label> {
    let mut labels = Vec::new();
    let style = sheet.colour.style(Tone::Now);
    let now = sheet.now_minute();
    match axis.column(now) {
        Some(column) => labels.push(pointing(axis, column, '▼', "now", style)),
        None if now < axis.from => labels.push(Label {
            column: 0,
            text: "‹now".to_owned(),
            style,
            sign: None,
        }),
        None => {
            let column = axis.columns.saturating_sub(4);
            labels.push(Label {
                column,
                text: "now›".to_owned(),
                style,
                sign: None,
            });
        }
    }
    let style = sheet.colour.style(Tone::Pass);
    if let Some(column) = axis.column(Minute::SERVICE) {
        labels.push(pointing(axis, column, SERVICE, "service", style));
    }
    for course in plan
        .courses
        .iter()
        .filter(|course| course.at != Minute::SERVICE)
    {
        if let Some(column) = axis.column(course.at) {
            labels.push(pointing(axis, column, PASS, &cut(&course.name, 16), style));
        }
    }
    labels
}

/// Returns a label whose sign stands exactly at a column, its words to the right, or to the left where there
/// is no room.
fn pointing(axis: &Axis, column: u16, sign: char, words: &str, style: Style) -> Label {
    let wide = columns(words) as u16 + 1;
    let alone = Some((column, sign));
    if column + wide <= axis.columns {
        return Label {
            column,
            text: format!("{sign}{words}"),
            style,
            sign: alone,
        };
    }
    // Words that fit on neither side leave the sign alone.
    let text = if wide > column + 1 {
        String::new()
    } else {
        format!("{words}{sign}")
    };
    Label {
        column: (column + 1).saturating_sub(wide),
        text,
        style,
        sign: alone,
    }
}

/// Returns the labels of the hours, as close as there is room.
fn hours(axis: &Axis, sheet: &Sheet) -> Vec<Label> {
    let style = sheet.colour.style(Tone::Quiet);
    let Some((every, wide)) = [(1, 3), (2, 3), (3, 3), (6, 3), (6, 6), (12, 3), (12, 6)]
        .into_iter()
        .filter(|(every, wide)| every * 60 / axis.per_column > *wide)
        .min_by_key(|(every, wide)| (*every, -*wide))
    else {
        return Vec::new();
    };
    let mut labels = Vec::new();
    for (_, midnight) in midnights(sheet, axis) {
        let date = sheet.service.local(midnight).date;
        for hour in (0..24).step_by(every as usize) {
            let minute = sheet.service.at_minute_of_day(date, hour * 60);
            if let Some(column) = axis.column(minute) {
                let text = if wide > 3 {
                    format!("{hour:02}:00")
                } else {
                    format!("{hour:02}")
                };
                labels.push(Label {
                    column,
                    text,
                    style,
                    sign: None,
                });
            }
        }
    }
    labels
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
