//! Amounts: "1.2 kg", "½ tsp", "3 leaves", and which of several units of one name is meant.
//!
//! A pint, a cup or a spoon is a different volume in different trades and countries, so a bare one is refused
//! unless the dish says once which measures it uses. "Wine and ale" resolves nothing by itself, because the
//! wine pint and the ale pint stood side by side: the card must say which pint; the fault then offers just
//! those two.

use super::phrases::{Trouble, leading_number};
use super::syntax::quoted;
use crate::menu::{Amount, Unit};

/// Which measures a dish card uses.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub(super) enum Measures {
    /// Spoons and cups of whole millilitres.
    Metric,
    /// United States customary.
    Us,
    /// British imperial.
    Imperial,
    /// English measures before 1824.
    WineAndAle,
    /// English measures before 1824, of a card in which every pint is of wine, spirits, oil or water.
    Wine,
    /// English measures before 1824, of a card in which every pint is of ale, beer or milk.
    Ale,
    /// Australian: a tablespoon of 20 ml.
    Australian,
    /// Those of food labels in the United States.
    Label,
}

/// Measures whose bare name says too little.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Vague {
    Teaspoon,
    Tablespoon,
    FluidDrachm,
    FluidOunce,
    Gill,
    Cup,
    Pint,
    Quart,
    Gallon,
    DryPint,
    DryQuart,
    DryGallon,
}

/// What is said before a vague name to make it exact.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
enum Whose {
    Metric,
    Us,
    Imperial,
    Uk,
    Australian,
    Wine,
    Ale,
    Label,
}

const VAGUE: &[(&str, Vague)] = &[
    ("tsp", Vague::Teaspoon),
    ("teaspoon", Vague::Teaspoon),
    ("tbsp", Vague::Tablespoon),
    ("tablespoon", Vague::Tablespoon),
    ("fl drachm", Vague::FluidDrachm),
    ("fluid drachm", Vague::FluidDrachm),
    ("fl dram", Vague::FluidDrachm),
    ("fluid dram", Vague::FluidDrachm),
    ("fl oz", Vague::FluidOunce),
    ("fluid ounce", Vague::FluidOunce),
    ("gill", Vague::Gill),
    ("cup", Vague::Cup),
    ("pint", Vague::Pint),
    ("pt", Vague::Pint),
    ("quart", Vague::Quart),
    ("qt", Vague::Quart),
    ("gallon", Vague::Gallon),
    ("gal", Vague::Gallon),
    ("dry pint", Vague::DryPint),
    ("dry quart", Vague::DryQuart),
    ("dry gallon", Vague::DryGallon),
];

const WHOSE: &[(&str, Whose)] = &[
    ("metric", Whose::Metric),
    ("us", Whose::Us),
    ("imperial", Whose::Imperial),
    ("uk", Whose::Uk),
    ("australian", Whose::Australian),
    ("wine", Whose::Wine),
    ("ale", Whose::Ale),
    ("label", Whose::Label),
    // New Zealand and Canada measure in whole millilitres.
    ("nz", Whose::Metric),
    ("canadian", Whose::Metric),
];

/// Exact units with every name they go by; the singular, where the plural only adds an s.
const EXACT: &[(&str, Unit)] = &[
    ("mg", Unit::Milligram),
    ("milligram", Unit::Milligram),
    ("g", Unit::Gram),
    ("gram", Unit::Gram),
    ("kg", Unit::Kilogram),
    ("kilo", Unit::Kilogram),
    ("kilogram", Unit::Kilogram),
    ("oz", Unit::Ounce),
    ("ounce", Unit::Ounce),
    ("lb", Unit::Pound),
    ("pound", Unit::Pound),
    ("troy oz", Unit::TroyOunce),
    ("troy ounce", Unit::TroyOunce),
    ("troy lb", Unit::TroyPound),
    ("troy pound", Unit::TroyPound),
    ("apothecary oz", Unit::TroyOunce),
    ("apothecary ounce", Unit::TroyOunce),
    ("apothecary lb", Unit::TroyPound),
    ("apothecary pound", Unit::TroyPound),
    ("drachm", Unit::Drachm),
    ("dram", Unit::Dram),
    ("grain", Unit::Grain),
    ("label oz", Unit::LabelOunce),
    ("label ounce", Unit::LabelOunce),
    ("corn gallon", Unit::CornGallon),
    ("winchester gallon", Unit::CornGallon),
    ("ml", Unit::Millilitre),
    ("millilitre", Unit::Millilitre),
    ("milliliter", Unit::Millilitre),
    ("cl", Unit::Centilitre),
    ("centilitre", Unit::Centilitre),
    ("centiliter", Unit::Centilitre),
    ("dl", Unit::Decilitre),
    ("decilitre", Unit::Decilitre),
    ("deciliter", Unit::Decilitre),
    ("l", Unit::Litre),
    ("litre", Unit::Litre),
    ("liter", Unit::Litre),
];

fn exact(whose: Whose, vague: Vague) -> Option<Unit> {
    Some(match (whose, vague) {
        (Whose::Metric | Whose::Australian, Vague::Teaspoon) => Unit::MetricTeaspoon,
        (Whose::Metric, Vague::Tablespoon) => Unit::MetricTablespoon,
        (Whose::Metric | Whose::Australian, Vague::Cup) => Unit::MetricCup,
        (Whose::Australian, Vague::Tablespoon) => Unit::AustralianTablespoon,
        (Whose::Label, Vague::Teaspoon) => Unit::LabelTeaspoon,
        (Whose::Label, Vague::Tablespoon) => Unit::LabelTablespoon,
        (Whose::Label, Vague::FluidOunce) => Unit::LabelFluidOunce,
        (Whose::Label, Vague::Cup) => Unit::LabelCup,
        (Whose::Us, Vague::Teaspoon) => Unit::UsTeaspoon,
        (Whose::Us, Vague::Tablespoon) => Unit::UsTablespoon,
        (Whose::Us, Vague::FluidDrachm) => Unit::UsFluidDram,
        (Whose::Us, Vague::FluidOunce) => Unit::UsFluidOunce,
        (Whose::Us, Vague::DryPint) => Unit::UsDryPint,
        (Whose::Us, Vague::DryQuart) => Unit::UsDryQuart,
        (Whose::Us, Vague::DryGallon) => Unit::UsDryGallon,
        (Whose::Us, Vague::Gill) => Unit::UsGill,
        (Whose::Us, Vague::Cup) => Unit::UsCup,
        (Whose::Us, Vague::Pint) => Unit::UsPint,
        (Whose::Us, Vague::Quart) => Unit::UsQuart,
        (Whose::Us, Vague::Gallon) => Unit::UsGallon,
        (Whose::Uk | Whose::Imperial, Vague::Tablespoon) => Unit::UkTablespoon,
        (Whose::Uk | Whose::Imperial, Vague::FluidDrachm) => Unit::ImperialFluidDrachm,
        (Whose::Uk | Whose::Imperial, Vague::FluidOunce) => Unit::ImperialFluidOunce,
        (Whose::Uk | Whose::Imperial, Vague::Gill) => Unit::ImperialGill,
        (Whose::Uk | Whose::Imperial, Vague::Pint) => Unit::ImperialPint,
        (Whose::Uk | Whose::Imperial, Vague::Quart) => Unit::ImperialQuart,
        (Whose::Uk | Whose::Imperial, Vague::Gallon) => Unit::ImperialGallon,
        (Whose::Wine, Vague::Pint) => Unit::WinePint,
        (Whose::Wine, Vague::Quart) => Unit::WineQuart,
        (Whose::Wine, Vague::Gallon) => Unit::WineGallon,
        (Whose::Ale, Vague::Pint) => Unit::AlePint,
        (Whose::Ale, Vague::Quart) => Unit::AleQuart,
        (Whose::Ale, Vague::Gallon) => Unit::AleGallon,
        _ => return None,
    })
}

/// Finds a word in a table, with or without a plural s.
fn find<'t, T>(table: &'t [(&str, T)], word: &str) -> Option<&'t T> {
    let known = |word: &str| table.iter().find(|(name, _)| *name == word);
    let found = known(word).or_else(|| known(word.strip_suffix('s')?));
    found.map(|(_, meant)| meant)
}

/// Returns which measures a card uses.
pub(super) fn measures(text: &str) -> Result<Measures, Trouble> {
    match text.trim().to_lowercase().as_str() {
        "metric" => Ok(Measures::Metric),
        "us" => Ok(Measures::Us),
        "imperial" => Ok(Measures::Imperial),
        "wine and ale" => Ok(Measures::WineAndAle),
        "wine" => Ok(Measures::Wine),
        "ale" => Ok(Measures::Ale),
        "australian" => Ok(Measures::Australian),
        "us label" | "label" => Ok(Measures::Label),
        _ => Err(Trouble::new(
            format!("{} is not a set of measures", quoted(text)),
            "\"metric\", \"US\", \"imperial\", \"wine\", \"ale\", \"wine and ale\", \"Australian\" or \"US label\"",
        )),
    }
}

/// How it is said that a dish can say once which measures it uses.
const WHOLE_DISH: &str = ", or say for the whole dish: measures: ";

/// Returns an amount of a larder, which has no measures of its own: every unit is said in full.
pub(super) fn exact_amount(text: &str) -> Result<Amount, Trouble> {
    amount(text, None).map_err(|mut trouble| {
        if let Some(at) = trouble.instead.find(WHOLE_DISH) {
            trouble.instead.truncate(at);
        }
        trouble
    })
}

/// Returns the exact units a vague name may mean, each in quotes.
fn choices(vague: Vague, number: &str, of: impl Fn(Whose) -> bool) -> String {
    let units = WHOSE
        .iter()
        .filter(|&&(_, whose)| of(whose))
        .filter_map(|&(_, whose)| exact(whose, vague));
    let mut names: Vec<String> = Vec::new();
    for unit in units {
        let name = format!("\"{number} {}\"", crate::menu::words::unit(&unit));
        if !names.contains(&name) {
            names.push(name);
        }
    }
    names.join(", ")
}

/// Returns the exact unit that a vague name means on this card.
fn resolved(
    vague: Vague,
    measures: Option<Measures>,
    number: &str,
    unit: &str,
) -> Result<Unit, Trouble> {
    let whose = match measures {
        Some(Measures::Metric) => Some(Whose::Metric),
        Some(Measures::Us) => Some(Whose::Us),
        Some(Measures::Imperial) => Some(Whose::Imperial),
        Some(Measures::Wine) => Some(Whose::Wine),
        Some(Measures::Ale) => Some(Whose::Ale),
        Some(Measures::Australian) => Some(Whose::Australian),
        Some(Measures::Label) => Some(Whose::Label),
        Some(Measures::WineAndAle) | None => None,
    };
    if let Some(unit) = whose.and_then(|whose| exact(whose, vague)) {
        return Ok(unit);
    }
    let old = choices(vague, number, |whose| {
        matches!(whose, Whose::Wine | Whose::Ale)
    });
    let instead = match measures {
        Some(Measures::WineAndAle) if !old.is_empty() => old,
        None => {
            let sets = [
                (Whose::Metric, "\"metric\""),
                (Whose::Us, "\"US\""),
                (Whose::Imperial, "\"imperial\""),
                (Whose::Wine, "\"wine\""),
                (Whose::Ale, "\"ale\""),
                (Whose::Australian, "\"Australian\""),
                (Whose::Label, "\"US label\""),
            ];
            let sets = sets
                .into_iter()
                .filter(|&(whose, _)| exact(whose, vague).is_some());
            let sets: Vec<_> = sets.map(|(_, name)| name).collect();
            let card = if sets.is_empty() {
                String::new()
            } else {
                format!("{WHOLE_DISH}{}", sets.join(" or "))
            };
            choices(vague, number, |_| true) + &card
        }
        Some(_) => choices(vague, number, |_| true),
    };
    Err(Trouble::new(
        format!("{} could be any of several measures", quoted(unit)),
        instead,
    ))
}

/// Returns the unit a name means on this card.
fn unit(name: &str, measures: Option<Measures>, number: &str) -> Result<Unit, Trouble> {
    let lower = name.to_lowercase().replace("fl. oz", "fl oz");
    if let Some(unit) = find(EXACT, &lower) {
        return Ok(unit.clone());
    }
    if let Some(&vague) = find(VAGUE, &lower) {
        return resolved(vague, measures, number, name);
    }
    // Grams to most who write it and grains in old methods: fifteen times less. As a thing to count it is neither.
    if matches!(lower.trim_end_matches('.'), "gr" | "grs") {
        return Err(Trouble::new(
            format!("{} could be grams or grains", quoted(name)),
            format!("\"{number} g\" or \"{number} grain\""),
        ));
    }
    if let Some((first, rest)) = lower.split_once(' ')
        && let Some(&vague) = find(VAGUE, rest)
    {
        let whose = WHOSE.iter().find(|(word, _)| *word == first);
        // "3 paper cups" are cups to count; no other measure is a thing as well.
        if whose.is_some() || vague != Vague::Cup {
            let unit = whose.and_then(|&(_, whose)| exact(whose, vague));
            return unit.ok_or_else(|| {
                Trouble::new(
                    format!("there is no measure called {}", quoted(name)),
                    choices(vague, number, |_| true),
                )
            });
        }
    }
    Ok(Unit::Count(name.to_owned()))
}

/// Returns an amount.
pub(super) fn amount(text: &str, measures: Option<Measures>) -> Result<Amount, Trouble> {
    let tidied = text.split_whitespace().collect::<Vec<_>>().join(" ");
    if tidied.eq_ignore_ascii_case("to taste") {
        return Ok(Amount::ToTaste);
    }
    let trouble = |instead: &str| {
        Trouble::new(
            format!("{} is not an amount", quoted(text)),
            instead.to_owned(),
        )
    };
    let usual = "\"1.2 kg\", \"½ US tsp\", \"3 leaves\", \"12\" or \"to taste\"";
    let (number, rest) = leading_number(&tidied).ok_or_else(|| trouble(usual))?;
    if rest.starts_with([',', '\'']) && rest[1..].starts_with(|c: char| c.is_ascii_digit()) {
        return Err(trouble(
            "a point for decimals and nothing between thousands: \"1.2 kg\", \"1200 g\"",
        ));
    }
    if !(0.0..=1e9).contains(&number) {
        return Err(trouble("at most a thousand million"));
    }
    let name = rest.trim();
    if name.starts_with(|c: char| !c.is_alphabetic()) {
        return Err(trouble(usual));
    }
    let written = tidied[..tidied.len() - rest.len()].trim_end();
    Ok(Amount::Measured {
        number,
        unit: unit(name, measures, written)?,
    })
}

/// Returns a volume in millilitres, for work that grows with it. Only metric units: a batch is measured in the
/// vessel it is made in.
pub(super) fn volume(text: &str) -> Result<f64, Trouble> {
    let millilitres = match amount(text, None)? {
        Amount::Measured { number, unit } => match unit {
            Unit::Millilitre => Some(number),
            Unit::Centilitre => Some(number * 10.0),
            Unit::Decilitre => Some(number * 100.0),
            Unit::Litre => Some(number * 1000.0),
            _ => None,
        },
        Amount::ToTaste => None,
    };
    let millilitres = millilitres.filter(|&millilitres| millilitres <= 1e9);
    millilitres.ok_or_else(|| {
        Trouble::new(
            format!("{} is not a volume in litres or millilitres", quoted(text)),
            "\"3 l\" or \"750 ml\"",
        )
    })
}

#[cfg(test)]
mod tests {
    #![allow(clippy::unwrap_used, reason = "a test that cannot go on should stop")]

    use super::*;
    use crate::menu::words;

    #[test]
    fn amounts_in_a_cooks_hand() {
        let table = [
            ("1.2 kg", "1.2 kg"),
            ("1.2kg", "1.2 kg"),
            ("½ US tsp", "½ US tsp"),
            ("1 1/2 litres", "1.5 l"),
            ("1½ imperial pints", "1½ imperial pint"),
            ("2 fl. oz", "2 US fl oz"),
            ("3 Cups", "3 US cup"),
            ("1/4 wine gallon", "¼ wine gallon"),
            ("2 UK pints", "2 imperial pint"),
            ("3 leaves", "3 leaves"),
            ("2 large Bunches", "2 large Bunches"),
            ("3 paper cups", "3 paper cups"),
            ("12", "12"),
            ("To taste", "to taste"),
            ("0 g", "0 g"),
        ];
        for (text, said) in table {
            let meant = amount(text, Some(Measures::Us)).unwrap();
            assert_eq!(words::amount(&meant), said, "{text}");
        }
    }

    #[test]
    fn grams_and_grains_are_told_apart() {
        for text in ["900 gr", "5 grs", "2 Gr."] {
            let trouble = amount(text, None).unwrap_err();
            assert!(trouble.instead.contains(" grain\""), "{text}: {trouble:?}");
        }
    }

    #[test]
    fn a_bare_measure_needs_to_be_told_apart() {
        let unit = |text, measures| match amount(text, measures) {
            Ok(Amount::Measured { unit, .. }) => Some(unit),
            _ => None,
        };
        let table = [
            (
                "1 tbsp",
                Some(Measures::Metric),
                Some(Unit::MetricTablespoon),
            ),
            ("1 tbsp", Some(Measures::Us), Some(Unit::UsTablespoon)),
            ("1 tbsp", Some(Measures::Imperial), Some(Unit::UkTablespoon)),
            ("1 tbsp", None, None),
            ("1 pint", Some(Measures::Metric), None),
            ("1 pint", Some(Measures::WineAndAle), None),
            (
                "1 ale quart",
                Some(Measures::WineAndAle),
                Some(Unit::AleQuart),
            ),
            ("1 wine quart", None, Some(Unit::WineQuart)),
            // "The wine pint and the ale pint of before 1824": what an old method means, said once for the card.
            ("1 pint", Some(Measures::Wine), Some(Unit::WinePint)),
            ("1 quart", Some(Measures::Ale), Some(Unit::AleQuart)),
            ("1 cup", Some(Measures::Ale), None),
            (
                "1 tbsp",
                Some(Measures::Australian),
                Some(Unit::AustralianTablespoon),
            ),
            (
                "1 tsp",
                Some(Measures::Australian),
                Some(Unit::MetricTeaspoon),
            ),
            ("1 cup", Some(Measures::Label), Some(Unit::LabelCup)),
            ("2 NZ tbsp", None, Some(Unit::MetricTablespoon)),
            ("1 Canadian cup", Some(Measures::Us), Some(Unit::MetricCup)),
            (
                "1 UK tbsp",
                Some(Measures::Metric),
                Some(Unit::UkTablespoon),
            ),
            ("1 apothecary ounce", None, Some(Unit::TroyOunce)),
            ("1 dram", None, Some(Unit::Dram)),
            ("1 US fl dram", None, Some(Unit::UsFluidDram)),
            ("1 US dry quart", None, Some(Unit::UsDryQuart)),
            ("1 dry pint", Some(Measures::Us), Some(Unit::UsDryPint)),
            ("1 corn gallon", None, Some(Unit::CornGallon)),
            // 103 cubic inches, about three wine pints: no pint of any other sort may stand for it.
            ("1 Scots pint", Some(Measures::Imperial), None),
        ];
        for (text, measures, wanted) in table {
            assert_eq!(unit(text, measures), wanted, "{text} {measures:?}");
        }
    }

    #[test]
    fn a_batch_is_measured_in_litres() {
        assert!(volume("1000001 l").is_err());
        assert_eq!(volume("3 l"), Ok(3000.0));
        assert_eq!(volume("75 cl"), Ok(750.0));
        assert!(volume("3 US pints").is_err() && volume("3").is_err());
    }
}
