//! Plans as text and for other programs.
//!
//! [`text`] is what a cook pins to the wall, [`json`] what other programs read; [`amounts`] and [`order`] are what goes into
//! the dishes and what must be bought, on paper, for programs and for spreadsheets. Each form writes to whatever it
//! is handed and knows no file.
//!
//! Every form keeps one promise of the plan: what cannot be done is never written as if it could.

pub mod amounts;
pub mod json;
pub mod order;
mod page;
mod table;
pub mod text;
