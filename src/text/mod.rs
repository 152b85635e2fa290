//! Text that is safe to show and known in width.
//!
//! A name on a menu is anybody's text. What reaches a terminal, a page or another program holds no control
//! character, no character that turns the reading direction around and none that hides; widths are those a
//! terminal gives (Unicode Standard Annex #11, by `unicode-width`), counted over whole characters as a reader
//! sees them (Unicode Standard Annex #29, by `unicode-segmentation`).
//!
//! Left out on purpose: right-to-left words are not reordered; terminals that do so do it by themselves.

use std::borrow::Cow;

use unicode_segmentation::UnicodeSegmentation;
use unicode_width::UnicodeWidthStr;

/// What stands for a character that must not reach the terminal.
const HARMLESS: char = '\u{FFFD}';

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
            .all(|cluster| cluster.len() <= LONGEST_CLUSTER && width_of(cluster) > 0)
    {
        return Cow::Borrowed(text);
    }
    let mut harmless = String::with_capacity(text.len());
    for cluster in text.graphemes(true) {
        clean_cluster(cluster, &mut harmless);
    }
    Cow::Owned(harmless)
}

/// Returns a text as one harmless line: white space as single spaces.
pub fn one_line(text: &str) -> String {
    let words: Vec<&str> = text.split_whitespace().collect();
    clean(&words.join(" ")).into_owned()
}

/// Returns a text of several lines with each made harmless.
pub fn clean_lines(text: &str) -> String {
    let lines: Vec<Cow<'_, str>> = text
        .split('\n')
        .map(|line| clean(line.trim_end_matches('\r')))
        .collect();
    lines.join("\n")
}

/// Returns whether every character is one column and stands alone: ASCII, western letters, dashes and quotes,
/// box drawing. Most of every frame is, and need not be taken apart into clusters.
pub fn is_simple(text: &str) -> bool {
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
    if width_of(&into[start..]) == 0 {
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

/// Returns whether a character commands a terminal, turns the line around or hides.
///
/// C0, DEL, C1; soft hyphen; zero-width and direction characters; line and paragraph separators; invisible
/// operators and deprecated format characters; byte order mark; interlinear marks; tags; unassigned in the
/// sense of "not a character".
pub fn is_unwanted(c: char) -> bool {
    c.is_control()
        || matches!(c,
            '\u{ad}' | '\u{34f}' | '\u{61c}' | '\u{115f}' | '\u{1160}' | '\u{17b4}' | '\u{17b5}' | '\u{180b}'..='\u{180f}'
            | '\u{200b}' | '\u{200c}' | '\u{200e}' | '\u{200f}' | '\u{2028}'..='\u{202e}' | '\u{2060}'..='\u{206f}'
            | '\u{3164}' | '\u{feff}' | '\u{ffa0}' | '\u{fff0}'..='\u{fffb}' | '\u{fffe}' | '\u{ffff}'
            | '\u{1d173}'..='\u{1d17a}' | '\u{e0000}'..='\u{e0fff}')
}

/// Returns the columns of one cluster.
///
/// A half-width sound mark belongs to the character before it, yet terminals give it a column of its own; it
/// is counted as the screen's buffer counts it, or a line would end where another begins.
fn width_of(cluster: &str) -> usize {
    let marks = cluster
        .chars()
        .filter(|c| matches!(c, '\u{ff9e}' | '\u{ff9f}'));
    cluster.width() + marks.count()
}

/// Returns how many columns the text takes once it is clean.
pub fn columns(text: &str) -> usize {
    if is_simple(text) {
        return text.chars().count();
    }
    clean(text).graphemes(true).map(width_of).sum()
}

/// Returns the text, clean, in exactly so many columns: cut with `…` where it is too long, padded where it is
/// too short.
pub fn fit(text: &str, wanted: usize) -> String {
    pad(&cut(text, wanted), wanted)
}

/// Returns the text with spaces behind it up to so many columns; a longer one is left as it is.
pub fn pad(text: &str, wanted: usize) -> String {
    let mut padded = clean(text).into_owned();
    let short = wanted.saturating_sub(columns(&padded));
    padded.extend(std::iter::repeat_n(' ', short));
    padded
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
        let width = width_of(cluster);
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
                let wide = width_of(cluster);
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

#[cfg(test)]
pub(crate) mod tests {
    use super::*;

    pub(crate) const HOSTILE: [&str; 12] = [
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
        assert_eq!(clean("a\u{1b}[2Jb"), "a\u{FFFD}[2Jb");
        assert_eq!(clean("a\u{202e}b"), "a\u{FFFD}b");
        assert_eq!(clean("a\u{200d}b"), "a\u{FFFD}b");
        assert_eq!(clean("\u{301}x"), "\u{FFFD}x");
        assert_eq!(clean("two\nlines"), "two lines");
    }

    #[test]
    fn what_is_taken_for_simple_is() {
        for c in (0..0x3000u32).filter_map(char::from_u32) {
            let text = c.to_string();
            if is_simple(&text) {
                assert_eq!(width_of(&text), 1, "{c:?}");
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
    fn a_line_is_one_line() {
        assert_eq!(one_line("pears\tin\r\n  wine "), "pears in wine");
        assert_eq!(one_line("\u{202e}abc\u{9b}1m"), "\u{FFFD}abc\u{FFFD}1m");
        assert_eq!(one_line(" \n "), "");
        assert_eq!(clean_lines("a\nb\u{7}\r\nc"), "a\nb\u{FFFD}\nc");
    }

    #[test]
    fn widths_are_those_of_a_terminal() {
        assert_eq!(columns("pâté"), 4);
        assert_eq!(columns("pa\u{302}te\u{301}"), 4);
        assert_eq!(columns("柚子"), 4);
        assert_eq!(pad("柚子", 6), "柚子  ");
        assert_eq!(pad("long", 2), "long");
    }

    #[test]
    fn lines_break_at_spaces_and_only_then_within_words() {
        assert_eq!(wrap("fill the moulds", 8), ["fill the", "moulds"]);
        assert_eq!(wrap("abcdefgh ij", 3), ["abc", "def", "gh", "ij"]);
        assert_eq!(wrap("柚子柚子", 3), ["柚", "子", "柚", "子"]);
        assert_eq!(wrap("", 5), [""; 0]);
    }
}
