//! The built-in demonstration: a banquet that is always served soon.

use std::io;

use super::report::Failure;
use crate::load::{self, Loaded, Shelf};

/// The menu, and what it and its kitchen are called in the program.
const MENU: &str = "menu.ron";

/// The files of the demonstration, by the paths its menu gives.
const FILES: [(&str, &str); 1] = [(
    MENU,
    include_str!("../../sample-menus/lantern-supper/menu.ron"),
)];

struct BuiltIn;

impl Shelf for BuiltIn {
    fn read(&self, path: &str) -> io::Result<String> {
        FILES
            .iter()
            .find(|(name, _)| *name == path)
            .map(|(_, text)| (*text).to_owned())
            .ok_or_else(|| io::ErrorKind::NotFound.into())
    }
}

/// Loads the demonstration's menu.
pub(super) fn load() -> Result<Loaded, Failure> {
    let text = BuiltIn.read(MENU)?;
    load::menu_text("(the demonstration)", &text, &BuiltIn)
        .map_err(|faults| Failure::Faults(faults.to_string()))
}
