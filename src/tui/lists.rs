//! What keys do on the pages of orders and of amounts: another division, another dish, other covers, a search.

use super::action::Action;
use super::app::App;
use super::theme::Tone;
use super::ui::{Open, Prompt, Wanted};
use super::widgets::text::clean;
use crate::quantity::order::By;

impl App {
    /// Does what a key means on such a page; returns whether it means anything of its own there.
    pub(super) fn on_list(&mut self, action: Action) -> bool {
        let amounts = self.ui.open == Some(Open::Amounts);
        match action {
            Action::Search => self.ask_for_words(),
            Action::SearchNext => self.page_search_on(true),
            Action::SearchPrevious => self.page_search_on(false),
            Action::FocusNext | Action::TimeLater if amounts => self.next_dish(true),
            Action::FocusPrevious | Action::TimeEarlier if amounts => self.next_dish(false),
            Action::FocusNext | Action::TimeLater => self.divide(true),
            Action::FocusPrevious | Action::TimeEarlier => self.divide(false),
            Action::ZoomIn if amounts => self.try_covers(1),
            Action::ZoomOut if amounts => self.try_covers(-1),
            Action::ZoomFit if amounts => self.ui.covers_tried = None,
            // What belongs to the sheet behind stays as it is.
            Action::ZoomIn
            | Action::ZoomOut
            | Action::ZoomFit
            | Action::Tonight
            | Action::BoundaryEarlier
            | Action::BoundaryLater
            | Action::BoundaryDefault
            | Action::Now => {}
            _ => return false,
        }
        true
    }

    /// Asks for words to look for on the open page. They are the page's own: the list behind it keeps its search.
    pub(super) fn ask_for_words(&mut self) {
        self.ui.page_search.clear();
        self.ui.prompt = Some(Prompt {
            wanted: Wanted::PageSearch,
            text: String::new(),
            fault: None,
        });
    }

    /// Returns whether the open page shows only what has the words looked for.
    pub(super) fn is_narrowed(&self) -> bool {
        self.ui.open.is_some_and(Open::is_narrowed)
    }

    /// Opens the amounts of the selected step's dish for the menu's covers, or closes them.
    pub(super) fn toggle_amounts(&mut self) {
        (self.ui.amounts_of, self.ui.covers_tried) = (None, None);
        self.toggle(Open::Amounts);
    }

    /// Opens the filters, over a page that they narrow too, or closes them.
    pub(super) fn toggle_filter(&mut self) {
        if self.ui.open == Some(Open::Filter) {
            self.shut();
            return;
        }
        self.ui.behind = self.ui.open.filter(|open| open.is_page());
        self.toggle(Open::Filter);
    }

    fn divide(&mut self, forward: bool) {
        self.ui.page_top = 0;
        self.ui.orders_by = match (self.ui.orders_by, forward) {
            (By::Supplier, true) | (By::Date, false) => By::Kind,
            (By::Kind, true) | (By::Supplier, false) => By::Date,
            (By::Date, true) | (By::Kind, false) => By::Supplier,
        };
    }

    /// Returns the dish whose amounts are shown: the one gone to, or that of the selected step, as the filters leave it.
    pub fn dish_of_amounts(&self) -> Option<usize> {
        super::panes::amounts::dish(&self.sheet, &self.ui)
    }

    fn next_dish(&mut self, forward: bool) {
        let listed = super::panes::amounts::listed(&self.sheet, &self.ui);
        let at = self
            .dish_of_amounts()
            .and_then(|dish| listed.iter().position(|&listed| listed == dish));
        let count = listed.len();
        let to = match at {
            Some(at) if forward => at + 1,
            Some(at) => at + count - 1,
            None => 0,
        };
        self.ui.amounts_of = (count > 0).then(|| listed[to % count]);
        self.ui.page_top = 0;
    }

    fn try_covers(&mut self, by: i64) {
        let own = self.sheet.menu.covers;
        let tried = i64::from(self.ui.covers_tried.unwrap_or(own)) + by;
        let tried = tried.clamp(1, 1_000_000) as u32;
        self.ui.covers_tried = (tried != own).then_some(tried);
    }

    /// Goes to the next line of the page that the search finds, or to the one before.
    pub(super) fn page_search_on(&mut self, forward: bool) {
        if self.ui.page_search.is_empty() {
            return;
        }
        let words = self.ui.page_search.clone();
        let found = self.ui.seen.page_found.clone();
        let top = self.ui.page_top;
        let last = self
            .ui
            .seen
            .page_lines
            .1
            .saturating_sub(self.ui.seen.page_lines.0);
        let next = if forward {
            found
                .iter()
                .find(|&&line| line.min(last) > top)
                .or(found.first())
        } else {
            found
                .iter()
                .rev()
                .find(|&&line| line < top)
                .or(found.last())
        };
        let Some(&line) = next else {
            self.ui.page_search.clear();
            self.ui.say(
                Tone::Alarm,
                format!("nothing on this page has \"{}\" in it", clean(&words)),
            );
            return;
        };
        self.ui.page_top = line;
        let lines = match found.len() {
            1 => "1 line".to_owned(),
            count => format!("{count} lines"),
        };
        self.ui.say(
            Tone::Plain,
            format!(
                "\"{}\": in {lines}; n next, N before, Esc clears",
                clean(&words)
            ),
        );
    }
}
