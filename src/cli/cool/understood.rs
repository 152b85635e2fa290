//! What is to be cooled, and where: from the card of a step, from options, and from what kitchens usually have.

use std::path::{Path, PathBuf};

use super::slowest::Foods;
use super::wrong;
use crate::cli::args::{Cool, Everywhere, Where};
use crate::cli::command::Opened;
use crate::cli::report::Failure;
use crate::cli::step_name;
use crate::load::spoken;
use crate::menu::{Across, Temperature};
use crate::plan;
use crate::prep::{PrepState, rule_sets};
use crate::safety::cooling::card::{Said, cooked_to, shape, volume};
use crate::safety::cooling::{FOODS, Material, Medium, Place};
use crate::safety::rules::{Legs, RuleSet};
use crate::text::one_line;

/// Everything that was asked, understood.
pub(super) struct Understood {
    pub(super) asked: Foods,
    /// What it is called, and what was taken because nobody has said.
    pub(super) food: String,
    /// What the place is called.
    pub(super) place: String,
    /// Cubic metres.
    pub(super) volume: Option<f64>,
    pub(super) to: f64,
    /// The warmest that it is known to have been, in °C.
    pub(super) warmest: f64,
    /// The step it is about.
    pub(super) of: Option<OfStep>,
}

impl Understood {
    /// Returns the legs that it is held to.
    pub(super) fn legs(&self, set: &RuleSet) -> Legs {
        set.cooling_of(self.warmest)
    }
}

/// A step of a menu.
pub(super) struct OfStep {
    /// The menu's file; none is the demonstration.
    pub(super) file: Option<PathBuf>,
    pub(super) dish: String,
    pub(super) step: String,
    /// The rules its menu is held against.
    pub(super) rules: Vec<&'static RuleSet>,
}

/// What the card of a step says.
#[derive(Default)]
struct Card {
    said: Said,
    volume: Option<f64>,
    from: Option<f64>,
    to: Option<f64>,
    /// What it was cooked to before.
    cooked_to: Option<f64>,
    of: Option<OfStep>,
}

/// Understands the question.
pub(super) fn understand(given: &Cool, everywhere: &Everywhere) -> Result<Understood, Failure> {
    let card = match (&given.menu, &given.step) {
        (Some(menu), Some(step)) => card(menu, step, everywhere)?,
        _ => Card::default(),
    };
    let mut said = card.said;
    let volume = match &given.volume {
        Some(volume) => {
            let millilitres = spoken::volume(volume).map_err(|said| wrong("--volume", &said))?;
            Some(millilitres / 1e6)
        }
        None => card.volume,
    };
    if let Some(given) = given_shape(given, &said, volume)? {
        said.shape = Some(given);
    }
    let place = place(given, &mut said)?;
    if given.lid.covered || given.lid.uncovered {
        said.covered = Some(given.lid.covered);
    }
    said.stirred |= given.stirred;
    let from = match (&given.from, card.from) {
        (Some(from), _) => degrees("--from", from)?,
        (None, Some(from)) => from,
        (None, None) => {
            return Err(Failure::WrongUse(
                "how warm is it? --from 85; no card says it".into(),
            ));
        }
    };
    let to = match (&given.to, card.to) {
        (Some(to), _) => degrees("--to", to)?,
        (None, Some(to)) => to,
        (None, None) => 5.0,
    };
    if from <= to {
        return Err(Failure::WrongUse("--from must be warmer than --to".into()));
    }
    let food = food(given, &mut said)?;
    let asked = Foods::of(&said, from).map_err(|unsaid| {
        Failure::WrongUse(format!(
            "nobody has said {}; --depth 50mm, or --volume 5l with --across \"300 x 200 mm\"",
            unsaid.join(", ")
        ))
    })?;
    Ok(Understood {
        asked,
        food,
        place,
        volume,
        to,
        warmest: card.cooked_to.map_or(from, |cooked| cooked.max(from)),
        of: card.of,
    })
}

/// Reads the card of a step.
fn card(menu: &Path, step: &str, everywhere: &Everywhere) -> Result<Card, Failure> {
    let opened = Opened::open(Some(menu), everywhere)?;
    let prep = PrepState::fold(&opened.entries()?);
    let opened = opened.as_decided(&prep);
    let menu_of = &opened.loaded.menu;
    let names = plan::named(menu_of);
    // Batches of a step cool alike, so any of them names it.
    let mut firsts: Vec<plan::Named> = Vec::new();
    for name in names {
        if firsts
            .last()
            .is_none_or(|last| (last.dish, last.step) != (name.dish, name.step))
        {
            firsts.push(name);
        }
    }
    let found = step_name::find(&firsts, step).map_err(Failure::WrongUse)?;
    let dish = menu_of.dishes.get(found.dish);
    let Some((dish, step)) = dish.and_then(|dish| Some((dish, dish.steps.get(found.step)?))) else {
        return Ok(Card::default());
    };
    let (from, to) = match step.temperature {
        Some(Temperature::Cooled { from, to }) => {
            (Some(f64::from(from) / 10.0), Some(f64::from(to) / 10.0))
        }
        _ => (None, None),
    };
    Ok(Card {
        said: Said::on_card(menu_of, step.cooling.as_ref()),
        volume: volume(menu_of, dish, step),
        from,
        to,
        cooked_to: cooked_to(menu_of, dish, step),
        of: Some(OfStep {
            file: (menu != Path::new("demo")).then(|| menu.to_owned()),
            dish: dish.id.clone(),
            step: step.id.clone(),
            rules: rule_sets(menu_of),
        }),
    })
}

/// Returns how food stands by the options, where they say anything of it: depth and breadth each over the card's, and a
/// volume and a breadth make a depth.
fn given_shape(
    given: &Cool,
    said: &Said,
    volume: Option<f64>,
) -> Result<Option<crate::safety::cooling::Shape>, Failure> {
    use crate::safety::cooling::Shape;
    let depth = match &given.depth {
        Some(depth) => Some(spoken::breadth(depth).map_err(|said| wrong("--depth", &said))?),
        None => None,
    };
    let across = match &given.across {
        Some(across) => Some(spoken::across(across).map_err(|said| wrong("--across", &said))?),
        None => None,
    };
    let metres = |tenths: u32| f64::from(tenths) / 10_000.0;
    let found = match (depth, across, said.shape) {
        (None, None, _) if given.volume.is_none() => None,
        // A breadth of the options with a depth of the options, or with the card's.
        (Some(depth), Some(across), _) => shape(Some(depth), Some(across)),
        (None, Some(ball @ Across::Ball(_)), _) => shape(None, Some(ball)),
        (Some(depth), None, Some(of_card)) => Some(of_card.at_depth(metres(depth))),
        (Some(depth), None, None) => shape(Some(depth), None),
        (None, across, of_card) => {
            let wide = across.and_then(|across| shape(Some(10), Some(across)));
            let wide = wide.or(of_card);
            let by_volume = wide.and_then(|wide| Some(wide.at_depth(volume? / wide.area()?)));
            let of_card = wide
                .zip(of_card)
                .map(|(wide, of_card)| wide.at_depth(of_card.depth()));
            // A volume that was asked for makes the depth; one that stands on the card only where no depth does.
            if given.volume.is_some() {
                by_volume
            } else {
                of_card.or(by_volume)
            }
        }
    };
    match found {
        Some(shape) if !Shape::is_real(shape) => Err(Failure::WrongUse(
            "no pan of a kitchen is so thin or so deep".into(),
        )),
        found => Ok(found),
    }
}

/// Understands where it is cooled, and returns how that is called.
fn place(given: &Cool, said: &mut Said) -> Result<String, Failure> {
    let at = match &given.at {
        Some(at) => Some(degrees("--at", at)?),
        None => None,
    };
    let kind = given.place.map(|place| match place {
        Where::Fridge => Place::Still,
        Where::Fan => Place::Fan,
        Where::Blast => Place::Blast,
        Where::Ice => Place::IceBath,
    });
    let name = match (kind, said.medium, &said.kit) {
        (None, Some(_), Some(kit)) => one_line(kit),
        (kind, ..) => match kind.unwrap_or(Place::Still) {
            Place::Still => "a fridge without a fan".to_owned(),
            Place::Fan => "a fridge with a fan".to_owned(),
            Place::Blast => "a blast chiller".to_owned(),
            Place::IceBath => "an ice bath".to_owned(),
        },
    };
    let medium = match (kind, said.medium) {
        (None, Some(of_card)) => of_card,
        (kind, _) => {
            // Of all places a still fridge is the slowest.
            let place = kind.unwrap_or(Place::Still);
            Medium {
                place,
                at: place.usual(),
            }
        }
    };
    said.medium = Some(Medium {
        at: at.unwrap_or(medium.at),
        ..medium
    });
    Ok(name)
}

/// Understands what it is, and returns how that is called.
fn food(given: &Cool, said: &mut Said) -> Result<String, Failure> {
    if let Some(share) = &given.water {
        let number = share.trim().trim_end_matches('%').trim().parse::<f64>();
        let number = number.ok().filter(|share| (0.0..=100.0).contains(share));
        let number =
            number.ok_or_else(|| wrong("--water", "how much of it is water, of a hundred: 70"))?;
        said.material = Some(Material::of_water(number / 100.0));
        return Ok(format!("{number} % water"));
    }
    if let Some(food) = &given.food {
        let known: Vec<_> = FOODS.iter().map(|(name, _)| *name).collect();
        said.material = Some(Material::named(food).ok_or_else(|| {
            wrong(
                "--food",
                &format!("one of {}, or --water 70", known.join(", ")),
            )
        })?);
        return Ok(food.clone());
    }
    if let Some(material) = said.material {
        let known = FOODS
            .iter()
            .find(|(_, share)| Material::of_water(*share) == material);
        return Ok(known.map_or("food", |(name, _)| name).to_owned());
    }
    Ok("taken as whatever food is the slowest, because no --food is named".to_owned())
}

/// Degrees, with or without their scale: "85", "85 C", "185 F".
pub(super) fn degrees(option: &str, text: &str) -> Result<f64, Failure> {
    let bare = text.trim().parse::<f64>().is_ok();
    let text = if bare {
        format!("{text} C")
    } else {
        text.to_owned()
    };
    spoken::degrees(&text).map_err(|said| wrong(option, &said))
}
