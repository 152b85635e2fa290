//! How much of everything: what measures are worth, amounts of a dish, and what must be bought for a menu.
//!
//! [`worth()`] gives every unit its exact worth in grams or millilitres, from the definitions in law. [`amounts`] says
//! what a dish takes, batch by batch and vessel by vessel; [`order`] adds everything up and says what to buy, and by
//! when. Between them stand what turns one amount into another, each with its source: [`density`], [`gelling`],
//! [`sugar`], [`temperature`]; and [`rounding`], which never rounds past two parts in a hundred without saying so.
//!
//! Left out on purpose: nothing here converts where it has no figure with a source. A mass does not become a volume
//! because most things weigh about as much as water.

pub mod amounts;
pub mod bought;
pub mod density;
pub mod gelling;
pub mod order;
pub mod pieces;
pub mod rounding;
mod scale;
pub mod spirit;
pub mod sugar;
pub mod temperature;
mod worth;

pub use bought::{Bought, Kind, bought_as};
pub use scale::{for_doing, multiplied, of_dish, sensible};
pub use worth::{CUBIC_INCH_ML, Worth, worth};

/// A line of a table of published figures: the names of a thing, its figure, who says so.
type Line = (&'static [&'static str], f64, &'static str);

/// Returns what a table knows of a thing by its whole name, capitals aside, and who says so.
fn by_name(table: &[Line], name: &str) -> Option<(f64, &'static str)> {
    let name = name.trim().to_lowercase();
    let mut lines = table.iter();
    let (_, figure, source) = lines.find(|(names, ..)| names.contains(&name.as_str()))?;
    Some((*figure, source))
}

/// Returns the point of a table at `at`, straight between its neighbours; beyond its ends along the last two points there.
fn between(table: &[(f64, f64)], at: f64) -> f64 {
    let upper = table.iter().position(|&(x, _)| x >= at);
    let upper = upper.unwrap_or(table.len() - 1).max(1);
    let ((x, y), (to_x, to_y)) = (table[upper - 1], table[upper]);
    y + (at - x) * (to_y - y) / (to_x - x)
}
