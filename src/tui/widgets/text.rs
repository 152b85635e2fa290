//! Text on the screen: exactly the columns it is given, and nothing that upsets a terminal.
//!
//! Everything drawn goes through [`put`], so nothing has to be trusted to have been cleaned before.

use ratatui::buffer::Buffer;
use ratatui::style::Style;

use crate::text::is_simple;
pub use crate::text::{clean, columns, cut, fit, fit_right, wrap};

/// Writes the text, clean, from a cell to the right, over at most so many columns and never outside the
/// buffer. Returns the columns taken.
pub fn put(buffer: &mut Buffer, x: u16, y: u16, most: u16, text: &str, style: Style) -> u16 {
    let area = buffer.area;
    if x < area.x || y < area.y || x >= area.right() || y >= area.bottom() || most == 0 {
        return 0;
    }
    let most = most.min(area.right() - x);
    let cut = cut(text, usize::from(most));
    // What was drawn here before is replaced, its looks too.
    if is_simple(&cut) {
        let mut end = x;
        for symbol in cut.chars() {
            let cell = &mut buffer[(end, y)];
            cell.reset();
            cell.set_char(symbol).set_style(style);
            end += 1;
        }
        return end - x;
    }
    for column in x..x + (columns(&cut) as u16).min(most) {
        buffer[(column, y)].reset();
    }
    let (end, _) = buffer.set_stringn(x, y, cut, usize::from(most), style);
    end - x
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::text::tests::HOSTILE;
    use ratatui::buffer::CellWidth;
    use ratatui::layout::Rect;
    use ratatui::style::Modifier;
    use unicode_segmentation::UnicodeSegmentation;

    #[test]
    fn widths_are_those_the_buffer_counts_with() {
        let letters: String = (0xa1..0x1_f9ff).filter_map(char::from_u32).collect();
        for text in HOSTILE.into_iter().chain([letters.as_str(), "ﾊﾞﾋﾟ e\u{301}"]) {
            for cluster in clean(text).graphemes(true) {
                assert_eq!(
                    columns(cluster),
                    usize::from(cluster.cell_width()),
                    "{cluster:?}"
                );
            }
        }
    }

    #[test]
    fn writing_stays_inside_any_buffer() {
        for (width, height) in [(0, 0), (1, 1), (3, 1), (20, 2)] {
            let mut buffer = Buffer::empty(Rect::new(0, 0, width, height));
            for text in HOSTILE {
                for x in 0..25 {
                    assert!(put(&mut buffer, x, 0, 300, text, Style::new()) <= width);
                    put(&mut buffer, x, 5, 300, text, Style::new());
                }
            }
        }
    }

    #[test]
    fn what_was_there_before_leaves_no_looks_behind() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 3, 1));
        put(
            &mut buffer,
            0,
            0,
            3,
            "───",
            Style::new().add_modifier(Modifier::DIM),
        );
        put(
            &mut buffer,
            0,
            0,
            2,
            "ab",
            Style::new().add_modifier(Modifier::BOLD),
        );
        assert_eq!(buffer[(0, 0)].modifier, Modifier::BOLD);
        assert_eq!(buffer[(2, 0)].modifier, Modifier::DIM);
    }

    #[test]
    fn a_wide_character_is_never_halved() {
        let mut buffer = Buffer::empty(Rect::new(0, 0, 4, 1));
        put(&mut buffer, 0, 0, 4, "a蜜柑", Style::new());
        assert_eq!(buffer, Buffer::with_lines(["a蜜…"]));
    }
}
