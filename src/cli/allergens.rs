//! `allergens` and `labels`: what is in a dish, and what stands on its box.

use std::io::Write;

use super::args::{Form, ListName};
use super::command::Opened;
use super::dish_name;
use super::print::width;
use super::report::{Ending, Failure};
use super::safety::sets;
use crate::prep::{PrepState, held_against, measured_against, with_measured};
use crate::safety::allergens::List;
use crate::safety::guests;
use crate::sheets::allergens;

impl From<ListName> for List {
    fn from(name: ListName) -> Self {
        match name {
            ListName::Eu => Self::Eu,
            ListName::Us => Self::Us,
            ListName::Anz => Self::Anz,
        }
    }
}

/// Prints the matrix; ends faulty where a guest would be served what stands against their needs.
pub(super) fn print(
    opened: &Opened,
    list: List,
    form: Form,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let prep = PrepState::fold(&opened.entries()?);
    let opened = &opened.as_decided(&prep);
    let menu = &opened.loaded.menu;
    if form.json {
        allergens::write_json(menu, list, out)?;
    } else if form.csv {
        allergens::write_csv(menu, list, out)?;
    } else {
        allergens::write(menu, list, width(), out)?;
    }
    let clash = guests::check(menu)
        .iter()
        .any(|guest| !guest.clashes.is_empty());
    Ok(if clash { Ending::Faulty } else { Ending::Fine })
}

/// Prints a label for each batch of a dish, or of all.
pub(super) fn labels(
    opened: &Opened,
    dish: Option<&str>,
    list: List,
    rules: Option<&str>,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let prep = PrepState::fold(&opened.entries()?);
    let opened = &opened.as_decided(&prep);
    let menu = &opened.loaded.menu;
    let only = match dish {
        None => None,
        Some(name) => Some(dish_name::find(menu, name).map_err(Failure::WrongUse)?),
    };
    // One date stands on a label: where several sets are asked for, that of the first that counts days.
    let sets = sets(opened, rules)?;
    let set = sets.iter().find(|set| set.keeping.is_some());
    let Some(set) = set.or_else(|| sets.first()) else {
        return Ok(Ending::Fine);
    };
    let outcome = opened.plan(&prep);
    let Some(plan) = outcome.times() else {
        return Err(Failure::Faults(
            "no plan gives the times of this menu, so nothing can be dated; countback plan says why".into(),
        ));
    };
    let mut checked = held_against(menu, opened.service, Some(&outcome), &[set]);
    let now = (opened.now, opened.service.zone());
    for checked in &mut checked {
        with_measured(checked, &measured_against(menu, &prep, set, now));
        allergens::write_labels(menu, plan, checked, list, only, out)?;
    }
    Ok(Ending::Fine)
}
