//! What can hurt someone: cautions, allergens, and temperatures held against the rules of a country.
//!
//! [`rules`] are the rules as data, dated and with their sources; [`timeline`] holds a planned menu against them, and
//! [`readings`] what the thermometer said; [`cooling`] tells before anything is cooked whether it will be cold in
//! time. [`allergens`] makes the matrix of dishes and allergens, [`guests`] holds guests with needs against it, and
//! [`labels`] writes what stands on a box. [`cautions`] are the usual ones of the trade, by what cards declare, [`treated`] says what heat makes
//! milk and egg safe, and [`looks_like`] says what a name looks like that nothing has been declared of.
//!
//! Two things hold all over. **What nobody has said is "not known", never "safe" and never "free".** And nothing here
//! decides: local food-safety law, the house's own food-safety plan and the person responsible do, and [`DEFERENCE`]
//! says so wherever any of it stands.

pub mod allergens;
pub mod cautions;
pub mod cooling;
mod flow;
pub mod guests;
pub mod labels;
pub mod looks_like;
pub mod readings;
pub mod rules;
pub mod timeline;
pub mod treated;

pub use cautions::{caution_name, caution_source, caution_text};

/// Said with every caution.
pub const DEFERENCE: &str =
    "your local food-safety law, your food-safety plan and the person responsible decide";

/// How much a finding weighs; the heaviest stands last.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Level {
    /// Good to know.
    Note,
    /// Nobody has said what would be needed to tell.
    NotKnown,
    /// Against advice, or it may not be met.
    Advice,
    /// Against the rule.
    Breaks,
}

impl Level {
    /// Returns the word for it.
    pub fn word(self) -> &'static str {
        match self {
            Self::Note => "note",
            Self::NotKnown => "not known",
            Self::Advice => "take care",
            Self::Breaks => "against the rule",
        }
    }
}
