//! Text made safe and made to fit.
//!
//! A menu may hold any text. What reaches the terminal holds no control character, no character that turns
//! the reading direction around and no character that hides, and takes exactly the columns it is given.
//! Everything drawn goes through [`put`], so nothing has to be trusted to have been cleaned before.
//!
//! Left out on purpose: right-to-left words are not reordered; terminals that do so do it by themselves.

use std::borrow::Cow;

use ratatui::buffer::{Buffer, CellWidth};
use ratatui::style::Style;
use unicode_segmentation::UnicodeSegmentation;

/// What stands for a character that must not reach the terminal.
const HARMLESS: char = '·';

/// The most bytes of one cluster: enough for a family of emoji, too few for a tower of accents.
const LONGEST_CLUSTER: usize = 40;

const JOINER: char = '\u{200d}';

/// Returns the text with every character that could upset a terminal replaced by a visible mark.
pub fn clean(text: &str) -> Cow<'_, str> {
    if is_simple(text) {
        return Cow::Borrowed(text);
    }
    if !text.chars().any(|c| is_unwanted(c) || c == JOINER)
        && text
            .graphemes(true)
            .all(|cluster| cluster.len() <= LONGEST_CLUSTER && cluster.cell_width() > 0)
    {
        return Cow::Borrowed(text);
    }
    let mut harmless = String::with_capacity(text.len());
    for cluster in text.graphemes(true) {
        clean_cluster(cluster, &mut harmless);
    }
    Cow::Owned(harmless)
}

/// Returns whether every character is one column and stands alone: ASCII, western letters, dashes and quotes,
/// box drawing. Most of every frame is, and need not be taken apart into clusters.
fn is_simple(text: &str) -> bool {
    text.chars().all(|c| {
        matches!(c,
            ' '..='~' | '\u{a1}'..='\u{ac}' | '\u{ae}'..='\u{ff}' | '\u{2012}'..='\u{2027}' | '\u{2212}'
            | '\u{2500}'..='\u{25cf}')
    })
}

fn clean_cluster(cluster: &str, into: &mut String) {
    if cluster.chars().all(|c| matches!(c, '\n' | '\r' | '\t')) {
        into.push(' ');
        return;
    }
    let start = into.len();
    let mut previous = None;
    let mut characters = cluster.chars().peekable();
    while let Some(c) = characters.next() {
        let joins = c == JOINER
            && previous.is_some_and(is_joinable)
            && characters.peek().is_some_and(|&next| is_joinable(next));
        if is_unwanted(c) || (c == JOINER && !joins) {
            into.push(HARMLESS);
        } else if into.len() + c.len_utf8() - start <= LONGEST_CLUSTER {
            into.push(c);
        }
        previous = Some(c);
    }
    // A cluster that takes no column (a lone accent) would shift everything after it on some terminals.
    if into[start..].cell_width() == 0 {
        into.truncate(start);
        into.push(HARMLESS);
    }
}

/// Emoji and what may stand inside their sequences: the blocks from Miscellaneous Symbols to Dingbats, the
/// pictographic planes, the emoji variation selector and the skin tones (Unicode Standard Annex 51, from
/// memory).
fn is_joinable(c: char) -> bool {
    matches!(c, '\u{2190}'..='\u{2bff}' | '\u{fe0f}' | '\u{1f000}'..='\u{1faff}')
}

/// C0, DEL, C1; soft hyphen; zero-width and direction characters; line and paragraph separators; invisible
/// operators and deprecated format characters; byte order mark; interlinear marks; tags; unassigned in the
/// sense of "not a character".
fn is_unwanted(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}'
            | '\u{200b}' | '\u{200c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{3164}' | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}'
            | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}

/// Returns how many columns the text takes once it is clean.
pub fn columns(text: &str) -> usize {
    if is_simple(text) {
        return text.chars().count();
    }
    clean(text)
        .graphemes(true)
        .map(|cluster| usize::from(cluster.cell_width()))
        .sum()
}

/// Returns the text, clean, in exactly so many columns: cut with `…` where it is too long, padded where it is
/// too short.
pub fn fit(text: &str, wanted: usize) -> String {
    let mut fitted = cut(text, wanted);
    let short = wanted.saturating_sub(columns(&fitted));
    fitted.extend(std::iter::repeat_n(' ', short));
    fitted
}

/// As [`fit`], with the padding in front.
pub fn fit_right(text: &str, wanted: usize) -> String {
    let cut = cut(text, wanted);
    let short = wanted.saturating_sub(columns(&cut));
    let mut fitted = " ".repeat(short);
    fitted.push_str(&cut);
    fitted
}

/// Returns the text, clean, in at most so many columns, cut with `…` where it is too long.
pub fn cut(text: &str, most: usize) -> String {
    let text = clean(text);
    if columns(&text) <= most {
        return text.into_owned();
    }
    let mut kept = String::new();
    if most == 0 {
        return kept;
    }
    let mut taken = 0;
    for cluster in text.graphemes(true) {
        let width = usize::from(cluster.cell_width());
        if taken + width > most - 1 {
            break;
        }
        taken += width;
        kept.push_str(cluster);
    }
    kept.truncate(kept.trim_end().len());
    kept.push('…');
    kept
}

/// Returns the text broken between words into lines of at most so many columns; a word that is longer is
/// broken inside. Line breaks of the text are kept.
pub fn wrap(text: &str, width: usize) -> Vec<String> {
    if width == 0 {
        return Vec::new();
    }
    let mut lines = Vec::new();
    for paragraph in text.lines() {
        let mut line = String::new();
        let mut taken = 0;
        for word in paragraph.split_whitespace() {
            let word = clean(word);
            let wide = columns(&word);
            if taken > 0 && taken + 1 + wide > width {
                lines.push(std::mem::take(&mut line));
                taken = 0;
            }
            if taken > 0 {
                line.push(' ');
                taken += 1;
            }
            for cluster in word.graphemes(true) {
                let wide = usize::from(cluster.cell_width());
                if taken > 0 && taken + wide > width {
                    lines.push(std::mem::take(&mut line));
                    taken = 0;
                }
                if wide > width {
                    continue;
                }
                line.push_str(cluster);
                taken += wide;
            }
        }
        lines.push(line);
    }
    lines
}

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
    use ratatui::layout::Rect;
    use ratatui::style::Modifier;

    const HOSTILE: [&str; 12] = [
        "",
        "crème brûlée",
        "cre\u{300}me",
        "蜜柑ゼリー",
        "\u{1b}[31mred\u{1b}[0m",
        "a\u{0}b\u{7f}c\u{9b}31md",
        "abc\u{202e}fed\u{2066}x\u{2069}",
        "zero\u{200b}width\u{feff}\u{200d}",
        "👩‍🍳 cook 🏳️‍🌈",
        "\u{301}\u{301}",
        "line\nbreak\ttab\u{2028}sep",
        "חלבה وردة",
    ];

    #[test]
    fn ordinary_text_is_left_alone() {
        for text in [
            "Poach the pears",
            "crème brûlée",
            "蜜柑ゼリー",
            "👩‍🍳",
            "½ l à 85 °C",
        ] {
            assert!(
                matches!(clean(text), Cow::Borrowed(_)) || text.contains(JOINER),
                "{text}"
            );
            assert_eq!(clean(text), text);
        }
    }

    #[test]
    fn nothing_that_upsets_a_terminal_is_left() {
        for text in HOSTILE {
            let clean = clean(text);
            assert!(!clean.chars().any(is_unwanted), "{text:?} → {clean:?}");
            assert_eq!(
                super::clean(&clean),
                clean,
                "cleaning twice changes nothing"
            );
        }
        assert_eq!(clean("a\u{1b}[2Jb"), "a·[2Jb");
        assert_eq!(clean("a\u{202e}b"), "a·b");
        assert_eq!(clean("a\u{200d}b"), "a·b");
        assert_eq!(clean("\u{301}x"), "·x");
        assert_eq!(clean("two\nlines"), "two lines");
    }

    #[test]
    fn what_is_taken_for_simple_is() {
        for c in (0..0x3000u32).filter_map(char::from_u32) {
            let text = c.to_string();
            if is_simple(&text) {
                assert_eq!(text.as_str().cell_width(), 1, "{c:?}");
                assert!(!is_unwanted(c), "{c:?}");
                assert_eq!(format!("a{c}b").graphemes(true).count(), 3, "{c:?}");
            }
        }
    }

    #[test]
    fn a_tower_of_accents_is_cut_down() {
        let tower: String = std::iter::once('o')
            .chain(std::iter::repeat_n('\u{301}', 5000))
            .collect();
        assert!(clean(&tower).len() <= LONGEST_CLUSTER);
        assert_eq!(columns(&tower), 1);
    }

    #[test]
    fn text_takes_exactly_the_columns_it_is_given() {
        for text in HOSTILE {
            for wanted in 0..30 {
                assert_eq!(columns(&fit(text, wanted)), wanted, "{text:?} in {wanted}");
                assert_eq!(
                    columns(&fit_right(text, wanted)),
                    wanted,
                    "{text:?} in {wanted}"
                );
            }
        }
        assert_eq!(fit("Poach the pears", 9), "Poach th…");
        assert_eq!(fit("Poach the pears", 7), "Poach… ");
        assert_eq!(fit("蜜柑ゼリー", 6), "蜜柑… ");
        assert_eq!(fit_right("7", 3), "  7");
    }

    #[test]
    fn wrapping_keeps_words_and_never_exceeds() {
        assert_eq!(
            wrap("stir until it coats a spoon", 11),
            ["stir until", "it coats a", "spoon"]
        );
        assert_eq!(wrap("one\n\ntwo", 10), ["one", "", "two"]);
        for text in HOSTILE {
            for width in 0..12 {
                for line in wrap(text, width) {
                    assert!(columns(&line) <= width, "{text:?} in {width}: {line:?}");
                }
            }
        }
        assert_eq!(wrap("abcdefgh", 3), ["abc", "def", "gh"]);
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
