//! Colours by meaning.
//!
//! Only the sixteen colours every terminal lets its owner choose are used, only as foregrounds, and never
//! black or white, so that the sheet can be read on dark and on light ground. Whatever a colour says is also
//! said by a mark, a word or a weight; [`Colour::None`] leaves the colours out and loses nothing.

use std::ffi::OsStr;

use ratatui::style::{Color, Modifier, Style};

use crate::prep::Standing;

/// Whether colours are used at all.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq)]
pub enum Colour {
    /// Colours, and the weights beside them.
    #[default]
    Full,
    /// Weights only: bold, dim, underlined, reversed.
    None,
}

/// What a piece of text means.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Tone {
    /// Nothing in particular.
    Plain,
    /// Beside the point.
    Quiet,
    /// A heading.
    Heading,
    /// A heading of the pane that has the keys.
    Focused,
    /// A key to press.
    Key,
    /// Something is wrong or late.
    Alarm,
    /// Something was done as asked.
    Good,
    /// Now, on an axis or in a list.
    Now,
    /// A course at the pass.
    Pass,
    /// Food safety.
    Caution,
    /// A match of the search.
    Match,
    /// A step of this standing.
    State(Standing),
}

impl Colour {
    /// Returns what the `NO_COLOR` setting asks for: no colours when it is set to anything (no-color.org).
    pub fn from_setting(no_color: Option<&OsStr>) -> Self {
        match no_color {
            Some(value) if !value.is_empty() => Self::None,
            _ => Self::Full,
        }
    }

    /// Returns how a meaning is drawn.
    pub fn style(self, tone: Tone) -> Style {
        let plain = Style::new();
        let (colour, weight) = match tone {
            Tone::Plain | Tone::State(Standing::Waiting | Standing::ToDo) => {
                (None, Modifier::empty())
            }
            Tone::Quiet | Tone::State(Standing::Done | Standing::Skipped) => (None, Modifier::DIM),
            Tone::Heading => (None, Modifier::BOLD),
            Tone::Focused => (
                Some(Color::Cyan),
                Modifier::BOLD.union(Modifier::UNDERLINED),
            ),
            Tone::Key | Tone::Pass => (Some(Color::Cyan), Modifier::BOLD),
            Tone::Alarm | Tone::State(Standing::Late) => (Some(Color::Red), Modifier::BOLD),
            Tone::Good => (Some(Color::Green), Modifier::empty()),
            Tone::Caution => (Some(Color::Red), Modifier::empty()),
            Tone::Match => (None, Modifier::UNDERLINED),
            Tone::Now | Tone::State(Standing::RunningLong | Standing::Due) => {
                (Some(Color::Magenta), Modifier::BOLD)
            }
            Tone::State(Standing::Running) => (Some(Color::Green), Modifier::BOLD),
            Tone::State(Standing::Ready | Standing::Unticked) => {
                (Some(Color::Cyan), Modifier::empty())
            }
        };
        let style = plain.add_modifier(weight);
        match (self, colour) {
            (Self::Full, Some(colour)) => style.fg(colour),
            _ => style,
        }
    }
}

/// Returns the one-column mark of a standing, so that it can be told without colour and without reading.
pub fn mark(standing: Standing) -> &'static str {
    match standing {
        Standing::Late => "!",
        Standing::RunningLong => "»",
        Standing::Running => "›",
        Standing::Due => "●",
        Standing::Unticked => "?",
        Standing::Ready => "○",
        Standing::Waiting => " ",
        Standing::ToDo => "□",
        Standing::Done => "✓",
        Standing::Skipped => "×",
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::tui::widgets::text::columns;

    #[test]
    fn no_color_counts_when_it_is_not_empty() {
        assert_eq!(Colour::from_setting(None), Colour::Full);
        assert_eq!(Colour::from_setting(Some(OsStr::new(""))), Colour::Full);
        assert_eq!(Colour::from_setting(Some(OsStr::new("0"))), Colour::None);
    }

    #[test]
    fn without_colour_there_is_no_colour_and_grounds_are_never_touched() {
        let states = Standing::ALL.map(Tone::State);
        let others = [
            Tone::Plain,
            Tone::Quiet,
            Tone::Heading,
            Tone::Focused,
            Tone::Key,
            Tone::Alarm,
            Tone::Good,
            Tone::Now,
            Tone::Pass,
            Tone::Caution,
            Tone::Match,
        ];
        for tone in states.into_iter().chain(others) {
            assert_eq!(Colour::None.style(tone).fg, None, "{tone:?}");
            let full = Colour::Full.style(tone);
            assert_eq!(full.bg, None, "{tone:?}");
            assert!(!matches!(
                full.fg,
                Some(Color::Black | Color::White | Color::Gray | Color::DarkGray)
            ));
        }
    }

    #[test]
    fn every_standing_has_its_own_mark_of_one_column() {
        let mut marks: Vec<_> = Standing::ALL.into_iter().map(mark).collect();
        assert!(marks.iter().all(|mark| columns(mark) == 1));
        marks.sort_unstable();
        marks.dedup();
        assert_eq!(marks.len(), Standing::ALL.len());
    }
}
