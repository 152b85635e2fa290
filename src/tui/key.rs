//! Keys: how they are pressed, and how the help writes them.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};

/// A key as it is pressed.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Key {
    code: KeyCode,
    control: bool,
}

impl Key {
    pub(super) const fn of(code: KeyCode) -> Self {
        Self {
            code,
            control: false,
        }
    }

    pub(super) const fn letter(letter: char) -> Self {
        Self::of(KeyCode::Char(letter))
    }

    pub(super) const fn control(letter: char) -> Self {
        Self {
            code: KeyCode::Char(letter),
            control: true,
        }
    }

    pub(super) fn is(self, event: KeyEvent) -> bool {
        // Shift is left out: what it makes of a letter is in the letter already.
        let control = event.modifiers.contains(KeyModifiers::CONTROL);
        let alt = event.modifiers.contains(KeyModifiers::ALT);
        self.code == event.code && self.control == control && !alt
    }

    /// Returns the key as the help writes it.
    pub fn name(self) -> String {
        let name = match self.code {
            KeyCode::Char(' ') => "Space".to_owned(),
            KeyCode::Char(letter) if self.control => letter.to_uppercase().to_string(),
            KeyCode::Char(letter) => letter.to_string(),
            KeyCode::Up => "↑".to_owned(),
            KeyCode::Down => "↓".to_owned(),
            KeyCode::Left => "←".to_owned(),
            KeyCode::Right => "→".to_owned(),
            KeyCode::PageUp => "PgUp".to_owned(),
            KeyCode::PageDown => "PgDn".to_owned(),
            KeyCode::BackTab => "Shift-Tab".to_owned(),
            KeyCode::F(number) => format!("F{number}"),
            other => format!("{other:?}"),
        };
        if self.control {
            format!("Ctrl-{name}")
        } else {
            name
        }
    }

    /// Returns the event a terminal sends for this key.
    pub fn event(self) -> KeyEvent {
        let modifiers = if self.control {
            KeyModifiers::CONTROL
        } else {
            KeyModifiers::NONE
        };
        KeyEvent::new(self.code, modifiers)
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn keys_have_names_a_cook_can_find() {
        assert_eq!(Key::control('c').name(), "Ctrl-C");
        assert_eq!(Key::of(KeyCode::Enter).name(), "Enter");
        assert_eq!(Key::letter(' ').name(), "Space");
        assert_eq!(Key::of(KeyCode::BackTab).name(), "Shift-Tab");
    }
}
