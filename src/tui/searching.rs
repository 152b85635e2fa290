//! The search in the countdown: what it finds, among steps and what is to be seen to, and where it goes.

use super::app::App;
use super::theme::Tone;
use super::ui::{ListLine, Wanted};
use super::widgets::text::clean;

impl App {
    /// Goes to the first find at or after where the search began, with each letter.
    pub(super) fn search_as_typed(&mut self) {
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

    /// Takes in that the words looked for are whole.
    pub(super) fn search_given(&mut self) {
        if self.ui.search.is_empty() {
            return;
        }
        if self.found().is_empty() {
            self.say_nothing_found();
            self.ui.search.clear();
        } else {
            self.say_found();
        }
    }

    fn say_nothing_found(&mut self) {
        let words = clean(&self.ui.search).into_owned();
        self.ui
            .say(Tone::Alarm, format!("nothing listed has \"{words}\" in it"));
    }

    /// Selects the next row, from the selected one on, that the search finds.
    pub(super) fn search_on(&mut self, forward: bool) {
        if self.ui.search.is_empty() {
            self.ui
                .say(Tone::Plain, "nothing is being looked for; / asks for words");
            return;
        }
        let found = self.found();
        let at = self.ui.selected_line().unwrap_or(0);
        let next = if forward {
            found.iter().find(|line| **line > at).or(found.first())
        } else {
            found.iter().rev().find(|line| **line < at).or(found.last())
        };
        match next {
            Some(&line) => {
                self.select_line(line);
                self.say_found();
            }
            None => self.say_nothing_found(),
        }
    }

    /// Returns the lines of the list that the search finds.
    pub fn found(&self) -> Vec<usize> {
        let view = &self.sheet.view;
        let has = |line: &usize| match self.ui.lines.get(*line) {
            Some(&ListLine::Row(row)) => view.rows[row].words.contains(&self.ui.search),
            Some(&ListLine::Errand(errand)) => {
                let says = view.errands[errand].says.to_lowercase();
                says.contains(&self.ui.search)
            }
            _ => false,
        };
        self.ui.stops().filter(has).collect()
    }

    fn say_found(&mut self) {
        let found = self.found();
        let at = found
            .iter()
            .position(|line| Some(*line) == self.ui.selected_line())
            .map_or(0, |at| at + 1);
        let words = clean(&self.ui.search).into_owned();
        self.ui.say(
            Tone::Plain,
            format!(
                "\"{words}\": {at} of {}; n next, N before, Esc clears",
                found.len()
            ),
        );
    }
}
