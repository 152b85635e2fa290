//! What a name looks like that nothing has been declared of: a suggestion, never a declaration.
//!
//! A card that forgets that marzipan is almond or that isinglass is fish is the usual way in which somebody is
//! hurt. Names are looked at word by word, and only whole words count ("buckwheat" is no wheat); what is known to be
//! something else in spite of its words ("cocoa butter", "oat milk") is taken out first. What is found is only ever said to the cook, to be declared or not.

use super::allergens::allergen_name;
use super::caution_name;
use super::flow::always_meets;
use super::treated::egg_cooked;
use crate::menu::{Allergen, Caution, Dish, Ingredient, Step, Temperature};

/// What a name suggests.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Suggests {
    /// An allergen that is not declared of it.
    Allergen(Allergen),
    /// A caution that is not declared of it.
    Caution(Caution),
}

/// A suggestion about one ingredient.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Suggestion {
    /// The ingredient's name.
    pub ingredient: String,
    /// What it looks like.
    pub suggests: Suggests,
    /// In a sentence without a full stop.
    pub what: String,
}

/// Words that together are not what one of them says; the second is what is left of them.
const NOT: &[(&str, &str)] = &[
    ("cocoa butter", "cocoa"),
    ("shea butter", "shea"),
    ("apple butter", "apple"),
    ("plum butter", "plum"),
    ("nut butter", "nut"),
    ("peanut butter", "peanut"),
    ("groundnut butter", "groundnut"),
    ("almond butter", "almond"),
    ("hazelnut butter", "hazelnut"),
    ("walnut butter", "walnut"),
    ("cashew butter", "cashew"),
    ("pistachio butter", "pistachio"),
    ("coconut milk", "coconut"),
    ("coconut cream", "coconut"),
    ("coconut butter", "coconut"),
    ("almond milk", "almond"),
    ("oat milk", "oat"),
    ("oat cream", "oat"),
    ("soya milk", "soya"),
    ("soy milk", "soya"),
    ("soya cream", "soya"),
    ("rice milk", "rice"),
    ("cream of tartar", "tartar"),
    ("milk thistle", "thistle"),
    ("rice flour", "rice"),
    ("maize flour", "maize"),
    ("corn flour", "maize"),
    ("potato flour", "potato"),
    ("honeycomb mould", "mould"),
    ("poppy seed", "seed"),
];

const ALLERGENS: &[(&str, Allergen)] = &[
    ("wheat", Allergen::Wheat),
    ("flour", Allergen::Wheat),
    ("semolina", Allergen::Wheat),
    ("filo", Allergen::Wheat),
    ("breadcrumb", Allergen::Wheat),
    ("spelt", Allergen::Spelt),
    ("khorasan", Allergen::Khorasan),
    ("rye", Allergen::Rye),
    ("barley", Allergen::Barley),
    ("malt", Allergen::Barley),
    ("beer", Allergen::Barley),
    ("oat", Allergen::Oats),
    ("milk", Allergen::Milk),
    ("buttermilk", Allergen::Milk),
    ("cream", Allergen::Milk),
    ("crème", Allergen::Milk),
    ("mascarpone", Allergen::Milk),
    ("ricotta", Allergen::Milk),
    ("butter", Allergen::Milk),
    ("yoghurt", Allergen::Milk),
    ("yogurt", Allergen::Milk),
    ("curd", Allergen::Milk),
    ("whey", Allergen::Milk),
    ("cheese", Allergen::Milk),
    ("ghee", Allergen::Milk),
    ("egg", Allergen::Egg),
    ("yolk", Allergen::Egg),
    ("meringue", Allergen::Egg),
    ("albumen", Allergen::Egg),
    ("isinglass", Allergen::Fish),
    ("fish", Allergen::Fish),
    ("almond", Allergen::Almond),
    ("marzipan", Allergen::Almond),
    ("frangipane", Allergen::Almond),
    ("amaretti", Allergen::Almond),
    ("hazelnut", Allergen::Hazelnut),
    ("gianduja", Allergen::Hazelnut),
    ("walnut", Allergen::Walnut),
    ("heartnut", Allergen::Walnut),
    ("cashew", Allergen::Cashew),
    ("pecan", Allergen::Pecan),
    ("brazil", Allergen::BrazilNut),
    ("pistachio", Allergen::Pistachio),
    ("macadamia", Allergen::Macadamia),
    ("pignoli", Allergen::PineNut),
    ("peanut", Allergen::Peanut),
    ("groundnut", Allergen::Peanut),
    ("soya", Allergen::Soya),
    ("soy", Allergen::Soya),
    ("tofu", Allergen::Soya),
    ("sesame", Allergen::Sesame),
    ("tahini", Allergen::Sesame),
    ("halva", Allergen::Sesame),
    ("celery", Allergen::Celery),
    ("celeriac", Allergen::Celery),
    ("mustard", Allergen::Mustard),
    ("lupin", Allergen::Lupin),
    ("sulphite", Allergen::Sulphites),
    ("sulfite", Allergen::Sulphites),
    ("wine", Allergen::Sulphites),
    ("winevinegar", Allergen::Sulphites),
    ("perry", Allergen::Sulphites),
    ("cider", Allergen::Sulphites),
    ("squid", Allergen::Molluscs),
    ("oyster", Allergen::Molluscs),
    ("prawn", Allergen::Crustaceans),
    ("shrimp", Allergen::Crustaceans),
    ("crab", Allergen::Crustaceans),
];

const CAUTIONS: &[(&str, Caution)] = &[
    ("honey", Caution::Honey),
    ("honeycomb", Caution::Honey),
    ("mead", Caution::Honey),
    ("cochineal", Caution::NamedColour),
    ("carmine", Caution::NamedColour),
    ("e120", Caution::NamedColour),
    ("bitterkernel", Caution::ToxicKernels),
    ("kernel", Caution::ToxicKernels),
    ("laurel", Caution::ToxicKernels),
    ("unpasteurised", Caution::RawMilk),
    ("unpasteurized", Caution::RawMilk),
    ("rawmilk", Caution::RawMilk),
    ("nitrogen", Caution::Cryogen),
    ("konjac", Caution::ChokingSize),
    ("brandy", Caution::Alcohol),
    ("rum", Caution::Alcohol),
    ("whisky", Caution::Alcohol),
    ("whiskey", Caution::Alcohol),
    ("gin", Caution::Alcohol),
    ("kirsch", Caution::Alcohol),
    ("wine", Caution::Alcohol),
    ("port", Caution::Alcohol),
    ("sherry", Caution::Alcohol),
    ("madeira", Caution::Alcohol),
    ("perry", Caution::Alcohol),
    ("cider", Caution::Alcohol),
    ("beer", Caution::Alcohol),
    ("spirit", Caution::Alcohol),
    ("liqueur", Caution::Alcohol),
    // Not to be eaten, by lists of gardens and the press; no agency's text was read.
    ("foxglove", Caution::InedibleGarnish),
    ("oleander", Caution::InedibleGarnish),
    ("daffodil", Caution::InedibleGarnish),
    ("delphinium", Caution::InedibleGarnish),
    ("monkshood", Caution::InedibleGarnish),
    ("azalea", Caution::InedibleGarnish),
    ("rhododendron", Caution::InedibleGarnish),
    ("hydrangea", Caution::InedibleGarnish),
    ("wisteria", Caution::InedibleGarnish),
    ("hyacinth", Caution::InedibleGarnish),
    ("iris", Caution::InedibleGarnish),
    ("tulip", Caution::InedibleGarnish),
    ("crocus", Caution::InedibleGarnish),
    ("poppy", Caution::InedibleGarnish),
    ("poppies", Caution::InedibleGarnish),
];

/// Words that together are one thing, looked at first; what else they are stands beside it.
const PAIRS: &[(&str, &str)] = &[
    ("lily of the valley", "foxglove"),
    ("raw milk", "rawmilk milk"),
    ("raw cream", "rawmilk cream"),
    ("dry ice", "nitrogen"),
    ("pine nut", "pignoli"),
    ("hazel nut", "hazelnut"),
    ("ground nut", "groundnut"),
    ("fish gelatine", "isinglass"),
    ("fish gelatin", "isinglass"),
    ("rhubarb leaf", "kernel"),
    ("rhubarb leaves", "kernel"),
    ("bitter almond", "bitterkernel almond"),
    ("wine vinegar", "winevinegar"),
];

/// Returns the words of a name, with what only looks like something taken out. A hyphen parts words as a blank does.
fn words_of(name: &str) -> Vec<String> {
    let lower = name.to_lowercase();
    let words = lower.split(|c: char| !c.is_alphanumeric());
    let mut words: Vec<&str> = words.filter(|word| !word.is_empty()).collect();
    for (phrase, instead) in PAIRS.iter().chain(NOT) {
        let phrase: Vec<&str> = phrase.split(' ').collect();
        let mut at = 0;
        while let Some(there) = words.get(at..at + phrase.len()) {
            if there
                .iter()
                .zip(&phrase)
                .all(|(word, known)| is(word, known))
            {
                words.splice(at..at + phrase.len(), instead.split(' '));
            }
            at += 1;
        }
    }
    words.into_iter().map(str::to_owned).collect()
}

/// Returns whether a word is this one, or its plural.
fn is(word: &str, known: &str) -> bool {
    word == known || word.strip_suffix('s') == Some(known) || word.strip_suffix("es") == Some(known)
}

/// Returns what the names of a dish's ingredients look like and do not declare.
pub fn suggestions(dish: &Dish) -> Vec<Suggestion> {
    let mut found: Vec<Suggestion> = Vec::new();
    for ingredient in &dish.ingredients {
        let words = words_of(&ingredient.name);
        let mut push = |suggests, what: String| {
            if found.iter().all(|it| it.what != what) {
                found.push(Suggestion {
                    ingredient: ingredient.name.clone(),
                    suggests,
                    what,
                });
            }
        };
        for &(known, allergen) in ALLERGENS {
            let seen = words.iter().any(|word| is(word, known));
            if seen && !declares(ingredient, allergen) {
                let mut what = format!(
                    "{} looks like {}; declare it, or declare who says that it is free of it",
                    ingredient.name,
                    allergen_name(allergen)
                );
                if known == "isinglass" {
                    what.push_str(
                        " (exempt is only fining in beer and wine and carrying vitamins, not what sets a jelly)",
                    );
                }
                push(Suggests::Allergen(allergen), what);
            }
        }
        for &(known, caution) in CAUTIONS {
            let seen = words.iter().any(|word| is(word, known));
            if seen && !bears(dish, ingredient, caution) {
                let what = format!(
                    "{} looks like {}; declare the caution if it is",
                    ingredient.name,
                    caution_name(caution)
                );
                push(Suggests::Caution(caution), what);
            }
        }
        let egg = words.iter().any(|word| is(word, "egg") || is(word, "yolk"));
        let treated = words
            .iter()
            .any(|word| word.starts_with("pasteuri") || word == "boiled");
        if egg && !treated && !heated(dish, ingredient) && !bears(dish, ingredient, Caution::RawEgg)
        {
            let what = format!(
                "{} looks like {}, and no step is said to cook it; declare the caution, or what the step does",
                ingredient.name,
                caution_name(Caution::RawEgg)
            );
            push(Suggests::Caution(Caution::RawEgg), what);
        }
    }
    found
}

/// Whether by whichever way an ingredient goes on from the step that takes it, a step is said to cook egg, or uses an oven
/// that can.
fn heated(dish: &Dish, ingredient: &Ingredient) -> bool {
    let cooks = |step: &Step| {
        let cooked = match step.temperature {
            Some(Temperature::Cooked { to, lasting } | Temperature::Reheated { to, lasting }) => {
                egg_cooked(f64::from(to) / 10.0, lasting.unwrap_or(0).into())
            }
            _ => false,
        };
        // In a cooler oven it is never so hot, however long it stands there.
        let mut heats = step.uses.iter().filter_map(|used| used.heat);
        cooked || heats.any(|heat| egg_cooked(f64::from(heat) / 10.0, f64::INFINITY))
    };
    always_meets(dish, ingredient.into.as_deref(), cooks).is_some()
}

/// Whether somebody has said of an ingredient that it has an allergen, may have it, or (naming who) has not.
fn declares(ingredient: &Ingredient, allergen: Allergen) -> bool {
    let parts = ingredient.made_of.iter();
    let contains = ingredient.contains.iter().flatten();
    let contains = contains.chain(
        parts
            .clone()
            .flat_map(|part| part.contains.iter().flatten()),
    );
    let may = ingredient.may_contain.iter().flatten();
    let may = may.chain(parts.flat_map(|part| part.may_contain.iter().flatten()));
    let named = contains
        .chain(may)
        .any(|&it| it == allergen || is_kind_of(allergen, it));
    named || (ingredient.contains.is_some() && ingredient.declared_by.is_some())
}

fn is_kind_of(one: Allergen, other: Allergen) -> bool {
    use Allergen::{Khorasan, Spelt, Wheat};
    let wheat = [Wheat, Spelt, Khorasan];
    wheat.contains(&one) && wheat.contains(&other)
}

/// Whether an ingredient, or the step that takes it, has a caution.
fn bears(dish: &Dish, ingredient: &Ingredient, caution: Caution) -> bool {
    ingredient.cautions.contains(&caution)
        || ingredient
            .into
            .as_ref()
            .and_then(|into| dish.step(into))
            .is_some_and(|(_, step)| step.cautions.contains(&caution))
}

#[cfg(test)]
mod tests {
    use super::*;

    fn looks(name: &str) -> Vec<Allergen> {
        let words = words_of(name);
        let mut found: Vec<_> = ALLERGENS
            .iter()
            .filter(|(known, _)| words.iter().any(|word| is(word, known)))
            .map(|&(_, allergen)| allergen)
            .collect();
        found.sort();
        found.dedup();
        found
    }

    #[test]
    fn names_are_seen_through() {
        use Allergen::{
            Almond, Barley, Egg, Fish, Hazelnut, Milk, Oats, Peanut, PineNut, Sulphites, Walnut,
            Wheat,
        };
        let table: &[(&str, &[Allergen])] = &[
            ("double cream", &[Milk]),
            ("almond milk", &[Almond]),
            ("Coconut cream", &[]),
            ("cocoa butter", &[]),
            ("peanut butter", &[Peanut]),
            ("buckwheat flour", &[Wheat]),
            ("rice flour", &[]),
            ("cream of tartar", &[]),
            ("nutmeg", &[]),
            ("dried chestnuts", &[]),
            ("Pine nuts, toasted", &[PineNut]),
            ("isinglass", &[Fish]),
            ("leaf gelatine, beef", &[]),
            ("fish gelatine", &[Fish]),
            ("egg yolks", &[Egg]),
            ("eggplant", &[]),
            ("oat cream", &[Oats]),
            ("malt extract", &[Barley]),
            ("plum butter", &[]),
            ("hazelnut butter", &[Hazelnut]),
            ("hazel-nut butter", &[Hazelnut]),
            ("walnut butter", &[Walnut]),
            ("groundnut butter", &[Peanut]),
            ("nut butter", &[]),
            ("raw milk", &[Milk]),
            ("bitter almonds", &[Almond]),
            ("egg-white", &[Egg]),
            ("yolks", &[Egg]),
            ("ice-cream", &[Milk]),
            ("buttermilk", &[Milk]),
            ("mascarpone", &[Milk]),
            ("wheat-flour", &[Wheat]),
            ("rice-flour", &[]),
            ("oat-milk", &[Oats]),
            ("almond-paste", &[Almond]),
            ("butternut", &[]),
            ("coconuts", &[]),
            ("orange-flower water", &[]),
            ("white wine vinegar", &[Sulphites]),
        ];
        for (name, wanted) in table {
            assert_eq!(looks(name), *wanted, "{name}");
        }
    }

    #[test]
    fn cautions_are_seen_in_whole_words_too() {
        let bears = |name: &str, caution| {
            let words = words_of(name);
            CAUTIONS
                .iter()
                .any(|&(known, of)| of == caution && words.iter().any(|word| is(word, known)))
        };
        let seen = [
            ("raw milk", Caution::RawMilk),
            ("Raw cream", Caution::RawMilk),
            ("bitter almonds", Caution::ToxicKernels),
            ("rhubarb-leaves", Caution::ToxicKernels),
            ("honeycomb", Caution::Honey),
            ("poppies", Caution::InedibleGarnish),
            ("lily-of-the-valley", Caution::InedibleGarnish),
        ];
        for (name, caution) in seen {
            assert!(bears(name, caution), "{name}");
        }
        let not = [
            ("honeycomb mould", Caution::Honey),
            ("honeydew", Caution::Honey),
            ("poppy seeds", Caution::InedibleGarnish),
            ("wine vinegar", Caution::Alcohol),
            ("ginger", Caution::Alcohol),
        ];
        for (name, caution) in not {
            assert!(!bears(name, caution), "{name}");
        }
    }
}
