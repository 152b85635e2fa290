//! What the mouse does: the same things the keys do.

use crossterm::event::{KeyEvent, MouseButton, MouseEvent, MouseEventKind};

use super::action::{Action, Group, line};
use super::app::App;
use super::effect::Effect;
use super::event::Event;
use super::filters;
use super::ui::{Focus, Open, Spot};

/// Lines a notch of the wheel moves by.
const NOTCH: i64 = 3;

impl App {
    /// Takes in what the mouse did.
    pub(super) fn mouse(&mut self, mouse: MouseEvent) -> Vec<Effect> {
        let by = match mouse.kind {
            MouseEventKind::ScrollUp => -NOTCH,
            MouseEventKind::ScrollDown => NOTCH,
            MouseEventKind::ScrollLeft => return self.act(Action::TimeEarlier),
            MouseEventKind::ScrollRight => return self.act(Action::TimeLater),
            MouseEventKind::Down(MouseButton::Left) => return self.click(mouse.column, mouse.row),
            _ => return Vec::new(),
        };
        self.touch();
        match self.ui.spot(mouse.column, mouse.row).map(|(_, spot)| spot) {
            Some(Spot::Row(_) | Spot::Errand(_) | Spot::List) => self.wheel_list(by),
            Some(Spot::Dish(_) | Spot::Bar(_) | Spot::Dishes) => {
                let most = self
                    .sheet
                    .view
                    .dishes
                    .len()
                    .saturating_sub(self.ui.seen.dish_lines);
                self.ui.dish_top = (self.ui.dish_top as i64 + by).clamp(0, most as i64) as usize;
                // The dish of the selected step stays in view, so the selection goes along.
                let (top, fit) = (self.ui.dish_top, self.ui.seen.dish_lines.max(1));
                let order = self.sheet.view.dish_order();
                let selected = self.selected_dish();
                let place = order.iter().position(|dish| Some(*dish) == selected);
                if let Some(place) = place {
                    let held = place.clamp(top, top + fit - 1);
                    if let Some(&dish) = order.get(held).filter(|_| held != place) {
                        self.select_dish(dish);
                    }
                }
            }
            Some(Spot::Card) => {
                let (fit, all) = self.ui.seen.card_lines;
                let most = all.saturating_sub(fit) as i64;
                self.ui.card_top = (self.ui.card_top as i64 + by).clamp(0, most) as usize;
            }
            Some(Spot::Page | Spot::Choice(_)) => self.step_by(by),
            Some(Spot::Hint(_)) if self.ui.open == Some(Open::Help) => self.step_by(by),
            Some(Spot::Hint(_)) | None => {}
        }
        Vec::new()
    }

    /// Scrolls the list; the selection goes along where it would leave the screen.
    fn wheel_list(&mut self, by: i64) {
        let fit = self.ui.seen.list_lines.max(1);
        let most = self.ui.lines.len().saturating_sub(fit) as i64;
        let top = (self.ui.list_top as i64 + by).clamp(0, most) as usize;
        self.ui.list_top = top;
        let seen = top..(top + fit).min(self.ui.lines.len());
        let selected = self.ui.selected_line();
        if selected.is_some_and(|line| seen.contains(&line)) {
            return;
        }
        let stops = self.ui.stops().filter(|stop| seen.contains(stop));
        let stops: Vec<usize> = stops.collect();
        let line = if selected.is_some_and(|line| line < top) {
            stops.first()
        } else {
            stops.last()
        }
        .copied();
        if let Some(line) = line {
            self.select_line(line);
        }
    }

    fn click(&mut self, x: u16, y: u16) -> Vec<Effect> {
        let Some((area, spot)) = self.ui.spot(x, y) else {
            return Vec::new();
        };
        self.touch();
        if let Spot::Hint(action) = spot {
            // A hint is its key, so that it means the same while a line is typed.
            let key: Option<KeyEvent> = line(action).keys.first().map(|key| key.event());
            return match key {
                Some(key) if self.ui.prompt.is_some() && action == Action::Close => {
                    self.update(Event::Key(key))
                }
                Some(_) if self.ui.prompt.is_none() => {
                    // The help is left for what is chosen there, unless that is about the help itself.
                    let is_of_help = line(action).group == Group::Moving
                        || matches!(action, Action::Help | Action::Close | Action::Quit);
                    if self.ui.open == Some(Open::Help) && !is_of_help {
                        self.ui.open = None;
                    }
                    self.act(action)
                }
                _ => Vec::new(),
            };
        }
        if self.ui.prompt.is_some() {
            return Vec::new();
        }
        match spot {
            Spot::Row(row) => {
                self.ui.focus = Focus::Countdown;
                self.pick(row);
            }
            Spot::Errand(errand) => {
                self.ui.focus = Focus::Countdown;
                if self.ui.errand == Some(errand) && !self.ui.seen.card_beside {
                    self.ui.open = Some(Open::Card);
                }
                self.ui.card_top = 0;
                self.ui.errand = Some(errand);
            }
            Spot::Dish(dish) => {
                self.ui.focus = Focus::Dishes;
                if self.selected_dish() != Some(dish) {
                    self.select_dish(dish);
                } else if let Some(row) = self.ui.selected {
                    self.pick(row);
                }
            }
            Spot::Bar(dish) => {
                self.ui.focus = Focus::Dishes;
                match self.step_under(dish, x.saturating_sub(area.x)) {
                    Some(row) => {
                        if self.ui.line_of(row).is_none() {
                            self.ui.tonight = false;
                            self.ui.filter = super::ui::Filter::default();
                            self.relist();
                        }
                        self.pick(row);
                    }
                    None => self.select_dish(dish),
                }
            }
            Spot::Choice(at) if self.ui.open.is_some_and(Open::is_list) => {
                let again = self.ui.choice_at == at;
                self.ui.choice_at = at;
                if again {
                    return self.act(Action::Open);
                }
            }
            Spot::Choice(at) => {
                self.ui.filter_at = at;
                filters::choose(&self.sheet, &mut self.ui);
                self.relist();
            }
            Spot::List => self.ui.focus = Focus::Countdown,
            Spot::Dishes => self.ui.focus = Focus::Dishes,
            Spot::Card => self.ui.focus = Focus::Card,
            Spot::Page | Spot::Hint(_) => {}
        }
        Vec::new()
    }

    /// Selects a row; opens its card when it is selected already.
    fn pick(&mut self, row: usize) {
        let is_selected = self.ui.errand.is_none() && self.ui.selected == Some(row);
        if is_selected && !self.ui.seen.card_beside {
            self.ui.open = Some(Open::Card);
        } else {
            self.select(row);
        }
    }

    /// Returns the row of the step drawn in a column of a dish's bar.
    fn step_under(&self, dish: usize, column: u16) -> Option<usize> {
        let axis = self.ui.seen.axis?;
        let strokes = &self.sheet.view.dishes.get(dish)?.strokes;
        strokes
            .iter()
            .filter(|stroke| axis.touched(stroke.window).contains(&column))
            .max_by_key(|stroke| stroke.care)
            .map(|stroke| stroke.row)
    }
}
