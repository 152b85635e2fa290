//! Guests with needs.

use super::{Allergen, Caution};

/// A guest, or several with the same needs, by table and seat or whatever the house calls them: no names of people
/// are asked for.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Guest {
    /// What the house calls them: "table 4, seat 2".
    pub name: String,
    /// How many.
    pub count: u32,
    /// Who they are, where that bears on what they may be served.
    pub kind: GuestKind,
    /// Allergens they must not be served.
    pub avoids: Vec<Allergen>,
    /// What else they are not to be served: raw egg, alcohol.
    pub not: Vec<Caution>,
    /// The ids of dishes they are not served; they get something else.
    pub without: Vec<String>,
}

/// Who a guest is, where that bears on what they may be served.
#[derive(Clone, Copy, Debug, Default, PartialEq, Eq, PartialOrd, Ord)]
pub enum GuestKind {
    /// Anybody.
    #[default]
    Anyone,
    /// Old, pregnant, ill, or a child of school age or below: nothing raw of egg or milk.
    Vulnerable,
    /// Under one year.
    Infant,
}
