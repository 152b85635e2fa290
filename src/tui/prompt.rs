//! The line a cook types: a reason, a time, words to look for.

use crossterm::event::{KeyCode, KeyEvent, KeyModifiers};
use unicode_segmentation::UnicodeSegmentation;

use super::app::App;
use super::effect::Effect;
use super::theme::Tone;
use super::ui::Wanted;
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

    /// Goes to the first find at or after where the search began, with each letter.
    fn search_as_typed(&mut self) {
        let Some(prompt) = &self.ui.prompt else {
            return;
        };
        if prompt.wanted == Wanted::PageSearch {
            self.ui.page_search = prompt.text.to_lowercase();
            if self.is_narrowed() {
                self.ui.page_top = 0;
            }
            return;
        }
        let Wanted::Search(before, errand) = prompt.wanted else {
            return;
        };
        self.ui.search = prompt.text.to_lowercase();
        let found = self.found();
        let begun = self.ui.line_of_either(before, errand);
        let from = begun.unwrap_or(0);
        let first = found
            .iter()
            .find(|line| **line >= from)
            .or(found.first())
            .copied();
        let fault = first.is_none() && !self.ui.search.is_empty();
        if let Some(line) = first.filter(|_| !self.ui.search.is_empty()).or(begun) {
            self.select_line(line);
        }
        if let Some(prompt) = &mut self.ui.prompt {
            prompt.fault = fault.then(|| "nothing listed has that in it".to_owned());
        }
    }

    /// Takes the line as given.
    fn given(&mut self) -> Vec<Effect> {
        let Some(prompt) = self.ui.prompt.take() else {
            return Vec::new();
        };
        match &prompt.wanted {
            Wanted::Search(..) => {
                if !self.ui.search.is_empty() {
                    if self.found().is_empty() {
                        let words = clean(&self.ui.search).into_owned();
                        self.ui
                            .say(Tone::Alarm, format!("nothing listed has \"{words}\" in it"));
                        self.ui.search.clear();
                    } else {
                        self.say_found();
                    }
                }
                return Vec::new();
            }
            Wanted::PageSearch => {
                if !self.is_narrowed() {
                    self.page_search_on(true);
                }
                return Vec::new();
            }
            Wanted::Reason(key) => {
                if prompt.text.trim().is_empty() {
                    self.ui.prompt = Some(super::ui::Prompt {
                        fault: Some("a skipped step needs a reason; Esc leaves it".to_owned()),
                        ..prompt
                    });
                    return Vec::new();
                }
                let now = self.sheet.now;
                return self.ask(key, Ask::Skip(prompt.text.trim().to_owned()), now);
            }
            Wanted::StartedAt(_) | Wanted::DoneAt(_) | Wanted::SeenToAt(_) => {}
            _ => return self.given_more(prompt),
        }
        match typed_time(&prompt.text, self.sheet.now, self.sheet.service.zone()) {
            Ok(at) => match &prompt.wanted {
                Wanted::StartedAt(key) => self.ask(key, Ask::Start, at),
                Wanted::SeenToAt(errand) => self.see_to(errand, Some(at)),
                Wanted::DoneAt(key) => self.ask(key, Ask::Finish, at),
                _ => Vec::new(),
            },
            Err(fault) => {
                self.ui.prompt = Some(super::ui::Prompt {
                    fault: Some(fault),
                    ..prompt
                });
                Vec::new()
            }
        }
    }
}
