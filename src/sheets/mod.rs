//! Plans as text and for other programs.
//!
//! [`text`] is what a cook pins to the wall, [`json`] what other programs read; [`shift`] is what has to
//! be known at this minute, and by the next shift; [`amounts`] and [`order`] are what goes into the dishes and what must be
//! bought; [`temperatures`] and [`allergens`] say what can hurt someone. Each form writes to whatever it
//! is handed and knows no file.
//!
//! Every form keeps one promise of the plan: what cannot be done is never written as if it could.

pub mod allergens;
pub mod amounts;
pub mod json;
pub mod order;
mod page;
pub mod shift;
mod table;
pub mod temperatures;
pub mod text;
