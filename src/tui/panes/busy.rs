//! Hands and kit over the days: who is at work when, and how many of each kind of kit are in use.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;

use super::Line;
use super::pages::{bullet, over_wide};
use crate::prep::busy;
use crate::time::{Local, Minute, Minutes, Timelike, Window};
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::ui::Ui;
use crate::tui::view::day_heading;
use crate::tui::widgets::bars::Axis;
use crate::tui::widgets::text::{clean, fit, fit_right};

/// Columns of what stands before a bar: how much, with a gap on either side.
const HOW_MUCH: usize = 11;

/// Draws the page over the sheet.
pub fn draw(buffer: &mut Buffer, area: Rect, sheet: &Sheet, ui: &mut Ui) {
    let title = "hands and kit over the days: Esc closes it, ↑ ↓ scroll";
    over_wide(buffer, area, title, |width| lines(sheet, width), sheet, ui);
}

fn lines(sheet: &Sheet, width: usize) -> Vec<Line> {
    let mut lines = Vec::new();
    let Some(plan) = sheet.times().filter(|_| !sheet.shows_needed_only()) else {
        bullet(
            &mut lines,
            "no plan says who works when",
            width,
            Tone::Plain,
        );
        return lines;
    };
    let now = sheet.now_minute();
    let names = if width < 96 { 18 } else { 28 };
    let columns = width.saturating_sub(names + HOW_MUCH).max(1);
    let axis = axis(
        plan.span.start.max(now - Minutes::hours(2)),
        plan.span.end,
        columns,
    );
    let row = |name: &str, much: &str, bar: &str| {
        format!(
            "{} {} {bar}",
            fit(&clean(name), names),
            fit_right(much, HOW_MUCH - 2)
        )
    };
    let [days, hours] = ruler(sheet, &axis, now);
    lines.push(Line::plain(row("", "", &days), Tone::Quiet));
    lines.push(Line::plain(row("", "", &hours), Tone::Quiet));
    lines.push(Line::plain(
        row("Hands", "to come", "█ at work  ░ on shift  · not there"),
        Tone::Heading,
    ));
    let cells = |cell: &dyn Fn(Window) -> char| -> String {
        let columns = 0..axis.columns;
        columns
            .map(|column| cell(axis.column_window(column)))
            .collect()
    };
    for cook in busy::cooks(plan, &sheet.prep) {
        let bar = cells(&|stretch| {
            if cook.works_within(stretch) {
                '█'
            } else if cook.is_there(stretch) {
                '░'
            } else {
                '·'
            }
        });
        let left = cook.left(now).to_string();
        lines.push(Line::plain(row(&cook.cook, &left, &bar), Tone::Plain));
    }
    lines.push(Line::plain("", Tone::Plain));
    lines.push(Line::plain(
        row(
            "Kit",
            "at most",
            "█ all in use  1 2 … so many  + ten or more",
        ),
        Tone::Heading,
    ));
    for kit in busy::kit(plan, &sheet.prep, &sheet.menu.kitchen) {
        let bar = cells(&|stretch| match kit.most_within(stretch) {
            0 => ' ',
            most if most >= kit.places => '█',
            most => char::from_digit(most, 10).unwrap_or('+'),
        });
        let most = kit.most(now);
        let tone = if most >= kit.places {
            Tone::Now
        } else {
            Tone::Plain
        };
        let much = format!("{most} of {}", kit.places);
        lines.push(Line::plain(row(&kit.kit, &much, &bar), tone));
    }
    lines
}

/// Returns the axis on which all of a stretch fits.
fn axis(from: Minute, to: Minute, columns: usize) -> Axis {
    let columns = u16::try_from(columns).unwrap_or(u16::MAX);
    let length = (i64::from(to.0) - i64::from(from.0)).max(1);
    let each = (length + i64::from(columns) - 1) / i64::from(columns);
    Axis::new(from, i32::try_from(each).unwrap_or(i32::MAX), columns)
}

/// Returns the line of the days and that of the hours: each midnight, every sixth hour, and now.
fn ruler(sheet: &Sheet, axis: &Axis, now: Minute) -> [String; 2] {
    let room = usize::from(axis.columns);
    let (mut days, mut hours) = (vec![' '; room], vec![' '; room]);
    let put = |line: &mut Vec<char>, at: usize, text: &str| {
        let free = line
            .iter()
            .skip(at.saturating_sub(1))
            .take(text.chars().count() + 2);
        if at + text.chars().count() <= room && free.clone().all(|c| *c == ' ') {
            for (cell, c) in line.iter_mut().skip(at).zip(text.chars()) {
                *cell = c;
            }
        }
    };
    if let Some(column) = axis.column(now) {
        put(&mut hours, usize::from(column), "▼now");
    }
    for column in 0..axis.columns {
        let stretch = axis.column_window(column);
        let at = usize::from(column);
        let first = sheet.service.local(stretch.start);
        let since = |local: Local| local.time.hour() * 60 + local.time.minute();
        // The next whole quarter of a day on the kitchen's clock, if it falls into this column.
        let past = since(first) % 360;
        let next = Minutes(if past == 0 { 0 } else { 360 - past as i32 });
        if next >= stretch.length() && column > 0 {
            continue;
        }
        let then = sheet.service.local(stretch.start + next);
        if column == 0 || since(then) == 0 {
            let day = if column == 0 { first } else { then };
            let heading = day_heading(day.date);
            // The month is plain; the days stand closer than its name is long.
            let short = heading.rsplit_once(' ').map_or(heading.as_str(), |it| it.0);
            put(&mut days, at, short);
        }
        if next < stretch.length() {
            put(&mut hours, at, &format!("{:02}", then.time.hour()));
        }
    }
    [days.into_iter().collect(), hours.into_iter().collect()]
}
