//! Rules that need the whole menu in view.

use super::{Dish, Kitchen, Menu};

/// What a finding is about, by name.
#[derive(Clone, Debug, PartialEq, Eq, PartialOrd, Ord, Hash)]
pub enum Subject {
    /// The menu.
    Menu,
    /// A course, by id.
    Course(String),
    /// The kitchen.
    Kitchen,
    /// A cook, by name.
    Cook(String),
    /// A station, by id.
    Station(String),
    /// Kit, by id.
    Kit(String),
    /// What the menu says of a dish (its course, its covers), by the dish's id.
    Serve(String),
    /// A dish, by id.
    Dish(String),
    /// A step: its dish's id and its own.
    Step(String, String),
}

/// What kind of rule a finding breaks.
#[derive(Clone, Copy, Debug, PartialEq, Eq)]
pub enum About {
    /// A name that nothing has, or that two things have.
    Name,
    /// Something that cannot be.
    Limit,
    /// Something that can be, but is unwise: a warning.
    Unwise,
}

/// Something that is wrong with a menu as a whole.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// What it is about.
    pub subject: Subject,
    /// Which of several of that name, from 0.
    pub which: usize,
    /// The field it is about, where it is about one.
    pub field: Option<&'static str>,
    /// What kind of rule is broken.
    pub about: About,
    /// What is wrong.
    pub what: String,
    /// What to write instead.
    pub instead: Option<String>,
}

/// Returns everything that is wrong with a menu.
pub fn check(menu: &Menu) -> Vec<Finding> {
    let mut findings = check_kitchen(&menu.kitchen);
    for dish in &menu.dishes {
        findings.extend(check_dish(dish));
    }
    findings
}

/// Returns everything that is wrong with a kitchen by itself.
pub fn check_kitchen(_kitchen: &Kitchen) -> Vec<Finding> {
    Vec::new()
}

/// Returns everything that is wrong with a dish by itself.
pub fn check_dish(_dish: &Dish) -> Vec<Finding> {
    Vec::new()
}
