//! The matrix of dishes and allergens, by the lists as published.
//!
//! Lists: EU and UK, Regulation (EU) 1169/2011 Annex II (read in full copies of the annex); US, FD&C Act 201(qq)
//! with the FASTER Act of 2021 (sesame from 1 January 2023) and the tree nuts of FDA's Q&A, edition 5, of January
//! 2025 (coconut, chestnut, beech, butternut, ginkgo, hickory, pili, shea, cola, palm and chinquapin are no longer
//! on it); Australia and New Zealand, Standard 1.2.3 with Schedule 9 in force since 25 February 2024 (that celery
//! and mustard are not on it is from memory).
//!
//! What a list exempts is not exempted here: a declaration says what is in a good, and whoever declares knows the
//! exemptions. One trap is worth its name: isinglass and fish gelatine are exempt as fining in beer and wine and as
//! carriers of vitamins, not as what sets a jelly; there they declare fish ([`super::looks_like`] says so).
//!
//! **Free** is only what every ingredient, and every part of it, has been declared free of, by contact too: what it
//! contains and what it may contain are two declarations, and labels mostly make the first alone. A dish without
//! ingredients is not known.

use super::flow::{Taken, taken_from};
use crate::menu::{Allergen, Dish, Ingredient, Menu};

/// Which list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum List {
    /// European Union and United Kingdom: fourteen.
    Eu,
    /// United States: nine.
    Us,
    /// Australia and New Zealand.
    Anz,
}

/// One entry of a list.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Group {
    /// As the list names it, shortened.
    pub name: &'static str,
    /// A short name for the head of a column.
    pub short: &'static str,
    /// What belongs to it.
    pub allergens: &'static [Allergen],
}

const fn group(name: &'static str, short: &'static str, allergens: &'static [Allergen]) -> Group {
    Group {
        name,
        short,
        allergens,
    }
}

use Allergen::{
    Almond, Barley, BrazilNut, Cashew, Celery, Crustaceans, Egg, Fish, Hazelnut, Khorasan, Lupin,
    Macadamia, Milk, Molluscs, Mustard, Oats, Peanut, Pecan, PineNut, Pistachio, Rye, Sesame, Soya,
    Spelt, Sulphites, Walnut, Wheat,
};

const EU: &[Group] = &[
    group(
        "cereals containing gluten",
        "gluten",
        &[Wheat, Spelt, Khorasan, Rye, Barley, Oats],
    ),
    group("crustaceans", "crust.", &[Crustaceans]),
    group("eggs", "egg", &[Egg]),
    group("fish", "fish", &[Fish]),
    group("peanuts", "peanut", &[Peanut]),
    group("soybeans", "soya", &[Soya]),
    group("milk", "milk", &[Milk]),
    // Eight kinds; pine nut, chestnut and coconut are not among them.
    group(
        "nuts",
        "nuts",
        &[
            Almond, Hazelnut, Walnut, Cashew, Pecan, BrazilNut, Pistachio, Macadamia,
        ],
    ),
    group("celery", "celery", &[Celery]),
    group("mustard", "mustard", &[Mustard]),
    group("sesame", "sesame", &[Sesame]),
    group("sulphur dioxide and sulphites", "SO2", &[Sulphites]),
    group("lupin", "lupin", &[Lupin]),
    group("molluscs", "mollusc", &[Molluscs]),
];

const US: &[Group] = &[
    group("milk", "milk", &[Milk]),
    group("eggs", "egg", &[Egg]),
    group("fish", "fish", &[Fish]),
    group("crustacean shellfish", "crust.", &[Crustaceans]),
    group(
        "tree nuts",
        "nuts",
        &[
            Almond, BrazilNut, Cashew, Hazelnut, Macadamia, Pecan, PineNut, Pistachio, Walnut,
        ],
    ),
    group("wheat", "wheat", &[Wheat, Spelt, Khorasan]),
    group("peanuts", "peanut", &[Peanut]),
    group("soybeans", "soya", &[Soya]),
    group("sesame", "sesame", &[Sesame]),
];

const ANZ: &[Group] = &[
    group("wheat", "wheat", &[Wheat, Spelt, Khorasan]),
    // In the summary statement these are "gluten"; in the list of ingredients each by its own name.
    group("barley", "barley", &[Barley]),
    group("oats", "oats", &[Oats]),
    group("rye", "rye", &[Rye]),
    group("crustaceans", "crust.", &[Crustaceans]),
    group("molluscs", "mollusc", &[Molluscs]),
    group("egg", "egg", &[Egg]),
    group("fish", "fish", &[Fish]),
    group("milk", "milk", &[Milk]),
    group("peanut", "peanut", &[Peanut]),
    group("soy", "soy", &[Soya]),
    group("sesame", "sesame", &[Sesame]),
    group("lupin", "lupin", &[Lupin]),
    group("sulphites", "SO2", &[Sulphites]),
    group("almond", "almond", &[Almond]),
    group("Brazil nut", "Brazil", &[BrazilNut]),
    group("cashew", "cashew", &[Cashew]),
    group("hazelnut", "hazel", &[Hazelnut]),
    group("macadamia", "macad.", &[Macadamia]),
    group("pecan", "pecan", &[Pecan]),
    group("pine nut", "pine n.", &[PineNut]),
    group("pistachio", "pistac.", &[Pistachio]),
    group("walnut", "walnut", &[Walnut]),
];

impl List {
    /// Every list.
    pub const ALL: [Self; 3] = [Self::Eu, Self::Us, Self::Anz];

    /// Returns its entries, in the order of the list.
    pub fn groups(self) -> &'static [Group] {
        match self {
            Self::Eu => EU,
            Self::Us => US,
            Self::Anz => ANZ,
        }
    }

    /// Returns its name.
    pub fn name(self) -> &'static str {
        match self {
            Self::Eu => "EU and UK, Regulation (EU) 1169/2011 Annex II",
            Self::Us => "US, FD&C Act 201(qq) and FASTER Act",
            Self::Anz => "Australia and New Zealand, Standard 1.2.3 Schedule 9",
        }
    }

    /// Returns as the command line takes it.
    pub fn key(self) -> &'static str {
        match self {
            Self::Eu => "eu",
            Self::Us => "us",
            Self::Anz => "anz",
        }
    }

    /// Returns whether sulphites at so many mg/kg must be declared: more than ten in Europe, ten or more in
    /// Australia and New Zealand; as the food is ready to eat.
    pub fn sulphites_count(self, milligrams: u32) -> bool {
        match self {
            Self::Eu | Self::Us => milligrams > 10,
            Self::Anz => milligrams >= 10,
        }
    }
}

/// Returns the name of an allergen.
pub fn allergen_name(allergen: Allergen) -> &'static str {
    match allergen {
        Wheat => "wheat",
        Spelt => "spelt",
        Khorasan => "khorasan wheat",
        Rye => "rye",
        Barley => "barley",
        Oats => "oats",
        Crustaceans => "crustaceans",
        Egg => "egg",
        Fish => "fish",
        Peanut => "peanut",
        Soya => "soya",
        Milk => "milk",
        Almond => "almond",
        Hazelnut => "hazelnut",
        Walnut => "walnut",
        Cashew => "cashew",
        Pecan => "pecan",
        BrazilNut => "Brazil nut",
        Pistachio => "pistachio",
        Macadamia => "macadamia",
        PineNut => "pine nut",
        Celery => "celery",
        Mustard => "mustard",
        Sesame => "sesame",
        Sulphites => "sulphites",
        Lupin => "lupin",
        Molluscs => "molluscs",
    }
}

/// What a cell of the matrix comes to, the worst last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Standing {
    /// Declared free, all of it.
    Free,
    /// May contain, by contact.
    May,
    /// Something in it has not been declared.
    NotKnown,
    /// Contains.
    Contains,
}

impl Standing {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Free => "free, as declared",
            Self::May => "may contain",
            Self::NotKnown => "not known",
            Self::Contains => "contains",
        }
    }

    /// Returns one letter or sign for it, for a narrow table.
    pub fn mark(self) -> &'static str {
        match self {
            Self::Free => "-",
            Self::May => "m",
            Self::NotKnown => "?",
            Self::Contains => "C",
        }
    }
}

/// Why a cell is what it is.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Reason {
    /// The ingredient, or the part of one.
    pub ingredient: String,
    /// Which allergen; `None` where nothing has been declared.
    pub allergen: Option<Allergen>,
    /// Who declared it; `None` is the card.
    pub by: Option<String>,
    /// What it does to the cell.
    pub standing: Standing,
}

impl Reason {
    /// Returns it as a phrase: "milk in double cream, as declared by the dairy".
    pub fn sentence(&self) -> String {
        let Some(allergen) = self.allergen else {
            return format!("nobody has declared anything of {}", self.ingredient);
        };
        let by = self.by.as_deref().unwrap_or("the card");
        let name = allergen_name(allergen);
        match self.standing {
            Standing::May => format!(
                "{} may contain {name}, as declared by {by}",
                self.ingredient
            ),
            _ => format!("{name} in {}, as declared by {by}", self.ingredient),
        }
    }
}

/// One cell of the matrix.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cell {
    /// Every reason, in the order of the card.
    pub reasons: Vec<Reason>,
}

impl Cell {
    /// Returns what it comes to.
    pub fn standing(&self) -> Standing {
        let worst = self.reasons.iter().map(|reason| reason.standing).max();
        worst.unwrap_or(Standing::Free)
    }

    /// Returns the allergens it contains, each once, in the order of the list.
    pub fn contained(&self) -> Vec<Allergen> {
        let mut found: Vec<_> = self
            .reasons
            .iter()
            .filter(|reason| reason.standing == Standing::Contains)
            .filter_map(|reason| reason.allergen)
            .collect();
        found.sort();
        found.dedup();
        found
    }
}

/// Returns the cell of a dish for these allergens.
///
/// `counts` says whether sulphites at so many mg/kg count; where a good that declares them has less, it may contain:
/// boiled down or dried there is more in what is left.
pub fn cell(
    menu: &Menu,
    dish: &Dish,
    allergens: &[Allergen],
    counts: impl Fn(u32) -> bool,
) -> Cell {
    let taken = taken_from(menu, dish);
    let mut reasons = unlisted(dish, &taken);
    for ingredient in &dish.ingredients {
        of_ingredient(ingredient, allergens, &counts, &mut reasons);
    }
    for taken in taken {
        let mut inside = Vec::new();
        for ingredient in &taken.dish.ingredients {
            of_ingredient(ingredient, allergens, &counts, &mut inside);
        }
        if !inside.is_empty() {
            reasons.push(unknown(&what_it_takes(&taken)));
        }
    }
    Cell { reasons }
}

/// Returns what nobody can know of a dish because its card, or that of a dish it takes something from, lists no
/// ingredients: neither allergens nor cautions.
pub(super) fn unlisted(dish: &Dish, taken: &[Taken<'_>]) -> Vec<Reason> {
    let own = dish.ingredients.is_empty();
    let own = own.then(|| unknown("its ingredients, of which none are on the card"));
    let others = taken.iter().filter(|it| it.dish.ingredients.is_empty());
    own.into_iter()
        .chain(others.map(|it| unknown(&what_it_takes(it))))
        .collect()
}

fn what_it_takes(taken: &Taken<'_>) -> String {
    format!(
        "what it takes from {}, which one of its steps follows",
        taken.name()
    )
}

fn unknown(what: &str) -> Reason {
    Reason {
        ingredient: what.to_owned(),
        allergen: None,
        by: None,
        standing: Standing::NotKnown,
    }
}

fn of_ingredient(
    ingredient: &Ingredient,
    allergens: &[Allergen],
    counts: &impl Fn(u32) -> bool,
    reasons: &mut Vec<Reason>,
) {
    let by = &ingredient.declared_by;
    let mut push = |name: String, allergen: Option<Allergen>, standing| {
        reasons.push(Reason {
            ingredient: name,
            allergen,
            by: by.clone(),
            standing,
        });
    };
    let little =
        |allergen| allergen == Sulphites && ingredient.sulphites.is_some_and(|it| !counts(it));
    let much = |allergen| allergen == Sulphites && ingredient.sulphites.is_some_and(counts);
    let mut declared = |name: &str, contains: &[Allergen], may: &[Allergen]| {
        for &allergen in allergens {
            if contains.contains(&allergen) {
                let standing = if little(allergen) {
                    Standing::May
                } else {
                    Standing::Contains
                };
                push(name.to_owned(), Some(allergen), standing);
            } else if may.contains(&allergen) {
                push(name.to_owned(), Some(allergen), Standing::May);
            }
        }
    };
    let of_own = ingredient.contains.as_deref().unwrap_or_default();
    let by_contact = ingredient.may_contain.as_deref().unwrap_or_default();
    declared(&ingredient.name, of_own, by_contact);
    for part in &ingredient.made_of {
        let name = format!("{} ({})", ingredient.name, part.name);
        let contains = part.contains.as_deref().unwrap_or_default();
        declared(
            &name,
            contains,
            part.may_contain.as_deref().unwrap_or_default(),
        );
    }
    for &allergen in allergens {
        if much(allergen) && !of_own.contains(&allergen) {
            push(ingredient.name.clone(), Some(allergen), Standing::Contains);
        }
    }
    // Declared as a whole, or every part of it.
    let whole = ingredient.contains.is_some() || !ingredient.made_of.is_empty();
    if !whole {
        push(ingredient.name.clone(), None, Standing::NotKnown);
    }
    for part in ingredient
        .made_of
        .iter()
        .filter(|part| part.contains.is_none())
    {
        push(
            format!("{} ({})", ingredient.name, part.name),
            None,
            Standing::NotKnown,
        );
    }
    // Its parts do not say what is there where they are put together.
    if whole && ingredient.may_contain.is_none() {
        push(
            format!("what {} may contain by contact", ingredient.name),
            None,
            Standing::NotKnown,
        );
    }
}

/// Returns what of a row nobody has declared, each once as a sentence, with the places in the list of the entries that are
/// not known by it.
pub fn undeclared(row: &[Cell]) -> Vec<(String, Vec<usize>)> {
    let mut found: Vec<(String, Vec<usize>)> = Vec::new();
    for (place, cell) in row.iter().enumerate() {
        for reason in cell.reasons.iter().filter(|it| it.allergen.is_none()) {
            let sentence = reason.sentence();
            match found.iter_mut().find(|(known, _)| *known == sentence) {
                Some((_, places)) if places.last() == Some(&place) => {}
                Some((_, places)) => places.push(place),
                None => found.push((sentence, vec![place])),
            }
        }
    }
    found
}

/// The whole matrix.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Matrix {
    /// The list it is by.
    pub list: List,
    /// A row for each dish of the menu, a cell for each group of the list.
    pub rows: Vec<Vec<Cell>>,
}

/// Returns the matrix of a menu by a list.
pub fn matrix(menu: &Menu, list: List) -> Matrix {
    let rows = menu
        .dishes
        .iter()
        .map(|dish| {
            list.groups()
                .iter()
                .map(|group| cell(menu, dish, group.allergens, |it| list.sulphites_count(it)))
                .collect()
        })
        .collect();
    Matrix { list, rows }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn names(list: List) -> Vec<&'static str> {
        list.groups().iter().map(|group| group.name).collect()
    }

    #[test]
    fn the_lists_are_as_long_as_they_are_published() {
        // Annex II has fourteen entries; FD&C Act 201(qq) nine.
        assert_eq!(List::Eu.groups().len(), 14);
        assert_eq!(List::Us.groups().len(), 9);
        let nuts = |list: List, name| {
            let group = list.groups().iter().find(|group| group.name == name);
            group.map_or(0, |group| group.allergens.len())
        };
        assert_eq!(nuts(List::Eu, "nuts"), 8);
        // FDA names twelve; three of them are walnuts (English, black, California) and one the heartnut, a walnut.
        assert_eq!(nuts(List::Us, "tree nuts"), 12 - 3);
        let anz = names(List::Anz);
        assert!(!anz.contains(&"celery") && !anz.contains(&"mustard"));
        assert!(anz.contains(&"pine nut") && anz.contains(&"lupin"));
    }

    #[test]
    fn a_pine_nut_is_listed_in_two_of_three() {
        let listed = |list: List, allergen| {
            list.groups()
                .iter()
                .any(|group| group.allergens.contains(&allergen))
        };
        assert!(
            !listed(List::Eu, PineNut) && listed(List::Us, PineNut) && listed(List::Anz, PineNut)
        );
        // Barley, rye and oats are on no list of the US; molluscs, lupin, mustard neither.
        for allergen in [
            Barley, Rye, Oats, Molluscs, Lupin, Mustard, Celery, Sulphites,
        ] {
            assert!(!listed(List::Us, allergen), "{allergen:?}");
            assert!(listed(List::Eu, allergen), "{allergen:?}");
        }
        // Spelt and khorasan are wheat everywhere.
        for list in List::ALL {
            let of = |allergen| {
                list.groups()
                    .iter()
                    .position(|group| group.allergens.contains(&allergen))
            };
            assert_eq!(of(Spelt), of(Wheat));
            assert_eq!(of(Khorasan), of(Wheat));
        }
    }

    #[test]
    fn ten_milligrams_of_sulphite_are_enough_in_one_half_of_the_world() {
        assert!(!List::Eu.sulphites_count(10) && List::Eu.sulphites_count(11));
        assert!(!List::Anz.sulphites_count(9) && List::Anz.sulphites_count(10));
    }
}
