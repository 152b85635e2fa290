//! The built-in demonstration: a banquet that is always served soon.

use std::io;

use super::report::Failure;
use crate::load::{self, Loaded, Shelf};

/// The menu, and what it and its kitchen are called in the program.
const MENU: &str = "menu.ron";

/// The files of the demonstration, by the paths its menu gives.
const FILES: [(&str, &str); 11] = [
    (
        MENU,
        include_str!("../../sample-menus/lantern-supper/menu.ron"),
    ),
    (
        "kitchen.ron",
        include_str!("../../sample-menus/lantern-supper/kitchen.ron"),
    ),
    (
        "larder.ron",
        include_str!("../../sample-menus/lantern-supper/larder.ron"),
    ),
    (
        "dishes/barley-ice.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/barley-ice.ron"),
    ),
    (
        "dishes/lantern-glasses.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/lantern-glasses.ron"),
    ),
    (
        "dishes/chestnut-domes.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/chestnut-domes.ron"),
    ),
    (
        "dishes/buckwheat-sponge.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/buckwheat-sponge.ron"),
    ),
    (
        "dishes/ember-pears.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/ember-pears.ron"),
    ),
    (
        "dishes/kumquats.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/kumquats.ron"),
    ),
    (
        "dishes/tea-figs.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/tea-figs.ron"),
    ),
    (
        "dishes/cardamom-ribbons.ron",
        include_str!("../../sample-menus/lantern-supper/dishes/cardamom-ribbons.ron"),
    ),
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
