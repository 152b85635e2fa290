//! Every dish of a plan held against the rules of a country, before anything is cooked.
//!
//! The food of a dish is followed from doing to doing along what follows what. Each says what it does to the
//! temperature, and kit that is kept says where the food stands in between; so the time between the cold and the
//! hot limit adds up, periods are counted, cooling is forecast ([`super::cooling`]), and the days are counted as the
//! rule counts them. Where two ways meet, the worse of each counts.
//!
//! **What nobody has said is not known**: a doing without a temperature or one that was left out, a gap without kit, cooling without a depth,
//! a dish of which nobody has said whether it needs temperature control. A dish is [`Verdict::Within`] only where
//! all of that is said and nothing is against the rule; leaving a field out can never make it so, which a property
//! over menus holds.
//!
//! Left out on purpose: what other food does in the same fridge, and anything that has happened; readings are
//! [`super::readings`]'s.

mod cooled;
mod holding;
mod served;
mod walk;

use super::Level;
use super::rules::{RuleSet, Weight};
use crate::menu::{Control, Dish, Menu};
use crate::time::{Minute, ServiceTime, Window};
use walk::Walk;

/// One doing of one step, with its times on the plan.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Doing {
    /// The dish's place in the menu.
    pub dish: usize,
    /// The step's place in the dish.
    pub step: usize,
    /// As the sheet names it.
    pub name: String,
    /// When.
    pub window: Window,
    /// The places of the doings it follows in the same list.
    pub follows: Vec<usize>,
    /// Whether it is not done after all. What it would have done to the food has then not been done.
    pub left_out: bool,
}

/// Something to know of a dish or of kit.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct Finding {
    /// How much it weighs.
    pub level: Level,
    /// The doing it is about, by its place in the list.
    pub doing: Option<usize>,
    /// What it is, as a sentence without a full stop.
    pub what: String,
    /// What would do, where that can be reckoned.
    pub remedy: Option<String>,
    /// Where the rule stands; empty where it is about something left unsaid.
    pub source: &'static str,
}

/// What all the findings of a dish come to.
#[derive(Clone, Copy, Debug, PartialEq, Eq, PartialOrd, Ord)]
pub enum Verdict {
    /// Everything is said, and all of it keeps the rule as planned.
    Within,
    /// Not enough is said to tell.
    NotKnown,
    /// Against advice, or it may not be met.
    Doubtful,
    /// Against the rule as planned.
    Breaks,
}

impl Verdict {
    /// Returns it in a word or two.
    pub fn word(self) -> &'static str {
        match self {
            Self::Within => "within the rule as planned",
            Self::NotKnown => "not known",
            Self::Doubtful => "take care",
            Self::Breaks => "against the rule",
        }
    }
}

/// One dish, checked.
#[derive(Clone, Debug, PartialEq, Eq)]
pub struct DishChecked {
    /// Its place in the menu.
    pub dish: usize,
    /// What it comes to.
    pub verdict: Verdict,
    /// Everything to know, the heaviest first.
    pub findings: Vec<Finding>,
}

impl DishChecked {
    /// Returns what it comes to in a few words, for the card of the dish.
    pub fn word(&self, dish: &Dish) -> &'static str {
        let needed = dish
            .steps
            .iter()
            .any(|step| step.control == Some(Control::Needed));
        if self.verdict == Verdict::Within && dish.control == Some(Control::NotNeeded) && !needed {
            "needs no temperature control, as its card says"
        } else {
            self.verdict.word()
        }
    }
}

/// A whole menu, checked by one set of rules.
#[derive(Clone, Debug, PartialEq)]
pub struct Checked {
    /// The set.
    pub set: &'static RuleSet,
    /// What is to know of the kit.
    pub kit: Vec<Finding>,
    /// The dishes, in the order of the menu.
    pub dishes: Vec<DishChecked>,
}

/// Returns degrees of a number of tenths.
pub(super) fn degrees(tenths: i32) -> f64 {
    f64::from(tenths) / 10.0
}

/// Returns degrees as a sheet says them.
pub(super) fn said(degrees: f64) -> String {
    format!("{} °C", (degrees * 10.0).round() / 10.0)
}

/// Holds a plan against a set of rules. A dish without doings in the list (none of its steps has a time) is not
/// known.
pub fn check(
    menu: &Menu,
    set: &'static RuleSet,
    service: ServiceTime,
    doings: &[Doing],
) -> Checked {
    let mut walk = Walk::along(menu, set, service, doings);
    for dish in 0..menu.dishes.len() {
        walk.served(dish);
    }
    let dishes = walk
        .findings
        .into_iter()
        .enumerate()
        .map(|(dish, mut findings)| {
            findings.sort_by_key(|finding| std::cmp::Reverse(finding.level));
            let verdict = match findings.first().map(|finding| finding.level) {
                None | Some(Level::Note) => Verdict::Within,
                Some(Level::NotKnown) => Verdict::NotKnown,
                Some(Level::Advice) => Verdict::Doubtful,
                Some(Level::Breaks) => Verdict::Breaks,
            };
            DishChecked {
                dish,
                verdict,
                findings,
            }
        })
        .collect();
    Checked {
        set,
        kit: kit(menu, set),
        dishes,
    }
}

/// Returns when the oldest part of what each doing ends with was made or cooked; nothing of what needs no temperature
/// control and follows nothing that does.
pub fn oldest(
    menu: &Menu,
    set: &'static RuleSet,
    service: ServiceTime,
    doings: &[Doing],
) -> Vec<Option<Minute>> {
    let states = Walk::along(menu, set, service, doings).states.into_iter();
    states.map(|state| Some(state?.oldest)).collect()
}

/// Returns what is to know of fridges: a place that is neither frozen nor cold enough keeps nothing.
fn kit(menu: &Menu, set: &RuleSet) -> Vec<Finding> {
    let cold = menu.kitchen.kit.iter().filter_map(|kit| {
        let at = degrees(kit.cold?.at);
        set.is_out(at).then(|| Finding {
            level: of_weight(set.cold.weight),
            doing: None,
            what: format!(
                "{} stands at {}; cold food is kept at {} or below",
                kit.name,
                said(at),
                said(set.cold.degrees)
            ),
            remedy: None,
            source: set.cold.source,
        })
    });
    cold.collect()
}

pub(super) fn of_weight(weight: Weight) -> Level {
    match weight {
        Weight::Law => Level::Breaks,
        Weight::Advice => Level::Advice,
    }
}

#[cfg(test)]
mod tests;
