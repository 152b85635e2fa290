//! Where food goes, from dish to dish.

use crate::menu::{Dish, Menu};

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
