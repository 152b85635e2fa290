//! What each unit is worth, exactly.
//!
//! Everything follows from four definitions: the inch is 25.4 mm, the pound is 453.59237 g, the imperial gallon
//! is 4.54609 L (Weights and Measures Act 1985, Schedule 1), and the old gallons are 231 in³ for wine (Queen
//! Anne's, still the United States gallon), 282 in³ for ale and beer and 268.8 in³ for corn (the Winchester
//! gallon); the United States dry gallon is an eighth of the bushel of 2150.42 in³ (definitions as in NIST Handbook
//! 44, Appendix C). No factor with fewer digits is ever used, so converting there and back loses nothing.
//! Spoons and cups: metric 5, 15 and 250 mL, the same in New Zealand and Canada; the Australian tablespoon is 20 mL
//! (Standards Association of Australia, by way of NSW Health); the traditional UK tablespoon is ⅝ imperial fluid
//! ounce. On food labels in the United States a teaspoon, tablespoon, cup and fluid ounce are 5, 15, 240 and 30 mL
//! and an ounce is 28 g (21 CFR 101.9(b)(5)(viii)).
//!
//! Left out on purpose: the imperial gallon by its definitions before 1963 differs in the seventh figure, which no
//! receipt has; and the Scots pint of 103 in³, which is three pints of wine and no pint at all to a cook elsewhere.

use crate::menu::{Dimension, Unit};

/// The cubic inch in millilitres: 2.54³, exactly.
pub const CUBIC_INCH_ML: f64 = 16.387_064;

const POUND_G: f64 = 453.592_37;
const GRAIN_G: f64 = 0.064_798_91;
const WINE_GALLON_ML: f64 = 3_785.411_784;
const ALE_GALLON_ML: f64 = 4_621.152_048;
const IMPERIAL_GALLON_ML: f64 = 4_546.09;
/// 2150.42 in³ / 8.
const US_DRY_GALLON_ML: f64 = 4_404.883_770_86;
/// 268.8 in³.
const CORN_GALLON_ML: f64 = 4_404.842_803_2;

/// What one of a unit is worth.
#[derive(Clone, Copy, Debug, PartialEq)]
pub enum Worth {
    /// So many grams.
    Grams(f64),
    /// So many millilitres.
    Millilitres(f64),
    /// It is counted, and worth itself.
    Counted,
}

impl Worth {
    /// Returns what it measures.
    pub fn dimension(self) -> Dimension {
        match self {
            Self::Grams(_) => Dimension::Mass,
            Self::Millilitres(_) => Dimension::Volume,
            Self::Counted => Dimension::Count,
        }
    }
}

/// Returns what one of a unit is worth.
pub fn worth(unit: &Unit) -> Worth {
    use Worth::{Counted, Grams, Millilitres};
    match unit {
        Unit::Milligram => Grams(0.001),
        Unit::Gram => Grams(1.0),
        Unit::Kilogram => Grams(1000.0),
        Unit::Ounce => Grams(POUND_G / 16.0),
        Unit::Pound => Grams(POUND_G),
        Unit::TroyOunce => Grams(480.0 * GRAIN_G),
        Unit::TroyPound => Grams(5760.0 * GRAIN_G),
        Unit::Drachm => Grams(60.0 * GRAIN_G),
        Unit::Dram => Grams(POUND_G / 256.0),
        Unit::Grain => Grams(GRAIN_G),
        Unit::LabelOunce => Grams(28.0),
        Unit::Millilitre => Millilitres(1.0),
        Unit::Centilitre => Millilitres(10.0),
        Unit::Decilitre => Millilitres(100.0),
        Unit::Litre => Millilitres(1000.0),
        Unit::MetricTeaspoon | Unit::LabelTeaspoon => Millilitres(5.0),
        Unit::MetricTablespoon | Unit::LabelTablespoon => Millilitres(15.0),
        Unit::LabelFluidOunce => Millilitres(30.0),
        Unit::LabelCup => Millilitres(240.0),
        Unit::AustralianTablespoon => Millilitres(20.0),
        Unit::MetricCup => Millilitres(250.0),
        Unit::UsTeaspoon => Millilitres(WINE_GALLON_ML / 768.0),
        Unit::UsTablespoon => Millilitres(WINE_GALLON_ML / 256.0),
        Unit::UsFluidDram => Millilitres(WINE_GALLON_ML / 1024.0),
        Unit::UsFluidOunce => Millilitres(WINE_GALLON_ML / 128.0),
        Unit::UsGill => Millilitres(WINE_GALLON_ML / 32.0),
        Unit::UsCup => Millilitres(WINE_GALLON_ML / 16.0),
        Unit::UsPint | Unit::WinePint => Millilitres(WINE_GALLON_ML / 8.0),
        Unit::UsQuart | Unit::WineQuart => Millilitres(WINE_GALLON_ML / 4.0),
        Unit::UsGallon | Unit::WineGallon => Millilitres(WINE_GALLON_ML),
        Unit::UsDryPint => Millilitres(US_DRY_GALLON_ML / 8.0),
        Unit::UsDryQuart => Millilitres(US_DRY_GALLON_ML / 4.0),
        Unit::UsDryGallon => Millilitres(US_DRY_GALLON_ML),
        Unit::UkTablespoon => Millilitres(IMPERIAL_GALLON_ML / 160.0 * 5.0 / 8.0),
        Unit::ImperialFluidDrachm => Millilitres(IMPERIAL_GALLON_ML / 1280.0),
        Unit::ImperialFluidOunce => Millilitres(IMPERIAL_GALLON_ML / 160.0),
        Unit::ImperialGill => Millilitres(IMPERIAL_GALLON_ML / 32.0),
        Unit::ImperialPint => Millilitres(IMPERIAL_GALLON_ML / 8.0),
        Unit::ImperialQuart => Millilitres(IMPERIAL_GALLON_ML / 4.0),
        Unit::ImperialGallon => Millilitres(IMPERIAL_GALLON_ML),
        Unit::AlePint => Millilitres(ALE_GALLON_ML / 8.0),
        Unit::AleQuart => Millilitres(ALE_GALLON_ML / 4.0),
        Unit::AleGallon => Millilitres(ALE_GALLON_ML),
        Unit::CornGallon => Millilitres(CORN_GALLON_ML),
        Unit::Count(_) => Counted,
    }
}

#[cfg(test)]
mod tests {
    use super::*;

    /// Every digit of the exact worths, computed by hand from the definitions above; they agree with the
    /// rounded tables of NIST Handbook 44, Appendix C.
    #[test]
    fn units_are_worth_what_the_law_says() {
        let volumes = [
            (Unit::UsGallon, 3_785.411_784),
            (Unit::WineGallon, 3_785.411_784),
            (Unit::UsQuart, 946.352_946),
            (Unit::UsPint, 473.176_473),
            (Unit::WinePint, 473.176_473),
            (Unit::UsCup, 236.588_236_5),
            (Unit::UsGill, 118.294_118_25),
            (Unit::UsFluidOunce, 29.573_529_562_5),
            (Unit::UsTablespoon, 14.786_764_781_25),
            (Unit::UsTeaspoon, 4.928_921_593_75),
            (Unit::UsFluidDram, 3.696_691_195_312_5),
            (Unit::WineQuart, 946.352_946),
            (Unit::CornGallon, 4_404.842_803_2),
            (Unit::UsDryGallon, 4_404.883_770_86),
            (Unit::UsDryQuart, 1_101.220_942_715),
            (Unit::UsDryPint, 550.610_471_357_5),
            // 21 CFR 101.9(b)(5)(viii).
            (Unit::LabelTeaspoon, 5.0),
            (Unit::LabelTablespoon, 15.0),
            (Unit::LabelCup, 240.0),
            (Unit::LabelFluidOunce, 30.0),
            (Unit::ImperialGallon, 4_546.09),
            (Unit::ImperialQuart, 1_136.522_5),
            (Unit::ImperialPint, 568.261_25),
            (Unit::ImperialGill, 142.065_312_5),
            (Unit::ImperialFluidOunce, 28.413_062_5),
            (Unit::ImperialFluidDrachm, 3.551_632_812_5),
            (Unit::AleGallon, 4_621.152_048),
            (Unit::AleQuart, 1_155.288_012),
            (Unit::AlePint, 577.644_006),
            (Unit::UkTablespoon, 17.758_164_062_5),
            (Unit::AustralianTablespoon, 20.0),
            (Unit::MetricTablespoon, 15.0),
            (Unit::MetricTeaspoon, 5.0),
            (Unit::MetricCup, 250.0),
        ];
        for (unit, millilitres) in volumes {
            let Worth::Millilitres(found) = worth(&unit) else {
                unreachable!("{unit:?} is a volume")
            };
            assert!(
                (found - millilitres).abs() <= f64::EPSILON * millilitres,
                "{unit:?}: {found}"
            );
        }
        let masses = [
            (Unit::Pound, 453.592_37),
            (Unit::Ounce, 28.349_523_125),
            (Unit::Dram, 1.771_845_195_312_5),
            (Unit::LabelOunce, 28.0),
            (Unit::Grain, 0.064_798_91),
            (Unit::TroyOunce, 31.103_476_8),
            (Unit::TroyPound, 373.241_721_6),
            (Unit::Drachm, 3.887_934_6),
        ];
        for (unit, grams) in masses {
            let Worth::Grams(found) = worth(&unit) else {
                unreachable!("{unit:?} is a mass")
            };
            assert!(
                (found - grams).abs() <= f64::EPSILON * grams,
                "{unit:?}: {found}"
            );
        }
    }

    #[test]
    fn what_is_worth_grams_is_weighed() {
        let of = |unit: Unit| (worth(&unit).dimension(), unit.dimension());
        let units = [
            Unit::Milligram,
            Unit::Kilogram,
            Unit::Ounce,
            Unit::Pound,
            Unit::TroyOunce,
            Unit::TroyPound,
            Unit::Drachm,
            Unit::Dram,
            Unit::Grain,
            Unit::LabelOunce,
            Unit::Litre,
            Unit::UsCup,
            Unit::ImperialFluidDrachm,
            Unit::CornGallon,
            Unit::Count("leaf".into()),
        ];
        for unit in units {
            let (one, other) = of(unit.clone());
            assert_eq!(one, other, "{unit:?}");
        }
    }

    #[test]
    fn the_old_gallons_are_so_many_cubic_inches() {
        let close = |one: f64, other: f64| (one - other).abs() < 1e-9;
        assert!(close(WINE_GALLON_ML, 231.0 * CUBIC_INCH_ML));
        assert!(close(ALE_GALLON_ML, 282.0 * CUBIC_INCH_ML));
        assert!(close(CORN_GALLON_ML, 268.8 * CUBIC_INCH_ML));
        assert!(close(US_DRY_GALLON_ML, 2_150.42 / 8.0 * CUBIC_INCH_ML));
        // A page in circulation prints 251 in³ for the wine gallon; every statute has 231.
        assert!(!close(WINE_GALLON_ML, 251.0 * CUBIC_INCH_ML));
        // Imperial over US gallon, as derived from the definitions.
        assert!(close(
            IMPERIAL_GALLON_ML / WINE_GALLON_ML,
            1.200_949_925_504_855
        ));
    }
}
