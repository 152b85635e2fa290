//! What a dish takes: batch by batch, vessel by vessel, ingredient by ingredient.

use super::bought::bought_as;
use super::density;
use super::gelling;
use super::rounding::{Rounded, rounded};
use super::scale::{for_doing, into, of_dish, sensible};
use crate::menu::{Amount, Batches, Dish, Ingredient, Menu, Multiple, words};

/// A dish in amounts.
#[derive(Clone, Debug, PartialEq)]
pub struct DishAmounts {
    /// The dish's place in the menu.
    pub dish: usize,
    /// Guests it is made for.
    pub covers: u32,
    /// Portions wanted: one a cover, and the spare ones.
    pub wanted: u32,
    /// Portions its batches make.
    pub makes: u64,
    /// The batches, alike ones together.
    pub batches: Vec<BatchAmounts>,
    /// How often its moulds must be filled where there are too few for all batches at once: 1 where there are enough.
    pub rounds: u32,
    /// The ingredients, in the order of the card.
    pub ingredients: Vec<IngredientAmounts>,
}

/// Batches that are alike.
#[derive(Clone, Debug, PartialEq)]
pub struct BatchAmounts {
    /// The number of the first, from 1.
    pub first: u32,
    /// How many.
    pub count: u32,
    /// Portions each makes.
    pub portions: u32,
    /// What share of a whole batch of the card each is.
    pub of_card: f64,
    /// What each measures, in millilitres, where the card says.
    pub millilitres: Option<f64>,
    /// What each fills.
    pub vessels: Vec<VesselFill>,
}

/// Vessels that are filled alike.
#[derive(Clone, Debug, PartialEq)]
pub struct VesselFill {
    /// The name on the sheet.
    pub name: String,
    /// How many.
    pub count: u32,
    /// Portions each holds, where the kitchen says.
    pub holds: Option<u32>,
    /// How full they are, from 0 to 1, where the kitchen says what they hold; of two sizes all alike.
    pub full: Option<f64>,
}

/// One ingredient of a dish.
#[derive(Clone, Debug, PartialEq)]
pub struct IngredientAmounts {
    /// Its place on the card.
    pub ingredient: usize,
    /// Its name.
    pub name: String,
    /// The step that takes it, by its place; `None` where no step of the plan does.
    pub step: Option<usize>,
    /// What one batch takes, for each of [`DishAmounts::batches`]; empty where the step is done once for the dish.
    pub a_batch: Vec<Rounded>,
    /// What the dish takes.
    pub all: Rounded,
    /// The same to four figures.
    pub exact: Amount,
    /// What is to be known of it: other measures with their source, other gelatine with its law, how far a rounded
    /// amount is off.
    pub remarks: Vec<String>,
}

/// Returns a dish in amounts. Nothing where there is no such dish.
pub fn amounts(menu: &Menu, dish_index: usize) -> Option<DishAmounts> {
    let dish = menu.dishes.get(dish_index)?;
    let made = menu.made(dish);
    let ingredients = dish.ingredients.iter().enumerate();
    Some(DishAmounts {
        dish: dish_index,
        covers: menu.covers_of(dish),
        wanted: menu.portions_of(dish),
        makes: made.portions(),
        batches: batches(menu, dish, &made),
        rounds: made.rounds(&menu.kitchen),
        ingredients: ingredients
            .map(|(place, ingredient)| of_ingredient(menu, dish, &made, (place, ingredient)))
            .collect(),
    })
}

fn batches(menu: &Menu, dish: &Dish, made: &Batches) -> Vec<BatchAmounts> {
    let mut first = 1_u32;
    let mut found = Vec::new();
    for (count, batch) in &made.runs {
        let makes = menu.makes(dish, made, &Multiple::Batch, first);
        let kit = |place: usize| menu.kitchen.kit.get(place);
        let room: Option<u64> = batch
            .vessels
            .iter()
            .map(|&(place, vessels)| Some(u64::from(kit(place)?.holds?) * u64::from(vessels)))
            .sum();
        let full = room
            .filter(|&room| room > 0)
            .map(|room| f64::from(batch.portions) / room as f64);
        let vessels = batch.vessels.iter();
        found.push(BatchAmounts {
            first,
            count: *count,
            portions: batch.portions,
            of_card: makes.of_card,
            millilitres: (makes.millilitres > 0.0).then_some(makes.millilitres),
            vessels: vessels
                .filter_map(|&(place, count)| {
                    let kit = kit(place)?;
                    Some(VesselFill {
                        name: kit.name.clone(),
                        count,
                        holds: kit.holds,
                        full,
                    })
                })
                .collect(),
        });
        first = first.saturating_add(*count);
    }
    found
}

fn of_ingredient(
    menu: &Menu,
    dish: &Dish,
    made: &Batches,
    (place, ingredient): (usize, &Ingredient),
) -> IngredientAmounts {
    let step = into(dish, ingredient);
    let exact = of_dish(menu, dish, made, ingredient);
    let a_batch: Vec<Rounded> = match step {
        Some(step) if step.each == Multiple::Batch => {
            let mut first = 1_u32;
            let mut found = Vec::new();
            for (count, _) in &made.runs {
                found.push(rounded(&for_doing(
                    menu,
                    dish,
                    made,
                    (step, first),
                    ingredient,
                )));
                first = first.saturating_add(*count);
            }
            found
        }
        _ => Vec::new(),
    };
    let all = rounded(&exact);
    let mut remarks = Vec::new();
    if let Some(off) = all.remark() {
        remarks.push(off);
    }
    for (batch, rounded) in a_batch.iter().enumerate() {
        if let Some(off) = rounded.remark() {
            remarks.push(match a_batch.len() {
                1 => format!("a batch: {off}"),
                _ if batch == 0 => format!("a batch of the first kind: {off}"),
                _ => format!("a batch of the second kind: {off}"),
            });
        }
    }
    let goods = menu.larder.goods_of(ingredient);
    if let Some(density) = density::of(ingredient, goods)
        && let Some(other) = density::other(&exact, &density)
    {
        remarks.push(format!(
            "{} at {}",
            weighed(&other),
            words::density(&density)
        ));
    }
    let bought = bought_as(&exact, ingredient, goods, menu.gelling);
    if let Some(said) = bought.because {
        remarks.push(format!("{} {said}", weighed(&bought.amount)));
    }
    if gelling::is_gelatine(ingredient) {
        let fruit = dish.ingredients.iter();
        let fruit = fruit.filter_map(|it| Some((it.name.as_str(), gelling::digests(it)?)));
        remarks.extend(fruit.map(|(name, by)| {
            format!("raw, {name} digests gelatine ({by}) and it never sets; heated first it does")
        }));
    }
    IngredientAmounts {
        ingredient: place,
        name: ingredient.name.clone(),
        step: step
            .and_then(|step| dish.step(&step.id))
            .map(|(place, _)| place),
        a_batch,
        all,
        exact: sensible(exact),
        remarks,
    }
}

impl DishAmounts {
    /// Returns the portions left over; negative where the cook has decided on too few batches.
    pub fn left_over(&self) -> i64 {
        i64::try_from(self.makes).unwrap_or(i64::MAX) - i64::from(self.wanted)
    }

    /// Returns how many batches there are.
    pub fn count(&self) -> u32 {
        let counts = self.batches.iter().map(|batch| batch.count);
        counts.fold(0, u32::saturating_add)
    }

    /// Returns the batches in sentences: "3 batches of 36 portions, each in 1 ice churn".
    pub fn sentences(&self) -> Vec<String> {
        let mut said: Vec<String> = self.batches.iter().map(BatchAmounts::sentence).collect();
        if self.rounds > 1 {
            said.push(format!(
                "there are too few of its vessels for all at once, so they are filled {} times",
                self.rounds
            ));
        }
        said.push(match self.left_over() {
            0 => "nothing is left over".to_owned(),
            1 => "1 portion is left over".to_owned(),
            over if over > 0 => format!("{over} portions are left over"),
            short => format!("{} portions are missing", -short),
        });
        said
    }
}

impl BatchAmounts {
    /// Returns them in a sentence.
    pub fn sentence(&self) -> String {
        let batches = match self.count {
            1 => "1 batch".to_owned(),
            count => format!("{count} batches"),
        };
        let share = if (self.of_card - 1.0).abs() < 1e-9 {
            String::new()
        } else {
            format!(" ({:.0} % of the card's)", self.of_card * 100.0)
        };
        let portions = match self.portions {
            1 => "1 portion".to_owned(),
            portions => format!("{portions} portions"),
        };
        let mut said = format!("{batches} of {portions}{share}");
        if let Some(millilitres) = self.millilitres {
            let volume = Amount::Measured {
                number: millilitres,
                unit: crate::menu::Unit::Millilitre,
            };
            said.push_str(", ");
            said.push_str(&weighed(&volume));
        }
        if !self.vessels.is_empty() {
            let vessels = self.vessels.iter();
            let vessels = vessels.map(|it| several(u64::from(it.count), &it.name));
            said.push_str(if self.count == 1 {
                ", in "
            } else {
                ", each in "
            });
            said.push_str(&vessels.collect::<Vec<_>>().join(" and "));
            if let Some(full) = self.vessels[0].full {
                said.push_str(&full_in_words(full));
            }
        }
        said
    }
}

/// Says an amount as it can be weighed, and how far that is off where it must be said.
fn weighed(amount: &Amount) -> String {
    let rounded = rounded(amount);
    let said = words::amount(&rounded.amount);
    match rounded.remark() {
        Some(off) => format!("{said} ({off})"),
        None => said,
    }
}

/// Says how many there are of a thing whose name has no plural here.
fn several(count: u64, name: &str) -> String {
    match count {
        1 => format!("1 {name}"),
        count => format!("{count} × {name}"),
    }
}

fn full_in_words(full: f64) -> String {
    if full >= 0.999 {
        ", full".to_owned()
    } else {
        format!(", {:.0} % full", full * 100.0)
    }
}

/// Returns what really changes in a dish when its covers do: batches, vessels, rounds of moulds, portions left over.
/// Amounts always follow the covers where they are a portion's; that is said once, at the end, where nothing else
/// changes.
pub fn changes(before: &DishAmounts, after: &DishAmounts) -> Vec<String> {
    let mut said = Vec::new();
    let number = |count: u32| match count {
        1 => "1 batch".to_owned(),
        count => format!("{count} batches"),
    };
    if before.count() != after.count() {
        said.push(format!(
            "{} instead of {}",
            number(after.count()),
            number(before.count())
        ));
    }
    let of_card = |of: &DishAmounts| -> f64 {
        let batches = of.batches.iter();
        batches.map(|it| it.of_card * f64::from(it.count)).sum()
    };
    if (of_card(before) - of_card(after)).abs() > 1e-9 {
        said.push(format!(
            "{} portions made instead of {}",
            after.makes, before.makes
        ));
    }
    if before.rounds != after.rounds {
        said.push(format!(
            "its vessels are filled {} times instead of {}",
            after.rounds, before.rounds
        ));
    }
    let vessels = |of: &DishAmounts| -> Vec<(String, u64)> {
        let mut all: Vec<(String, u64)> = Vec::new();
        for batch in &of.batches {
            for fill in &batch.vessels {
                let more = u64::from(fill.count) * u64::from(batch.count);
                match all.iter_mut().find(|(name, _)| *name == fill.name) {
                    Some((_, count)) => *count += more,
                    None => all.push((fill.name.clone(), more)),
                }
            }
        }
        all
    };
    let (old, new) = (vessels(before), vessels(after));
    // What is filled again and again is not so many vessels.
    let counted = before.rounds == 1 && after.rounds == 1;
    let (old, new) = if counted {
        (old, new)
    } else {
        (Vec::new(), Vec::new())
    };
    for (name, count) in &new {
        let was = old.iter().find(|(known, _)| known == name);
        let was = was.map_or(0, |(_, count)| *count);
        if was != *count {
            said.push(format!("{} instead of {was}", several(*count, name)));
        }
    }
    for (name, count) in &old {
        if new.iter().all(|(known, _)| known != name) {
            said.push(format!("no {name} instead of {count}"));
        }
    }
    if before.left_over() != after.left_over() {
        let over = |of: i64| match of {
            of if of < 0 => format!("{} missing", -of),
            of => format!("{of} left over"),
        };
        said.push(format!(
            "{} instead of {}",
            over(after.left_over()),
            over(before.left_over())
        ));
    }
    if said.is_empty() {
        said.push(if before.covers == after.covers {
            "nothing: its covers are its own".to_owned()
        } else {
            "only what is counted by the portion".to_owned()
        });
    }
    said
}

/// How many more covers are looked at for what changes: more than a banquet gains at the last.
const FURTHER: u32 = 500;

/// Returns the first number of covers past the menu's own at which a dish takes more batches, or its vessels are filled
/// more often, and what it then is; nothing where that does not come within the next 500. With moulds of two sizes a few
/// covers further on it may be as before, so they are looked at one by one.
pub fn next_batch_from(menu: &Menu, dish_index: usize) -> Option<(u32, String)> {
    let dish = menu.dishes.get(dish_index)?;
    if dish.covers.is_some() || dish.batch.is_none() {
        return None;
    }
    let now = menu.made(dish);
    let (batches, rounds) = (now.count(), now.rounds(&menu.kitchen));
    let mut more = menu.clone();
    (1..=FURTHER).find_map(|further| {
        more.covers = menu.covers.saturating_add(further);
        let made = more.made(dish);
        let (count, again) = (made.count(), made.rounds(&more.kitchen));
        let what = if count > batches {
            format!("{count} batches")
        } else if again > rounds {
            format!("its vessels are filled {again} times")
        } else {
            return None;
        };
        Some((more.covers, what))
    })
}
