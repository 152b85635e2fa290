//! Amounts of a card, for what a step makes.

use super::worth::{Worth, worth};
use crate::menu::{Amount, Dish, Ingredient, Menu, Multiple, Per, Step, Unit};

/// Returns how much of an ingredient one doing of a step takes: a batch's worth where the step is done per
/// batch, its share where it is done per part, all of it otherwise.
pub fn for_step(menu: &Menu, dish: &Dish, step: &Step, ingredient: &Ingredient) -> Amount {
    let batches = f64::from(menu.batches_of(dish));
    let portions = f64::from(menu.portions_of(dish));
    let all = match ingredient.per {
        Per::Batch => batches,
        Per::Dish => 1.0,
        Per::Portion => portions,
    };
    let times = match &step.each {
        Multiple::Dish => all,
        Multiple::Parts(parts) => all / parts.len().max(1) as f64,
        Multiple::Batch => match ingredient.per {
            Per::Batch => 1.0,
            Per::Dish => 1.0 / batches,
            Per::Portion => dish
                .batch
                .as_ref()
                .map_or(portions, |batch| f64::from(batch.portions)),
        },
    };
    multiplied(&ingredient.amount, times)
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
