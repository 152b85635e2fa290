//! Text that is safe to print and known in width.
//!
//! A name on a menu is anybody's text. A terminal obeys control characters and a right-to-left override turns
//! the rest of a line around, so both are replaced before anything is printed; widths are those a terminal
//! gives (Unicode Standard Annex #11, by `unicode-width`), counted over whole characters as a reader sees them
//! (Unicode Standard Annex #29, by `unicode-segmentation`).

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// What stands for a character that is not printed.
const REPLACED: char = '\u{FFFD}';

/// Returns a text as one harmless line: white space as single spaces, everything that commands a terminal or
/// turns the line around replaced.
pub fn clean(text: &str) -> String {
    let mut cleaned = String::with_capacity(text.len());
    for character in text.chars() {
        if character.is_whitespace() {
            if !cleaned.is_empty() && !cleaned.ends_with(' ') {
                cleaned.push(' ');
            }
        } else if commands(character) {
            cleaned.push(REPLACED);
        } else {
            cleaned.push(character);
        }
    }
    cleaned.truncate(cleaned.trim_end().len());
    cleaned
}

/// Returns a text of several lines with each made harmless.
pub fn clean_lines(text: &str) -> String {
    let lines: Vec<String> = text
        .split('\n')
        .map(|line| {
            line.trim_end_matches('\r')
                .chars()
                .map(|character| {
                    if commands(character) {
                        REPLACED
                    } else {
                        character
                    }
                })
                .collect()
        })
        .collect();
    lines.join("\n")
}

/// Control characters, and those that change the direction of what follows (Unicode Standard Annex #9 §2).
fn commands(character: char) -> bool {
    character.is_control()
        || matches!(
            character,
            '\u{061C}'
                | '\u{200E}'
                | '\u{200F}'
                | '\u{2028}'
                | '\u{2029}'
                | '\u{202A}'..='\u{202E}'
                | '\u{2066}'..='\u{2069}'
                | '\u{FEFF}'
                | '\u{E0000}'..='\u{E007F}'
        )
}

/// Returns how many columns a text takes.
pub fn width(text: &str) -> usize {
    text.graphemes(true).map(UnicodeWidthStr::width).sum()
}

/// Returns a text with spaces behind it up to `columns`.
pub fn pad(text: &str, columns: usize) -> String {
    let mut padded = text.to_owned();
    padded.extend(std::iter::repeat_n(
        ' ',
        columns.saturating_sub(width(text)),
    ));
    padded
}

/// Returns a text broken into lines of at most `columns` (a single character wider than that stands alone), at
/// spaces where there are some.
pub fn wrap(text: &str, columns: usize) -> Vec<String> {
    let columns = columns.max(1);
    let mut lines = Vec::new();
    let mut line = String::new();
    for word in text.split(' ').filter(|word| !word.is_empty()) {
        if !line.is_empty() && width(&line) + 1 + width(word) > columns {
            lines.push(std::mem::take(&mut line));
        }
        if !line.is_empty() {
            line.push(' ');
        }
        for grapheme in word.graphemes(true) {
            if !line.is_empty() && width(&line) + width(grapheme) > columns {
                lines.push(std::mem::take(&mut line));
            }
            line.push_str(grapheme);
        }
    }
    if !line.is_empty() {
        lines.push(line);
    }
    lines
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn nothing_that_commands_a_terminal_is_left() {
        assert_eq!(clean("pears\tin\r\n  wine "), "pears in wine");
        assert_eq!(clean("a\u{1b}[2Jb"), "a\u{FFFD}[2Jb");
        assert_eq!(clean("\u{202e}abc\u{9b}1m"), "\u{FFFD}abc\u{FFFD}1m");
        assert_eq!(clean_lines("a\nb\u{7}\r\nc"), "a\nb\u{FFFD}\nc");
        assert_eq!(clean(" \n "), "");
    }

    #[test]
    fn widths_are_those_of_a_terminal() {
        assert_eq!(width("pâté"), 4);
        assert_eq!(width("pa\u{302}te\u{301}"), 4);
        assert_eq!(width("柚子"), 4);
        assert_eq!(pad("柚子", 6), "柚子  ");
        assert_eq!(pad("long", 2), "long");
    }

    #[test]
    fn lines_break_at_spaces_and_only_then_within_words() {
        assert_eq!(wrap("fill the moulds", 8), ["fill the", "moulds"]);
        assert_eq!(wrap("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrap("柚子柚子", 3), ["柚", "子", "柚", "子"]);
        assert_eq!(wrap("柚", 1), ["柚"]);
        assert_eq!(wrap("", 5), [""; 0]);
    }
}
