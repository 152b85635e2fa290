//! `amounts`: what dishes take, on standard output.

use std::io::Write;

use super::args::Form;
use super::command::Opened;
use super::print::width;
use super::report::{Ending, Failure};
use crate::menu::Menu;
use crate::prep::PrepState;
use crate::sheets::amounts;
use crate::text::one_line;

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
        Some(name) => vec![find(own, name).map_err(Failure::WrongUse)?],
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

/// Returns the place of the one dish that a text names: by its id, or by a part of its id or name.
fn find(menu: &Menu, text: &str) -> Result<usize, String> {
    if let Some((place, _)) = menu.dish(text) {
        return Ok(place);
    }
    let wanted = text.to_lowercase();
    let fits = |place: &usize| {
        let dish = &menu.dishes[*place];
        dish.id.to_lowercase().contains(&wanted) || dish.name.to_lowercase().contains(&wanted)
    };
    let found: Vec<usize> = (0..menu.dishes.len()).filter(fits).collect();
    let ids = |places: &mut dyn Iterator<Item = usize>| {
        let ids: Vec<String> = places
            .map(|place| one_line(&menu.dishes[place].id))
            .collect();
        ids.join(", ")
    };
    match found.as_slice() {
        [one] => Ok(*one),
        [] => Err(format!(
            "no dish is called \"{}\"; one of {}",
            one_line(text),
            ids(&mut (0..menu.dishes.len()))
        )),
        several => Err(format!(
            "\"{}\" could be several dishes: {}",
            one_line(text),
            ids(&mut several.iter().copied())
        )),
    }
}
