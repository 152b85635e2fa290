//! The built-in demonstration: a banquet that is always served soon.

use std::io;

use super::report::Failure;
use crate::load::{self, Loaded, Shelf};

/// The file that holds the menu.
const MENU: &str = "menu.ron";

/// Names files of the demonstration's folder, each by the path its menu gives.
macro_rules! files {
    ($($name:literal),* $(,)?) => {
        [$(($name, include_str!(concat!("../../sample-menus/lantern-supper/", $name)))),*]
    };
}

/// The files of the demonstration, with their texts.
const FILES: &[(&str, &str)] = &files![
    "menu.ron",
    "kitchen.ron",
    "dishes/barley-ice.ron",
    "dishes/buckwheat-sponge.ron",
    "dishes/cardamom-ribbons.ron",
    "dishes/chestnut-domes.ron",
    "dishes/ember-pears.ron",
    "dishes/kumquats.ron",
    "dishes/lantern-glasses.ron",
    "dishes/tea-figs.ron",
];

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
