//! Where food goes: within a dish from step to step, and from dish to dish.

use crate::menu::{Dish, Menu, Step};

/// A dish that another takes something from.
#[derive(Clone, Copy, Debug)]
pub(super) struct Taken<'m> {
    /// The dish that is taken from.
    pub(super) dish: &'m Dish,
    /// The dish through which, where no step of the one that takes follows it itself.
    pub(super) through: Option<&'m Dish>,
}

impl Taken<'_> {
    /// Returns it as "Custard", or "Custard by way of Domes".
    pub(super) fn name(&self) -> String {
        match self.through {
            None => self.dish.name.clone(),
            Some(through) => format!("{} by way of {}", self.dish.name, through.name),
        }
    }
}

/// Returns every other dish of the menu that a dish takes something from, itself or through others, each once, the nearest
/// first. All of such a dish counts as taken: which part of it goes on nobody has said.
pub(super) fn taken_from<'m>(menu: &'m Menu, dish: &Dish) -> Vec<Taken<'m>> {
    let mut found: Vec<Taken<'m>> = Vec::new();
    let add = |of: &Dish, through: Option<&'m Dish>, found: &mut Vec<Taken<'m>>| {
        let steps = of.steps.iter().chain(&of.rescues);
        for after in steps.flat_map(|step| &step.after) {
            let other = after.step.split_once('/').map(|(other, _)| other);
            if let Some((_, other)) = other.and_then(|other| menu.dish(other))
                && other.id != dish.id
                && found.iter().all(|known| known.dish.id != other.id)
            {
                found.push(Taken {
                    dish: other,
                    through,
                });
            }
        }
    };
    add(dish, None, &mut found);
    let mut at = 0;
    while let Some(&Taken { dish: next, .. }) = found.get(at) {
        add(next, Some(next), &mut found);
        at += 1;
    }
    found
}

/// Returns the steps at which something is done to all that goes into a step, by whichever way it goes on within the dish;
/// `None` where it can reach the end of the dish without, or nobody has said into which step it goes.
pub(super) fn always_meets<'d>(
    dish: &'d Dish,
    into: Option<&str>,
    done: impl Fn(&Step) -> bool,
) -> Option<Vec<&'d Step>> {
    let (first, _) = dish.step(into?)?;
    let mut met = Vec::new();
    let mut seen = vec![false; dish.steps.len()];
    let mut ahead = vec![first];
    while let Some(place) = ahead.pop() {
        if std::mem::replace(&mut seen[place], true) {
            continue;
        }
        let step = &dish.steps[place];
        if done(step) {
            met.push(place);
            continue;
        }
        let before = ahead.len();
        let follows = |other: &Step| {
            other.after.iter().any(|after| {
                let own = after.step.split_once('/');
                let id = own.filter(|(of, _)| *of == dish.id).map(|(_, id)| id);
                id.unwrap_or(&after.step) == step.id
            })
        };
        ahead.extend((0..dish.steps.len()).filter(|&other| follows(&dish.steps[other])));
        if ahead.len() == before {
            return None;
        }
    }
    met.sort_unstable();
    Some(met.into_iter().map(|place| &dish.steps[place]).collect())
}
