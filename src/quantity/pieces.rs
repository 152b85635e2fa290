//! What one piece weighs.
//!
//! What the larder says of its own goods comes first: the eggs on this shelf have been weighed. Where it says nothing, a
//! table knows what has a published weight, by the whole name of the goods; everything else stays counted, since a
//! guess would go into an order unseen.
//!
//! Source: USDA National Nutrient Database (`FoodData` Central), eggs of the size called large in the United States,
//! which is the medium of the European Union, without their shells: 01123 whole, 01124 white, 01125 yolk; the yolk from
//! memory.

use std::borrow::Cow;

use super::Line;
use crate::menu::{Amount, Goods, Unit};

/// What one piece of some goods weighs, or measures.
#[derive(Clone, Debug, PartialEq)]
pub struct Piece<'a> {
    /// How much.
    pub holds: Cow<'a, Amount>,
    /// Who says so, where it is not the larder.
    pub source: Option<&'static str>,
}

const USDA: &str = "USDA, one large in the US, medium in the EU, without the shell";

/// The table, in grams.
const TABLE: &[Line] = &[
    (&["egg", "eggs", "whole egg", "whole eggs"], 50.0, USDA),
    (&["egg white", "egg whites"], 33.0, USDA),
    (&["egg yolk", "egg yolks"], 17.0, USDA),
];

/// Returns what a piece of these goods is, by the larder or by the table.
pub fn of(goods: &Goods) -> Option<Piece<'_>> {
    if let Some(each) = &goods.each {
        return Some(Piece {
            holds: Cow::Borrowed(each),
            source: None,
        });
    }
    super::by_name(TABLE, &goods.name).map(|(number, source)| Piece {
        holds: Cow::Owned(Amount::Measured {
            number,
            unit: Unit::Gram,
        }),
        source: Some(source),
    })
}

#[cfg(test)]
mod tests {
    use super::*;

    fn goods(name: &str) -> Goods {
        Goods {
            name: name.to_owned(),
            ..Goods::default()
        }
    }

    /// A white and a yolk are an egg: USDA 01123, 01124, 01125.
    #[test]
    fn a_white_and_a_yolk_are_an_egg() {
        let grams = |name: &str| match of(&goods(name)).map(|it| it.holds.into_owned()) {
            Some(Amount::Measured { number, .. }) => number,
            other => panic!("{name}: {other:?}"),
        };
        for (name, printed) in [("Egg", 50.0), ("egg white", 33.0), ("egg yolk", 17.0)] {
            assert!((grams(name) - printed).abs() < 1e-9, "{name}");
        }
        let parts = grams("egg white") + grams("egg yolk");
        assert!((parts - grams("egg")).abs() < 1e-9);
        assert_eq!(of(&goods("egg wash")), None, "only by its whole name");
    }

    #[test]
    fn the_larder_comes_first() {
        let weighed = Goods {
            each: Some(Amount::Measured {
                number: 58.0,
                unit: Unit::Gram,
            }),
            ..goods("egg")
        };
        let piece = of(&weighed).expect("it has been weighed");
        assert_eq!(
            (piece.holds.into_owned(), piece.source),
            (weighed.each.clone().unwrap(), None)
        );
    }
}
