//! Amounts of a card, for what a step makes.

use super::worth::{Worth, worth};
use crate::menu::{Amount, Batches, Dish, Ingredient, Menu, Multiple, Per, Step, Unit};

/// Returns how much of an ingredient one doing of a step takes: that batch's share where the step is done per batch, its
/// part's where it is done per part (all of it where the card says which part takes it), all of it otherwise. `made` are
/// the batches of the dish, `batch` which of them, from 1.
pub fn for_doing(
    menu: &Menu,
    dish: &Dish,
    made: &Batches,
    (step, batch): (&Step, u32),
    ingredient: &Ingredient,
) -> Amount {
    // The part that takes it takes all of it.
    let each = match ingredient.part {
        Some(_) => &Multiple::Dish,
        None => &step.each,
    };
    multiplied(
        &ingredient.amount,
        times(menu, dish, made, (each, batch), ingredient.per),
    )
}

/// Returns how much of an ingredient a dish takes in all, in the unit of the card and not rounded: what all doings of the
/// step that takes it do.
pub fn of_dish(menu: &Menu, dish: &Dish, made: &Batches, ingredient: &Ingredient) -> Amount {
    match &ingredient.amount {
        Amount::ToTaste => Amount::ToTaste,
        Amount::Measured { number, unit } => Amount::Measured {
            number: number * times_in_all(menu, dish, made, ingredient),
            unit: unit.clone(),
        },
    }
}

/// Returns how many times the amount on the card a dish takes in all.
pub(super) fn times_in_all(
    menu: &Menu,
    dish: &Dish,
    made: &Batches,
    ingredient: &Ingredient,
) -> f64 {
    let each = into(dish, ingredient).map_or(&Multiple::Dish, |step| &step.each);
    match each {
        Multiple::Batch => {
            // Batches of a run are alike.
            let mut first = 1_u32;
            let mut sum = 0.0;
            for (count, _) in &made.runs {
                let one = times(menu, dish, made, (each, first), ingredient.per);
                sum += f64::from(*count) * one;
                first = first.saturating_add(*count);
            }
            sum
        }
        Multiple::Dish | Multiple::Parts(_) => {
            times(menu, dish, made, (&Multiple::Dish, 1), ingredient.per)
        }
    }
}

/// Returns the step that takes an ingredient; what goes into none by name is there from the first.
pub(super) fn into<'d>(dish: &'d Dish, ingredient: &Ingredient) -> Option<&'d Step> {
    match &ingredient.into {
        Some(id) => dish.step(id).map(|(_, step)| step),
        None => dish.steps.first(),
    }
}

fn times(
    menu: &Menu,
    dish: &Dish,
    made: &Batches,
    (each, batch): (&Multiple, u32),
    per: Per,
) -> f64 {
    let makes = menu.makes(dish, made, each, batch);
    match per {
        Per::Batch => makes.of_card,
        Per::Dish => match each {
            Multiple::Dish => 1.0,
            Multiple::Parts(parts) => 1.0 / parts.len().max(1) as f64,
            Multiple::Batch => f64::from(makes.portions) / (made.portions() as f64).max(1.0),
        },
        Per::Portion => match each {
            Multiple::Dish => f64::from(menu.portions_of(dish)),
            Multiple::Parts(parts) => f64::from(menu.portions_of(dish)) / parts.len().max(1) as f64,
            Multiple::Batch => f64::from(makes.portions),
        },
    }
}

/// Returns an amount so many times, in a unit a cook would weigh or pour it in.
pub fn multiplied(amount: &Amount, times: f64) -> Amount {
    match amount {
        Amount::ToTaste => Amount::ToTaste,
        Amount::Measured { number, unit } => sensible(Amount::Measured {
            number: number * times,
            unit: unit.clone(),
        }),
    }
}

/// Returns the same amount in kilograms and litres from a thousand grams and millilitres up, in grams and
/// millilitres below one kilogram and one litre, and rounded to four figures, which no kitchen scale exceeds.
pub fn sensible(amount: Amount) -> Amount {
    let Amount::Measured { number, unit } = amount else {
        return amount;
    };
    let base = match (worth(&unit), &unit) {
        (Worth::Grams(each), Unit::Milligram | Unit::Gram | Unit::Kilogram) => Some((each, true)),
        (
            Worth::Millilitres(each),
            Unit::Millilitre | Unit::Centilitre | Unit::Decilitre | Unit::Litre,
        ) => Some((each, false)),
        _ => None,
    };
    let (number, unit) = match base {
        None => (number, unit),
        Some((each, mass)) => {
            let small = number * each;
            match (mass, small >= 1000.0) {
                (true, true) => (small / 1000.0, Unit::Kilogram),
                (true, false) if small >= 1.0 => (small, Unit::Gram),
                (false, true) => (small / 1000.0, Unit::Litre),
                (false, false) if small >= 1.0 => (small, Unit::Millilitre),
                _ => (number, unit),
            }
        }
    };
    Amount::Measured {
        number: four_figures(number),
        unit,
    }
}

fn four_figures(number: f64) -> f64 {
    if number == 0.0 || !number.is_finite() {
        return number;
    }
    let places = (3 - number.abs().log10().floor() as i32).clamp(-300, 300);
    let shift = 10_f64.powi(places);
    if shift.is_finite() {
        (number * shift).round() / shift
    } else {
        number
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn measured(number: f64, unit: Unit) -> Amount {
        Amount::Measured { number, unit }
    }

    #[test]
    fn amounts_come_in_units_a_cook_would_use() {
        assert_eq!(
            multiplied(&measured(900.0, Unit::Gram), 4.0),
            measured(3.6, Unit::Kilogram)
        );
        assert_eq!(
            multiplied(&measured(1.2, Unit::Kilogram), 0.5),
            measured(600.0, Unit::Gram)
        );
        assert_eq!(
            multiplied(&measured(2.0, Unit::Decilitre), 6.0),
            measured(1.2, Unit::Litre)
        );
        assert_eq!(
            multiplied(&measured(3.0, Unit::UsCup), 2.0),
            measured(6.0, Unit::UsCup)
        );
        let leaves = Unit::Count("leaf".into());
        assert_eq!(
            multiplied(&measured(3.0, leaves.clone()), 5.0),
            measured(15.0, leaves)
        );
        assert_eq!(multiplied(&Amount::ToTaste, 5.0), Amount::ToTaste);
    }

    #[test]
    fn rounding_keeps_four_figures() {
        assert_eq!(
            multiplied(&measured(100.0, Unit::Gram), 1.0 / 3.0),
            measured(33.33, Unit::Gram)
        );
        assert_eq!(
            multiplied(&measured(0.0, Unit::Gram), 7.0),
            measured(0.0, Unit::Gram)
        );
    }
}
