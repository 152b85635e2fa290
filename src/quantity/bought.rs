//! What an amount on a card is, of what the house buys.

use super::density;
use super::gelling;
use super::worth::{Worth, worth};
use crate::menu::{Amount, Gelling, Goods, Ingredient, Strength, Unit, words};

/// An amount of what is bought.
#[derive(Clone, Debug, PartialEq)]
pub struct Bought {
    /// How much.
    pub amount: Amount,
    /// Why it is another amount than the card's, where it is: "of silver leaf instead of 200 bloom, by the linear law".
    pub because: Option<String>,
}

/// Returns what an amount on a card is of the goods there are. They differ only where both name a strength of gelatine,
/// and then by the law the menu names, except from leaf to leaf: leaves of all grades set alike.
pub fn bought_as(
    amount: &Amount,
    ingredient: &Ingredient,
    goods: Option<&Goods>,
    law: Gelling,
) -> Bought {
    let same = || Bought {
        amount: amount.clone(),
        because: None,
    };
    let strengths = ingredient
        .strength
        .zip(goods.and_then(|goods| goods.strength));
    let (Some((from, to)), Amount::Measured { number, unit }) = (strengths, amount) else {
        return same();
    };
    if from == to {
        return same();
    }
    let instead = format!(
        "of {} instead of {}",
        words::strength(to),
        words::strength(from)
    );
    let leaves = |number: f64| Amount::Measured {
        number,
        unit: Unit::Count("leaves".to_owned()),
    };
    let is_leaves = matches!(unit, Unit::Count(word) if singular(word) == "leaf");
    let grams = match (worth(unit), from) {
        (Worth::Grams(each), _) => number * each,
        (Worth::Counted, Strength::Leaf(grade)) if is_leaves => {
            if let Strength::Leaf(_) = to {
                return Bought {
                    amount: amount.clone(),
                    because: Some(format!("{instead}, leaf for leaf")),
                };
            }
            number * gelling::leaf(grade).0
        }
        _ => return same(),
    };
    let grams = gelling::instead(grams, from, to, law);
    let because = Some(format!("{instead}, by {}", words::gelling(law)));
    let amount = match to {
        Strength::Leaf(grade) => leaves(grams / gelling::leaf(grade).0),
        Strength::Bloom(_) => Amount::Measured {
            number: grams,
            unit: Unit::Gram,
        },
    };
    Bought { amount, because }
}

/// What a sum of amounts is kept in: grams, millilitres, or pieces by their word.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Kind {
    /// Grams.
    Grams,
    /// Millilitres.
    Millilitres,
    /// Pieces, by their word in the singular and in small letters; empty for a bare number.
    Pieces(String),
}

impl Kind {
    /// Returns what kind an amount is of, and how much of it; nothing for "to taste".
    pub fn of(amount: &Amount) -> Option<(Self, f64)> {
        let Amount::Measured { number, unit } = amount else {
            return None;
        };
        Some(match (worth(unit), unit) {
            (Worth::Grams(each), _) => (Self::Grams, number * each),
            (Worth::Millilitres(each), _) => (Self::Millilitres, number * each),
            (Worth::Counted, Unit::Count(word)) => (Self::Pieces(singular(word)), *number),
            (Worth::Counted, _) => (Self::Pieces(String::new()), *number),
        })
    }

    /// Returns so much of a kind as an amount a cook would read.
    pub fn amount(&self, number: f64) -> Amount {
        let unit = match self {
            Self::Grams => Unit::Gram,
            Self::Millilitres => Unit::Millilitre,
            Self::Pieces(word) => Unit::Count(word.clone()),
        };
        super::scale::sensible(Amount::Measured { number, unit })
    }
}

/// Returns so much of one kind as another; nothing where no density and no weight of a piece says how.
pub(super) fn turned(
    (from, number): (&Kind, f64),
    to: &Kind,
    density: Option<&crate::menu::Density>,
    each: Option<&Amount>,
) -> Option<f64> {
    if from == to {
        return Some(number);
    }
    let piece = each.and_then(Kind::of);
    // What one piece is, in the kind wanted.
    let worth_in = |kind: &Kind| -> Option<f64> {
        let (of, number) = piece.as_ref()?;
        turned((of, *number), kind, density, None)
    };
    match (from, to) {
        (Kind::Grams, Kind::Millilitres) => Some(density::millilitres(number, density?)),
        (Kind::Millilitres, Kind::Grams) => Some(density::grams(number, density?)),
        // Only bare pieces: a bunch is not an egg.
        (Kind::Pieces(word), _) if word.is_empty() => worth_in(to).map(|each| number * each),
        (_, Kind::Pieces(word)) if word.is_empty() => worth_in(from)
            .filter(|&each| each > 0.0)
            .map(|each| number / each),
        _ => None,
    }
}

/// Returns a word for pieces in the singular and in small letters, as far as the spelling tells: "leaves" and "leaf" are
/// one thing.
pub(super) fn singular(word: &str) -> String {
    let word = word.trim().to_lowercase();
    let ends = |end: &str| word.strip_suffix(end);
    if let Some(stem) = ends("ves").filter(|stem| stem.ends_with(['a', 'l'])) {
        return format!("{stem}f");
    }
    if let Some(stem) = ends("ies").filter(|stem| stem.len() > 2) {
        return format!("{stem}y");
    }
    for end in ["ches", "shes", "xes", "sses"] {
        if ends(end).is_some() {
            return word[..word.len() - 2].to_owned();
        }
    }
    match ends("s") {
        Some(stem) if !stem.ends_with('s') && stem.len() > 1 => stem.to_owned(),
        _ => word,
    }
}

#[cfg(test)]
mod tests {
    use super::*;
    use crate::menu::{Density, Leaf};

    #[test]
    fn one_and_many_are_one_word() {
        for (many, one) in [
            ("leaves", "leaf"),
            ("Bunches", "bunch"),
            ("eggs", "egg"),
            ("berries", "berry"),
            ("glass", "glass"),
            ("glasses", "glass"),
            ("halves", "half"),
            ("olives", "olive"),
            ("cloves", "clove"),
            ("", ""),
        ] {
            assert_eq!(singular(many), one, "{many}");
        }
    }

    #[test]
    fn pieces_weights_and_volumes_turn_into_each_other_where_it_is_said_how() {
        let milk = Density {
            grams_per_millilitre: 1.03,
            source: "a sheet".into(),
        };
        let egg = Amount::Measured {
            number: 50.0,
            unit: Unit::Gram,
        };
        let pieces = Kind::Pieces(String::new());
        let close = |found: Option<f64>, wanted: f64| {
            assert!(
                found.is_some_and(|found| (found - wanted).abs() < 1e-9),
                "{found:?}"
            );
        };
        close(
            turned(
                (&Kind::Millilitres, 1000.0),
                &Kind::Grams,
                Some(&milk),
                None,
            ),
            1030.0,
        );
        close(
            turned((&pieces, 12.0), &Kind::Grams, None, Some(&egg)),
            600.0,
        );
        close(
            turned((&Kind::Grams, 600.0), &pieces, None, Some(&egg)),
            12.0,
        );
        close(
            turned((&pieces, 12.0), &Kind::Millilitres, Some(&milk), Some(&egg)),
            600.0 / 1.03,
        );
        let bunch = Kind::Pieces("bunch".into());
        assert_eq!(
            turned((&bunch, 1.0), &Kind::Grams, Some(&milk), Some(&egg)),
            None
        );
        assert_eq!(
            turned((&Kind::Grams, 1.0), &Kind::Millilitres, None, Some(&egg)),
            None
        );
    }

    #[test]
    fn leaves_are_leaves_and_powder_goes_by_the_law_that_is_named() {
        let ingredient = |strength| Ingredient {
            strength: Some(strength),
            ..Ingredient::default()
        };
        let goods = |strength| Goods {
            strength: Some(strength),
            ..Goods::default()
        };
        let of = |number, unit| Amount::Measured { number, unit };
        let leaves = of(10.0, Unit::Count("leaves".into()));
        let (gold, silver) = (Strength::Leaf(Leaf::Gold), Strength::Leaf(Leaf::Silver));
        let found = bought_as(
            &leaves,
            &ingredient(gold),
            Some(&goods(silver)),
            Gelling::SquareRoot,
        );
        assert_eq!(found.amount, leaves);
        assert_eq!(
            found.because.as_deref(),
            Some("of silver leaf instead of gold leaf, leaf for leaf")
        );
        // Ten gold leaves are 20 g at 205 bloom.
        let powder = goods(Strength::Bloom(160));
        let found = bought_as(&leaves, &ingredient(gold), Some(&powder), Gelling::Linear);
        assert_eq!(found.amount, of(20.0 * 205.0 / 160.0, Unit::Gram));
        assert!(
            found
                .because
                .is_some_and(|said| said.contains("the linear law"))
        );
        let grams = of(2.6, Unit::Gram);
        let card = ingredient(Strength::Bloom(225));
        let found = bought_as(&grams, &card, Some(&powder), Gelling::SquareRoot);
        assert!(
            found
                .because
                .is_some_and(|said| said.contains("the square-root law"))
        );
        assert_eq!(
            bought_as(&grams, &card, None, Gelling::Linear).because,
            None
        );
    }
}
