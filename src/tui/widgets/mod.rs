//! Drawing only: nothing here knows what a menu, a plan or an app is.

pub mod bars;
pub mod digits;
pub mod text;
