//! What units are worth, and amounts scaled to what a step makes.
//!
//! [`worth()`] gives every unit its exact worth in grams or millilitres, from the definitions in law. [`multiplied`]
//! multiplies the amounts of a card by batches and portions and says them in a unit a cook would use.
//!
//! Left out on purpose: turning a mass into a volume needs a density with a source, and is not done here.

mod scale;
mod worth;

pub use scale::{for_step, multiplied, sensible};
pub use worth::{CUBIC_INCH_ML, Worth, worth};
