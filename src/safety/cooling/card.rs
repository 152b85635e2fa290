//! What a card says of how a step cools, piece by piece, as far as anybody has said it.

use std::collections::BTreeSet;

use super::{Asked, Body, Material, Medium, Place, Shape};
use crate::menu::{Across, ColdBy, Conducts, Cooling, Dish, Menu, Multiple, Step, Temperature};

/// How food cools, each part of it known or not.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Said {
    /// How it stands.
    pub shape: Option<Shape>,
    /// In what.
    pub medium: Option<Medium>,
    /// What that is called.
    pub kit: Option<String>,
    /// What it conducts.
    pub material: Option<Material>,
    /// Whether something lies on it.
    pub covered: Option<bool>,
    /// Whether it is stirred all the time.
    pub stirred: bool,
}

impl Said {
    /// Returns what a card says of a step's cooling; all of it unsaid where it says nothing.
    pub fn on_card(menu: &Menu, cooling: Option<&Cooling>) -> Self {
        let Some(cooling) = cooling else {
            return Self::default();
        };
        let kit = cooling.kit.as_ref().and_then(|id| menu.kitchen.kit(id));
        Self {
            shape: shape(cooling.depth, cooling.across),
            medium: kit.and_then(|(_, kit)| {
                kit.cold.map(|cold| Medium {
                    place: place(cold.by),
                    at: f64::from(cold.at) / 10.0,
                })
            }),
            kit: kit.map(|(_, kit)| kit.name.clone()),
            material: cooling.food.and_then(material),
            covered: cooling.covered,
            stirred: cooling.stirred,
        }
    }

    /// Returns the question of food that is so warm; else what nobody has said.
    pub fn asked(&self, from: f64) -> Result<Asked, Vec<&'static str>> {
        let mut unsaid = Vec::new();
        if self.shape.is_none() {
            unsaid.push("how deep it stands");
        }
        if self.medium.is_none() {
            unsaid.push("in which place, and how cold that is");
        }
        if self.material.is_none() {
            unsaid.push("what it is to heat (water, custard, puree …)");
        }
        let (Some(shape), Some(medium), Some(material)) = (self.shape, self.medium, self.material)
        else {
            return Err(unsaid);
        };
        if !shape.is_real() {
            return Err(vec!["a depth that a kitchen has"]);
        }
        Ok(Asked {
            body: Body {
                shape,
                material,
                from,
                covered: self.covered == Some(true),
                stirred: self.stirred,
            },
            medium,
            open: self.covered == Some(false),
        })
    }
}

/// Returns how a cold place takes heat away.
pub fn place(by: ColdBy) -> Place {
    match by {
        ColdBy::Still => Place::Still,
        ColdBy::Fan => Place::Fan,
        ColdBy::Blast => Place::Blast,
        ColdBy::IceBath => Place::IceBath,
    }
}

/// Returns how food stands that is so deep and so far across, in tenths of a millimetre.
pub fn shape(depth: Option<u32>, across: Option<Across>) -> Option<Shape> {
    let metres = |tenths: u32| f64::from(tenths) / 10_000.0;
    Some(match (depth, across) {
        // A ball says so itself: a pot of which the depth has been forgotten must not become one.
        (_, Some(Across::Ball(across))) => Shape::Ball {
            diameter: metres(across),
        },
        (None, _) => return None,
        (Some(depth), None) => Shape::Layer {
            depth: metres(depth),
        },
        (Some(depth), Some(Across::Round(across))) => Shape::Pot {
            diameter: metres(across),
            depth: metres(depth),
        },
        (Some(depth), Some(Across::Sides(one, other))) => Shape::Pan {
            length: metres(one),
            width: metres(other),
            depth: metres(depth),
        },
    })
}

fn material(food: Conducts) -> Option<Material> {
    Material::named(match food {
        Conducts::Water => "water",
        Conducts::Stock => "stock",
        Conducts::Milk => "milk",
        Conducts::Fruit => "fruit",
        Conducts::Jelly => "jelly",
        Conducts::Puree => "puree",
        Conducts::Custard => "custard",
        Conducts::Cream => "cream",
        Conducts::Syrup => "syrup",
        Conducts::Paste => "paste",
    })
}

/// Returns the volume one doing of a step cools, in cubic metres, where the card says it.
pub fn volume(menu: &Menu, dish: &Dish, step: &Step) -> Option<f64> {
    let batch = dish.batch.as_ref()?.volume? / 1e6;
    Some(match &step.each {
        Multiple::Batch => batch,
        Multiple::Dish => batch * f64::from(menu.batches_of(dish)),
        Multiple::Parts(parts) => {
            batch * f64::from(menu.batches_of(dish)) / parts.len().max(1) as f64
        }
    })
}

/// Returns the hottest that the cards say the food of a step is cooked to, in °C: by the step itself or any that it
/// follows, however far back; nothing where none of them cooks.
pub fn cooked_to(menu: &Menu, dish: &Dish, step: &Step) -> Option<f64> {
    let mut seen = BTreeSet::new();
    let mut next = vec![(dish, step)];
    let mut hottest: Option<i32> = None;
    while let Some((dish, step)) = next.pop() {
        if !seen.insert((dish.id.as_str(), step.id.as_str())) {
            continue;
        }
        if let Some(Temperature::Cooked { to, .. }) = step.temperature {
            hottest = hottest.max(Some(to));
        }
        next.extend(step.after.iter().filter_map(|after| {
            let (dish, step) = match after.step.split_once('/') {
                Some((of, step)) => (menu.dish(of)?.1, step),
                None => (dish, after.step.as_str()),
            };
            Some((dish, dish.step(step)?.1))
        }));
    }
    hottest.map(|tenths| f64::from(tenths) / 10.0)
}
