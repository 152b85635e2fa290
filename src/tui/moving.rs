//! How the selection, the pages and the timeline move.

use super::app::App;
use super::choices;
use super::filters;
use super::panes::timeline::{LEVELS, fit_per_column};
use super::theme::Tone;
use super::ui::{Filter, Focus, ListLine, Open};
use crate::time::{Minute, Minutes};

impl App {
    /// Returns how many lines a page key moves by.
    pub(super) fn page(&self) -> i64 {
        let seen = &self.ui.seen;
        let lines = match (self.ui.open, self.ui.focus) {
            (Some(Open::Card), _) | (None, Focus::Card) => seen.card_lines.0,
            (Some(_), _) => seen.page_lines.0,
            (None, Focus::Countdown) => seen.list_lines,
            (None, Focus::Dishes) => seen.dish_lines,
        };
        (lines as i64 - 1).max(1)
    }

    /// Moves whatever has the keys by so many lines.
    pub(super) fn step_by(&mut self, by: i64) {
        let moved = |top: usize, (fit, all): (usize, usize)| {
            (top as i64)
                .saturating_add(by)
                .clamp(0, all.saturating_sub(fit) as i64) as usize
        };
        let seen = &self.ui.seen;
        match (self.ui.open, self.ui.focus) {
            (Some(Open::Card), _) | (None, Focus::Card) => {
                self.ui.card_top = moved(self.ui.card_top, seen.card_lines);
            }
            (Some(Open::Change | Open::Ways | Open::Entries), _) => {
                choices::step_by(&self.sheet, &mut self.ui, by);
            }
            (
                Some(
                    Open::Help
                    | Open::Why
                    | Open::Chance
                    | Open::Better
                    | Open::Temperatures
                    | Open::Allergens
                    | Open::Trial
                    | Open::Now
                    | Open::Busy
                    | Open::Handover
                    | Open::Orders
                    | Open::Amounts,
                ),
                _,
            ) => {
                self.ui.page_top = moved(self.ui.page_top, seen.page_lines);
            }
            (Some(Open::Filter), _) => filters::step_by(&self.sheet, &mut self.ui, by),
            (None, Focus::Countdown) => self.step_rows(by),
            (None, Focus::Dishes) => self.step_dishes(by),
        }
    }

    fn step_rows(&mut self, by: i64) {
        let stops: Vec<usize> = self.ui.stops().collect();
        let line = self.ui.selected_line();
        let at = line.and_then(|line| stops.iter().position(|stop| *stop == line));
        let to = match at {
            Some(at) => (at as i64)
                .saturating_add(by)
                .clamp(0, stops.len() as i64 - 1),
            None => 0,
        };
        if let Some(&line) = stops.get(to as usize) {
            self.select_line(line);
        }
    }

    /// Selects what stands in a line of the list, where anything there can be selected.
    pub(super) fn select_line(&mut self, line: usize) {
        match self.ui.lines.get(line) {
            Some(&ListLine::Row(row)) => self.select(row),
            Some(&ListLine::Errand(errand)) => {
                self.ui.card_top = 0;
                self.ui.errand = Some(errand);
            }
            Some(ListLine::Heading(_) | ListLine::Now) | None => {}
        }
    }

    fn step_dishes(&mut self, by: i64) {
        let order = self.sheet.view.dish_order();
        let selected = self.selected_dish();
        let at = order.iter().position(|dish| Some(*dish) == selected);
        let last = order.len().saturating_sub(1) as i64;
        let to = (at.unwrap_or(0) as i64).saturating_add(by).clamp(0, last);
        if let Some(&dish) = order.get(to as usize) {
            self.select_dish(dish);
        }
    }

    /// Returns the dish of the selected step.
    pub fn selected_dish(&self) -> Option<usize> {
        self.ui
            .selected
            .and_then(|row| self.sheet.view.rows.get(row))
            .map(|row| row.dish)
    }

    /// Selects the step of a dish that comes next; filters that hide the dish are put aside, and said so.
    pub(super) fn select_dish(&mut self, dish: usize) {
        let of_dish = |app: &Self| -> Option<usize> {
            let rows = &app.sheet.view.rows;
            let mine = || app.ui.listed().filter(|row| rows[*row].dish == dish);
            mine()
                .find(|row| !rows[*row].standing.is_over())
                .or_else(|| mine().next())
        };
        if of_dish(self).is_none() && (self.ui.tonight || !self.ui.filter.is_empty()) {
            self.ui.tonight = false;
            self.ui.filter = Filter::default();
            self.relist();
            self.ui.say(
                Tone::Plain,
                "all steps are listed again; the dish had none among those shown",
            );
        }
        if let Some(row) = of_dish(self) {
            self.select(row);
        }
    }

    pub(super) fn go_to_now(&mut self) {
        self.ui.focus = Focus::Countdown;
        self.ui.must_show.now = true;
        if let Some(row) = self.ui.next_up(&self.sheet.view, self.sheet.now_minute()) {
            self.select(row);
        }
        if let Some(axis) = self.ui.seen.axis {
            let quarter = Minutes(axis.window().length().0 / 4);
            self.ui.time_from = self.sheet.now_minute() - quarter;
        }
    }

    pub(super) fn scroll_time(&mut self, direction: i32) {
        if self.ui.open == Some(Open::Filter) {
            filters::next_kind(&self.sheet, &mut self.ui, direction > 0);
            return;
        }
        let Some(axis) = self.ui.seen.axis else {
            return;
        };
        if self.ui.zoom.is_none() {
            self.ui
                .say(Tone::Plain, "all days are in view; + brings them closer");
            return;
        }
        let by = (axis.window().length().0 / 4).max(axis.per_column);
        self.ui.time_from = Minute(self.ui.time_from.0.saturating_add(direction * by));
        self.ui.must_show.selected = false;
    }

    pub(super) fn zoom(&mut self, closer: bool) {
        let Some(axis) = self.ui.seen.axis else {
            return;
        };
        let fit = fit_per_column(&self.sheet, axis.columns);
        let wanted = if closer {
            LEVELS
                .iter()
                .rev()
                .find(|level| **level < axis.per_column)
                .copied()
        } else {
            LEVELS
                .iter()
                .find(|level| **level > axis.per_column)
                .copied()
        };
        let Some(wanted) = wanted.filter(|wanted| *wanted < fit) else {
            if !closer {
                self.ui.zoom = None;
            }
            return;
        };
        // What was in the middle stays there, or the selected step where it is in view.
        let selected = self
            .ui
            .selected
            .and_then(|row| self.sheet.view.rows.get(row))
            .and_then(super::view::Row::window)
            .map(|window| window.start);
        let seen = axis.window();
        let middle = selected
            .filter(|start| seen.contains(*start))
            .unwrap_or_else(|| seen.start + Minutes(seen.length().0 / 2));
        let half = i64::from(wanted) * i64::from(axis.columns) / 2;
        self.ui.time_from =
            Minute((i64::from(middle.0) - half).clamp(-2_000_000_000, 1_000_000_000) as i32);
        self.ui.zoom = Some(wanted);
        self.ui.must_show.selected = selected.is_some_and(|start| seen.contains(start));
    }
}
