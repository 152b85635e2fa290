//! The ruler over bars: the days and their hours, now, and the courses.

use ratatui::buffer::Buffer;
use ratatui::layout::Rect;
use ratatui::style::Style;

use crate::plan::Plan;
use crate::time::{Minute, day_after};
use crate::tui::sheet::Sheet;
use crate::tui::theme::Tone;
use crate::tui::view::day_heading;
use crate::tui::widgets::bars::{Axis, Label, ruler};
use crate::tui::widgets::text::{columns, cut};

/// Its lines.
pub(super) const LINES: u16 = 2;

/// Where a day begins.
pub(super) const MIDNIGHT: char = '┊';
/// Where a dish is at the pass.
pub(super) const PASS: char = '◆';
/// When the banquet is served.
pub(super) const SERVICE: char = '◇';

/// Draws the ruler of an axis.
pub(super) fn draw(buffer: &mut Buffer, area: Rect, axis: &Axis, plan: &Plan, sheet: &Sheet) {
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

/// Returns the midnights in view with the headings of the days they begin; on a very long axis not all.
pub(super) fn midnights(sheet: &Sheet, axis: &Axis) -> Vec<(String, Minute)> {
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
