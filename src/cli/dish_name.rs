//! Which dish a cook means by what they typed.

use crate::menu::Menu;
use crate::text::one_line;

/// Returns the place of the one dish that a text names: by its id, or by a part of its id or name.
pub(super) fn find(menu: &Menu, text: &str) -> Result<usize, String> {
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
