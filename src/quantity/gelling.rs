//! So much gelatine of one strength for so much of another's.
//!
//! Two laws are in print. The *linear* one keeps mass × Bloom the same (Myhrvold, Young and Bilet, *Modernist
//! Cuisine*, 2011, as quoted; suppliers print the same). The *square-root* one keeps mass × √Bloom the same, because the
//! rigidity of a gel grows with the square of its concentration (Gelatin Manufacturers Institute of America,
//! *Gelatin Handbook*; Ledward; Schrieber and Gareis, *Gelatine Handbook*, 2007; formula and section from memory). They
//! differ by a quarter between common strengths, so a menu says which it means ([`Gelling`]), and whatever is worked
//! out says so.
//!
//! Leaves are made so that one sets as much as one, whatever the grade: thinner where the gelatine is stronger. A card
//! in leaves is therefore taken leaf for leaf, and only powder needs a law. The grades bear the linear law out: their
//! Bloom × mass is nearly the same (about 400), their √Bloom × mass is not (Lersch, *Texture: a hydrocolloid recipe
//! collection*, 2008, tested it and kept the linear law).

use crate::menu::{Gelling, Ingredient, Leaf, Strength};

/// What one leaf of a grade weighs, in grams, and the Bloom of its gelatine from least to most. Trade table.
pub fn leaf(grade: Leaf) -> (f64, (u32, u32)) {
    match grade {
        Leaf::Bronze => (3.3, (125, 155)),
        Leaf::Silver => (2.5, (160, 160)),
        Leaf::Gold => (2.0, (190, 220)),
        Leaf::Platinum => (1.7, (235, 265)),
    }
}

/// Returns the Bloom of a strength; of leaves the middle of their grade.
pub fn bloom(strength: Strength) -> f64 {
    match strength {
        Strength::Bloom(bloom) => f64::from(bloom),
        Strength::Leaf(grade) => {
            let (_, (least, most)) = leaf(grade);
            f64::midpoint(f64::from(least), f64::from(most))
        }
    }
}

/// Returns the grams of gelatine of strength `to` that set as much as these grams of strength `from`, by a law.
pub fn instead(grams: f64, from: Strength, to: Strength, law: Gelling) -> f64 {
    let ratio = bloom(from) / bloom(to);
    match law {
        Gelling::Linear => grams * ratio,
        Gelling::SquareRoot => grams * ratio.sqrt(),
    }
}

/// Fruit whose juice digests gelatine while it is raw, with what does it. Texts on the chemistry of gelatine name these four;
/// no primary source was read.
const DIGESTS: [(&str, &str); 4] = [
    ("pineapple", "bromelain"),
    ("kiwi", "actinidin"),
    ("papaya", "papain"),
    ("fig", "ficain"),
];

/// Returns whether an ingredient is gelatine: it has a strength, or its name says so.
pub fn is_gelatine(ingredient: &Ingredient) -> bool {
    let name = ingredient.name.to_lowercase();
    ingredient.strength.is_some() || ["gelatin", "isinglass"].iter().any(|it| name.contains(it))
}

/// Returns what in an ingredient digests gelatine unless it is heated first; nothing where its name says that it has been.
pub fn digests(ingredient: &Ingredient) -> Option<&'static str> {
    let name = ingredient.name.to_lowercase();
    let words: Vec<&str> = name.split(|c: char| !c.is_alphanumeric()).collect();
    let heated = [
        "cooked", "tinned", "canned", "poached", "boiled", "baked", "jam", "candied",
    ];
    if words.iter().any(|word| heated.contains(word)) {
        return None;
    }
    let is = |fruit: &str| {
        words
            .iter()
            .any(|&word| word == fruit || word.strip_suffix('s') == Some(fruit))
    };
    DIGESTS
        .iter()
        .find(|(fruit, _)| is(fruit))
        .map(|&(_, by)| by)
}

#[cfg(test)]
mod tests {
    use super::*;

    #[test]
    fn raw_fruit_that_no_jelly_sets_with() {
        let of = |name: &str| {
            digests(&Ingredient {
                name: name.to_owned(),
                ..Ingredient::default()
            })
        };
        assert_eq!(of("Pineapple, peeled"), Some("bromelain"));
        assert_eq!(of("figs"), Some("ficain"));
        assert_eq!(of("kiwi"), Some("actinidin"));
        for other in [
            "pineapple, tinned",
            "cooked figs",
            "apple",
            "figwort",
            "milk",
        ] {
            assert_eq!(of(other), None, "{other}");
        }
    }

    fn close(one: f64, other: f64, within: f64) -> bool {
        (one - other).abs() <= within
    }

    /// *Modernist Cuisine*, as quoted: 2.6 g at 225 are 3.7 g at 160. A supplier of powders: 10 g at 240 are 12 g at
    /// 200. The roots of the same ratios beside them, computed by hand.
    #[test]
    fn the_two_laws_as_they_are_printed() {
        let of =
            |grams, from, to, law| instead(grams, Strength::Bloom(from), Strength::Bloom(to), law);
        let (linear, root) = (Gelling::Linear, Gelling::SquareRoot);
        assert!(close(of(2.6, 225, 160, linear), 3.656, 0.0005));
        assert!(close(of(2.6, 225, 160, root), 3.083, 0.0005));
        assert!(close(of(10.0, 240, 200, linear), 12.0, 1e-12));
        assert!(close(of(10.0, 240, 160, linear), 15.0, 1e-12));
        assert!(close(of(10.0, 240, 160, root), 12.25, 0.005));
        assert!(close(of(10.0, 160, 250, linear), 6.4, 1e-12));
        assert!(close(of(10.0, 160, 250, root), 8.0, 1e-12));
    }

    /// The trade table of grades: Bloom × mass of a leaf is 462, 400, 400 and 391 to 408 with the numbers most often
    /// printed; by the square root the grades would differ by a third.
    #[test]
    fn leaves_of_all_grades_set_alike_by_the_linear_law() {
        let printed = [
            (Leaf::Bronze, 3.3, (125, 155)),
            (Leaf::Silver, 2.5, (160, 160)),
            (Leaf::Gold, 2.0, (190, 220)),
            (Leaf::Platinum, 1.7, (235, 265)),
        ];
        for (grade, grams, blooms) in printed {
            assert_eq!(leaf(grade), (grams, blooms), "{grade:?}");
        }
        let grades = [Leaf::Silver, Leaf::Gold, Leaf::Platinum];
        let strength = |grade| leaf(grade).0 * bloom(Strength::Leaf(grade));
        for grade in grades {
            assert!((390.0..=430.0).contains(&strength(grade)), "{grade:?}");
        }
        assert!(close(3.3 * 140.0, strength(Leaf::Bronze), 1e-9));
        let root = |grade| leaf(grade).0 * bloom(Strength::Leaf(grade)).sqrt();
        assert!(root(Leaf::Bronze) / root(Leaf::Platinum) > 1.3);
    }

    #[test]
    fn there_and_back_is_the_same() {
        let (one, other) = (Strength::Bloom(131), Strength::Leaf(Leaf::Gold));
        for law in [Gelling::Linear, Gelling::SquareRoot] {
            let there = instead(17.0, one, other, law);
            assert!(close(instead(there, other, one, law), 17.0, 1e-12));
        }
    }
}
