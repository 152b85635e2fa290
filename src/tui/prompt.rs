//! The line a cook types: a reason, a time, words to look for.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use unicode_segmentation::UnicodeSegmentation;

use super::app::App;
use super::effect::Effect;
use super::ui::{Prompt, Wanted};
use super::widgets::text::clean;
use crate::prep::{Ask, typed_time};

/// The most bytes a line may hold; a pasted page is no reason.
const LONGEST: usize = 400;

impl App {
    /// Takes in a key while a line is typed.
    pub(super) fn typed(&mut self, key: KeyEvent) -> Vec<Effect> {
        let Some(prompt) = &mut self.ui.prompt else {
            return Vec::new();
        };
        let control = key.modifiers.contains(KeyModifiers::CONTROL);
        match key.code {
            KeyCode::Char('c') if control => return vec![Effect::Quit],
            KeyCode::Char('z') if control => return vec![Effect::StandAside],
            KeyCode::Esc => {
                if let Wanted::Search(before, errand) = prompt.wanted {
                    (self.ui.selected, self.ui.errand) = (before, errand);
                    self.ui.search.clear();
                    self.ui.message = None;
                }
                if prompt.wanted == Wanted::PageSearch {
                    self.ui.page_search.clear();
                }
                self.ui.prompt = None;
                return Vec::new();
            }
            KeyCode::Enter => return self.given(),
            KeyCode::Backspace => {
                let last = prompt
                    .text
                    .grapheme_indices(true)
                    .next_back()
                    .map_or(0, |(at, _)| at);
                prompt.text.truncate(last);
            }
            KeyCode::Char('u') if control => prompt.text.clear(),
            KeyCode::Char('w') if control => {
                let kept = prompt.text.trim_end();
                let kept = kept.rfind(char::is_whitespace).map_or(0, |at| at + 1);
                prompt.text.truncate(kept);
            }
            KeyCode::Char(letter) if !control && prompt.text.len() < LONGEST => {
                prompt.text.push(letter);
            }
            _ => return Vec::new(),
        }
        prompt.fault = None;
        self.search_as_typed();
        Vec::new()
    }

    /// Takes in pasted text: into the line where one is typed, else nowhere.
    pub(super) fn pasted(&mut self, text: &str) {
        if let Some(prompt) = &mut self.ui.prompt {
            for cluster in clean(text.trim_end()).graphemes(true) {
                if prompt.text.len() + cluster.len() > LONGEST {
                    break;
                }
                prompt.text.push_str(cluster);
            }
            prompt.fault = None;
            self.search_as_typed();
        }
    }

    /// Takes the line as given.
    fn given(&mut self) -> Vec<Effect> {
        let Some(prompt) = self.ui.prompt.take() else {
            return Vec::new();
        };
        match &prompt.wanted {
            Wanted::Search(..) => {
                self.search_given();
                Vec::new()
            }
            Wanted::PageSearch => {
                if !self.is_narrowed() {
                    self.page_search_on(true);
                }
                Vec::new()
            }
            Wanted::Reason(key) => {
                if prompt.text.trim().is_empty() {
                    self.ui.prompt = Some(Prompt {
                        fault: Some("a skipped step needs a reason; Esc leaves it".to_owned()),
                        ..prompt
                    });
                    return Vec::new();
                }
                let now = self.sheet.now;
                self.ask(key, Ask::Skip(prompt.text.trim().to_owned()), now)
            }
            Wanted::StartedAt(_) | Wanted::DoneAt(_) | Wanted::SeenToAt(_) => {
                self.time_given(prompt)
            }
            _ => self.given_more(prompt),
        }
    }

    /// Has a tick written at the time as given; a fault leaves the line open.
    fn time_given(&mut self, prompt: Prompt) -> Vec<Effect> {
        let at = match typed_time(&prompt.text, self.sheet.now, self.sheet.service.zone()) {
            Ok(at) => at,
            Err(fault) => {
                self.ui.prompt = Some(Prompt {
                    fault: Some(fault),
                    ..prompt
                });
                return Vec::new();
            }
        };
        match &prompt.wanted {
            Wanted::StartedAt(key) => self.ask(key, Ask::Start, at),
            Wanted::SeenToAt(errand) => self.see_to(errand, Some(at)),
            Wanted::DoneAt(key) => self.ask(key, Ask::Finish, at),
            _ => Vec::new(),
        }
    }
}
