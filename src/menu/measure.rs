//! Amounts and the units they are written in, by name; what a unit is worth stands in [`crate::quantity`].

/// An amount as a cook writes it.
#[derive(Clone, Debug, Default, PartialEq)]
pub enum Amount {
    /// A number of a unit: "1.2 kg".
    Measured {
        /// How many; finite and not negative.
        number: f64,
        /// Of what.
        unit: Unit,
    },
    /// "to taste".
    #[default]
    ToTaste,
}

/// What a unit measures. Amounts of different dimensions cannot be added.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub enum Dimension {
    /// Weighed.
    Mass,
    /// Measured by volume.
    Volume,
    /// Counted.
    Count,
}

/// A unit by its full name. The same short name means different volumes in different trades and countries
/// ("pint", "cup", "tbsp"), so each is a unit of its own here, and a menu must say which it means.
#[derive(Clone, Debug, PartialEq, Eq, Hash)]
#[allow(missing_docs, reason = "a variant is the full name of its unit")]
pub enum Unit {
    Milligram,
    Gram,
    Kilogram,
    Ounce,
    Pound,
    TroyOunce,
    TroyPound,
    Drachm,
    /// The avoirdupois dram, 1/256 of a pound; not the apothecary's drachm.
    Dram,
    Grain,
    LabelOunce,
    Millilitre,
    Centilitre,
    Decilitre,
    Litre,
    MetricTeaspoon,
    MetricTablespoon,
    AustralianTablespoon,
    MetricCup,
    LabelTeaspoon,
    LabelTablespoon,
    LabelFluidOunce,
    LabelCup,
    UsTeaspoon,
    UsTablespoon,
    UsFluidDram,
    UsFluidOunce,
    UsGill,
    UsCup,
    UsPint,
    UsQuart,
    UsGallon,
    UsDryPint,
    UsDryQuart,
    UsDryGallon,
    UkTablespoon,
    ImperialFluidDrachm,
    ImperialFluidOunce,
    ImperialGill,
    ImperialPint,
    ImperialQuart,
    ImperialGallon,
    WinePint,
    WineQuart,
    WineGallon,
    AlePint,
    AleQuart,
    AleGallon,
    /// The Winchester gallon, for corn.
    CornGallon,
    /// Things counted, by the word the menu uses: "leaf", "bunch", or nothing at all.
    Count(String),
}

impl Unit {
    /// Returns what it measures.
    pub fn dimension(&self) -> Dimension {
        match self {
            Self::Milligram
            | Self::Gram
            | Self::Kilogram
            | Self::Ounce
            | Self::Pound
            | Self::TroyOunce
            | Self::TroyPound
            | Self::Drachm
            | Self::Dram
            | Self::Grain
            | Self::LabelOunce => Dimension::Mass,
            Self::Count(_) => Dimension::Count,
            _ => Dimension::Volume,
        }
    }
}
