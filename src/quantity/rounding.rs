//! Amounts as a cook can weigh, pour and count them.
//!
//! Steps by size, in grams or millilitres: 5 below 100, 10 below a kilogram or litre, 50 below ten of them, 100 from
//! there on. A step that is more than two parts in a hundred off is too coarse, and the next finer one is taken, down to
//! a tenth of a gram, which is as far as a kitchen's small scale goes. Spoons, cups, pounds and pieces go in wholes,
//! halves, quarters and eighths the same way. Where even the finest step is past two in a hundred, the rounded amount
//! says by how much it is off: nothing is rounded past that in silence.
//!
//! The steps of each size divide those of the next, so rounding never turns a larger amount into a smaller one.
//!
//! What the steps are is common practice, without a source.

use super::worth::{Worth, worth};
use crate::menu::{Amount, Unit};

/// The most an amount may be off without its being said.
pub const MOST: f64 = 0.02;

/// An amount rounded.
#[derive(Clone, Debug, PartialEq)]
pub struct Rounded {
    /// The amount to weigh.
    pub amount: Amount,
    /// By which share it is more (or, negative, less) than was asked for, where that is past [`MOST`].
    pub off: Option<f64>,
}

impl Rounded {
    /// Returns how far it is off, where that must be said: "8 % more than the card".
    pub fn remark(&self) -> Option<String> {
        let off = self.off?;
        let than = if off > 0.0 { "more" } else { "less" };
        Some(format!("{:.0} % {than} than worked out", off.abs() * 100.0))
    }
}

/// Steps of grams and millilitres with what they are for: (below this, this step). Each is a multiple of the next.
const METRIC: [(f64, f64); 4] = [
    (f64::INFINITY, 100.0),
    (10_000.0, 50.0),
    (1000.0, 10.0),
    (100.0, 5.0),
];

/// Finer ones, for what those are too coarse for.
const FINER: [f64; 3] = [1.0, 0.5, 0.1];

/// Steps of what is counted or measured by the spoon.
const PARTS: [f64; 4] = [1.0, 0.5, 0.25, 0.125];

/// Returns an amount as it can be weighed, in a unit a cook would use.
pub fn rounded(amount: &Amount) -> Rounded {
    let Amount::Measured { number, unit } = amount else {
        return Rounded {
            amount: amount.clone(),
            off: None,
        };
    };
    let metric = match (worth(unit), unit) {
        (Worth::Grams(each), Unit::Milligram | Unit::Gram | Unit::Kilogram) => {
            Some((each, Unit::Gram, Unit::Kilogram))
        }
        (
            Worth::Millilitres(each),
            Unit::Millilitre | Unit::Centilitre | Unit::Decilitre | Unit::Litre,
        ) => Some((each, Unit::Millilitre, Unit::Litre)),
        _ => None,
    };
    let Some((each, small, large)) = metric else {
        let (number, off) = nearest(*number, PARTS.into_iter());
        let unit = unit.clone();
        return Rounded {
            amount: Amount::Measured { number, unit },
            off,
        };
    };
    let exact = number * each;
    let coarse = METRIC.iter().filter(|(below, _)| exact < *below);
    // From the step for its size to the finest.
    let own = coarse.clone().count() - 1;
    let steps = METRIC[own..].iter().map(|(_, step)| *step).chain(FINER);
    let (number, off) = nearest(exact, steps);
    let amount = if number >= 1000.0 {
        Amount::Measured {
            number: number / 1000.0,
            unit: large,
        }
    } else {
        Amount::Measured {
            number,
            unit: small,
        }
    };
    Rounded { amount, off }
}

/// Returns a number at the first of these steps that is near enough, else at the last, with how far that is off.
fn nearest(number: f64, steps: impl Iterator<Item = f64>) -> (f64, Option<f64>) {
    if number <= 0.0 {
        return (0.0, None);
    }
    let (mut at, mut off) = (number, 0.0);
    for step in steps {
        // A step below one is divided by its inverse, so that tenths come out as tenths.
        at = if step < 1.0 {
            let parts = (1.0 / step).round();
            (number * parts).round() / parts
        } else {
            (number / step).round() * step
        };
        off = at / number - 1.0;
        if off.abs() <= MOST {
            return (at, None);
        }
    }
    // Of something there is always some: the finest step rather than nothing.
    if at <= 0.0 {
        return (number, None);
    }
    (at, Some(off))
}

#[cfg(test)]
mod tests {
    use proptest::prelude::*;

    use super::*;
    use crate::menu::words;

    fn said(number: f64, unit: Unit) -> (String, Option<String>) {
        let rounded = rounded(&Amount::Measured { number, unit });
        (words::amount(&rounded.amount), rounded.remark())
    }

    #[test]
    fn as_a_cook_can_weigh_it() {
        let table = [
            (98.4, Unit::Gram, "100 g"),
            (61.0, Unit::Gram, "60 g"),
            (12.0, Unit::Gram, "12 g"),
            (7.3, Unit::Gram, "7.3 g"),
            (0.9, Unit::Gram, "0.9 g"),
            (347.0, Unit::Gram, "350 g"),
            (1.234, Unit::Kilogram, "1.25 kg"),
            (12_345.0, Unit::Gram, "12.3 kg"),
            (996.0, Unit::Gram, "1 kg"),
            (2.4, Unit::Litre, "2.4 l"),
            (10.667, Unit::Count("egg".into()), "10½ egg"),
            (11.9, Unit::Count(String::new()), "12"),
            (3.0, Unit::MetricTeaspoon, "3 metric tsp"),
            (0.0, Unit::Gram, "0 g"),
        ];
        for (number, unit, wanted) in table {
            assert_eq!(
                said(number, unit.clone()),
                (wanted.to_owned(), None),
                "{number} {unit:?}"
            );
        }
    }

    #[test]
    fn what_no_scale_can_weigh_says_how_far_it_is_off() {
        let (amount, remark) = said(0.26, Unit::Gram);
        assert_eq!(amount, "0.3 g");
        assert_eq!(remark.as_deref(), Some("15 % more than worked out"));
        let (amount, remark) = said(1.7, Unit::UsTeaspoon);
        assert_eq!(amount, "1¾ US tsp");
        assert_eq!(remark.as_deref(), Some("3 % more than worked out"));
    }

    fn value(amount: &Amount) -> f64 {
        match amount {
            Amount::Measured { number, unit } => match worth(unit) {
                Worth::Grams(each) | Worth::Millilitres(each) => number * each,
                Worth::Counted => *number,
            },
            Amount::ToTaste => 0.0,
        }
    }

    proptest! {
        #[test]
        fn never_past_two_in_a_hundred_in_silence_and_never_the_wrong_way_round(
            one in 0.0..30_000_f64,
            other in 0.0..30_000_f64,
            unit in prop_oneof![
                Just(Unit::Gram), Just(Unit::Millilitre), Just(Unit::UsCup),
                Just(Unit::Count(String::new())),
            ],
        ) {
            let of = |number: f64| rounded(&Amount::Measured { number, unit: unit.clone() });
            let exact = |number: f64| value(&Amount::Measured { number, unit: unit.clone() });
            let found = of(one);
            let off = (value(&found.amount) - exact(one)).abs();
            prop_assert!(found.off.is_some() || off <= exact(one) * (MOST + 1e-9), "{one}: {found:?}");
            let (less, more) = if one < other { (one, other) } else { (other, one) };
            prop_assert!(
                value(&of(less).amount) <= value(&of(more).amount) + 1e-9,
                "{less} → {:?}, {more} → {:?}", of(less), of(more)
            );
        }
    }
}
