//! What a step does to the temperature of food, and in what food is cooled.
//!
//! Temperatures are tenths of a degree Celsius, as those of ovens are. Nothing here says what is safe: that is
//! [`crate::safety`]'s, by the rules a menu names.

use super::KitId;

/// What a step does to the temperature of the food in it.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Temperature {
    /// It is at this temperature all the while: a cold shelf, a bench, a hot cupboard, a freezer.
    Held {
        /// At.
        at: i32,
    },
    /// It is heated through and ends at this temperature.
    Cooked {
        /// To.
        to: i32,
        /// How long it is kept there, in seconds, where it matters.
        lasting: Option<u32>,
    },
    /// It is brought down.
    Cooled {
        /// From.
        from: i32,
        /// To.
        to: i32,
    },
    /// It was cold and is made hot again.
    Reheated {
        /// To.
        to: i32,
        /// How long it is kept there, in seconds, where it matters.
        lasting: Option<u32>,
    },
}

/// In what and how food is cooled, for the forecast.
#[derive(Clone, Debug, Default, PartialEq, Eq)]
pub struct Cooling {
    /// The kit it is cooled in: one that says how cold it is.
    pub kit: Option<KitId>,
    /// How deep it stands, in tenths of a millimetre.
    pub depth: Option<u32>,
    /// How far across it is.
    pub across: Option<Across>,
    /// Whether something lies on it; `None` when nobody has said.
    pub covered: Option<bool>,
    /// Whether it is stirred all the time.
    pub stirred: bool,
    /// What it is, for how it conducts.
    pub food: Option<Conducts>,
}

/// How far across food stands, in tenths of a millimetre.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum Across {
    /// Two sides of a pan.
    Sides(u32, u32),
    /// Round, with upright walls.
    Round(u32),
    /// A ball, or a mould that is nearly one; its depth says nothing.
    Ball(u32),
}

/// What food is like to heat that goes through it.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "each variant is its own name")]
pub enum Conducts {
    Water,
    Stock,
    Milk,
    Fruit,
    Jelly,
    Puree,
    Custard,
    Cream,
    Syrup,
    Paste,
}

/// What makes kit cold.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub struct Cold {
    /// At which temperature it stands.
    pub at: i32,
    /// How it takes heat away.
    pub by: ColdBy,
}

/// How a cold place takes heat away.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum ColdBy {
    /// Air that nothing moves.
    Still,
    /// A fan.
    Fan,
    /// A blast chiller.
    Blast,
    /// Water with ice in it.
    IceBath,
}

/// Whether food needs temperature control to stay safe.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Control {
    /// It does.
    Needed,
    /// It does not: sugar, dry biscuits, chocolate, and what the person responsible has judged so.
    NotNeeded,
}

/// The rules of a country that temperatures are held against.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
#[allow(missing_docs, reason = "each variant is its own name")]
pub enum Rules {
    UsModelCode,
    England,
    Wales,
    Scotland,
    NorthernIreland,
    AustraliaNewZealand,
}
