//! `amounts`: what dishes take, on standard output.

use std::io::Write;

use super::args::Form;
use super::command::Opened;
use super::dish_name;
use super::print::width;
use super::report::{Ending, Failure};
use crate::prep::PrepState;
use crate::sheets::amounts;

/// Prints the amounts of all dishes or of one, for the menu's covers or for others.
pub(super) fn print(
    opened: &Opened,
    dish: Option<&str>,
    covers: Option<u32>,
    form: Form,
    out: &mut impl Write,
) -> Result<Ending, Failure> {
    let prep = PrepState::fold(&opened.entries()?);
    let opened = opened.as_decided(&prep);
    let own = &opened.loaded.menu;
    let dishes = match dish {
        None => (0..own.dishes.len()).collect(),
        Some(name) => vec![dish_name::find(own, name).map_err(Failure::WrongUse)?],
    };
    let mut menu = own.clone();
    menu.covers = covers.unwrap_or(own.covers);
    let asked = amounts::Asked {
        menu: &menu,
        dishes: &dishes,
        before: (menu.covers != own.covers).then_some(own),
    };
    if form.json {
        amounts::write_json(asked, out)?;
    } else if form.csv {
        amounts::write_csv(asked, out)?;
    } else {
        amounts::write(asked, width(), out)?;
    }
    Ok(Ending::Fine)
}
