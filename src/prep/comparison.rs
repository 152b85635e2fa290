//! A plan before beside the plan after a decision.

use crate::book::Decision;
use crate::menu::Menu;
use crate::plan::{DishPlan, Plan, PlannedStep};
use crate::time::{Minute, Minutes, ServiceTime};

/// A step that moves.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Move {
    /// The dish and the step by name.
    pub name: String,
    /// When it starts on the plan shown.
    pub from: Minute,
    /// When it would start.
    pub to: Minute,
    /// How it would be done, where that is another way.
    pub way: Option<String>,
}

impl Move {
    /// Returns how much later it would start; negative for earlier.
    pub fn later(&self) -> Minutes {
        self.to - self.from
    }

    /// Returns the move as a line: `Fri 14:00 → Fri 15:10, 1h10 later: Pears – Poach`.
    pub fn words(&self, service: ServiceTime) -> String {
        let clock = |minute| service.local(minute).weekday_clock();
        let by = self.later();
        let how = match by.0 {
            0 => String::new(),
            1.. => format!(", {by} later"),
            _ => format!(", {} earlier", Minutes(by.0.abs())),
        };
        let (from, to) = (clock(self.from), clock(self.to));
        format!("{from} → {to}{how}: {}", self.name)
    }
}

/// Returns which dishes keep the covers of their own when those of the menu are changed, a sentence each.
pub fn keeps_its_covers(menu: &Menu, decision: &Decision) -> Vec<String> {
    if !matches!(decision, Decision::Covers { dish: None, .. }) {
        return Vec::new();
    }
    let own = menu.dishes.iter().filter_map(|dish| {
        let covers = dish.covers?;
        Some(format!("{}: keeps its own {covers} covers", dish.name))
    });
    own.collect()
}

/// What changes for one dish.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DishChange {
    /// Its name.
    pub name: String,
    /// How it was.
    pub was: Option<DishReady>,
    /// How it would be.
    pub is: Option<DishReady>,
}

/// How much of a dish there is, and when.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DishReady {
    /// How many portions.
    pub portions: u32,
    /// When it is ready, in words: `ready Sat 15:30`, and by how much that is late.
    pub ready: String,
}

impl DishReady {
    fn of(plan: &Plan, dish: &DishPlan) -> Self {
        let ready = plan.service.local(dish.ready).weekday_clock();
        let ready = match dish.late.as_ref().map(|late| (late.by, &late.because)) {
            None => format!("ready {ready}"),
            Some((Some(by), _)) => format!("ready {ready}, {by} late"),
            // When it would have been needed is no time at which it is ready.
            Some((None, because)) => format!("left out of what can still be: {because}"),
        };
        Self {
            portions: dish.portions,
            ready,
        }
    }
}

impl DishChange {
    /// Returns the change as a line.
    pub fn words(&self) -> String {
        let name = &self.name;
        match (&self.was, &self.is) {
            (Some(was), Some(is)) => {
                let portions = if was.portions == is.portions {
                    String::new()
                } else {
                    format!(", {} → {} portions", was.portions, is.portions)
                };
                let ready = if was.ready == is.ready {
                    is.ready.clone()
                } else {
                    let both = was.ready.starts_with("ready ");
                    let later = is.ready.strip_prefix("ready ").filter(|_| both);
                    format!("{} → {}", was.ready, later.unwrap_or(&is.ready))
                };
                format!("{name}{portions}, {ready}")
            }
            (None, Some(is)) => format!("{name}: new, {} portions, {}", is.portions, is.ready),
            (_, None) => format!("{name}: left out"),
        }
    }
}

/// The plan before beside the plan after.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Comparison {
    /// Dishes of which anything changes, in the order of the menu, those that are gone last.
    pub dishes: Vec<DishChange>,
    /// Steps that start at other times, in their new order.
    pub moves: Vec<Move>,
    /// Steps there were none of before: their names.
    pub new: Vec<String>,
    /// Steps there would be none of.
    pub gone: Vec<String>,
}

impl Comparison {
    /// Returns what changes from one plan, of its menu, to another, of its own. Minutes are told from the service of
    /// the first, so that a service that moves moves no step.
    pub fn of(before: (&Plan, &Menu), after: (&Plan, &Menu)) -> Self {
        Self {
            dishes: dishes(before.0, after.0),
            moves: moves(before.0, after.0, after.1),
            new: names(after.0, before.0, after.1),
            gone: names(before.0, after.0, before.1),
        }
    }
}

fn dishes(before: &Plan, after: &Plan) -> Vec<DishChange> {
    let said = |plan: &Plan, name: &str| {
        let dish = plan.dishes.iter().find(|dish| dish.name == name)?;
        Some(DishReady::of(plan, dish))
    };
    let names = after.dishes.iter().map(|dish| &dish.name);
    let lost = before.dishes.iter().map(|dish| &dish.name);
    let lost = lost.filter(|name| after.dishes.iter().all(|dish| dish.name != **name));
    names
        .chain(lost)
        .map(|name| DishChange {
            name: name.clone(),
            was: said(before, name),
            is: said(after, name),
        })
        .filter(|change| change.was != change.is)
        .collect()
}

fn full_name(menu: &Menu, step: &PlannedStep) -> String {
    let dish = menu.dishes.get(step.dish);
    let dish = dish.map_or("", |dish| dish.name.as_str());
    format!("{dish} – {}", step.name)
}

fn moves(before: &Plan, after: &Plan, menu: &Menu) -> Vec<Move> {
    // What is left out of either is at no time: its dish says so.
    let order = after.order.iter().filter(|&&step| !after.is_given_up(step));
    let order = order.filter_map(|&step| after.steps.get(step));
    let moves = order.filter_map(|is| {
        let (place, was) = before.find(&is.key)?;
        if before.is_given_up(place) {
            return None;
        }
        let start = after.service.timestamp(is.window.start);
        let (from, to) = (was.window.start, before.service.minute(start));
        (from != to && is.happened.is_none()).then(|| Move {
            name: full_name(menu, is),
            from,
            to,
            way: None,
        })
    });
    moves.collect()
}

/// Returns the steps of one plan that the other has none of.
fn names(of: &Plan, other: &Plan, menu: &Menu) -> Vec<String> {
    let order = of.order.iter().filter_map(|&step| of.steps.get(step));
    order
        .filter(|step| other.find(&step.key).is_none())
        .map(|step| full_name(menu, step))
        .collect()
}
