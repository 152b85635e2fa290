//! What a volume weighs: the only way from a mass to a volume and back, and never without a source.
//!
//! A density comes from the card, else from the larder, else from the table here, which knows an ingredient by the whole
//! of its name only: coconut milk is not milk. What none of them knows is not converted.
//!
//! Sources: FAO/INFOODS Density Database, versions 1 (2011) and 2 (2012), as transcribed; H. D. Goff, *Dairy Chemistry and
//! Physics*, University of Guelph, at 20 °C, as transcribed; *Handbook of Chemistry* for ethanol (in water: `spirit`); the formula of
//! dairies for milk and cream at 15 °C (Fleischmann's kind).
//!
//! Left out on purpose: flour. A litre of it weighs from 480 to 670 g (FAO/INFOODS), as it was filled, and between the two
//! no figure is worth weighing by.

use std::borrow::Cow;

use super::Line;
use super::worth::{Worth, worth};
use crate::menu::{Amount, Density, Dimension, Goods, Ingredient, Unit};

const FAO_1: &str = "FAO/INFOODS 2011";
const FAO_2: &str = "FAO/INFOODS 2012, as transcribed";
const GOFF: &str = "Goff, Guelph, at 20 °C, as transcribed";
const HANDBOOK: &str = "handbook table, at 20 °C";

/// The table.
const TABLE: &[Line] = &[
    (&["water", "cold water", "hot water"], 0.998, FAO_1),
    (&["ice"], 0.916, FAO_1),
    (&["milk", "whole milk"], 1.030, GOFF),
    (&["skim milk", "skimmed milk"], 1.033, GOFF),
    (&["half-and-half"], 1.020, GOFF),
    (&["light cream"], 1.012, GOFF),
    (&["heavy cream", "whipping cream"], 0.994, GOFF),
    (&["single cream"], 1.00, FAO_2),
    (&["yoghurt", "whole yoghurt"], 1.031, FAO_2),
    (&["olive oil"], 0.918, FAO_2),
    (&["butter"], 0.911, FAO_2),
    (&["sugar", "white sugar"], 0.88, FAO_2),
    (
        &["honey"],
        1.42,
        "bee-science notes: 1.417 at 18 % water, 1.423 at 15 to 17",
    ),
    (&["ethanol", "pure alcohol"], 0.790, HANDBOOK),
];

/// Returns what the table knows of a thing by its whole name, capitals aside.
pub fn known(name: &str) -> Option<Density> {
    let found = super::by_name(TABLE, name);
    found.map(|(grams_per_millilitre, source)| Density {
        grams_per_millilitre,
        source: source.to_owned(),
    })
}

/// Returns the density of an ingredient: the card's own, its goods', or the table's.
pub fn of<'a>(ingredient: &'a Ingredient, goods: Option<&'a Goods>) -> Option<Cow<'a, Density>> {
    let own = ingredient.density.as_ref();
    let own = own.or_else(|| goods.and_then(|goods| goods.density.as_ref()));
    let table = || {
        let by_goods = goods.and_then(|goods| known(&goods.name));
        by_goods.or_else(|| known(&ingredient.name))
    };
    own.map(Cow::Borrowed).or_else(|| table().map(Cow::Owned))
}

/// Returns a mass in grams as a volume in millilitres.
pub fn millilitres(grams: f64, density: &Density) -> f64 {
    grams / density.grams_per_millilitre
}

/// Returns a volume in millilitres as a mass in grams.
pub fn grams(millilitres: f64, density: &Density) -> f64 {
    millilitres * density.grams_per_millilitre
}

/// Returns an amount as the other of mass and volume, in grams or millilitres; nothing for what is counted.
pub fn other(amount: &Amount, density: &Density) -> Option<Amount> {
    let Amount::Measured { number, unit } = amount else {
        return None;
    };
    let measured = |number, unit| Some(Amount::Measured { number, unit });
    match worth(unit) {
        Worth::Grams(each) => measured(millilitres(number * each, density), Unit::Millilitre),
        Worth::Millilitres(each) => measured(grams(number * each, density), Unit::Gram),
        Worth::Counted => None,
    }
}

/// Returns what milk or cream of so many percent fat and other solids weighs at 15 °C, in g/ml.
pub fn dairy(fat: f64, other_solids: f64) -> f64 {
    let water = 100.0 - fat - other_solids;
    100.0 / (fat / 0.93 + other_solids / 1.608 + water)
}

/// Returns the water in honey, of a hundred parts, by its refractive index at 20 °C; nothing outside what honey shows.
///
/// Chataway and Wedmore, by way of Bogdanov, *The Book of Honey*, chapter 4: `W = (−0.2681 − log10(n − 1)) / 0.002243`. What
/// is printed there as a constant of 1.73190 is 0.73190 less one, in the notation of logarithm tables; taken literally it
/// comes to nine hundred parts in a hundred.
pub fn honey_water(index: f64) -> Option<f64> {
    let water = (-0.2681 - (index - 1.0).log10()) / 0.002_243;
    (1.47..=1.51).contains(&index).then_some(water)
}

/// Returns what a dimension is measured in here: grams, millilitres, pieces.
pub fn base(dimension: Dimension) -> Unit {
    match dimension {
        Dimension::Mass => Unit::Gram,
        Dimension::Volume => Unit::Millilitre,
        Dimension::Count => Unit::Count(String::new()),
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    fn close(one: f64, other: f64, within: f64) -> bool {
        (one - other).abs() <= within
    }

    /// Goff, *Dairy Chemistry and Physics*, at 20 °C, against the dairies' formula at 15 °C: within 0.002, as printed.
    #[test]
    fn milk_and_cream_by_formula_and_by_table() {
        // Computed by hand from the formula.
        assert!(close(dairy(4.0, 8.95), 1.0318, 0.000_05));
        assert!(close(dairy(20.0, 7.2), 1.0123, 0.000_05));
        assert!(close(dairy(36.6, 5.55), 0.9935, 0.000_05));
        for (fat, solids, name) in [
            (4.0, 8.95, "milk"),
            (20.0, 7.2, "light cream"),
            (36.6, 5.55, "heavy cream"),
            (12.25, 7.75, "half-and-half"),
        ] {
            let table = known(name).unwrap().grams_per_millilitre;
            assert!(close(dairy(fat, solids), table, 0.002), "{name}");
        }
    }

    /// The table as its sources print it.
    #[test]
    fn densities_as_published() {
        let printed = [
            ("Water", 0.998),
            ("ice", 0.916),
            ("milk", 1.030),
            ("skim milk", 1.033),
            ("half-and-half", 1.020),
            ("light cream", 1.012),
            ("heavy cream", 0.994),
            ("ethanol", 0.790),
            ("olive oil", 0.918),
            ("butter", 0.911),
            ("white sugar", 0.88),
            ("single cream", 1.0),
            ("yoghurt", 1.031),
        ];
        for (name, wanted) in printed {
            let found = known(name).unwrap();
            assert!(close(found.grams_per_millilitre, wanted, 1e-12), "{name}");
            assert!(!found.source.is_empty());
        }
        for line in TABLE {
            assert!(!line.2.is_empty() && !line.0.is_empty());
        }
    }

    /// Bogdanov, *The Book of Honey*, chapter 4: 17, 18 and 20 % of water; the formula meets its own table to 0.02.
    #[test]
    fn honey_by_its_refractive_index() {
        for (index, printed) in [(1.4940, 17.0), (1.4915, 18.0), (1.4865, 20.0)] {
            let found = honey_water(index).unwrap();
            assert!(close(found, printed, 0.03), "{index}: {found}");
        }
        assert_eq!((honey_water(1.33), honey_water(1.6)), (None, None));
        // The density of the table is that of honey between 15 and 18 % of water: 1.423 and 1.417.
        let honey = known("honey").unwrap().grams_per_millilitre;
        assert!((1.417..=1.423).contains(&honey));
    }

    #[test]
    fn only_a_whole_name_is_known() {
        assert_eq!(known("coconut milk"), None);
        assert_eq!(known("milk powder"), None);
        assert_eq!(known("wheat flour"), None);
    }

    #[test]
    fn there_and_back_is_the_same() {
        let honey = known("honey").unwrap();
        let there = other(
            &Amount::Measured {
                number: 3.0,
                unit: Unit::Pound,
            },
            &honey,
        )
        .unwrap();
        let Some(Amount::Measured { number, unit }) = other(&there, &honey) else {
            unreachable!("a volume has a mass")
        };
        assert!(close(number, 3.0 * 453.592_37, 1e-9) && unit == Unit::Gram);
        assert_eq!(other(&Amount::ToTaste, &honey), None);
    }
}
