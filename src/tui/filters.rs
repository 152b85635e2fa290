//! The choices of the filter panel: what a list can be narrowed to, kind by kind.

use std::collections::BTreeSet;

use super::sheet::Sheet;
use super::ui::{Filter, Ui};
use super::view::day_heading;
use crate::prep::Standing;
use crate::time::Date;

/// One line that can be chosen.
#[derive(Clone, Debug, PartialEq, Eq)]
pub(super) enum Choice {
    /// A dish, by its place in the menu.
    Dish(usize),
    /// A cook.
    Cook(String),
    /// A station.
    Station(String),
    /// A day.
    Day(Date),
    /// A standing.
    State(Standing),
}

impl Choice {
    /// Returns the kind as the heading over its choices.
    pub(super) fn kind(&self) -> &'static str {
        match self {
            Self::Dish(_) => "Dish",
            Self::Cook(_) => "Cook",
            Self::Station(_) => "Station",
            Self::Day(_) => "Day",
            Self::State(_) => "State",
        }
    }

    /// Returns the words of the choice.
    pub(super) fn name(&self, sheet: &Sheet) -> String {
        match self {
            Self::Dish(dish) => dish_name(sheet, *dish),
            Self::Cook(name) | Self::Station(name) => name.clone(),
            Self::Day(date) => day_heading(*date),
            Self::State(standing) => standing.word().to_owned(),
        }
    }

    /// Returns whether it is chosen.
    pub(super) fn is_chosen(&self, filter: &Filter) -> bool {
        match self {
            Self::Dish(dish) => filter.dishes.contains(dish),
            Self::Cook(name) => filter.cooks.contains(name),
            Self::Station(name) => filter.stations.contains(name),
            Self::Day(date) => filter.days.contains(date),
            Self::State(standing) => filter.states.contains(standing),
        }
    }

    fn turn(&self, filter: &mut Filter) {
        fn flip<T: Ord + Clone>(set: &mut BTreeSet<T>, one: &T) {
            if !set.remove(one) {
                set.insert(one.clone());
            }
        }
        match self {
            Self::Dish(dish) => flip(&mut filter.dishes, dish),
            Self::Cook(name) => flip(&mut filter.cooks, name),
            Self::Station(name) => flip(&mut filter.stations, name),
            Self::Day(date) => flip(&mut filter.days, date),
            Self::State(standing) => flip(&mut filter.states, standing),
        }
    }
}

/// Returns the name of a dish of the menu.
pub(super) fn dish_name(sheet: &Sheet, dish: usize) -> String {
    sheet
        .menu
        .dishes
        .get(dish)
        .map_or(String::new(), |dish| dish.name.clone())
}

/// Returns everything that can be chosen.
pub(super) fn choices(sheet: &Sheet) -> Vec<Choice> {
    let view = &sheet.view;
    let mut all = Vec::new();
    let occurs = |standing: &Standing| match standing {
        Standing::Running | Standing::Done | Standing::Skipped => true,
        Standing::ToDo => sheet.has_no_plan(),
        Standing::Unticked => view.rows.iter().any(|row| row.standing == *standing),
        _ => !sheet.has_no_plan(),
    };
    all.extend(Standing::ALL.into_iter().filter(occurs).map(Choice::State));
    all.extend(view.dates().into_iter().map(Choice::Day));
    all.extend((0..sheet.menu.dishes.len()).map(Choice::Dish));
    all.extend(view.cooks().into_iter().map(Choice::Cook));
    all.extend(view.stations().into_iter().map(Choice::Station));
    all
}

/// Turns the selected choice on or off.
pub(super) fn choose(sheet: &Sheet, ui: &mut Ui) {
    if let Some(choice) = choices(sheet).get(ui.filter_at) {
        choice.turn(&mut ui.filter);
    }
}

/// Moves the selection by so many choices.
pub(super) fn step_by(sheet: &Sheet, ui: &mut Ui, by: i64) {
    let last = choices(sheet).len() as i64 - 1;
    ui.filter_at = (ui.filter_at as i64)
        .saturating_add(by)
        .clamp(0, last.max(0)) as usize;
}

/// Narrows what is shown to the next cook or station, after the last of them to nobody's.
pub(super) fn next_whose(sheet: &Sheet, ui: &mut Ui, forward: bool) {
    let (cooks, stations) = (sheet.view.cooks(), sheet.view.stations());
    let all = 1 + cooks.len() + stations.len();
    let only = |chosen: &BTreeSet<String>, of: &[String]| {
        let one = chosen.first().filter(|_| chosen.len() == 1)?;
        of.iter().position(|it| it == one)
    };
    let at = match only(&ui.filter.cooks, &cooks) {
        Some(cook) => 1 + cook,
        None => only(&ui.filter.stations, &stations).map_or(0, |it| 1 + cooks.len() + it),
    };
    let to = (at + if forward { 1 } else { all - 1 }) % all;
    ui.filter.cooks.clear();
    ui.filter.stations.clear();
    ui.page_top = 0;
    if let Some(cook) = to.checked_sub(1).and_then(|at| cooks.get(at)) {
        ui.filter.cooks.insert(cook.clone());
    } else if let Some(station) = to
        .checked_sub(1 + cooks.len())
        .and_then(|at| stations.get(at))
    {
        ui.filter.stations.insert(station.clone());
    }
}

/// Moves the selection to the first choice of the next kind, or of the kind before.
pub(super) fn next_kind(sheet: &Sheet, ui: &mut Ui, forward: bool) {
    let all = choices(sheet);
    let first_of_kind = |at: &usize| *at == 0 || all[*at].kind() != all[*at - 1].kind();
    let to = if forward {
        (ui.filter_at + 1..all.len()).find(first_of_kind)
    } else {
        (0..ui.filter_at.min(all.len())).rev().find(first_of_kind)
    };
    ui.filter_at = to.unwrap_or(ui.filter_at);
}
