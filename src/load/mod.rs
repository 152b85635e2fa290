//! Menu files: text → menu, every fault with its place; menu → text.
//!
//! A menu is a RON file. Its kitchen and its dishes stand in it, or in files of their own that it names with
//! `File("…")`, so that a dish is written once and used on many menus. `sample-menus/every-field/` shows every
//! field and every phrase.
//!
//! Reading goes in three steps, and each reports what it finds and goes on:
//! `syntax` turns text into a tree with the place of everything in it (and argues why it is not the `ron`
//! crate that does so), the cards turn the tree into [`crate::menu`] values by way of `decode` (fields) and
//! `phrases` (the cook's words), and [`crate::menu::check()`] holds the rules across the whole menu. A menu comes
//! back only when none of them found a fault.
//!
//! [`write_menu`] is the way back: everything in one file, and reading it gives an equal menu. [`step_time`] changes one
//! time in the file it was written in, and leaves all else there as it is.
//!
//! Left out on purpose: a dish or a kitchen cannot name further files, so references cannot go in a circle.

mod decode;
mod dish_card;
mod edit;
mod fault;
mod fields;
mod kitchen_card;
mod larder_card;
mod menu_card;
mod phrases;
mod places;
mod shelf;
pub mod spoken;
mod syntax;
mod units;
mod written;

use std::path::Path;

use crate::menu::{
    Dish, Finding, Kitchen, Larder, Menu, check, check_dish, check_kitchen, check_larder,
};
use fault::{Collected, Source};
use syntax::{Node, Span, Value};

pub use edit::{Edit, EditError, step_time};
pub use fault::{Fault, Faults, Place};
pub use places::Places;
pub use shelf::{Folder, Shelf};
pub use written::write_menu;

/// A menu without faults, and where everything in it was written.
#[derive(Clone, Debug, PartialEq)]
pub struct Loaded {
    /// The menu.
    pub menu: Menu,
    /// Where everything in it was written.
    pub places: Places,
    /// What is unwise, though it can be done.
    pub warnings: Vec<Fault>,
}

/// What a file held.
#[derive(Clone, Debug, PartialEq)]
#[allow(
    clippy::large_enum_variant,
    reason = "one value exists at a time, and it is taken apart at once"
)]
pub enum Checked {
    /// A menu.
    Menu(Loaded),
    /// A kitchen.
    Kitchen(Kitchen),
    /// A larder.
    Larder(Larder),
    /// A dish card.
    Dish(Dish),
}

/// What goes along through the reading of a menu and the files it refers to.
struct Reading<'a> {
    shelf: &'a dyn Shelf,
    faults: &'a Collected,
    places: Places,
    /// Something with a name could not be read, so that a name which nothing has proves nothing.
    names_missing: bool,
    /// What only the file shows to be unwise: a menu no longer tells what was written from what goes without saying.
    remarks: Vec<Finding>,
}

impl<'a> Reading<'a> {
    fn new(shelf: &'a dyn Shelf, faults: &'a Collected) -> Self {
        Self {
            shelf,
            faults,
            places: Places::default(),
            names_missing: false,
            remarks: Vec::new(),
        }
    }

    /// Reads something that others refer to by name, and remembers when that fails.
    fn named<T>(
        &mut self,
        read: impl FnOnce(&mut Self, &Source<'_>, &Node) -> Option<T>,
        source: &Source<'_>,
        node: &Node,
    ) -> Option<T> {
        let found = read(self, source, node);
        self.names_missing |= found.is_none();
        found
    }
}

/// Loads a menu from a file; files it refers to are found from the file's folder.
pub fn menu_file(path: &Path) -> Result<Loaded, Faults> {
    let (name, text) = whole_file(path)?;
    menu_text(&name, &text, &Folder::of(path))
}

/// Loads a menu from a text called `name`; files it refers to come from `shelf`.
pub fn menu_text(name: &str, text: &str, shelf: &dyn Shelf) -> Result<Loaded, Faults> {
    match read_top(name, text, shelf, Some("Menu"))? {
        Checked::Menu(loaded) => Ok(loaded),
        Checked::Kitchen(_) | Checked::Larder(_) | Checked::Dish(_) => Err(Faults::whole_file(
            name,
            "this is not a menu",
            Some("a menu begins with `Menu(`"),
        )),
    }
}

/// Loads a kitchen from a file.
pub fn kitchen_file(path: &Path) -> Result<Kitchen, Faults> {
    let (name, text) = whole_file(path)?;
    match read_top(&name, &text, &Folder::of(path), Some("Kitchen"))? {
        Checked::Kitchen(kitchen) => Ok(kitchen),
        Checked::Menu(_) | Checked::Larder(_) | Checked::Dish(_) => Err(Faults::whole_file(
            &name,
            "this is not a kitchen",
            Some("a kitchen begins with `Kitchen(`"),
        )),
    }
}

/// Returns the text of a file that a cook names, whatever stands in it.
pub fn text_of(path: &Path) -> Result<String, Faults> {
    whole_file(path).map(|(_, text)| text)
}

/// Loads a dish card from a file.
pub fn dish_file(path: &Path) -> Result<Dish, Faults> {
    let (name, text) = whole_file(path)?;
    dish_text(&name, &text)
}

/// Loads a dish card from a text called `name`; a card refers to no other file.
pub fn dish_text(name: &str, text: &str) -> Result<Dish, Faults> {
    match read_top(name, text, &Folder::of(Path::new(name)), Some("Dish"))? {
        Checked::Dish(dish) => Ok(dish),
        Checked::Menu(_) | Checked::Kitchen(_) | Checked::Larder(_) => Err(Faults::whole_file(
            name,
            "this is not a dish card",
            Some("a dish card begins with `Dish(`"),
        )),
    }
}

/// Loads whatever a file holds: a menu, a kitchen, a larder or a dish card.
pub fn check_file(path: &Path) -> Result<Checked, Faults> {
    let (name, text) = whole_file(path)?;
    check_text(&name, &text, &Folder::of(path))
}

/// Loads whatever a text called `name` holds; files it refers to come from `shelf`.
pub fn check_text(name: &str, text: &str, shelf: &dyn Shelf) -> Result<Checked, Faults> {
    read_top(name, text, shelf, None)
}

/// Returns every field a file can have, as (bracket, field): `("Step", "time")`.
pub fn known_fields() -> impl Iterator<Item = (&'static str, &'static str)> {
    let brackets = fields::FIELDS.iter();
    brackets.flat_map(|(bracket, fields)| fields.iter().map(|(field, _)| (*bracket, *field)))
}

fn whole_file(path: &Path) -> Result<(String, String), Faults> {
    let name = path.display().to_string();
    match shelf::read(path) {
        Ok(text) => Ok((name, text)),
        Err(error) => Err(Faults::whole_file(
            &name,
            shelf::said(&error),
            shelf::advice(&error),
        )),
    }
}

/// Reads a file's one value; `wanted` is what the caller asked for, where it asked for something.
fn read_top(
    name: &str,
    text: &str,
    shelf: &dyn Shelf,
    wanted: Option<&'static str>,
) -> Result<Checked, Faults> {
    let text = text.strip_prefix('\u{feff}').unwrap_or(text);
    if let Err(error) = shelf::fits(text.len() as u64) {
        return Err(Faults::whole_file(
            name,
            shelf::said(&error),
            shelf::advice(&error),
        ));
    }
    let faults = Collected::default();
    let source = Source::new(name, text, &faults);
    let node = syntax::read(&source);
    let mut reading = Reading::new(shelf, &faults);
    reading.names_missing = !faults.is_empty();
    let elsewhere = source.place(0);
    let found = match &node.value {
        Value::Struct(Some(found), _) | Value::Tuple(Some(found), _) | Value::Name(found) => {
            Some(found.as_str())
        }
        _ => None,
    };
    let kinds = ["Menu", "Kitchen", "Larder", "Dish"];
    let kind = kinds.into_iter().find(|&kind| found == Some(kind));
    let (checked, findings) = match (wanted.or(kind), node.value == Value::Broken) {
        (_, true) => (None, Vec::new()),
        (Some("Menu"), _) => match menu_card::menu(&mut reading, &source, &node) {
            Some(menu_card::Read {
                menu: Some(menu), ..
            }) => {
                let findings = check(&menu);
                (
                    Some(Checked::Menu(Loaded {
                        menu,
                        places: Places::default(),
                        warnings: Vec::new(),
                    })),
                    findings,
                )
            }
            Some(read) => {
                let kitchen = read.kitchen.iter().flat_map(check_kitchen);
                let dishes = read.dishes.iter().flat_map(check_dish);
                let larder = check_larder(&read.larder).into_iter();
                (None, kitchen.chain(larder).chain(dishes).collect())
            }
            None => (None, Vec::new()),
        },
        (Some("Kitchen"), _) => {
            let kitchen = kitchen_card::kitchen(&mut reading, &source, &node);
            let findings = kitchen.as_ref().map(check_kitchen).unwrap_or_default();
            (kitchen.map(Checked::Kitchen), findings)
        }
        (Some("Larder"), _) => {
            let larder = larder_card::larder(&mut reading, &source, &node);
            let findings = larder.as_ref().map(check_larder).unwrap_or_default();
            (larder.map(Checked::Larder), findings)
        }
        (Some(_), _) => {
            let dish = dish_card::dish(&mut reading, &source, &node);
            let findings = dish.as_ref().map(check_dish).unwrap_or_default();
            (dish.map(Checked::Dish), findings)
        }
        (None, _) => {
            source.fault_try(
                node.span,
                format!(
                    "{} is neither a menu nor a kitchen, a larder or a dish card",
                    node.value.said()
                ),
                "begin the file with `Menu(`, `Kitchen(`, `Larder(` or `Dish(`",
            );
            (None, Vec::new())
        }
    };
    let Reading {
        places,
        names_missing,
        remarks,
        ..
    } = reading;
    let findings = findings.into_iter().chain(remarks).collect();
    let (wrong, warnings) = places.sort(findings, &faults, names_missing, &elsewhere);
    faults.add(wrong);
    drop(source);
    match checked {
        Some(checked) if faults.is_empty() => Ok(match checked {
            Checked::Menu(loaded) => Checked::Menu(Loaded {
                places,
                warnings,
                ..loaded
            }),
            other => other,
        }),
        _ => Err(faults.into_faults()),
    }
}

/// Reads a file that a menu refers to, with its faults under its own name.
fn read_referred<T>(
    reading: &mut Reading<'_>,
    source: &Source<'_>,
    span: Span,
    path: &str,
    read: fn(&mut Reading<'_>, &Source<'_>, &Node) -> Option<T>,
) -> Option<T> {
    let text = reading
        .shelf
        .read(path)
        .and_then(|text| shelf::fits(text.len() as u64).map(|()| text));
    let text = match text {
        Ok(text) => text,
        Err(error) => {
            source.fault(
                span,
                format!("{}: {}", syntax::shortened(path), shelf::said(&error)),
                shelf::advice(&error).map(str::to_owned),
            );
            return None;
        }
    };
    let text = text.strip_prefix('\u{feff}').unwrap_or(&text);
    let folder = Path::new(source.name()).parent();
    let name = folder.map_or_else(|| path.into(), |folder| folder.join(path));
    let name = name.display().to_string();
    let source = Source::new(&name, text, reading.faults);
    let node = syntax::read(&source);
    reading.names_missing |= source.fault_count() > 0;
    if node.value == Value::Broken {
        return None;
    }
    read(reading, &source, &node)
}
