//! Numbers to be read from the other side of a kitchen: digits three lines tall.
//!
//! Drawn from a grid of our own, three dots wide and five high, two dots to a cell by the half blocks (Unicode, Block
//! Elements, U+2580 to U+2588). Where a terminal's letters have none, the digits are made of strokes: `_` and `|`, seven
//! to a digit, as on any cheap clock.

use ratatui::buffer::Buffer;
use ratatui::style::Style;

use super::text::{columns, put};

/// How many lines a number takes.
pub const LINES: u16 = 3;

/// What numbers are made of.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Signs {
    /// Half blocks.
    #[default]
    Blocks,
    /// Strokes of plain ASCII.
    Ascii,
}

impl Signs {
    /// Returns what the settings of a locale ask for: the first that is set decides (POSIX.1-2017, Base Definitions,
    /// §8.2: `LC_ALL`, `LC_CTYPE`, `LANG`); where none is, blocks.
    pub fn from_settings<'a>(settings: impl IntoIterator<Item = &'a str>) -> Self {
        let first = settings.into_iter().find(|setting| !setting.is_empty());
        let plain = first.is_some_and(|setting| {
            let lower = setting.to_lowercase();
            !lower.contains("utf-8") && !lower.contains("utf8")
        });
        if plain { Self::Ascii } else { Self::Blocks }
    }
}

/// Dots of a sign, a row a number, the leftmost dot the highest bit; and how many dots wide it is.
fn dots(sign: char) -> Option<([u8; 5], u8)> {
    Some(match sign {
        '0' | 'o' => ([0b111, 0b101, 0b101, 0b101, 0b111], 3),
        '1' => ([0b010, 0b110, 0b010, 0b010, 0b111], 3),
        '2' => ([0b111, 0b001, 0b111, 0b100, 0b111], 3),
        '3' => ([0b111, 0b001, 0b111, 0b001, 0b111], 3),
        '4' => ([0b101, 0b101, 0b111, 0b001, 0b001], 3),
        '5' => ([0b111, 0b100, 0b111, 0b001, 0b111], 3),
        '6' => ([0b111, 0b100, 0b111, 0b101, 0b111], 3),
        '7' => ([0b111, 0b001, 0b001, 0b010, 0b010], 3),
        '8' => ([0b111, 0b101, 0b111, 0b101, 0b111], 3),
        '9' => ([0b111, 0b101, 0b111, 0b001, 0b111], 3),
        'h' => ([0b100, 0b100, 0b111, 0b101, 0b101], 3),
        'd' => ([0b001, 0b001, 0b111, 0b101, 0b111], 3),
        ':' => ([0b0, 0b1, 0b0, 0b1, 0b0], 1),
        'n' => ([0b1001, 0b1101, 0b1011, 0b1001, 0b1001], 4),
        'w' => ([0b10001, 0b10001, 0b10101, 0b11011, 0b10001], 5),
        _ => return None,
    })
}

/// Strokes of a sign, three rows.
fn strokes(sign: char) -> Option<[&'static str; 3]> {
    Some(match sign {
        '0' | 'o' => [" _ ", "| |", "|_|"],
        '1' => ["   ", "  |", "  |"],
        '2' => [" _ ", " _|", "|_ "],
        '3' => [" _ ", " _|", " _|"],
        '4' => ["   ", "|_|", "  |"],
        '5' => [" _ ", "|_ ", " _|"],
        '6' => [" _ ", "|_ ", "|_|"],
        '7' => [" _ ", "  |", "  |"],
        '8' => [" _ ", "|_|", "|_|"],
        '9' => [" _ ", "|_|", " _|"],
        'h' => ["   ", "|_ ", "| |"],
        'd' => ["   ", " _|", "|_|"],
        ':' => [" ", ".", "."],
        'n' => ["    ", "|\\ |", "| \\|"],
        'w' => ["     ", "|   |", "|/\\|"],
        _ => return None,
    })
}

/// Returns a number as three lines; signs there are none of are left out.
pub fn lines(text: &str, signs: Signs) -> [String; 3] {
    let mut lines = [String::new(), String::new(), String::new()];
    for sign in text.chars() {
        let drawn: [String; 3] = match signs {
            Signs::Blocks => {
                let Some((rows, wide)) = dots(sign) else {
                    continue;
                };
                [0, 2, 4].map(|row| {
                    let below = rows.get(row + 1).copied().unwrap_or(0);
                    let dot = |row: u8, column: u8| row >> (wide - 1 - column) & 1 == 1;
                    let halves = (0..wide).map(|column| {
                        match (dot(rows[row], column), dot(below, column)) {
                            (true, true) => '█',
                            (true, false) => '▀',
                            (false, true) => '▄',
                            (false, false) => ' ',
                        }
                    });
                    halves.collect()
                })
            }
            Signs::Ascii => {
                let Some(rows) = strokes(sign) else { continue };
                rows.map(ToOwned::to_owned)
            }
        };
        for (line, drawn) in lines.iter_mut().zip(drawn) {
            if !line.is_empty() {
                line.push(' ');
            }
            line.push_str(&drawn);
        }
    }
    lines
}

/// Draws a number so that it ends at a column; returns the columns it takes.
pub fn put_right(
    buffer: &mut Buffer,
    (right, y): (u16, u16),
    most: u16,
    text: &str,
    signs: Signs,
    style: Style,
) -> u16 {
    let lines = lines(text, signs);
    let wide = lines.iter().map(|line| columns(line)).max().unwrap_or(0) as u16;
    let x = right.saturating_sub(wide.min(most));
    for (line, y) in lines.iter().zip(y..) {
        put(buffer, x, y, most.min(wide), line, style);
    }
    wide.min(most)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn every_sign_has_a_shape_of_its_own_in_both() {
        let signs = "0123456789hd:nw";
        for made_of in [Signs::Blocks, Signs::Ascii] {
            let mut shapes: Vec<[String; 3]> = signs
                .chars()
                .map(|sign| lines(&sign.to_string(), made_of))
                .collect();
            for shape in &shapes {
                let wide = columns(&shape[0]);
                assert!(
                    wide > 0 && shape.iter().all(|line| columns(line) <= wide.max(4)),
                    "{shape:?}"
                );
            }
            shapes.sort();
            shapes.dedup();
            assert_eq!(shapes.len(), signs.len(), "{made_of:?}");
        }
        assert!(lines("0123456789hd:nw", Signs::Ascii).concat().is_ascii());
    }

    #[test]
    fn a_number_reads_as_it_should() {
        assert_eq!(
            lines("12", Signs::Blocks),
            ["▄█  ▀▀█", " █  █▀▀", "▀▀▀ ▀▀▀"]
        );
        assert_eq!(
            lines("1h5", Signs::Ascii),
            ["         _ ", "  | |_  |_ ", "  | | |  _|"]
        );
        assert_eq!(lines("?", Signs::Blocks), ["", "", ""]);
    }

    #[test]
    fn the_locale_says_whether_there_are_blocks() {
        let of = |settings: &[&str]| Signs::from_settings(settings.iter().copied());
        assert_eq!(of(&["", "", "en_IE.UTF-8"]), Signs::Blocks);
        assert_eq!(of(&["", "C", "en_IE.UTF-8"]), Signs::Ascii);
        assert_eq!(of(&["it_IT.utf8", "C", ""]), Signs::Blocks);
        assert_eq!(of(&["", "", ""]), Signs::Blocks);
        assert_eq!(of(&["POSIX"]), Signs::Ascii);
    }

    #[test]
    fn numbers_are_drawn_inside_any_buffer() {
        use ratatui::layout::Rect;
        for (width, height) in [(0, 0), (1, 1), (5, 2), (30, 5)] {
            let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
            for place in [(0, 0), (15, 0), (200, 3), (3, 200)] {
                put_right(&mut buffer, place, 15, "26h10", Signs::Blocks, Style::new());
            }
        }
    }
}
