//! The merged countdown: every step of every dish in the order of time.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::{Modifier, Style};

use super::{extent, fill, split_top, title};
use crate::prep::{ErrandAt, Standing, done_words};
use crate::tui::filters::dish_name;
use crate::tui::sheet::Sheet;
use crate::tui::theme::{Tone, mark};
use crate::tui::ui::{Focus, ListLine, Spot, Ui};
use crate::tui::view::Row;
use crate::tui::widgets::text::{clean, fit, fit_right, put};

/// How far off the screen the next row may be for the list to move to it line by line.
const NEAR: usize = 3;

/// Draws the countdown.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    ui.seen.spots.push((area, Spot::List));
    let (title_line, rest) = split_top(area, 1);
    let (head, list) = split_top(rest, 1);
    let fit_lines = usize::from(list.height);
    ui.seen.list_lines = fit_lines;
    place(ui, fit_lines);
    draw_title(buffer, title_line, sheet, ui, fit_lines);
    let columns = if sheet.has_no_plan() {
        Columns::without_times(list.width)
    } else {
        Columns::of(list.width, sheet.view.countdown_columns)
    };
    if head.height > 0 {
        let start = if sheet.view.needed_only {
            "needed by"
        } else {
            "start"
        };
        let words = columns.line([
            "", start, "T−", "takes", "dish", "step", "hands", "who", "kit", "state",
        ]);
        put(
            buffer,
            head.x,
            head.y,
            head.width,
            &words,
            sheet
                .colour
                .style(Tone::Quiet)
                .add_modifier(Modifier::UNDERLINED),
        );
    }
    if ui.lines.is_empty() {
        draw_nothing(buffer, list, sheet, ui);
    }
    for (line, y) in ui.lines.iter().skip(ui.list_top).zip(list.y..list.bottom()) {
        let place = Rect {
            y,
            height: 1,
            ..list
        };
        match line {
            ListLine::Heading(day) => {
                let heading = sheet.colour.style(Tone::Heading);
                let taken = 4 + put(buffer, place.x + 3, y, place.width, day, heading);
                let rest = Rect {
                    x: place.x + taken,
                    width: place.width.saturating_sub(taken),
                    ..place
                };
                fill(buffer, rest, "┈", sheet.colour.style(Tone::Quiet));
            }
            ListLine::Now => {
                let clock = sheet.now.local(sheet.service.zone()).weekday_clock();
                let style = sheet.colour.style(Tone::Now);
                let taken = put(
                    buffer,
                    place.x,
                    y,
                    place.width,
                    &format!("── now {clock} "),
                    style,
                );
                let rest = Rect {
                    x: place.x + taken,
                    width: place.width - taken,
                    ..place
                };
                fill(buffer, rest, "─", style);
            }
            ListLine::Row(index) => {
                if let Some(row) = sheet.view.rows.get(*index) {
                    draw_row(buffer, place, &columns, row, *index, sheet, ui);
                }
                ui.seen.spots.push((place, Spot::Row(*index)));
            }
            ListLine::Errand(index) => {
                if let Some(errand) = sheet.view.errands.get(*index) {
                    let selected = ui.errand == Some(*index);
                    draw_errand(buffer, place, &columns, errand, selected, sheet);
                }
                ui.seen.spots.push((place, Spot::Errand(*index)));
            }
        }
    }
}

/// Says why nothing is listed.
fn draw_nothing(buffer: &mut Buffer, list: Rect, sheet: &Sheet, ui: &Ui) {
    let none = if sheet.view.rows.is_empty() {
        "the menu has no steps"
    } else if sheet.has_no_plan() {
        "no step is left by the filters; Esc clears them"
    } else if ui.tonight && ui.filter.is_empty() {
        "nothing must start tonight; t lists everything"
    } else {
        "no step is left by tonight and the filters; Esc clears the filters, t lists all times"
    };
    put(
        buffer,
        list.x + 3,
        list.y + list.height.min(1),
        list.width.saturating_sub(3),
        none,
        sheet.colour.style(Tone::Plain),
    );
}

/// Scrolls so that the selected row is in view, with its day above it where there is room.
fn place(ui: &mut Ui, fit_lines: usize) {
    let all = ui.lines.len();
    if std::mem::take(&mut ui.must_show.now) {
        let now = ui.lines.iter().position(|line| *line == ListLine::Now);
        ui.list_top = now.map_or(all, |line| line.saturating_sub(2));
    }
    ui.list_top = ui.list_top.min(all.saturating_sub(fit_lines));
    if let Some(line) = ui.selected_line() {
        let below = (line + 1).saturating_sub(ui.list_top + fit_lines);
        let above = ui.list_top.saturating_sub(line);
        // A step moves the list by what is needed; a jump lands with lines around it.
        if above.max(below) > NEAR {
            ui.list_top = line
                .saturating_sub(fit_lines / 3)
                .min(all.saturating_sub(fit_lines));
        }
        ui.list_top = ui
            .list_top
            .clamp((line + 1).saturating_sub(fit_lines.max(1)), line);
        let heads = ui
            .list_top
            .checked_sub(1)
            .and_then(|above| ui.lines.get(above));
        if line == ui.list_top && fit_lines > 1 && matches!(heads, Some(ListLine::Heading(_))) {
            ui.list_top -= 1;
        }
    }
}

fn draw_title(buffer: &mut Buffer, line: Rect, sheet: &Sheet, ui: &Ui, fit_lines: usize) {
    let mut said = Vec::new();
    let steps = sheet.view.rows.len();
    let rows = || sheet.view.rows.iter();
    let over = rows().filter(|row| row.standing.is_over()).count();
    let skipped = rows().filter(|row| row.standing == Standing::Skipped);
    let done = done_words(over, skipped.count(), steps);
    if ui.tonight && sheet.view.needed_only {
        said.push("no plan".to_owned());
    }
    if sheet.has_no_plan() {
        said.push(format!("no plan: the steps as the menu lists them, {done}"));
    } else if ui.tonight {
        let tonight = ui.tonight_window(sheet);
        let until = sheet.service.local(tonight.end).weekday_clock();
        let (count, hands) = ui.tonight_sum;
        said.push(format!(
            "tonight: until {until}, {count} to start, hands {hands}"
        ));
    } else if sheet.view.needed_only {
        said.push("no plan: when each step would have had to start".to_owned());
    } else if sheet.forecast().is_some() {
        said.push(format!("what can still be: {done}"));
    } else {
        said.push(format!("countdown: {done}"));
    }
    if !ui.filter.is_empty() {
        said.push(format!(
            "only {}",
            clean(&ui.filter.words(|dish| dish_name(sheet, dish)))
        ));
    }
    if !ui.search.is_empty() {
        said.push(format!("\"{}\"", clean(&ui.search)));
    }
    let mut right = extent(ui.list_top, fit_lines, ui.lines.len());
    let plain = ui.filter.is_empty() && ui.search.is_empty();
    if ui.tonight && plain && !sheet.has_no_plan() {
        "[ ] move it, t all".clone_into(&mut right);
    }
    let tone = if ui.focus == Focus::Countdown {
        Tone::Focused
    } else {
        Tone::Heading
    };
    title(
        buffer,
        line,
        &said.join(" · "),
        &right,
        sheet.colour.style(tone),
        sheet.colour.style(Tone::Quiet),
    );
}

/// The column of the countdown, which stands flush right as numbers do.
const COUNTDOWN: usize = 2;

/// How wide each column is; nought for one that is left out.
struct Columns {
    widths: [u16; 10],
}

impl Columns {
    fn of(width: u16, countdown: u16) -> Self {
        let countdown = countdown.clamp(7, 13);
        let takes = if width >= 96 { 11 } else { 0 };
        let who = if width >= 116 { 14 } else { 0 };
        let fixed = 3 + 9 + 1 + countdown + 1 + 1 + 1 + 7 + 1 + 1 + 8;
        let extra = [takes, who]
            .iter()
            .filter(|wide| **wide > 0)
            .map(|wide| wide + 1)
            .sum::<u16>();
        let rest = width.saturating_sub(fixed + extra);
        let kit = (rest * 23 / 100).min(30);
        let dish = (rest * 32 / 100).min(32);
        let step = rest - kit - dish;
        Self {
            widths: [2, 9, countdown, takes, dish, step, 7, who, kit, 8],
        }
    }

    /// Where no plan gives a time, and the dish stands over its steps.
    fn without_times(width: u16) -> Self {
        let takes = if width >= 96 { 24 } else { 16 };
        let fixed = 3 + takes + 1 + 1 + 7 + 1 + 1 + 8;
        let rest = width.saturating_sub(fixed);
        let kit = (rest * 40 / 100).min(40);
        Self {
            widths: [2, 0, 0, takes, 0, rest - kit, 7, 0, kit, 8],
        }
    }

    fn line(&self, cells: [&str; 10]) -> String {
        let mut line = String::new();
        for (column, (cell, width)) in cells.iter().zip(self.widths).enumerate() {
            if width > 0 {
                if !line.is_empty() {
                    line.push(' ');
                }
                let place = if column == COUNTDOWN { fit_right } else { fit };
                line.push_str(&place(cell, usize::from(width)));
            }
        }
        line
    }

    /// Returns where a column begins.
    fn start(&self, column: usize) -> u16 {
        self.widths[..column]
            .iter()
            .filter(|width| **width > 0)
            .map(|width| width + 1)
            .sum()
    }
}

/// Draws what is to be ordered or done ahead: its time in the columns of the steps, the rest across them.
fn draw_errand(
    buffer: &mut Buffer,
    line: Rect,
    columns: &Columns,
    errand: &ErrandAt,
    selected: bool,
    sheet: &Sheet,
) {
    let past = errand.is_past(sheet.now_minute());
    let when = sheet.service.local(errand.at).weekday_clock();
    let countdown = errand.at.countdown();
    let (sign, word) = match (sheet.is_being_seen_to(&errand.errand), errand.seen_to) {
        (true, _) => ("…", "writing…"),
        (false, Some(_)) if errand.is_too_late() => ("!", "too late"),
        (false, Some(_)) => ("✓", "done"),
        (false, None) if past => ("◇", "past"),
        (false, None) => ("◇", "to do"),
    };
    let lead = format!("{}{sign}", if selected { "▸" } else { " " });
    let text = columns.line([&lead, &when, &countdown, "", "", "", "", "", "", ""]);
    let state = columns.start(9);
    let from = columns.start(3);
    let said = fit(
        &errand.words(sheet.service),
        usize::from(state.saturating_sub(from + 1)),
    );
    let tone = match (errand.oddly(), errand.seen_to) {
        (Some(_), _) => Tone::Caution,
        (None, Some(_)) => Tone::Quiet,
        (None, None) if past => Tone::Caution,
        (None, None) => Tone::Plain,
    };
    let mut style = sheet.colour.style(tone);
    if selected {
        style = style.add_modifier(Modifier::REVERSED);
    }
    put(buffer, line.x, line.y, line.width, &text, style);
    put(
        buffer,
        line.x + from,
        line.y,
        line.width.saturating_sub(from),
        &said,
        style,
    );
    put(
        buffer,
        line.x + state,
        line.y,
        line.width.saturating_sub(state),
        word,
        style,
    );
}

fn draw_row(
    buffer: &mut Buffer,
    line: Rect,
    columns: &Columns,
    row: &Row,
    index: usize,
    sheet: &Sheet,
    ui: &Ui,
) {
    let selected = ui.errand.is_none() && ui.selected == Some(index);
    let (sign, word) = if sheet.is_writing(&row.key) {
        ("…", "writing…")
    } else if sheet.is_needed_only(row) {
        ("?", "needed")
    } else {
        (mark(row.standing), row.standing.word())
    };
    let lead = format!("{}{sign}", if selected { "▸" } else { " " });
    let who = row.cooks.join(", ");
    let (when, countdown) = match &row.times {
        Some(times) => {
            let was = times.was.as_ref().unwrap_or(&times.countdown);
            (times.when.as_str(), was.as_str())
        }
        None => ("", ""),
    };
    let text = columns.line([
        &lead,
        when,
        countdown,
        &row.length,
        &row.dish_name,
        &row.name,
        &row.hands,
        &who,
        &row.kit,
        word,
    ]);
    let mut style = sheet.colour.style(Tone::State(row.standing));
    if selected {
        style = style.add_modifier(Modifier::REVERSED);
    }
    put(buffer, line.x, line.y, line.width, &text, style);
    if !ui.search.is_empty() && row.words.contains(&ui.search) {
        let from = columns.start(4).min(line.width);
        let to = columns.start(6).saturating_sub(1).min(line.width);
        let found = Rect {
            x: line.x + from,
            width: to - from,
            ..line
        };
        buffer.set_style(found, Style::new().patch(sheet.colour.style(Tone::Match)));
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn the_columns_fill_the_line_and_the_eight_things_are_there_from_eighty_on() {
        for width in 79..400 {
            let columns = Columns::of(width, 8);
            let all: u16 = columns
                .widths
                .iter()
                .filter(|wide| **wide > 0)
                .map(|wide| wide + 1)
                .sum();
            assert_eq!(all - 1, width, "at {width}: {:?}", columns.widths);
            for column in [0, 1, 2, 4, 5, 6, 8, 9] {
                assert!(columns.widths[column] > 0, "column {column} at {width}");
            }
        }
    }

    #[test]
    fn without_times_the_columns_fill_the_line_too() {
        for width in 79..400 {
            let line = Columns::without_times(width).line([""; 10]);
            assert_eq!(line.chars().count(), usize::from(width));
        }
    }

    #[test]
    fn narrow_widths_do_not_overflow() {
        for width in 0..79 {
            let _ = Columns::of(width, 8).line([""; 10]);
            let _ = Columns::without_times(width).line([""; 10]);
        }
    }
}
