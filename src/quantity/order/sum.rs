//! What dishes take, added up by what it is bought as.

use std::collections::BTreeMap;

use crate::menu::{Amount, Density, Goods, Ingredient, Menu, Unit, words};
use crate::quantity::bought::{Kind, bought_as, turned};
use crate::quantity::density;
use crate::quantity::pieces::{self, Piece};
use crate::quantity::scale::of_dish;

/// Amounts of one thing, added up as far as they can be.
#[derive(Clone, Debug, Default, PartialEq)]
pub struct Sum {
    /// How much of each kind, with the word it was first written with.
    pub(super) of: BTreeMap<Kind, (f64, String)>,
    /// Whether some of it is to taste.
    pub to_taste: bool,
}

/// Everything some dishes take, by what it is bought as.
pub type Wanted = BTreeMap<Key, Sum>;

/// What something is bought as.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub struct Key {
    /// The goods' name, or the ingredient's where the larder has none, in small letters.
    pub name: String,
    /// The supplier on the card, where the larder has no goods of that name.
    pub supplier: Option<String>,
}

impl Sum {
    fn add(&mut self, amount: &Amount, word: &str) {
        match Kind::of(amount) {
            Some((kind, number)) => self.add_of(kind, number, word),
            None => self.to_taste = true,
        }
    }

    pub(super) fn add_of(&mut self, kind: Kind, number: f64, word: &str) {
        let known = self.of.entry(kind);
        known.or_insert_with(|| (0.0, word.to_owned())).0 += number;
    }

    /// Adds another sum of the same thing.
    pub fn add_all(&mut self, other: &Self) {
        for (kind, (number, word)) in &other.of {
            self.add_of(kind.clone(), *number, word);
        }
        self.to_taste |= other.to_taste;
    }

    /// Returns how much of each kind there is, in grams, millilitres and pieces by their word.
    pub fn numbers(&self) -> impl Iterator<Item = (&Kind, f64)> {
        self.of.iter().map(|(kind, (number, _))| (kind, *number))
    }

    /// Returns a sum of these, pieces by the words that this one has for them.
    #[must_use]
    pub fn of_these(&self, numbers: &BTreeMap<Kind, f64>) -> Self {
        let mut sum = Self::default();
        for (kind, number) in numbers {
            let known = self.of.get(kind).map(|(_, word)| word.clone());
            let own = match kind {
                Kind::Pieces(word) => word.clone(),
                Kind::Grams | Kind::Millilitres => String::new(),
            };
            let word = known.filter(|word| !word.is_empty()).unwrap_or(own);
            sum.add_of(kind.clone(), *number, &word);
        }
        sum
    }

    /// Returns the sum as amounts; several where they cannot be added.
    pub fn amounts(&self) -> Vec<Amount> {
        let measured = self.of.iter().map(|(kind, (number, word))| {
            let amount = kind.amount(*number);
            match (amount, kind) {
                (Amount::Measured { number, .. }, Kind::Pieces(_)) => Amount::Measured {
                    number,
                    unit: Unit::Count(word.clone()),
                },
                (amount, _) => amount,
            }
        });
        let taste = self.to_taste.then_some(Amount::ToTaste);
        measured.chain(taste).collect()
    }

    /// Takes out how much there is of a kind, with all that can be turned into it.
    pub(super) fn take(
        &mut self,
        kind: &Kind,
        density: Option<&Density>,
        each: Option<&Amount>,
    ) -> Option<f64> {
        let mut total: Option<f64> = None;
        self.of.retain(|of, (number, _)| {
            let Some(number) = turned((of, *number), kind, density, each) else {
                return true;
            };
            *total.get_or_insert(0.0) += number;
            false
        });
        total
    }
}

/// Returns what some dishes of a menu take, by what it is bought as; added up, the wants of two sets of dishes are those
/// of both.
pub fn wanted(menu: &Menu, dishes: impl IntoIterator<Item = usize>) -> Wanted {
    let mut wanted = Wanted::new();
    for dish_index in dishes {
        each_ingredient(menu, dish_index, |taken| {
            wanted.entry(taken.key).or_default().add_all(&taken.sum);
        });
    }
    wanted
}

/// Adds the wants of other dishes.
pub fn add(wanted: &mut Wanted, other: &Wanted) {
    for (key, sum) in other {
        wanted.entry(key.clone()).or_default().add_all(sum);
    }
}

/// An ingredient of a dish, and how much of it the dish takes of what it is bought as.
pub(super) struct Taken<'m> {
    pub(super) key: Key,
    pub(super) ingredient: &'m Ingredient,
    pub(super) goods: Option<&'m Goods>,
    pub(super) sum: Sum,
    /// How the card's amount became what is bought, where it did not stay what it was.
    pub(super) because: Vec<String>,
}

/// Calls `found` with each ingredient of a dish.
pub(super) fn each_ingredient<'m>(
    menu: &'m Menu,
    dish_index: usize,
    mut found: impl FnMut(Taken<'m>),
) {
    let Some(dish) = menu.dishes.get(dish_index) else {
        return;
    };
    let made = menu.made(dish);
    for ingredient in &dish.ingredients {
        let goods = menu.larder.goods_of(ingredient);
        let key = match goods {
            Some(goods) => Key {
                name: goods.name.trim().to_lowercase(),
                supplier: None,
            },
            None => Key {
                name: ingredient.name.trim().to_lowercase(),
                supplier: ingredient.supplier.clone(),
            },
        };
        let exact = of_dish(menu, dish, &made, ingredient);
        let bought = bought_as(&exact, ingredient, goods, menu.gelling);
        let (amount, mut because) = (bought.amount, Vec::new());
        because.extend(bought.because);
        let mut sum = Sum::default();
        // A card's own density holds for that card, so what it can turn is turned before anything is added.
        let turned = Kind::of(&amount).and_then(|(kind, number)| {
            let to = goods.and_then(counted_in)?;
            let density = density::of(ingredient, goods);
            let each = goods.and_then(pieces::of);
            let holds = each.as_ref().map(|it| &*it.holds);
            let number = turned((&kind, number), &to, density.as_deref(), holds)?;
            if kind != to {
                because.push(how_turned((&kind, &to), density.as_deref(), each.as_ref()));
            }
            Some((to, number))
        });
        match (turned, &amount) {
            (Some((kind, number)), _) => {
                let word = goods.and_then(|goods| goods.pack.as_ref().or(goods.stock.as_ref()));
                sum.add_of(kind, number, word.map_or("", word_of));
            }
            (None, amount) => sum.add(amount, word_of(amount)),
        }
        found(Taken {
            key,
            ingredient,
            goods,
            sum,
            because,
        });
    }
}

/// Returns by what an amount of one kind became one of another.
pub(super) fn how_turned(
    (from, to): (&Kind, &Kind),
    density: Option<&Density>,
    each: Option<&Piece<'_>>,
) -> String {
    let pieces = [from, to]
        .into_iter()
        .any(|kind| matches!(kind, Kind::Pieces(_)));
    let each = each.filter(|_| pieces).map(|each| {
        let weighs = words::amount(&each.holds);
        match each.source {
            Some(source) => format!("{weighs} a piece ({source})"),
            None => format!("{weighs} a piece"),
        }
    });
    let volume = [from, to]
        .into_iter()
        .any(|kind| *kind == Kind::Millilitres);
    let density = density.filter(|_| volume).map(words::density);
    let by: Vec<String> = each.into_iter().chain(density).collect();
    format!("reckoned at {}", by.join("; "))
}

pub(super) fn word_of(amount: &Amount) -> &str {
    match amount {
        Amount::Measured {
            unit: Unit::Count(word),
            ..
        } => word,
        _ => "",
    }
}

/// Returns what kind of amount goods are bought in: their packs', else their stock's.
fn counted_in(goods: &Goods) -> Option<Kind> {
    let amount = goods.pack.as_ref().or(goods.stock.as_ref())?;
    Kind::of(amount).map(|(kind, _)| kind)
}
