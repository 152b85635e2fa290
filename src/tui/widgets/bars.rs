//! Bars on a shared axis of time, and the ruler above them.

use std::ops::Range;

use ratatui::buffer::Buffer;
use ratatui::style::Style;

use super::text::{columns, put};
use crate::time::{Minute, Minutes, Window};

/// Which minutes stand under which columns.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Axis {
    /// The first minute of the first column.
    pub from: Minute,
    /// Minutes a column; at least one.
    pub per_column: i32,
    /// How many columns.
    pub columns: u16,
}

impl Axis {
    /// Returns the axis, with at least a minute a column.
    pub fn new(from: Minute, per_column: i32, columns: u16) -> Self {
        Self {
            from,
            per_column: per_column.max(1),
            columns,
        }
    }

    /// Returns the closest axis on which all of a stretch is in view.
    pub fn over(from: Minute, to: Minute, columns: u16) -> Self {
        let room = i64::from(columns.max(1));
        let length = i64::from(to.0) - i64::from(from.0);
        let each = ((length + room - 1) / room).clamp(1, i64::from(i32::MAX / 1024));
        Self::new(from, each as i32, columns)
    }

    /// Returns the minutes in view.
    pub fn window(&self) -> Window {
        let length = i64::from(self.per_column) * i64::from(self.columns);
        let length = length.clamp(0, i64::from(i32::MAX / 2)) as i32;
        Window::new(self.from, self.from + Minutes(length))
    }

    /// Returns the minutes of one column.
    pub fn column_window(&self, column: u16) -> Window {
        let start = self
            .from
            .0
            .saturating_add(self.per_column.saturating_mul(i32::from(column)));
        Window::new(Minute(start), Minute(start.saturating_add(self.per_column)))
    }

    /// Returns the column a minute stands in, where it is in view.
    pub fn column(&self, minute: Minute) -> Option<u16> {
        let away =
            (i64::from(minute.0) - i64::from(self.from.0)).div_euclid(i64::from(self.per_column));
        u16::try_from(away)
            .ok()
            .filter(|column| *column < self.columns)
    }

    /// Returns the columns that a window touches.
    pub fn touched(&self, window: Window) -> Range<u16> {
        let seen = window.intersect(self.window());
        if seen.is_empty() {
            return 0..0;
        }
        let column = |minute: i32| {
            let away = (i64::from(minute) - i64::from(self.from.0)) / i64::from(self.per_column);
            away.clamp(0, i64::from(u16::MAX)) as u16
        };
        column(seen.start.0)..(column(seen.end.0 - 1) + 1).min(self.columns)
    }
}

/// A stretch of a bar. Where several fall into one column, the one of the highest rank is seen.
#[derive(Clone, Copy, Debug)]
pub struct Stroke {
    /// When.
    pub window: Window,
    /// What fills its columns.
    pub symbol: char,
    /// How it is drawn.
    pub style: Style,
    /// Which one wins.
    pub rank: u8,
}

/// Draws one bar of strokes over a ground of one symbol a column.
pub fn bar(
    buffer: &mut Buffer,
    x: u16,
    y: u16,
    axis: &Axis,
    strokes: &[Stroke],
    ground: &[(char, Style)],
) {
    let mut cells: Vec<(char, Style, u8)> = (0..usize::from(axis.columns))
        .map(|column| {
            ground
                .get(column)
                .map_or((' ', Style::new(), 0), |&(symbol, style)| {
                    (symbol, style, 0)
                })
        })
        .collect();
    for stroke in strokes {
        for column in axis.touched(stroke.window) {
            let cell = &mut cells[usize::from(column)];
            if stroke.rank >= cell.2 {
                *cell = (stroke.symbol, stroke.style, stroke.rank);
            }
        }
    }
    for (column, (symbol, style, _)) in (0u16..).zip(cells) {
        if let Some(cell) = buffer.cell_mut((x.saturating_add(column), y)) {
            cell.reset();
            cell.set_char(symbol).set_style(style);
        }
    }
}

/// A label on a ruler, from its column to the right.
#[derive(Clone, Debug)]
pub struct Label {
    /// The column it begins at.
    pub column: u16,
    /// What it says.
    pub text: String,
    /// How.
    pub style: Style,
    /// A sign and its column, drawn alone where the words find no room.
    pub sign: Option<(u16, char)>,
}

/// Draws the labels that find room, the first ones first; a column between any two stays free. Where there is
/// no room for the words the sign is drawn alone, if its column is free.
pub fn ruler(buffer: &mut Buffer, x: u16, y: u16, width: u16, labels: &[Label]) {
    let mut taken = vec![false; usize::from(width)];
    for label in labels {
        let wide = columns(&label.text);
        let start = usize::from(label.column);
        let end = start + wide;
        let reach = start.saturating_sub(1)..(end + 1).min(taken.len());
        let free = wide > 0 && end <= taken.len() && !taken[reach].iter().any(|taken| *taken);
        if free {
            taken[start..end].fill(true);
            put(
                buffer,
                x.saturating_add(label.column),
                y,
                wide as u16,
                &label.text,
                label.style,
            );
        } else if let Some((column, sign)) = label.sign
            && taken.get(usize::from(column)) == Some(&false)
        {
            taken[usize::from(column)] = true;
            put(
                buffer,
                x.saturating_add(column),
                y,
                1,
                sign.encode_utf8(&mut [0; 4]),
                label.style,
            );
        }
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use ratatui::layout::Rect;

    fn window(start: i32, end: i32) -> Window {
        Window::new(Minute(start), Minute(end))
    }

    fn stroke(start: i32, end: i32, symbol: char, rank: u8) -> Stroke {
        Stroke {
            window: window(start, end),
            symbol,
            style: Style::new(),
            rank,
        }
    }

    #[test]
    fn columns_hold_half_open_windows() {
        let axis = Axis::new(Minute(-100), 10, 10);
        assert_eq!(axis.window(), window(-100, 0));
        assert_eq!(axis.column(Minute(-100)), Some(0));
        assert_eq!(axis.column(Minute(-91)), Some(0));
        assert_eq!(axis.column(Minute(-90)), Some(1));
        assert_eq!(axis.column(Minute(0)), None);
        assert_eq!(axis.column(Minute(-101)), None);
        assert_eq!(axis.touched(window(-90, -80)), 1..2);
        assert_eq!(axis.touched(window(-91, -79)), 0..3);
        assert_eq!(axis.touched(window(-500, 500)), 0..10);
        assert!(axis.touched(window(0, 10)).is_empty());
        assert!(axis.touched(window(-50, -50)).is_empty());
        assert_eq!(axis.column_window(9), window(-10, 0));
    }

    #[test]
    fn the_most_demanding_is_seen() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 6, 1));
        let axis = Axis::new(Minute(0), 10, 6);
        let strokes = [
            stroke(0, 5, '█', 3),
            stroke(0, 40, '─', 1),
            stroke(21, 22, '░', 2),
        ];
        bar(
            &mut buffer,
            0,
            0,
            &axis,
            &strokes,
            &[('·', Style::new()); 6],
        );
        assert_eq!(buffer, Buffer::with_lines(["█─░─··"]));
    }

    #[test]
    fn labels_never_run_into_each_other() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 12, 1));
        let label = |column, text: &str| Label {
            column,
            text: text.to_owned(),
            style: Style::new(),
            sign: None,
        };
        ruler(
            &mut buffer,
            0,
            0,
            12,
            &[
                label(4, "now"),
                label(0, "Thu"),
                label(2, "x"),
                label(8, "Fri"),
                label(11, "Sat"),
            ],
        );
        assert_eq!(buffer, Buffer::with_lines(["Thu now Fri "]));
    }

    #[test]
    fn a_sign_stands_where_its_words_find_no_room() {
        let label = |column, text: &str, sign| Label {
            column,
            text: text.to_owned(),
            style: Style::new(),
            sign: Some(sign),
        };
        let mut buffer = Buffer::empty(Rect::new(0, 0, 8, 1));
        ruler(
            &mut buffer,
            0,
            0,
            8,
            &[
                label(0, "service◇", (7, '◇')),
                label(1, "sweets◆", (7, '◆')),
            ],
        );
        assert_eq!(buffer, Buffer::with_lines(["service◇"]));
        let mut buffer = Buffer::empty(Rect::new(0, 0, 8, 1));
        ruler(
            &mut buffer,
            0,
            0,
            8,
            &[label(0, "now", (0, '▼')), label(2, "sweets", (3, '◆'))],
        );
        assert_eq!(buffer, Buffer::with_lines(["now◆    "]));
    }

    #[test]
    fn bars_and_rulers_draw_at_any_size() {
        for (width, height) in [(0, 0), (1, 1), (7, 1)] {
            let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
            for columns in [0, 1, 5, 400] {
                let axis = Axis::new(Minute(i32::MIN / 2), 0, columns);
                bar(
                    &mut buffer,
                    0,
                    0,
                    &axis,
                    &[stroke(i32::MIN / 2, i32::MAX / 2, '█', 1)],
                    &[],
                );
                let label = Label {
                    column: 0,
                    text: "蜜柑".to_owned(),
                    style: Style::new(),
                    sign: None,
                };
                ruler(&mut buffer, 3, 0, columns, &[label]);
            }
        }
    }

    #[test]
    fn extremes_of_time_do_not_overflow() {
        let axis = Axis::new(Minute(-1_000_000_000), 1_000_000_000, 200);
        let _ = axis.window();
        let _ = axis.column(Minute(i32::MAX));
        let _ = axis.touched(window(-1_000_000_000, 1_000_000_000));
    }
}
