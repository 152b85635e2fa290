//! Phrases of a card that the command line takes as well, read by the same words.
//!
//! What is wrong comes back as a sentence with what to write instead.

use super::phrases::{self, Trouble};
use super::units;
use crate::menu::Across;
use crate::time::Minutes;

fn said<T>(read: Result<T, Trouble>) -> Result<T, String> {
    read.map_err(|trouble| format!("{}; try {}", trouble.what, trouble.instead))
}

/// Returns degrees Celsius of "85 C" or "185 F".
pub fn degrees(text: &str) -> Result<f64, String> {
    said(phrases::degrees(text)).map(|tenths| f64::from(tenths) / 10.0)
}

/// Returns tenths of a millimetre of "50 mm" or "2 in".
pub fn breadth(text: &str) -> Result<u32, String> {
    said(phrases::breadth(text))
}

/// Returns how far across: "300 x 200 mm", "240 mm", "ball of 90 mm".
pub fn across(text: &str) -> Result<Across, String> {
    said(phrases::across(text))
}

/// Returns a length of time in whole minutes.
pub fn duration(text: &str) -> Result<Minutes, String> {
    said(phrases::duration(text))
}

/// Returns millilitres of "5 l" or "750 ml".
pub fn volume(text: &str) -> Result<f64, String> {
    said(units::volume(text))
}
